"""A recipe through its revisions as a table: one column a revision, one row a material."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from fractions import Fraction
from typing import Any, Final, NamedTuple

from glost.changes.as_json import change_data, fact_data
from glost.changes.comparison import Change, compare
from glost.changes.meaning import (
    OF_THE_COLLECTION,
    SECTIONS,
    THROUGH,
    WEIGHED,
    Fact,
    Place,
    Told,
    Weighed,
    fact_text,
    rounded,
)
from glost.chemistry.unity import Unity
from glost.language.csv_cells import cone_cell, guarded, record_of
from glost.language.exact_json import written
from glost.language.width import width
from glost.output.escape import visible
from glost.output.model import (
    Band,
    Cell,
    Changed,
    Column,
    Heading,
    Moment,
    Node,
    Paragraph,
    Table,
    Terms,
    Trend,
)
from glost.output.model import Row as TableRow
from glost.output.model.html import as_html
from glost.output.model.text import COLUMNS, as_text
from glost.output.unity_bars import Glaze, lanes, longest
from glost.output.web import document, shown
from glost.recipe.fields import Quantity
from glost.weighing.rounding import trimmed

NOT_COMMITTED: Final = "now"
"""What the column of the working folder is called, where it differs from the last commit."""

_FIRST: Final = ("cone", "atmosphere")
"""Fields that stand before the others; a change of these makes another glaze of the same amounts."""
_WIDEST: Final = 24
"""Characters of what stands in a cell; what is longer, or has lines, is told below the revision that changed it."""
WRITTEN: Final = "written"
"""Stands in a cell for a longer text."""
_AMOUNT: Final = re.compile(r"\d+(?:\.\d+)?", re.ASCII)
_MARK: Final = "*"
CHANGED: Final = "changed in this revision; what only follows the total of the base is not marked"
UNREAD: Final = "?"
NOTHING: Final = "-"


class Revision(NamedTuple):
    """One column: what the revision is called, its day, its subject, and the recipe then: None where it could not be
    read whole. ``unity``: its formula, None where something in it is not known. ``outcomes``: the fired tiles of this
    revision with what came of each, in the order of firing. ``before``: what it was made from, of which a merge has
    two; None where that is the revision before it. ``seen``: the recipe as it is held against each of these, with what
    its collection says of both. ``moves``: where its file came from or went, in words."""

    short: str
    day: str
    subject: str
    told: Told | None
    unity: Unity | None = None
    outcomes: tuple[str, ...] = ()
    author: str = ""
    commit: str = ""
    path: str = ""
    gone: bool = False
    merges: bool = False
    before: tuple[Told, ...] | None = None
    seen: tuple[Told, ...] = ()
    moves: tuple[str, ...] = ()


class AmountCell(NamedTuple):
    """What a revision says in one row; ``text`` is "" where it says nothing, ``changed`` against the one before."""

    text: str
    changed: bool


class Row(NamedTuple):
    """A material, or a field; ``heading`` is the section that it stands in. ``long``: some text of it is too long for a
    cell of a table."""

    heading: str
    what: str
    cells: tuple[AmountCell, ...]
    long: bool = False


def rows_of(revisions: Sequence[Revision], decimals: int = 2) -> list[Row]:
    """The rows, in the order of the sections, and in each as the pages have it: amounts on a base of 100."""
    changed = [{change.place for change in changes} for changes in changes_of(revisions)]
    places: dict[Place, None] = {}
    for revision in reversed(revisions):
        places |= dict.fromkeys(revision.told.meaning if revision.told else ())
        places |= dict.fromkeys(revision.told.through if revision.told else ())
    moved = {place.within for places in changed for place in places if place.section == THROUGH}
    rows = []
    for place in sorted((one for one in places if _has_a_row(one, moved)), key=_order):
        what = place.what or place.section
        steps = _steps(revisions, place)
        for step in range(steps) if steps > 1 else [None]:
            cells = tuple(
                AmountCell(_text(revision, place, step, decimals), place in changed[at])
                for at, revision in enumerate(revisions)
            )
            is_long = place.section not in WEIGHED and any(map(_is_long, cells))
            named = what if step is None else f"{what}, {step + 1}"
            rows.append(Row(_heading(place), named, cells, is_long))
    return rows


def _has_a_row(place: Place, moved: Collection[str]) -> bool:
    """``moved``: the recipes among the ingredients that were changed; of the others nothing is told."""
    if place.section == THROUGH:
        return place.within in moved
    return place.section != "kind" and (place.section not in WEIGHED or bool(place.what))


def _order(place: Place) -> tuple[int, int, str]:
    first = _FIRST.index(place.what) if place.section == "field" and place.what in _FIRST else len(_FIRST)
    return SECTIONS.index(place.section), first, place.within


def _is_long(cell: AmountCell) -> bool:
    return len(cell.text) > _WIDEST or "\n" in cell.text


def _steps(revisions: Sequence[Revision], place: Place) -> int:
    """The most amounts that stand at that place in any revision."""
    facts = (_fact(revision.told, place) for revision in revisions if revision.told)
    return max((len(fact.on_100) for fact in facts if isinstance(fact, Weighed)), default=1)


def changes_of(revisions: Sequence[Revision]) -> list[tuple[Change, ...]]:
    """What each revision changed: against what it was made from, or the last one before it that could be read. What
    only follows the total of the base, or is rounded, is no change. A merge changed what none of its sides has."""
    out: list[tuple[Change, ...]] = []
    last: Told | None = None
    for revision in revisions:
        if revision.told is not None:
            pairs = [(last, revision.told)] if last is not None else []
            if revision.before is not None:
                now = revision.seen or (revision.told,) * len(revision.before)
                pairs = list(zip(revision.before, now, strict=True))
            out.append(_changes(pairs))
        else:
            out.append(())
        last = revision.told or last
    return out


def _changes(pairs: Sequence[tuple[Told, Told]]) -> tuple[Change, ...]:
    if not pairs:
        return ()
    sides = [[one for one in compare(old, now).real if not one.follows] for old, now in pairs]
    others = [{change.place for change in side} for side in sides[1:]]
    return tuple(change for change in sides[0] if all(change.place in places for places in others))


def _heading(place: Place) -> str:
    if place.section in ("name", "field", "notes"):
        return ""
    if place.section == THROUGH:
        return f"through {place.within}, for 100 of its mix"
    return f'{place.section} "{place.within}"' if place.within else place.section


def _text(one: Revision, place: Place, step: int | None, decimals: int) -> str:
    if one.told is None:
        return "" if one.gone else UNREAD
    fact = _fact(one.told, place)
    if isinstance(fact, Weighed):
        amounts = fact.on_100 if step is None else fact.on_100[step : step + 1]
        return ", ".join(_trimmed(amount, decimals) for amount in amounts)
    if place.section == "field" and isinstance(fact, tuple) and not isinstance(fact, Quantity):
        return ", ".join(map(str, fact))
    return "" if fact is None else fact_text(fact)


def _fact(one: Told, place: Place) -> Fact | None:
    return (one.through if place.section == THROUGH else one.meaning).get(place)


def _trimmed(amount: Fraction, decimals: int) -> str:
    return trimmed(rounded(amount, decimals))


# ---- text and HTML -------------------------------------------------------------------------------------


def text(file: str, revisions: Sequence[Revision], columns: int = COLUMNS) -> str:
    """The tables for a person, the newest revision first; as many as it takes for the columns to fit."""
    rows = rows_of(revisions)
    apart = _apart(rows)
    name = max([12, *(width(visible(row.what)) + 2 for row in apart)]) + 2
    name = min(name, columns // 2)  # a longer one stands above its row
    order = range(len(revisions) - 1, -1, -1)
    wide = [_width(revisions[at], [_short(row, row.cells[at]) for row in apart]) for at in order]
    nodes = _head(file, revisions, rows)
    for start, end in _tables(wide, columns - name):
        nodes.append(_table(revisions, apart, order[start:end]))
    nodes += [Paragraph(f"{_MARK} {CHANGED}", "aside"), _list_of(revisions)]
    return as_text(nodes, columns)


def _width(revision: Revision, cells: Sequence[AmountCell]) -> int:
    """The characters of a column of the text, with the gap before it: figures stand with their points below each
    other, and words and days where whole numbers do."""
    texts = [
        revision.day,
        *(f"{_MARK if cell.changed else ''}{visible(cell.text) or NOTHING}" for cell in cells),
    ]
    parts = [text.partition(".") for text in texts]
    figures = max(width(whole) for whole, _, _ in parts) + max(
        width(point + rest) for _, point, rest in parts
    )
    return max(figures, width(visible(revision.short))) + 2


def html(file: str, revisions: Sequence[Revision]) -> str:
    """One page that needs nothing else: one table on a screen, and on paper as many as it takes for them to fit."""
    rows = rows_of(revisions)
    apart = _apart(rows)
    order = range(len(revisions) - 1, -1, -1)
    body = ["<main>", *as_html(_head(file, revisions, rows))]
    if len(revisions) > 1:
        body.append(
            f"<p>{shown(_MARK)} {shown(CHANGED)}. Lines: from the oldest revision at the left to the newest.</p>"
        )
    body.append(
        '<div class="screen" tabindex="0" role="region" aria-label="Amounts, the newest revision first">'
    )
    body += as_html([_table(revisions, apart, order, lines=True)])
    body += ["</div>", '<div class="paper">']
    for start in range(0, len(order), _ON_PAPER):
        body += as_html([_table(revisions, apart, order[start : start + _ON_PAPER], lines=start == 0)])
    body.append("</div>")
    body += _formulas(revisions)
    body += as_html([Heading("Revisions"), _list_of(revisions), Paragraph(file, "aside")])
    body.append("</main>")
    styles = ["common.css", "history.css", "trend.css", "unity.css"]
    return document(f"History of {_name(revisions) or file}", body, styles)


_ON_PAPER: Final = 5
"""Columns of revisions of a table on paper; with the names and the small lines they fill a page of A4 or Letter."""


def _name(revisions: Sequence[Revision]) -> str:
    """What the recipe is called, by the newest revision that could be read."""
    return next((one.told.name for one in reversed(revisions) if one.told), "")


def _apart(rows: Sequence[Row]) -> list[Row]:
    """The rows but those of fields that have always said the same: they stand above the table, once."""
    return [row for row in rows if not _same(row) or (row.heading and row.heading != "handling")]


def _same(row: Row) -> bool:
    """Whether all revisions that have the recipe say the same."""
    return len({cell.text for cell in row.cells if cell.text != UNREAD}) <= 1


def _head(file: str, revisions: Sequence[Revision], rows: Sequence[Row]) -> list[Node]:
    always = [
        (row.what, _said(row))
        for row in rows
        if not row.heading and row.what not in ("name", "notes") and _same(row)
    ]
    return [
        Heading(_name(revisions) or file, 1),
        Terms(
            [
                ("file", file),
                *((what, " ".join(said.split())) for what, said in always if said),
                ("amounts", "on a base of 100"),
            ]
        ),
    ]


def _said(row: Row) -> str:
    return next((cell.text for cell in row.cells if cell.text != UNREAD), "")


def _table(
    revisions: Sequence[Revision], rows: Sequence[Row], order: Sequence[int], lines: bool = False
) -> Table:
    """Those revisions as columns, in that order. ``lines``: with a small line of all revisions behind the names."""
    lines = lines and len(revisions) > 1
    columns = [Column("material", names=True)]
    if lines:
        columns.append(Column("through time"))
    columns += [Column(revisions[at].short, figures=True) for at in order]
    gap: list[Cell] = [""] if lines else []
    out: list[TableRow | Band] = [TableRow(["day", *gap, *(revisions[at].day for at in order)])]
    heading = ""
    for row in rows:
        if row.heading != heading:
            heading = row.heading
            out.append(Band(heading))
        trend: list[Cell] = []
        if lines:
            trend = [_trend(revisions, row)] if row.heading and row.heading != "handling" else [""]
        cells: list[Cell] = [_cell(_short(row, row.cells[at])) for at in order]
        out.append(TableRow([f"{'  ' if heading else ''}{row.what}", *trend, *cells]))
    return Table(columns, out, name="revisions")


def _short(row: Row, cell: AmountCell) -> AmountCell:
    return cell._replace(text=WRITTEN) if row.long and cell.text not in ("", UNREAD) else cell


def _cell(cell: AmountCell) -> Cell:
    return Changed(cell.text or NOTHING) if cell.changed else cell.text or NOTHING


def _trend(revisions: Sequence[Revision], row: Row) -> Trend:
    return Trend(
        [
            Moment(
                revision.short, Fraction(cell.text) if _AMOUNT.fullmatch(cell.text) else None, cell.changed
            )
            for revision, cell in zip(revisions, row.cells, strict=True)
        ]
    )


def _list_of(revisions: Sequence[Revision]) -> Terms:
    """The revisions with their days, authors and subjects, what stands in no cell of the table, and what came of their
    tiles, the newest first."""
    rows = []
    for one, changes in reversed(list(zip(revisions, changes_of(revisions), strict=True))):
        rows.append((one.short, "  ".join(filter(None, (one.day, one.author, one.subject)))))
        rows += [("", said) for said in one.moves]
        rows += [("", said) for change in changes if (said := _in_words(change))]
        rows += [("", f"fired {said}") for said in one.outcomes]
    return Terms(rows)


def _in_words(change: Change) -> str:
    """What no cell of the table tells: a longer text, an allowance, a whole block."""
    place = change.place
    sides = ["" if fact is None else " ".join(fact_text(fact).split()) for fact in (change.old, change.new)]
    if place.section in WEIGHED:
        if place.what:
            return ""
        return f'{place.section} "{place.within}" {"new" if change.old is None else "taken out"}'
    if place.section == THROUGH:
        told = place.what and not isinstance(change.new or change.old, Weighed)
        return (
            f"through {place.within}, {place.what}: {sides[0] or NOTHING} -> {sides[1] or NOTHING}"
            if told
            else ""
        )
    if place.section in ("name", "field") and max(map(len, sides)) <= _WIDEST:
        return ""
    what = {"field": place.what, "allowances": f"allows {place.what}"}.get(place.section, place.section)
    if place.section in ("handling", *OF_THE_COLLECTION):
        words = (place.section, place.within, place.what if place.what != "means" else "")
        what = ", ".join(filter(None, words))
    return f"{what}: {sides[0] or NOTHING} -> {sides[1] or NOTHING}"


def _tables(wide: Sequence[int], room: int) -> Iterator[tuple[int, int]]:
    """Which columns stand beside each other: from, up to."""
    start, used = 0, 0
    for at, columns in enumerate(wide):
        if used and used + columns > room:
            yield start, at
            start, used = at, 0
        used += columns
    yield start, len(wide)


def _formulas(revisions: Sequence[Revision]) -> Iterator[str]:
    """The unity formula of the oldest and the newest revision that have one, as bars."""
    known = [(one.short, one.unity) for one in revisions if one.unity]
    if not known:
        return
    chosen = known if len(known) < 2 else [known[0], known[-1]]
    yield from as_html([Heading("Unity formula, mol")])
    yield from lanes([Glaze(*one) for one in chosen], longest(unity for _, unity in chosen))


# ---- CSV -----------------------------------------------------------------------------------------------


def csv(_: str, revisions: Sequence[Revision]) -> str:
    """A row a material; the amounts have up to six decimals."""
    heads = (f"{revision.short} {revision.day}".rstrip() for revision in revisions)
    lines = [record_of(["section", "material", *(guarded(head) for head in heads)])]
    for row in rows_of(revisions, 6):
        named = (guarded(row.heading), guarded(row.what))
        lines.append(record_of([*named, *(_plain_cell(row, cell) for cell in row.cells)]))
    for what in ("author", "subject", "path"):
        lines.append(record_of(["commit", what, *(guarded(getattr(one, what)) for one in revisions)]))
    if any(revision.outcomes for revision in revisions):
        lines.append(
            record_of(["fired", "tiles", *(guarded("; ".join(revision.outcomes)) for revision in revisions)])
        )
    return "".join(lines)


def _plain_cell(row: Row, cell: AmountCell) -> str:
    if row.heading and _AMOUNT.fullmatch(cell.text):
        return cell.text
    is_cone = not row.heading and row.what == "cone" and cell.text != UNREAD
    return cone_cell(cell.text) if is_cone else guarded(cell.text)


# ---- JSON ----------------------------------------------------------------------------------------------

VERSION: Final = 1
KIND: Final = "glost history"


def as_json(file: str, revisions: Sequence[Revision]) -> str:
    """One document, the newest revision first, as schema/history.schema.json has it."""
    pairs = reversed(list(zip(revisions, changes_of(revisions), strict=True)))
    document = {
        "version": VERSION,
        "kind": KIND,
        "file": file,
        "name": _name(revisions),
        "revisions": [_data(one, changes) for one, changes in pairs],
    }
    return written(document) + "\n"


def _data(one: Revision, changes: Sequence[Change]) -> dict[str, Any]:
    state = "gone" if one.gone else "unread" if one.told is None else "read"
    return {
        "commit": one.commit or None,
        "short": one.short,
        "day": one.day or None,
        "author": one.author,
        "subject": one.subject,
        "path": one.path,
        "state": state,
        "merge": one.merges,
        "moves": list(one.moves),
        "recipe": None if one.told is None else _recipe_data(one.told),
        "changes": [change_data(change) for change in changes],
        "fired": list(one.outcomes),
    }


def _recipe_data(one: Told) -> list[dict[str, Any]]:
    return [
        {
            "section": place.section,
            "within": place.within,
            "what": place.what,
            "says": fact_data(fact, one.written.get(place)),
        }
        for place, fact in one.meaning.items()
    ]
