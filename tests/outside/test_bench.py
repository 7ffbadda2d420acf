"""Weighing at the bench against published figures, a general unit library, and simulated weighings."""

import random
import statistics
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

import pytest

from glost.weighing.balance import REPEATABILITY_FLOOR, Balance, reading_variance
from glost.weighing.batch import Line
from glost.weighing.slurry import (
    dry_fraction,
    dry_in_volume,
    gravity_with_water,
    mixture_gravity,
    slip_volume,
)
from glost.weighing.uncertainty import (
    Weighed,
    square_root,
    total_uncertainty,
    uncertainties,
)
from glost.weighing.units import VOLUME_UNITS, millilitres
from glost.weighing.ways import ways

D = Decimal


# Source: JCGM 100:2008 (GUM), 4.3.9 (from memory): a triangular distribution of half width a has the standard
# uncertainty a / sqrt(6). The difference of two roundings to d is triangular with half width d, which is where
# the 0.41 of USP <41> comes from.
def test_where_the_floor_comes_from() -> None:
    two_roundings = (2 * square_root(reading_variance(D(1), D(0))) ** 2).sqrt()
    assert round(two_roundings, 2) == REPEATABILITY_FLOOR


# Source: JCGM 100:2008 (GUM), F.2.2.1 (from memory): a display that steps by d has, from this alone, a standard
# uncertainty of 0.29 d.
def test_rounding_of_a_display() -> None:
    assert round(square_root(reading_variance(D(1), D(0))), 2) == D("0.29")


# ---- simulated weighings -------------------------------------------------------------------------------
#
# Source: 10,000 weighings a case on a balance that scatters and whose display rounds what it feels. Powder of
# any mass goes in; what the display says of it, by the reading before and the one after, is compared with what
# truly went in.

WEIGHINGS = 10_000
WITHIN = 0.05


class Pan:
    """A balance with something on it. Its readings scatter by s / sqrt(2), so that the difference of two of them,
    one weighing, scatters by s; the display rounds each."""

    def __init__(self, dice: random.Random, division: float, scatter: float) -> None:
        self.dice, self.division, self.scatter = dice, division, scatter / 2**0.5
        self.on_it = dice.uniform(0, 1000 * division)

    def reads(self) -> float:
        return round((self.on_it + self.dice.gauss(0, self.scatter)) / self.division) * self.division

    def pour(self, mass: float) -> float:
        """About so much; gives back what it truly was."""
        poured = mass + self.dice.uniform(-2, 2) * self.division
        self.on_it += poured
        return poured


Weighing = tuple[float, float]
"""What the display says, what is true."""


def tared(dice: random.Random, masses: list[float], division: float, scatter: float) -> list[Weighing]:
    pan = Pan(dice, division, scatter)
    found: list[Weighing] = []
    for mass in masses:
        zero = pan.reads()
        true = pan.pour(mass)
        found.append((pan.reads() - zero, true))
    return found


def running(dice: random.Random, masses: list[float], division: float, scatter: float) -> list[Weighing]:
    pan = Pan(dice, division, scatter)
    found: list[Weighing] = []
    before = pan.reads()
    for mass in masses:
        true = pan.pour(mass)
        after = pan.reads()
        found.append((after - before, true))
        before = after
    return found


Weigh = Callable[[random.Random, list[float], float, float], list[Weighing]]


def errors(batches: list[list[Weighing]], at: int) -> list[float]:
    return [batch[at][0] - batch[at][1] for batch in batches]


def share_errors(batches: list[list[Weighing]], at: int, base: int) -> list[float]:
    """Relative errors of a line's share of the base, the first so many lines."""
    return [
        (batch[at][0] / sum(shown for shown, _ in batch[:base]))
        / (batch[at][1] / sum(true for _, true in batch[:base]))
        - 1
        for batch in batches
    ]


def total_errors(batches: list[list[Weighing]]) -> list[float]:
    return [sum(shown - true for shown, true in batch) for batch in batches]


@pytest.mark.parametrize(("weigh", "chained"), [(tared, False), (running, True)])
@pytest.mark.parametrize(("division", "scatter"), [("0.1", "0.041"), ("0.1", "0.1"), ("0.01", "0.03")])
def test_simulated_weighings(weigh: Weigh, chained: bool, division: str, scatter: str) -> None:
    masses = [40, 30, 20, 10]
    lines = [
        Weighed(Fraction(mass), at < 3, D(division), D(scatter), chained=chained)
        for at, mass in enumerate(masses)
    ]
    dice = random.Random(f"{chained} {division} {scatter}")
    batches = [
        weigh(dice, [float(mass) for mass in masses], float(division), float(scatter))
        for _ in range(WEIGHINGS)
    ]
    for at, (mass, expected) in enumerate(zip(masses, uncertainties(lines), strict=True)):
        spread = statistics.stdev(errors(batches, at))
        assert spread == pytest.approx(float(expected.standard_g), rel=WITHIN)
        assert spread / mass == pytest.approx(float(expected.relative), rel=WITHIN)
        assert statistics.stdev(share_errors(batches, at, 3)) == pytest.approx(
            float(expected.share), rel=WITHIN
        )
        assert expected.standard_g == square_root(2 * reading_variance(D(division), D(scatter)))
    assert statistics.stdev(total_errors(batches)) == pytest.approx(
        float(total_uncertainty(lines)), rel=WITHIN
    )
    neighbours = statistics.correlation(errors(batches, 0), errors(batches, 1))
    assert neighbours == pytest.approx(-0.5 if chained else 0, abs=0.05)


