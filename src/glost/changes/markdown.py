"""A comparison as Markdown for the text of a merge request: a table of what changed on top, and the details folded
below it, as far as there is room."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from glost.changes.nodes import brief_nodes, collection_nodes, nodes_of, worth_telling
from glost.changes.report import Report, Reported, summary
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
    parts = [head]
    table, left_out = _table(report, room)
    parts += table
    room -= sum(map(_size, table))
    if left_out:
        parts.append(
            f"\n{left_out} more recipes changed: there is no room for them here. glost compare shows all.\n"
        )
    if brief:
        return "".join(parts)
    untold = 0
    for one in filter(worth_telling, report.recipes):
        folded = _folded(one)
        if untold or _size(folded) > room:
            untold += 1
            continue
        room -= _size(folded)
        parts.append(folded)
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


def _table(report: Report, room: int) -> tuple[list[str], int]:
    """The table on top, and the number of recipes for which there is no room."""
    shown = []
    for collection in report.collections:
        text = "\n" + as_markdown(collection_nodes(collection, _ARROW))
        if _size(text) <= room:
            room -= _size(text)
            shown.append(text)
    table = next(iter(brief_nodes(report, _ARROW)))
    assert isinstance(table, Table)
    if not table.rows:
        return shown, 0
    lines = as_markdown([table]).splitlines(keepends=True)
    kept = ["\n", *lines[:2]]
    room -= sum(map(_size, kept))
    for at, line in enumerate(lines[2:]):
        room -= _size(line)
        if room < 0:
            return ["".join(kept), *shown], len(lines) - 2 - at
        kept.append(line)
    return ["".join(kept), *shown], 0


def _folded(one: Reported) -> str:
    _, *nodes = nodes_of(one, _ARROW, 4)
    return "".join(_fold(one.title, as_markdown(nodes)))


def _fold(title: str, body: str) -> Iterator[str]:
    # An empty line is needed, or what stands within is not read as Markdown.
    yield f"\n<details><summary>{within_tag(title)}</summary>\n\n"
    yield body
    yield "\n</details>\n"
