"""What came of the tiles, in the order of firing, and what had been changed since the fired tile before each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from typing import Any, Final, Literal, NamedTuple

from glost.changes.comparison import Change, compare
from glost.changes.meaning import Told, Weighed
from glost.changes.report import parts_of
from glost.changes.tile_formula import Formulas, Made, TermMoved
from glost.language.csv_cells import cone_cell, guarded, record_of
from glost.language.exact_json import written
from glost.output.model import Heading, Node, Terms
from glost.output.model.text import as_text
from glost.recipe.firing import Firing, Tile

VERSION = 1
KIND = "glost results"

Source = Literal["weighed", "page then", "page now", "not known"]
"""Where the composition of a tile comes from: the record of its batch; the page as it was committed last on or before
the day of firing; the page as it is; from nowhere."""

_SAID: dict[str, str] = {
    "weighed": "as it was weighed",
    "page then": "inferred: the page as committed last by that day",
    "page now": "not known; the page as it is now is taken",
    "not known": "not known",
}


@dataclass(frozen=True, slots=True)
class FiredTile:
    """A tile in its firing. ``file``: of the firing's page. ``test`` is "" for the recipe itself. ``revision``: ""
    where none is known. ``told``: what was in it, None where that is not known. ``uses``: the
    recipes that it was made of, each with its revision where that is known. ``made``: the same as ``told``, to be
    calculated with."""

    file: str
    firing: Firing
    tile: Tile
    kind: str
    recipe: str
    test: str
    revision: str
    source: Source
    person: str
    lots: tuple[str, ...]
    told: Told | None
    uses: tuple[str, ...] = ()
    made: Made | None = None

    @property
    def name(self) -> str:
        """The test, as it is named everywhere."""
        name = f"{self.recipe}, {self.test}" if self.test else self.recipe
        return f'{self.kind} "{name}"'


class Moved(NamedTuple):
    """One thing that was changed: where (base, additions, field), what, and what it was and is, on a base of 100; "" on
    the side that has it not."""

    where: str
    what: str
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class Result:
    """A tile, the one before it, None where it is the first, and what was changed between them; ``changes`` None: one
    of the two is not known. ``formula``: the oxides of the unity formula that moved with it by more than can be seen;
    None where one of the two has no formula, or where nothing was changed."""

    fired: FiredTile
    before: FiredTile | None
    changes: tuple[Moved, ...] | None
    formula: tuple[TermMoved, ...] | None = None


def results_of(tiles: Sequence[FiredTile]) -> list[Result]:
    """Each tile, in the order given, with the one before it: of the same test, else of the same recipe."""
    by_test: dict[tuple[str, str, str], FiredTile] = {}
    by_recipe: dict[tuple[str, str], FiredTile] = {}
    formulas = Formulas()
    out = []
    for one in tiles:
        recipe = (one.kind, one.recipe.casefold())
        test = (*recipe, one.test.casefold())
        before = by_test.get(test) or by_recipe.get(recipe)
        changes = None if before is None else _moved(before, one)
        formula = formulas.moved(before.made, one.made) if before is not None and changes else None
        out.append(Result(one, before, changes, formula))
        by_test[test] = by_recipe[recipe] = one
    return out


def _moved(old: FiredTile, new: FiredTile) -> tuple[Moved, ...] | None:
    if old.told is None or new.told is None:
        return None
    found = []
    compared = compare(old.told, new.told)
    halves = [_halves_on_100(one) for one in (old, new)]
    real = tuple(one for one in compared.changes if not _left_open(one, halves))
    for part in parts_of(replace(compared, changes=real)):
        where = part.heading.partition(",")[0].lower()
        found += [Moved(where, row.what, row.old, row.new) for row in part.rows]
        found += [Moved(where, *said) for said in part.said]
    return tuple(found)


def _halves_on_100(fired: FiredTile) -> dict[str, Fraction]:
    """How far each amount may lie off on a base of 100, by what its balance does not show."""
    if fired.made is None or fired.told is None or not fired.told.total:
        return {}
    halves = fired.made.halves
    return {
        place.what: sum((Fraction(halves.get(name, 0)) for name in written.names), Fraction(0))
        * 100
        / fired.told.total
        for place, written in fired.told.written.items()
        if place.section in ("base", "additions")
    }


def _left_open(change: Change, halves: Sequence[Mapping[str, Fraction]]) -> bool:
    """Whether an amount moved by no more than weighing leaves open, or than nobody sees where a page says it."""
    old, new = change.old, change.new
    if not isinstance(old, Weighed) or not isinstance(new, Weighed) or len(old.on_100) != len(new.on_100):
        return False
    nearest = max(sum((side.get(change.place.what, Fraction(0)) for side in halves), Fraction(0)), _LEAST)
    return old.note == new.note and all(
        abs(a - b) <= nearest for a, b in zip(old.on_100, new.on_100, strict=True)
    )


_LEAST: Final = Fraction(1, 10**6)
"""Parts of 100: what is left of fractions that do not end."""


# ---- text ---------------------------------------------------------------------------------------------


def _nodes(results: Sequence[Result]) -> Iterator[Node]:
    for recipe, group in by_recipe(results).items():
        yield Heading(recipe)
        for one in group:
            yield Heading(title_of(one.fired), 3)
            yield Terms(list(terms_of(one)))


def by_recipe(results: Sequence[Result]) -> dict[str, list[Result]]:
    """The results of each recipe, by how it is named."""
    found: dict[str, list[Result]] = {}
    for one in results:
        found.setdefault(f'{one.fired.kind} "{one.fired.recipe}"', []).append(one)
    return found


def title_of(fired: FiredTile) -> str:
    """Day, firing, tile and test."""
    firing = fired.firing
    label = f", {fired.test}" if fired.test else ""
    return f"{firing.date}  {firing.name}, tile {fired.tile.name}{label}"


def outcome_text(fired: FiredTile) -> str:
    """A tile and what came of it, on one line."""
    tile = fired.tile
    said = "; ".join(
        filter(
            None,
            (
                ", ".join(filter(None, (tile.surface, tile.colour))),
                ", ".join(tile.faults),
                f"ran {tile.flow:f} mm" if tile.flow else "",
                tile.remarks,
                tile.photo,
            ),
        )
    )
    changed = " (the page had been changed since)" if fired.revision.endswith("changed since") else ""
    return f"{title_of(fired)}{changed}: {said or 'nothing was written down yet'}"


def terms_of(result: Result) -> Iterator[tuple[str, str]]:
    """Word by word what is known of a tile, what was changed before it, and what came of it."""
    fired, tile, firing = result.fired, result.fired.tile, result.fired.firing
    cone = ", ".join(
        filter(
            None,
            (
                f"cone {firing.reached} reached" if firing.reached else "",
                f"{'fired to ' if firing.reached else 'cone '}{firing.cone}" if firing.cone else "",
                firing.atmosphere,
            ),
        )
    )
    yield from _filled(("kiln", firing.kiln), ("fired", cone), ("body", tile.body), ("place", tile.place))
    yield (
        "recipe",
        "; ".join(
            filter(
                None,
                (
                    _SAID[fired.source],
                    f"revision {fired.revision}" if fired.revision else "",
                    f"made of {', '.join(fired.uses)}" if fired.uses else "",
                    f"by {fired.person}" if fired.person else "",
                ),
            )
        ),
    )
    yield from _changes(result)
    yield from _filled(
        ("surface", tile.surface),
        ("colour", tile.colour),
        ("flow", f"{tile.flow:f} mm" if tile.flow is not None else ""),
        ("faults", ", ".join(tile.faults)),
        ("remarks", tile.remarks),
        ("photo", tile.photo),
    )
    if not any((tile.surface, tile.colour, tile.flow, tile.faults, tile.remarks, tile.photo)):
        yield "result", "nothing was written down yet"


def _changes(result: Result) -> Iterator[tuple[str, str]]:
    before = result.before
    if before is None:
        yield "changed", "the first fired tile of this recipe here"
        return
    since = f"since tile {before.tile.name} of {_when(before, result.fired)}"
    if result.changes is None:
        yield "changed", f"{since}: not known, since what was in one of the two is not known"
    elif not result.changes:
        yield "changed", f"{since}: nothing"
    else:
        yield "changed", f"{since}, for 100 of the base:"
        for one in result.changes:
            yield "", moved_text(one)
        if result.formula is None:
            yield "formula", "no unity formula of one of the two, so that nothing is said of how it moved"
        elif not result.formula:
            yield "formula", "the unity formula moved by nothing that can be seen"
        else:
            yield "formula", "unity formula, mol:"
            for term in result.formula:
                yield "", term_text(term)


def _when(before: FiredTile, fired: FiredTile) -> str:
    """The firing that a tile was in: its day, and, where it was another one, its name. Two may be lit on one day."""
    return before.firing.date if before.file == fired.file else f"{before.firing.date}, {before.firing.name}"


def moved_text(one: Moved) -> str:
    """Such as "cobalt carbonate 0.5 -> 1"."""
    return f"{one.what} {one.old or 'none'} -> {one.new or 'none'}"


def term_text(one: TermMoved) -> str:
    """Such as "CoO 0.009 -> 0.018"."""
    return f"{one.oxide} {one.old:.3f} -> {one.new:.3f}"


def _filled(*rows: tuple[str, str]) -> Iterator[tuple[str, str]]:
    return (row for row in rows if row[1])


def text(results: Sequence[Result]) -> str:
    """For a person: recipe by recipe, each in the order of firing."""
    return as_text(list(_nodes(results))) if results else ""


# ---- CSV and JSON --------------------------------------------------------------------------------------

COLUMNS = (
    "date",
    "firing",
    "kiln",
    "cone",
    "reached",
    "atmosphere",
    "tile",
    "kind",
    "recipe",
    "test",
    "batch",
    "revision",
    "composition",
    "person",
    "body",
    "place",
    "before",
    "changes",
    "formula",
    "surface",
    "colour",
    "flow_mm",
    "faults",
    "photo",
    "remarks",
    "file",
)


def csv(results: Sequence[Result]) -> str:
    """A row a tile, by RFC 4180 with CR LF, in the order of firing."""
    return "".join([record_of(COLUMNS), *(record_of(_cells(one)) for one in results)])


def _cells(result: Result) -> tuple[str, ...]:
    fired, tile, firing = result.fired, result.fired.tile, result.fired.firing
    changes = "not known" if result.changes is None else "; ".join(map(moved_text, result.changes))
    before = result.before
    return (
        firing.date,
        guarded(firing.name),
        guarded(firing.kiln),
        cone_cell(str(firing.cone)) if firing.cone else "",
        cone_cell(str(firing.reached)) if firing.reached else "",
        guarded(firing.atmosphere),
        guarded(tile.name),
        fired.kind,
        guarded(fired.recipe),
        guarded(fired.test),
        tile.batch,
        guarded(fired.revision),
        fired.source,
        guarded(fired.person),
        guarded(tile.body),
        guarded(tile.place),
        guarded(f"{before.firing.date} {before.tile.name}") if before else "",
        guarded(changes if before else ""),
        guarded("; ".join(map(term_text, result.formula or ()))),
        guarded(tile.surface),
        guarded(tile.colour),
        f"{tile.flow:f}" if tile.flow is not None else "",
        guarded("; ".join(tile.faults)),
        guarded(tile.photo),
        guarded(tile.remarks),
        guarded(fired.file),
    )


def as_json(results: Sequence[Result]) -> str:
    """One document, as schema/results.schema.json has it."""
    document = {"version": VERSION, "kind": KIND, "results": [_data(one) for one in results]}
    return written(document) + "\n"


def _data(result: Result) -> dict[str, Any]:
    fired, tile, firing = result.fired, result.fired.tile, result.fired.firing
    before = result.before
    return {
        "date": firing.date,
        "firing": firing.name,
        "file": fired.file,
        "kiln": firing.kiln,
        "cone": str(firing.cone) if firing.cone else None,
        "reached": str(firing.reached) if firing.reached else None,
        "atmosphere": firing.atmosphere,
        "tile": tile.name,
        "test": fired.name,
        "batch": tile.batch,
        "revision": fired.revision,
        "composition": fired.source,
        "person": fired.person,
        "lots": list(fired.lots),
        "uses": list(fired.uses),
        "body": tile.body,
        "place": tile.place,
        "before": None if before is None else {"date": before.firing.date, "tile": before.tile.name},
        "changes": None
        if result.changes is None
        else [
            {"where": one.where, "what": one.what, "old": one.old, "new": one.new} for one in result.changes
        ],
        "formula": None
        if result.formula is None
        else [{"oxide": one.oxide, "old": _mol(one.old), "new": _mol(one.new)} for one in result.formula],
        "surface": tile.surface,
        "colour": tile.colour,
        "flow_mm": tile.flow,
        "faults": list(tile.faults),
        "photo": tile.photo,
        "remarks": tile.remarks,
    }


def _mol(amount: Decimal) -> Decimal:
    return amount.quantize(Decimal("0.000001"), ROUND_HALF_EVEN)
