"""A recipe through its revisions as a table: one column a revision, one row a material."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Final, NamedTuple

from glost.changes.comparison import compare
from glost.changes.meaning import WEIGHED, Fact, Place, Told, Weighed, fact_text, rounded
from glost.language.csv_cells import cone_cell, guarded, record_of
from glost.language.width import padded, width
from glost.output.escape import visible
from glost.output.web import document, shown

NOT_COMMITTED: Final = "now"
"""What the column of the working folder is called, where it differs from the last commit."""

_FIELDS: Final = ("cone", "atmosphere")
"""Fields that stand above the amounts; a change of these makes another glaze of the same amounts."""
_COLUMNS: Final = 100
_AMOUNT: Final = re.compile(r"\d+(?:\.\d+)?", re.ASCII)
_MARK: Final = "*"
CHANGED: Final = "changed in this revision; what only follows the total of the base is not marked"
UNREAD: Final = "?"


class Revision(NamedTuple):
    """One column: what the revision is called, its day, its subject, and the recipe then: None where it could not be
    read whole."""

    short: str
    day: str
    subject: str
    told: Told | None


class Cell(NamedTuple):
    """What a revision says in one row; ``text`` is "" where it says nothing, ``changed`` against the one before."""

    text: str
    changed: bool


class Row(NamedTuple):
    """A material, or a field; ``heading`` is the section that it stands in."""

    heading: str
    what: str
    cells: tuple[Cell, ...]


def rows_of(revisions: Sequence[Revision], decimals: int = 2) -> list[Row]:
    """The rows, in the order of the sections, and in each as the pages have it: amounts on a base of 100."""
    changed = _changed(revisions)
    places: dict[Place, None] = {}
    for revision in reversed(revisions):
        places |= dict.fromkeys(revision.told.meaning if revision.told else ())
    order = [Place("name"), *(Place("field", what=field) for field in _FIELDS)]
    order += sorted(
        (place for place in places if place.section in WEIGHED and place.what),
        key=lambda place: (WEIGHED.index(place.section), place.within),
    )
    rows = []
    for place in order:
        if place not in places:
            continue
        what = place.what or place.section
        steps = _steps(revisions, place)
        for step in range(steps) if steps > 1 else [None]:
            cells = (
                Cell(_text(revision.told, place, step, decimals), place in changed[at])
                for at, revision in enumerate(revisions)
            )
            rows.append(Row(_heading(place), what if step is None else f"{what}, {step + 1}", tuple(cells)))
    return rows


def _steps(revisions: Sequence[Revision], place: Place) -> int:
    """The most amounts that stand at that place in any revision."""
    facts = (revision.told.meaning.get(place) for revision in revisions if revision.told)
    return max((len(fact.on_100) for fact in facts if isinstance(fact, Weighed)), default=1)


def _changed(revisions: Sequence[Revision]) -> list[set[Place]]:
    """The places that each revision changed against the last one before it that could be read."""
    out: list[set[Place]] = []
    before: Told | None = None
    for revision in revisions:
        changes = compare(before, revision.told).changes if before and revision.told else ()
        out.append({change.place for change in changes if not change.follows})
        before = revision.told or before
    return out


def _heading(place: Place) -> str:
    if place.section in ("name", "field"):
        return ""
    return f'{place.section} "{place.within}"' if place.within else place.section


def _text(one: Told | None, place: Place, step: int | None, decimals: int) -> str:
    if one is None:
        return UNREAD
    fact: Fact | None = one.meaning.get(place)
    if isinstance(fact, Weighed):
        amounts = fact.on_100 if step is None else fact.on_100[step : step + 1]
        return ", ".join(_trimmed(amount, decimals) for amount in amounts)
    return "" if fact is None else fact_text(fact)


def _trimmed(amount: Fraction, decimals: int) -> str:
    text = rounded(amount, decimals)
    return text.rstrip("0").rstrip(".") if "." in text and "<" not in text else text


# ---- text ----------------------------------------------------------------------------------------------


def text(file: str, revisions: Sequence[Revision]) -> str:
    """The table for a person; where the columns do not fit beside each other, several tables."""
    rows = rows_of(revisions)
    name = max([12, *(width(visible(row.what)) + 2 for row in rows)]) + 2
    wide = [
        max(len(revision.short), len(revision.day), *(width(_marked(row.cells[at])) for row in rows)) + 2
        for at, revision in enumerate(revisions)
    ]
    lines = [visible(file), "  amounts on a base of 100"]
    for at, end in _tables(wide, _COLUMNS - name - 2):
        lines.append("")
        lines += _table(revisions[at:end], rows, wide[at:end], name, slice(at, end))
    lines += ["", f"  {_MARK} {CHANGED}"]
    for revision in revisions:
        named = (revision.short, revision.day, revision.subject)
        lines.append(f"  {'  '.join(visible(word) for word in named if word)}")
    return "".join(f"{line.rstrip()}\n" for line in lines)


def _tables(wide: Sequence[int], room: int) -> Iterator[tuple[int, int]]:
    """Which columns stand beside each other: from, up to."""
    start, used = 0, 0
    for at, columns in enumerate(wide):
        if used and used + columns > room:
            yield start, at
            start, used = at, 0
        used += columns
    yield start, len(wide)


def _table(
    revisions: Sequence[Revision], rows: Sequence[Row], wide: Sequence[int], name: int, part: slice
) -> Iterator[str]:
    for words in ([one.short for one in revisions], [one.day for one in revisions]):
        yield " " * (name + 2) + "".join(
            _right(word, columns) for word, columns in zip(words, wide, strict=True)
        )
    heading = ""
    for row in rows:
        if row.heading != heading:
            heading = row.heading
            yield f"  {visible(heading)}"
        cells = (_right(_marked(cell), columns) for cell, columns in zip(row.cells[part], wide, strict=True))
        yield padded(f"  {'  ' if heading else ''}{visible(row.what)}", name + 2) + "".join(cells)


def _marked(cell: Cell) -> str:
    """The cell with its mark in front, so that the figures stand below each other."""
    return f"{_MARK if cell.changed else ''}{visible(cell.text) or '-'}"


def _right(word: str, columns: int) -> str:
    return " " * (columns - width(word)) + word


# ---- CSV and HTML --------------------------------------------------------------------------------------


def csv(file: str, revisions: Sequence[Revision]) -> str:
    """A row a material; the amounts have up to six decimals."""
    heads = (f"{revision.short} {revision.day}".rstrip() for revision in revisions)
    lines = [record_of(["section", "material", *(guarded(head) for head in heads)])]
    for row in rows_of(revisions, 6):
        named = (guarded(row.heading), guarded(row.what))
        lines.append(record_of([*named, *(_plain_cell(row, cell) for cell in row.cells)]))
    return "".join(lines)


def _plain_cell(row: Row, cell: Cell) -> str:
    if row.heading and _AMOUNT.fullmatch(cell.text):
        return cell.text
    is_cone = not row.heading and row.what == "cone" and cell.text != UNREAD
    return cone_cell(cell.text) if is_cone else guarded(cell.text)


def html(file: str, revisions: Sequence[Revision]) -> str:
    """One page that needs nothing else."""
    rows = rows_of(revisions)
    body = [f"<h1>{shown(file)}</h1>", f"<p>Amounts on a base of 100. Marked: {shown(CHANGED)}.</p>"]
    body += ['<div class="table">', "<table>", "<thead>", "<tr>", '<th scope="col">material</th>']
    for revision in revisions:
        body.append(
            f'<th scope="col"><b>{shown(revision.short)}</b> <span>{shown(revision.day)}</span> '
            f"<small>{shown(revision.subject)}</small></th>"
        )
    body += ["</tr>", "</thead>", "<tbody>"]
    heading = ""
    for row in rows:
        if row.heading != heading:
            heading = row.heading
            body.append(
                f'<tr class="section"><th scope="rowgroup" colspan="{len(revisions) + 1}">{shown(heading)}</th></tr>'
            )
        body.append(f'<tr><th scope="row">{shown(row.what)}</th>{"".join(map(_cell, row.cells))}</tr>')
    body += ["</tbody>", "</table>", "</div>"]
    return document(f"History of {file}", body, ["history.css"])


def _cell(cell: Cell) -> str:
    text = shown(cell.text) or "–"
    # A mark that is only a colour would say nothing to many.
    return f'<td class="changed"><b>{text} {_MARK}</b></td>' if cell.changed else f"<td>{text}</td>"
