"""A comparison as GitHub-flavoured Markdown, such as for the text of a merge request."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from glost.changes.report import HOW, PARTIAL, RANKS, REWORDED, Part, Reported, Row, fired_rows, parts_of
from glost.changes.text import line_changes
from glost.output.model.markdown import escaped

_ONE_SIDED = {
    "added": "New here.",
    "removed": "Taken out.",
    "unreadable": "Cannot be read whole, so not compared.",
}


def markdown(reported: Iterable[Reported]) -> str:
    """A section a pair, of those that differ in anything."""
    told = (one for one in reported if one.state != "same" or one.text_differs)
    return "\n".join("".join(f"{line}\n" for line in _lines(one)) for one in told)


def _lines(one: Reported) -> Iterator[str]:
    comparison = one.comparison
    name = one.name
    if comparison is not None and comparison.old_name != comparison.new_name:
        name = f"{comparison.old_name}, now {comparison.new_name}"
    files = [file for file in (one.old, one.new) if file is not None]
    yield from (f"## {escaped(name)}", "", " → ".join(escaped(file) for file in dict.fromkeys(files)), "")
    if one.state in _ONE_SIDED:
        yield _ONE_SIDED[one.state]
    if comparison is None:
        return
    if comparison.empty:
        yield "The same recipe; only layout or comments differ."
        return
    for part in parts_of(comparison):
        yield from _part(part)
    for change in one.fired[:1]:
        of = f" of {change.label}" if change.label else ""
        yield from _table(f"fired{of}", list(fired_rows(change)))
        yield from (PARTIAL if change.partial else RANKS, "")
    if comparison.rewordings:
        yield from (f"**{REWORDED}**", "")
        for rewording in comparison.rewordings:
            place = rewording.place
            what = ", ".join(filter(None, (place.section, place.within, place.what)))
            yield f"- {escaped(what)}, {HOW[rewording.how]}: {escaped(rewording.old)} → {escaped(rewording.new)}"


def _part(part: Part) -> Iterator[str]:
    if part.rows:
        yield from _table(part.heading, part.rows)
    elif part.heading:
        yield from (f"**{escaped(part.heading)}**", "")
    for what, old, new in part.said:
        if "\n" not in old + new:
            yield f"- {escaped(what)}: {escaped(old) or '–'} → {escaped(new) or '–'}"
            continue
        yield f"- {escaped(what)}:"
        for sign, line in line_changes(old.split("\n") if old else [], new.split("\n") if new else []):
            yield f"  - {'taken out' if sign == '-' else 'new'}: {escaped(line)}"
    if part.said:
        yield ""


def _table(heading: str, rows: Sequence[Row]) -> Iterator[str]:
    yield f"| {escaped(heading)} | old | new | change | as written |"
    yield "| --- | ---: | ---: | ---: | --- |"
    for row in rows:
        cells = [*row[:-1], row.written.replace(" -> ", " → ")]
        yield f"| {' | '.join(map(escaped, cells))} |"
    yield ""
