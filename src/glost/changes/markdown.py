"""A comparison as Markdown for the text of a merge request: a table of what changed on top, and the details folded
below it, as far as there is room."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from glost.changes.nodes import brief_nodes, collection_nodes, nodes_of, titled, worth_telling
from glost.changes.report import Report, Reported, summary
from glost.linter.finding import ERROR
from glost.output.model import Table
from glost.output.model.markdown import as_markdown, escaped, within_tag

LIMIT: Final = 65_000
"""Bytes: less than the 65,536 characters that a code host takes as one comment (from memory), with room for a line
that a pipeline puts above."""
_ARROW: Final = "→"


def markdown(report: Report, brief: bool = False, limit: int = LIMIT) -> str:
    """``brief``: the table alone."""
    head = f"**{escaped(summary(report))}**\n"
    room = limit - _size(head) - _RESERVE
    told = [] if brief else list(filter(worth_telling, report.recipes))
    details = list(map(_folded, told))
    urgent = sum(_size(text) for one, text in zip(told, details, strict=True) if _urgency(one) == 0)
    table, left_out = _table(report, room - min(urgent, room // 3))
    parts = [head, *table]
    if left_out:
        more, them = ("recipe", "it") if left_out == 1 else ("recipes", "them")
        parts.append(
            f"\n{left_out} more {more} changed: there is no room for {them} here. glost compare shows all.\n"
        )
    if brief:
        return "".join(parts)
    folded = _with_room(told, details, room - sum(map(_size, table)))
    parts += [text for text in folded if text is not None]
    untold = folded.count(None)
    if untold:
        parts.append(
            f"\nThe details of {untold} recipe{'s' if untold > 1 else ''} are left out, since there is no room for them"
            " here. glost compare shows all.\n"
        )
    return "".join(parts)


_RESERVE: Final = 600
"""Bytes for what is said of what is left out."""


def _size(text: str) -> int:
    return len(text.encode("utf-8", "surrogatepass"))


def _with_room(recipes: Sequence[Reported], texts: Sequence[str], room: int) -> list[str | None]:
    """The texts of recipes, in their order, with None for each that there is no room for. What a reviewer must not miss
    has room before all else; one text that is too long takes none from the others."""
    kept: list[str | None] = [None] * len(texts)
    for at in sorted(range(len(texts)), key=lambda at: _urgency(recipes[at])):
        if _size(texts[at]) <= room:
            room -= _size(texts[at])
            kept[at] = texts[at]
    return kept


def _urgency(one: Reported) -> int:
    """0 for what switches a check off or may hurt somebody, then what the rules find anew, and what cannot be read."""
    if one.allowances or one.hazards:
        return 0
    if any(noted.level == ERROR for noted in one.come) or one.state == "unreadable":
        return 1
    return 2 if one.differs else 3


def _table(report: Report, room: int) -> tuple[list[str], int]:
    """The table on top, and the number of recipes for which there is no room."""
    shown = []
    most = room // (2 * len(report.collections)) if report.collections else 0
    for collection in report.collections:
        shown.append(_cut(as_markdown(collection_nodes(collection, _ARROW)), most))
        room -= _size(shown[-1])
    table = next(iter(brief_nodes(report, _ARROW)))
    assert isinstance(table, Table)
    if not table.rows:
        return shown, 0
    lines = as_markdown([table]).splitlines(keepends=True)
    head = "".join(["\n", *lines[:2]])
    rows = _with_room(report.recipes, lines[2:], room - _size(head))
    return ["".join([head, *filter(None, rows)]), *shown], rows.count(None)


def _cut(text: str, most: int) -> str:
    """What a collection says otherwise, without the changes that there is no room for; these are counted."""
    lines = ["\n", *text.splitlines(keepends=True)]
    most -= _RESERVE + sum(_size(line) for line in lines if not line.startswith("- "))
    kept, left_out = [], 0
    for line in lines:
        if line.startswith("- "):
            most -= _size(line)
            if most < 0:
                left_out += 1
                continue
        kept.append(line)
    if left_out:
        more = "change has" if left_out == 1 else "changes have"
        kept.append(f"\n{left_out} more {more} no room here. glost compare shows all.\n")
    return "".join(kept)


def _folded(one: Reported) -> str:
    _, *nodes = nodes_of(one, _ARROW, 4)
    return "".join(_fold(titled(one), as_markdown(nodes)))


def _fold(title: str, body: str) -> Iterator[str]:
    # An empty line is needed, or what stands within is not read as Markdown.
    yield f"\n<details><summary>{within_tag(title)}</summary>\n\n"
    yield body
    yield "\n</details>\n"
