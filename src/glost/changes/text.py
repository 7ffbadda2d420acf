"""A comparison for a person: aligned columns, what moved first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from glost.changes.fired_change import FiredChange
from glost.changes.report import (
    HOW,
    NOTHING,
    PARTIAL,
    RANKS,
    REWORDED,
    Part,
    Reported,
    Row,
    fired_rows,
    parts_of,
)
from glost.language.width import padded, width
from glost.output.escape import visible, visible_lines

_LEAST_NAME = 22
_NUMBER = 9
_ONE_SIDED = {
    "added": "new here",
    "removed": "taken out",
    "unreadable": "cannot be compared: it cannot be read whole",
}


def text(reported: Iterable[Reported]) -> str:
    """All pairs that differ in anything, one empty line between."""
    blocks = ("".join(f"{line}\n" for line in _lines(one)) for one in reported if _worth_telling(one))
    return "\n".join(blocks)


def _worth_telling(one: Reported) -> bool:
    return one.state != "same" or one.text_differs


def _lines(one: Reported) -> Iterator[str]:
    yield visible(_title(one))
    files = [file for file in (one.old, one.new) if file is not None]
    yield f"  {visible(' -> '.join(dict.fromkeys(files)))}"
    if one.state in _ONE_SIDED:
        yield f"  {_ONE_SIDED[one.state]}"
    if one.comparison is None:
        return
    if one.comparison.empty:
        yield "  the same recipe; only layout or comments differ"
        return
    wide = _wide(one)
    head_shown = False
    for part in parts_of(one.comparison):
        yield from _part(part, wide, not head_shown)
        head_shown = head_shown or bool(part.rows)
    yield from _fired(one.fired, wide)
    if one.comparison.rewordings:
        yield f"  {REWORDED}"
        for rewording in one.comparison.rewordings:
            place = rewording.place
            what = place.what or place.within or place.section
            where = f"{place.section}, " if place.what and place.section != "field" else ""
            says = HOW[rewording.how]
            lead = says if rewording.how == "scale" else f"{where}{what}, {says}"
            yield f"    {visible(lead)}: {visible(rewording.old)} -> {visible(rewording.new)}"


def _title(one: Reported) -> str:
    comparison = one.comparison
    if comparison is not None and comparison.old_name != comparison.new_name:
        return f"{comparison.old_name}, now {comparison.new_name}"
    return one.name


def _wide(one: Reported) -> int:
    assert one.comparison is not None
    names = [row.what for part in parts_of(one.comparison) for row in part.rows]
    names += [row.what for change in one.fired[:1] for row in fired_rows(change)]
    return max([_LEAST_NAME, *(width(visible(name)) for name in names)]) + 2


def _part(part: Part, wide: int, with_head: bool) -> Iterator[str]:
    if part.heading:
        head = f"  {visible(part.heading)}"
        if part.rows and with_head:
            head = _columns(head, wide + 4, ("old", "new", "change"), "as written")
        yield head
    for row in part.rows:
        yield _row(row, wide)
    for what, old, new in part.said:
        yield from _said(what, old, new, 4 if part.heading else 2)


def _row(row: Row, wide: int) -> str:
    name = "    " + visible(row.what)
    return _columns(name, wide + 4, (row.old, row.new, row.change), row.written)


def _columns(name: str, wide: int, cells: Sequence[str], behind: str) -> str:
    figures = " ".join(f"{cell:>{_NUMBER}}" for cell in cells)
    return f"{padded(name, wide)}{figures}   {visible(behind)}".rstrip()


def _said(what: str, old: str, new: str, indent: int) -> Iterator[str]:
    edge = " " * indent
    if "\n" not in old and "\n" not in new:
        sides = " -> ".join(visible(side) or NOTHING for side in (old, new))
        yield f"{edge}{visible(what)}: {sides}"
        return
    yield f"{edge}{visible(what)}:"
    was, now = (visible_lines(side) if side else [] for side in (old, new))
    for sign, line in line_changes(was, now):
        yield f"{edge}  {sign} {line}".rstrip()


def line_changes(old: Sequence[str], new: Sequence[str]) -> Iterator[tuple[str, str]]:
    """The lines that differ, "-" for old and "+" for new."""
    import difflib

    for line in difflib.ndiff(old, new):
        if line[0] in "-+":
            yield line[0], line[2:]


def _fired(fired: Sequence[FiredChange], wide: int) -> Iterator[str]:
    if not fired:
        return
    first, *others = fired
    of = f" of {visible(first.label)}" if first.label else ""
    yield f"  fired{of}"
    for row in fired_rows(first):
        yield _row(row, wide)
    yield f"    {PARTIAL if first.partial else RANKS}"
    if others:
        yield f"    also changed: {visible(', '.join(other.label for other in others))}"
