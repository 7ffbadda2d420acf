"""Batch sheets in plain text: to print, to carry to the bench, to tick off and to fill in by hand."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from glost.language.width import padded, width
from glost.output.batch_sheet import (
    CHECKED,
    FIRED,
    LISTED,
    MATERIAL_NOTES,
    READ_FIRST,
    RESTRICTED,
    SILENT,
    UNKNOWN,
    WATER_HINT,
    BatchSheet,
    SheetLine,
    batch_sheets,
)
from glost.output.escape import visible, visible_lines
from glost.output.format import Format, Job

COLUMNS = 80
"""What a sheet fills at most: the width of a page of typescript and of the narrowest terminal."""

_INDENT = 4
_LABEL = 14
"""Columns for the name of a field."""
_BLANK = 9
"""Columns of a blank that a mass is written into by hand."""
_BALANCE = 8
_SHORTEST_NAME = 14
_LONGEST_LOT = 14


def write(jobs: Sequence[Job]) -> str:
    """One sheet a test, each but the last followed by a form feed, so that a printer begins a new page."""
    return "\f\n".join("\n".join(_sheet(sheet)) + "\n" for job in jobs for sheet in batch_sheets(job))


def _sheet(sheet: BatchSheet) -> Iterator[str]:
    yield from _head(sheet)
    if sheet.attention:
        yield ""
    for error in sheet.attention:
        yield from _wrapped(visible(error), _INDENT, "!   ")
    if sheet.base or sheet.additions:
        yield from (
            "",
            *_wrapped(visible(sheet.mass), 0),
            READ_FIRST,
        )
        yield from ("", *_table(sheet))
    if sheet.balance_note:
        yield from ("", *_wrapped(sheet.balance_note, 0))
    for warning in sheet.warnings:
        yield from ("", *_wrapped(visible(warning), _INDENT, "!   "))
    yield from ("", *_slurry(sheet))
    yield from _handling(sheet)
    if sheet.notes:
        yield from ("", "Notes")
        for line in visible_lines(sheet.notes):
            inner = len(line) - len(line.lstrip(" "))
            yield from _wrapped(line, min(_INDENT + inner, COLUMNS // 2)) if line else [""]
    yield from ("", *_by_hand())
    yield from _statements(sheet)


def _head(sheet: BatchSheet) -> Iterator[str]:
    kind = visible(sheet.kind)
    names = _wrapped(visible(sheet.recipe), 0, columns=COLUMNS - width(kind) - 2)
    yield from _with_right(names, kind)
    number = f"sheet {sheet.number} of {sheet.count}" if sheet.count > 1 else ""
    if sheet.label or number:
        label = visible(sheet.step) or "as it stands"
        yield from _with_right(_wrapped(label, 0, columns=COLUMNS - len(number) - 2), number)
    yield "=" * COLUMNS
    said = [*sheet.fields, ("file", sheet.file)]
    for key, text in said:
        yield from _wrapped(visible(text.replace("\n", " ")), _LABEL, padded(key, _LABEL))
    yield from _wrapped(visible(sheet.revision), _LABEL)


def _with_right(lines: list[str], right: str) -> Iterator[str]:
    yield (padded(lines[0], COLUMNS - width(right)) + right).rstrip()
    yield from lines[1:]


# ---- the table -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Columns:
    """How wide the columns of a table are, gaps left out. ``name`` 0: the name stands on a line above the
    figures. ``balance`` 0: there is one balance, which needs no column."""

    name: int
    parts: tuple[int, int]
    grams: tuple[int, int]
    balance: int
    running: tuple[int, int]
    lot: int


def _columns(sheet: BatchSheet) -> _Columns:
    lines = (*sheet.base, *sheet.additions)
    parts = _sides((line.parts for line in lines), least=len("parts"))
    grams = _sides((*(line.grams for line in lines), sheet.total), least=len("grams"))
    running = _sides((line.running for line in lines if line.running is not None), least=len("total"))
    balance = 0
    if len(sheet.balances) > 1:
        balance = min(_BALANCE, max(len("on"), *(width(visible(name)) for name in sheet.balances)))
    figures = sum(parts) + sum(grams) + sum(running) + 4 + (balance + 2 if balance else 0)
    room = COLUMNS - _INDENT - figures - 2 - _BLANK - 2 - _BLANK - 2
    least = max(
        len("material"), len(sheet.total_word) - sum(parts) - 2
    )  # the words of the total end before its figure
    longest = max(least, *(width(visible(line.name)) for line in lines))
    if room < min(longest, _SHORTEST_NAME):
        return _Columns(0, parts, grams, balance, running, _LONGEST_LOT)
    name = min(longest, room)
    return _Columns(name, parts, grams, balance, running, min(_LONGEST_LOT, room - name + _BLANK))


def _sides(figures: Iterable[Decimal], least: int) -> tuple[int, int]:
    """Columns in front of the decimal point, and those of the point and what is behind it."""
    written = [f"{figure:f}".partition(".") for figure in figures]
    behind = max((len(point + decimals) for _, point, decimals in written), default=0)
    return max([least - behind, *(len(whole) for whole, _, _ in written)]), behind


def _figure(figure: Decimal | str, sides: tuple[int, int]) -> str:
    if isinstance(figure, str):
        return figure.rjust(sum(sides))
    whole, point, decimals = f"{figure:f}".partition(".")
    return whole.rjust(sides[0]) + (point + decimals).ljust(sides[1])


def _table(sheet: BatchSheet) -> Iterator[str]:
    columns = _columns(sheet)
    yield from _row(columns, "", "material", "parts", "grams", "on", "total", "weighed", "lot")
    yield "-" * COLUMNS
    vessel = 0
    for title, lines in (("", sheet.base), ("additions", sheet.additions)):
        if title and lines:
            yield from ("", title)
        for at, line in enumerate(lines):
            # The empty line between two rows is the room that handwriting needs.
            if at or title:
                yield ""
            head = sheet.vessel_head(vessel, line)
            if head:
                yield from (*_wrapped(head, 0), "")
            vessel = line.vessel or vessel
            yield from _material(line, columns)
    yield "-" * COLUMNS
    if not columns.name:
        yield f"{' ' * _INDENT}{sheet.total_word}  {sheet.total:f} g    weighed {'_' * _BLANK}"
        return
    before = _INDENT + columns.name + 2 + sum(columns.parts) + 2
    behind = (
        before
        + sum(columns.grams)
        + 2
        + (columns.balance + 2 if columns.balance else 0)
        + sum(columns.running)
        + 2
    )
    total = padded(f"{' ' * _INDENT}{sheet.total_word}", before) + _figure(sheet.total, columns.grams)
    yield padded(total, behind) + "_" * _BLANK


def _material(line: SheetLine, columns: _Columns) -> Iterator[str]:
    yield from _row(
        columns,
        "[ ] " if line.within else "[ ]!",
        visible(line.name),
        line.parts if line.portion == 1 else "",
        line.grams,
        visible(line.balance),
        "" if line.running is None else line.running,
        "_" * _BLANK,
        "_" * columns.lot,
    )
    if line.remark:
        yield from _wrapped(visible(line.remark), _INDENT + 2)


def _row(
    columns: _Columns,
    tick: str,
    name: str,
    parts: Decimal | str,
    grams: Decimal | str,
    balance: str,
    running: Decimal | str,
    weighed: str,
    lot: str,
) -> Iterator[str]:
    """One row; a name or a balance too long for its column goes on below."""
    tick = tick or " " * _INDENT
    balances = _broken(balance, columns.balance) if columns.balance else []
    first = balances[0] if balances else ""
    figures = [_figure(parts, columns.parts), _figure(grams, columns.grams)]
    if columns.balance:
        figures.append(padded(first, columns.balance))
    figures.append(_figure(running, columns.running))
    if columns.name:
        names = _broken(name, columns.name)
        yield "  ".join(
            (tick + padded(names[0], columns.name), *figures, weighed.ljust(_BLANK), lot)
        ).rstrip()
        before = _INDENT + columns.name + 2 + sum(columns.parts) + 2 + sum(columns.grams) + 2
        for at in range(1, max(len(names), len(balances))):
            more = " " * _INDENT + (names[at] if at < len(names) else "")
            yield padded(more, before) + balances[at] if at < len(balances) else more
    else:
        for at, part in enumerate(_broken(name, COLUMNS - _INDENT)):
            yield (" " * _INDENT if at else tick) + part
        yield (" " * _INDENT + "  ".join(figures)).rstrip()
        for more in balances[1:]:
            yield " " * (_INDENT + sum(columns.parts) + 2 + sum(columns.grams) + 2) + more
        if tick.strip():
            yield f"{' ' * _INDENT}weighed {weighed}   lot {lot}"


# ---- below the table -----------------------------------------------------------------------------------


def _slurry(sheet: BatchSheet) -> Iterator[str]:
    yield from _wrapped(sheet.water or f"______ g ({WATER_HINT})", _LABEL, padded("water", _LABEL))
    if sheet.gravity:
        yield f"{padded('gravity', _LABEL)}{sheet.gravity} asked for, measured __________"
    yield from _wrapped(sheet.sieve or "__________ mesh", _LABEL, padded("sieve", _LABEL))


def _handling(sheet: BatchSheet) -> Iterator[str]:
    yield from ("", "Handling and cautions")
    hazards = sheet.hazards
    for name, what in hazards.restricted:
        yield from _wrapped(f"{visible(name)}: restricted ({visible(what)}). {RESTRICTED}", _INDENT, "  ! ")
    if hazards.unknown:
        yield from _wrapped(f"{UNKNOWN}: {', '.join(map(visible, hazards.unknown))}.", _INDENT, "  ! ")
    for caution in sheet.cautions:
        named = f"{', '.join(map(visible, caution.materials))}: " if caution.materials else ""
        yield from _wrapped(named + caution.text, _INDENT, "  - ")
    for house in (False, True):
        notes = [note for note in sheet.handling if note.house == house]
        if notes:
            yield from ("", "House handling notes" if house else "Handling notes of this recipe")
            for note in notes:
                names = ", ".join(map(visible, note.names))
                yield from _wrapped(f"{names}: {visible(note.text)}", _INDENT, "  - ")


def _statements(sheet: BatchSheet) -> Iterator[str]:
    """Materials and their codes, then each text and each source once. They stand last, to be looked up: what
    has to be read at the bench is said in plain words further up."""
    hazards = sheet.hazards
    if hazards.listed:
        yield from ("", LISTED)
        sources: dict[str, int] = {}
        by_material: dict[str, list[str]] = {}
        for listed in hazards.listed:
            number = sources.setdefault(visible(listed.cited), len(sources) + 1)
            by_material.setdefault(visible(listed.material), []).append(
                f"{' '.join(listed.codes)} [{number}]"
            )
        edge = _INDENT + min(24, max(width(name) for name in by_material)) + 2
        for name, codes in by_material.items():
            yield from _wrapped(", ".join(codes), edge, padded(f"{' ' * _INDENT}{name}", edge - 1) + " ")
        yield ""
        edge = _INDENT + max(len(code) for code, _ in hazards.texts) + 2
        for code, text in hazards.texts:
            yield from _wrapped(text, edge, padded(f"{' ' * _INDENT}{code}", edge))
        yield ""
        for cited, number in sources.items():
            mark = f"{' ' * _INDENT}[{number}] "
            yield from _wrapped(cited, len(mark), mark)
    if hazards.silent:
        yield from ("", SILENT)
        yield from _wrapped(", ".join(map(visible, hazards.silent)), _INDENT)
    if hazards.notes:
        yield from ("", MATERIAL_NOTES)
        for name, text in hazards.notes:
            yield from _wrapped(f"{visible(name)}: {visible(text)}", _INDENT, "  - ")


def _by_hand() -> Iterator[str]:
    yield "-" * COLUMNS
    yield from _blanks(CHECKED)
    yield from ("", _line("remarks"), "", "_" * COLUMNS, "")
    yield "Fired result"
    yield ""
    yield from _blanks(FIRED)
    yield from ("", _line("remarks"), "", "_" * COLUMNS)


def _blanks(words: Sequence[str]) -> Iterator[str]:
    """Two blanks a line."""
    half = COLUMNS // 2
    for at in range(0, len(words), 2):
        if at:
            yield ""
        pair = [padded(word, 13) + "_" * (half - 15) for word in words[at : at + 2]]
        yield "".join(padded(blank, half) for blank in pair).rstrip()


def _line(word: str) -> str:
    return padded(word, 13) + "_" * (COLUMNS - 13)


# ---- lines ---------------------------------------------------------------------------------------------


def _wrapped(text: str, indent: int, lead: str | None = None, columns: int = COLUMNS) -> list[str]:
    """``text`` broken at blanks into lines of at most ``columns``, each ``indent`` in; the first begins with
    ``lead``, which is as wide as the indent or wider."""
    lead = " " * indent if lead is None else lead
    indent = max(indent, width(lead))
    lines = _broken(text.strip(" "), columns - indent)
    return [(lead if at == 0 else " " * indent) + line for at, line in enumerate(lines)]


def _broken(text: str, columns: int) -> list[str]:
    """``text`` in lines of at most ``columns``, broken at blanks, or within a word that is wider than a
    line."""
    lines: list[str] = []
    line = ""
    for word in text.split(" "):
        joined = f"{line} {word}" if line else word
        if width(joined) <= columns:
            line = joined
            continue
        if line:
            lines.append(line)
        line = ""
        for character in word:
            if line and width(line + character) > columns:
                lines.append(line)
                line = ""
            line += character
    return [*lines, line]


FORMAT = Format(
    name="sheet",
    ending=".txt",
    summary="batch sheets in plain text, one a test, to print and fill in at the bench",
    write=write,
    mark=re.compile(rf"^={{{COLUMNS}}}\n(?:.+\n)*?file {{{_LABEL - 4}}}", re.MULTILINE),
    together=True,
    between="\f\n",
    by_test=True,
)