def test_a_simulated_batch_with_a_small_line_apart() -> None:
    balances = [Balance("fine", D(200), D("0.01")), Balance("floor", D(6000), D("0.1"))]
    recipe = [
        Line("potash feldspar", D(60), base=True),
        Line("silica", D(40), base=True),
        Line("cobalt carbonate", D("0.25"), base=False),
    ]
    _, _, apart = ways(recipe, D(100), D(600), balances, D("0.02"))
    dice = random.Random(41)
    batches = [
        [*running(dice, [360.0, 240.0], 0.1, 0.041), *tared(dice, [1.5], 0.01, 0.0041)]
        for _ in range(WEIGHINGS)
    ]
    for at, line in enumerate(apart.lines):
        assert statistics.stdev(errors(batches, at)) == pytest.approx(float(line.standard_g), rel=WITHIN)
        assert statistics.stdev(share_errors(batches, at, 2)) == pytest.approx(
            float(line.parts_uncertainty), rel=WITHIN
        )
    assert statistics.stdev(total_errors(batches)) == pytest.approx(float(apart.standard_g), rel=WITHIN)


# ---- slurry --------------------------------------------------------------------------------------------


# Source: "Forming Techniques for the Self-Reliant Potter" (GTZ/GATE, 1991), "Dry content of liquid": a litre of
# 1700 g, dry material of specific gravity 2.5, holds 1,166 g; 30 litres hold 35 kg.
def test_the_worked_example_of_brongniarts_formula() -> None:
    assert int(dry_in_volume(D(1000), D("1.7"), D("2.5"))) == 1166
    assert round(dry_in_volume(D(30000), D("1.7"), D("2.5"))) == 35000
    assert round(dry_fraction(D("1.7"), D("2.5")) * 1700, 2) == D("1166.67")


# Source: by hand, from densities of the CRC Handbook (quartz 2648, calcite 2710 kg/m3): 60 g of quartz are
# 22.6586 ml and 40 g of calcite 14.7601 ml, so 100 g dry are 37.4188 ml, 2.67246 g/ml; with 60 g of water,
# 160 g stand in 97.4188 ml, which is 1.64239 g/ml.
def test_a_slurry_of_quartz_and_calcite() -> None:
    dry = mixture_gravity([(D(60), D("2.648")), (D(40), D("2.710"))])
    assert round(dry, 5) == D("2.67246")
    assert round(slip_volume(D(100), D(60), dry), 4) == D("97.4188")
    assert round(gravity_with_water(D(60), dry), 5) == D("1.64239")


# ---- volumes -------------------------------------------------------------------------------------------


# Source: NIST Handbook 44, appendix C, and SP 811 (from memory): the US gallon is 231 cubic inches of 2.54 cm and
# holds 8 pints or 128 fluid ounces; the imperial gallon is 4.54609 l and holds 8 pints or 160 fluid ounces.
def test_gallons_of_nist() -> None:
    us, imperial = 231 * D("2.54") ** 3, D("4546.09")
    assert millilitres(D(8), "US pint") == millilitres(D(128), "US fl oz") == us
    assert millilitres(D(8), "imperial pint") == millilitres(D(160), "imperial fl oz") == imperial


# Source: G. J. Cox, "Pottery", Macmillan, 1914, tables: a pint is 0.568 l.
def test_the_pint_of_an_old_table() -> None:
    assert round(millilitres(D(1), "imperial pint") / 1000, 3) == D("0.568")


# Source: PyPI pint, its own table of units, in decimal arithmetic.
@pytest.mark.parametrize("unit", sorted(VOLUME_UNITS))
def test_volumes_of_a_unit_library(unit: str) -> None:
    pint = pytest.importorskip("pint")
    registry = pint.UnitRegistry(non_int_type=Decimal)
    name = {
        "US fl oz": "US_fluid_ounce",
        "US pint": "US_pint",
        "imperial fl oz": "imperial_fluid_ounce",
        "imperial pint": "imperial_pint",
    }.get(unit, unit)
    expected = registry.Quantity(D("2.5"), name).to("ml").magnitude
    assert abs(millilitres(D("2.5"), unit) - expected) <= D("1e-20")
