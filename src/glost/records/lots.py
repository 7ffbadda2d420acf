"""Where a lot went: the batches and tests that it was weighed into, and the deliveries that it came with."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from glost.recipe.materials.catalogue import Catalogue, key
from glost.records.prices import used_g
from glost.records.record import Record
from glost.records.stock_entry import StockEntry
from glost.records.usage import Asked, is_meant
from glost.weighing.rounding import exact_sum


class LotUse(NamedTuple):
    """One line of a batch. ``weighed`` False: no mass was written down, and ``grams`` is the target. ``file``: that of
    the record."""

    recorded_at: str
    recipe: str
    test: str
    person: str
    project: str
    material: str
    grams: Decimal
    weighed: bool
    file: str

    @property
    def name(self) -> str:
        return f"{self.recipe}, {self.test}" if self.test else self.recipe


class Came(NamedTuple):
    """A delivery of the lot."""

    day: date
    material: str
    grams: Decimal


class LotTile(NamedTuple):
    """A fired tile of one of the batches. ``batch`` is the file of its record, ``file`` the page of the firing."""

    day: str
    firing: str
    tile: str
    batch: str
    faults: tuple[str, ...]
    file: str


@dataclass(frozen=True, slots=True)
class Lot:
    """The answer. ``lot`` as it was asked for; ``known``: every lot that the log names, for a slip."""

    lot: str
    came: tuple[Came, ...]
    uses: tuple[LotUse, ...]
    known: tuple[str, ...]
    tiles: tuple[LotTile, ...] = ()

    @property
    def totals(self) -> tuple[tuple[str, Decimal], ...]:
        """Grams of each material of it."""
        names = sorted({use.material for use in self.uses})
        return tuple(
            (name, exact_sum(use.grams for use in self.uses if use.material == name)) for name in names
        )

    @property
    def batches(self) -> int:
        return len({use.file for use in self.uses})


def where_it_went(
    records: Iterable[tuple[Record, Catalogue, str]],
    entries: Iterable[tuple[StockEntry, Catalogue]],
    lot: str,
    asked: Asked,
) -> Lot:
    """Where a lot went, by the records that are asked for; each comes with its catalogue and its file. Letter case and
    blanks of a lot do not matter."""
    known: set[str] = set()
    uses: list[LotUse] = []
    for record, catalogue, file in records:
        known.update(line.lot for line in record.lines if line.lot)
        if not is_meant(record, asked):
            continue
        uses += [
            LotUse(
                recorded_at=record.recorded_at,
                recipe=record.recipe,
                test=record.test,
                person=record.person,
                project=record.project,
                material=catalogue.called(line.material),
                grams=used_g(line),
                weighed=line.actual_g is not None,
                file=file,
            )
            for line in record.lines
            if line.lot and key(line.lot) == key(lot) and used_g(line)
        ]
    came: list[Came] = []
    for entry, catalogue in entries:
        known.update(line.lot for line in entry.lines if line.lot)
        if entry.kind == "delivery":
            came += [
                Came(entry.day, catalogue.called(line.material), line.mass_g)
                for line in entry.lines
                if line.lot and key(line.lot) == key(lot)
            ]
    return Lot(lot, tuple(sorted(came)), tuple(sorted(uses)), tuple(sorted(known)))
