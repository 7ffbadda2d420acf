"""Batch sheets as a page of GitHub-flavoured Markdown: what the plain sheet says, one section a test."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from glost.output.batch_sheet import (
    CHECKED,
    FIRED,
    LISTED,
    READ_FIRST,
    RESTRICTED,
    SILENT,
    UNKNOWN,
    WATER_HINT,
    BatchSheet,
    SheetLine,
    batch_sheets,
)
from glost.output.escape import visible_lines
from glost.output.format import Format, Job
from glost.output.model.markdown import escaped

_BLANK = "________"
"""Room to write in, once the page is printed; with blanks around it, it is no emphasis."""


def write(jobs: Sequence[Job]) -> str:
    """All tests of all recipes, each under a heading of its own."""
    return "\n".join("\n".join(_section(sheet)) + "\n" for job in jobs for sheet in batch_sheets(job))


def _section(sheet: BatchSheet) -> Iterator[str]:
    yield from (f"## {escaped(sheet.name)}", "")
    if sheet.sets:
        yield f"- **sets**: {escaped(sheet.sets)}"
    number = f", sheet {sheet.number} of {sheet.count}" if sheet.count > 1 else ""
    yield f"- **kind**: {escaped(sheet.kind)}{number}"
    for key, text in sheet.fields:
        yield f"- **{key}**: {_in_line(text)}"
    yield f"- **file**: {escaped(sheet.file)}, {escaped(sheet.revision)}"
    for error in sheet.attention:
        yield from ("", f"> **Attention**: {escaped(error)}")
    if sheet.base or sheet.additions:
        yield from (
            "",
            f"**{escaped(sheet.mass)}**",
            "",
            READ_FIRST,
            "",
            *_table(sheet),
        )
    if sheet.balance_note:
        yield from ("", escaped(sheet.balance_note))
    for warning in sheet.warnings:
        yield from ("", f"> **Attention**: {escaped(warning)}")
    yield from ("", f"- **water**: {escaped(sheet.water) or f'{_BLANK} g ({WATER_HINT})'}")
    if sheet.gravity:
        yield f"- **gravity**: {escaped(sheet.gravity)} asked for, measured {_BLANK}"
    yield f"- **sieve**: {escaped(sheet.sieve) or f'{_BLANK} mesh'}"
    yield from _handling(sheet)
    if sheet.notes:
        yield from ("", "### Notes", "", *_prose(sheet.notes))
    yield from ("", "### To fill in", "", *_blanks((*CHECKED, "remarks")))
    yield from ("", "### Fired result", "", *_blanks((*FIRED, "remarks")))
    yield from _statements(sheet)


def _in_line(text: str) -> str:
    return escaped(text.replace("\n", " "))


def _prose(text: str) -> Iterator[str]:
    """Lines of free text, each kept as a line; an empty one parts two paragraphs."""
    lines = visible_lines(text)
    for at, line in enumerate(lines):
        bare = line.lstrip(" ")
        goes_on = bare and at + 1 < len(lines) and lines[at + 1].strip(" ")
        yield "&nbsp;" * (len(line) - len(bare)) + escaped(bare) + ("\\" if goes_on else "") if bare else ""


def _table(sheet: BatchSheet) -> Iterator[str]:
    on = len(sheet.balances) > 1
    heads = ["", "material", "parts", "grams", *(["on"] if on else []), "total", "weighed", "lot", "note"]
    yield _cells(heads)
    yield _cells("---:" if head in ("parts", "grams", "total") else "---" for head in heads)
    vessel = 0
    for title, lines in (("", sheet.base), ("*additions*", sheet.additions)):
        if title and lines:
            yield _cells(["", title] + [""] * (len(heads) - 2))
        for line in lines:
            head = sheet.vessel_head(vessel, line)
            if head:
                yield _cells(["", f"**{escaped(head)}**"] + [""] * (len(heads) - 2))
            vessel = line.vessel or vessel
            yield _cells(_line(line, on))
    yield _cells(
        [
            "",
            f"**{sheet.total_word}**",
            "",
            f"**{sheet.total:f}**",
            *([""] if on else []),
            "",
            _BLANK,
            "",
            "",
        ]
    )


def _line(line: SheetLine, on: bool) -> list[str]:
    return [
        "☐" if line.within else "☐ **!**",
        escaped(line.name),
        f"{line.parts:f}" if line.portion == 1 else "",
        f"{line.grams:f}",
        *([escaped(line.balance)] if on else []),
        "" if line.running is None else f"{line.running:f}",
        _BLANK,
        _BLANK,
        escaped(line.remark),
    ]


def _cells(cells: Iterable[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _handling(sheet: BatchSheet) -> Iterator[str]:
    yield from ("", "### Handling and cautions", "")
    for name, what in sheet.hazards.restricted:
        yield f"- **{escaped(name)}: restricted ({escaped(what)}).** {RESTRICTED}"
    if sheet.hazards.unknown:
        yield f"- **{UNKNOWN}:** {_list(sheet.hazards.unknown)}."
    for caution in sheet.cautions:
        yield f"- {_named(caution.materials)}{escaped(caution.text)}"
    for house in (False, True):
        notes = [note for note in sheet.handling if note.house == house]
        if notes:
            yield from ("", "**House handling notes**" if house else "**Handling notes of this recipe**", "")
            for note in notes:
                yield f"- {_named(note.names)}{escaped(note.text)}"


def _named(names: Sequence[str]) -> str:
    return f"**{_list(names)}**: " if names else ""


def _list(names: Iterable[str]) -> str:
    return ", ".join(map(escaped, names))


def _statements(sheet: BatchSheet) -> Iterator[str]:
    hazards = sheet.hazards
    if hazards.listed:
        yield from ("", f"### {LISTED}", "")
        for listed in hazards.listed:
            yield f"- {_named([listed.material])}{_list(listed.codes)} ({escaped(listed.cited)})"
        yield from ("", _cells(("code", "text")), _cells(("---", "---")))
        for code, text in hazards.texts:
            yield _cells((escaped(code), escaped(text)))
    if hazards.silent:
        yield from (
            "",
            f"{SILENT}: {_list(hazards.silent)}.",
        )


def _blanks(words: Sequence[str]) -> Iterator[str]:
    yield _cells(words)
    yield _cells("---" for _ in words)
    yield _cells(_BLANK for _ in words)


FORMAT = Format(
    name="markdown",
    ending=".md",
    summary="batch sheets as a page of GitHub-flavoured Markdown, one section a test",
    write=write,
    mark=re.compile(r"^## .+\n(?:.*\n){1,40}?- \*\*kind\*\*: .+\n(?:- .+\n)*?- \*\*file\*\*: ", re.MULTILINE),
    together=True,
    between="\n",
    by_test=True,
)
