"""What materials cost, and what was used cost.

The price of a material is the one that the collection's materials.yaml gives: the studio has said what it charges.
Without one it is what was paid: for the lot that was written down, else in the last delivery up to that day that has a
price. A material without a price has none: it is named, and never costs nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.money import Money, sums_of
from glost.records.record import Line
from glost.records.stock_entry import StockEntry
from glost.weighing.rounding import exact_sum


class Found(NamedTuple):
    """The exact price of a gram, and where it stands."""

    per_gram: Money
    source: str

    def of(self, grams: Decimal | Fraction) -> Money:
        return Money(self.per_gram.amount * Fraction(grams), self.per_gram.currency)

    @property
    def per_kg(self) -> Money:
        return self.of(Decimal(1000))


class _Paid(NamedTuple):
    day: date
    lot: str
    grams: Decimal
    per_gram: Money


class Prices:
    """The prices of one collection."""

    def __init__(self, catalogue: Catalogue, entries: Iterable[StockEntry]) -> None:
        self._catalogue = catalogue
        self._paid: dict[str, list[_Paid]] = {}
        for entry in entries:
            for line in entry.lines:
                if line.price is not None:
                    paid = _Paid(entry.day, line.lot, line.mass_g, line.price.per_gram(line.mass_g))
                    self._paid.setdefault(self.name_of(line.material), []).append(paid)

    def name_of(self, material: str) -> str:
        return self._catalogue.called(material)

    def of(self, material: str, day: date | None = None, lot: str = "") -> Found | None:
        """The price of a material on a day, None for the last day of the log; None where there is none."""
        known = self._catalogue.find(material)
        if known is not None and known.price is not None:
            return Found(known.price.per_gram(), "materials.yaml")
        paid = self._paid.get(self.name_of(material), [])
        by_lot = [one for one in paid if lot and one.lot == lot]
        if by_lot:
            # A lot is what it is, also where its delivery was written down later.
            upto = [one for one in by_lot if day is None or one.day <= day]
            found = _together(upto, last=True) if upto else _together(by_lot, last=False)
            return found and found._replace(source=f"{found.source}, lot {lot}")
        return _together([one for one in paid if day is None or one.day <= day], last=True)


def _together(paid: list[_Paid], last: bool) -> Found | None:
    """The price of the last day among them, or of the first. Several deliveries of one day count by their masses; in
    several currencies they have no price together."""
    if not paid:
        return None
    day = max(one.day for one in paid) if last else min(one.day for one in paid)
    those = [one for one in paid if one.day == day]
    spent = sums_of(Money(one.per_gram.amount * Fraction(one.grams), one.per_gram.currency) for one in those)
    if len(spent) > 1:
        return None
    grams = Fraction(exact_sum(one.grams for one in those))
    return Found(Money(spent[0].amount / grams, spent[0].currency), f"delivery of {day}")


class Bill(NamedTuple):
    """What was used cost: sums by currency, exact, and the materials that have no price, with their grams."""

    money: tuple[Money, ...]
    unpriced: tuple[tuple[str, Decimal], ...]


def used_g(line: Line) -> Decimal:
    """What counts as used of a line: its weighed mass, else its target."""
    return line.target_g if line.actual_g is None else line.actual_g


class Costs:
    """A bill that is being gathered."""

    def __init__(self) -> None:
        self._money: list[Money] = []
        self._unpriced: dict[str, list[Decimal]] = {}

    def add(self, material: str, grams: Decimal, price: Found | None) -> None:
        if price is None:
            self._unpriced.setdefault(material, []).append(grams)
        else:
            self._money.append(price.of(grams))

    def bill(self) -> Bill:
        unpriced = ((name, exact_sum(those)) for name, those in sorted(self._unpriced.items()))
        return Bill(sums_of(self._money), tuple(unpriced))


def bill_of(costs: Costs | None) -> Bill | None:
    return None if costs is None else costs.bill()
