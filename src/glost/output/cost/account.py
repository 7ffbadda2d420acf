"""What the dry materials of a test cost, line by line. All is exact; money is rounded once, where it is shown."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from glost.errors import ValueRefusedError
from glost.output.batch.amount import BaseMass, SlipVolume, amount_of
from glost.output.format import Job
from glost.recipe.money import Money, sums_of
from glost.recipe.recipe import Test
from glost.records.prices import Found, Prices

PER_G = Decimal(100)
"""Dry grams that costs are compared by."""


@dataclass(frozen=True, slots=True)
class CostLine:
    """One line. ``price`` None: there is none on record."""

    material: str
    base: bool
    grams: Fraction
    price: Found | None

    @property
    def cost(self) -> Money | None:
        return self.price and self.price.of(self.grams)


@dataclass(frozen=True, slots=True)
class Litre:
    """A litre of it, mixed with water: the dry grams in it, its gravity, and whether the recipe says that. ``assumed``:
    materials whose density is not on record."""

    dry_g: Decimal
    gravity: Decimal
    measured: bool
    assumed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TestCost:
    """One test. ``base_g``: the mass of its base that is meant. ``litre``: None where nobody can say what is in one,
    and ``no_litre`` says why."""

    __test__ = False  # a name that pytest would otherwise collect

    file: str
    name: str
    recipe: str
    label: str
    base_g: Decimal
    lines: tuple[CostLine, ...]
    litre: Litre | None = None
    no_litre: str = ""

    @property
    def total_g(self) -> Fraction:
        return sum((line.grams for line in self.lines), Fraction(0))

    @property
    def cost(self) -> tuple[Money, ...]:
        """Of the lines that have a price, a sum a currency."""
        return sums_of(line.cost for line in self.lines if line.cost is not None)

    @property
    def cost_of_100_g(self) -> tuple[Money, ...]:
        """The same for 100 g of the dry mix."""
        return self._cost_of(PER_G)

    @property
    def cost_of_litre(self) -> tuple[Money, ...]:
        """The same for a litre mixed with water; nothing where it is not known what is in one."""
        return self._cost_of(self.litre.dry_g) if self.litre is not None else ()

    def _cost_of(self, dry_g: Decimal) -> tuple[Money, ...]:
        return tuple(Money(one.amount * Fraction(dry_g) / self.total_g, one.currency) for one in self.cost)

    @property
    def unpriced(self) -> tuple[str, ...]:
        """Materials without a price, each once."""
        return tuple(dict.fromkeys(line.material for line in self.lines if line.price is None))

    @property
    def complete(self) -> bool:
        return not self.unpriced


def cost_of_test(
    job: Job, test: Test, prices: Prices, day: date | None = None, base_g: Decimal | None = None
) -> TestCost:
    """What a test costs at the prices of a day, by default the last on record. ``base_g``: the mass of the base; None
    for the recipe's own batch. Raises ValueError for an empty base."""
    mass = amount_of(test, BaseMass(base_g) if base_g else None, job.settings, job.catalogue).base_g
    scale = Fraction(mass) / test.base_exact
    lines = tuple(
        CostLine(part.called, base, part.exact * scale, prices.of(part.called, day))
        for parts, base in ((test.base, True), (test.additions, False))
        for part in parts
        if part.parts
    )
    litre, no_litre = _litre(job, test)
    return TestCost(job.file, test.name, test.recipe.name, test.label, mass, lines, litre, no_litre)


_ONE_LITRE = SlipVolume(Decimal(1000))


def _litre(job: Job, test: Test) -> tuple[Litre | None, str]:
    try:
        slip = amount_of(test, _ONE_LITRE, job.settings, job.catalogue).slip
    except ValueRefusedError as error:
        return None, error.message
    assert slip is not None, "finished slip was asked for"
    return Litre(slip.dry_g, slip.gravity, slip.measured, slip.assumed), ""
