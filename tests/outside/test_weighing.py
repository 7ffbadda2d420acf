"""The weighing floor against figures and implementations that are not this project's own."""

from collections.abc import Sequence
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from glost.weighing.batch import Line, plan
from glost.weighing.rounding import exact_sum, largest_remainder, round_to
from glost.weighing.sieve import SIEVE_OPENINGS_UM, opening_um
from glost.weighing.slurry import dry_in_volume
from glost.weighing.units import MASS_UNITS, grams, read_mass

D = Decimal


# Source: NIST SP 811, appendix B.8 (from memory): pound (avoirdupois) 4.5359237 E-01 kg, exact; ounce
# (avoirdupois) 2.834952 E-02 kg, which SP 811 prints to seven figures.
def test_factors_of_nist() -> None:
    assert read_mass("1 lb") == D("453.59237")
    assert grams(D(1), "oz").quantize(D("0.00001")) == D("28.34952")


# Source: G. J. Cox, "Pottery", Macmillan, 1914, tables: an ounce avoirdupois is a sixteenth of a pound.
def test_sixteen_ounces_to_the_pound() -> None:
    assert grams(D(16), "oz") == grams(D(1), "lb")


# Source: PyPI pint, its own table of units, in decimal arithmetic.
@pytest.mark.parametrize("unit", sorted(MASS_UNITS))
def test_factors_of_a_unit_library(unit: str) -> None:
    pint = pytest.importorskip("pint")
    registry = pint.UnitRegistry(non_int_type=Decimal)
    expected = registry.Quantity(D("2.5"), unit).to("g").magnitude
    assert abs(grams(D("2.5"), unit) - expected) <= D("1e-20")


# Source: ASTM E29 as quoted in a state materials manual (first three) and a college chemistry page (the
# others).
@pytest.mark.parametrize(
    ("value", "division", "expected"),
    [
        ("45.7500", "0.1", "45.8"),
        ("45.4500", "0.1", "45.4"),
        ("45.45001", "0.1", "45.5"),
        ("21.350", "0.1", "21.4"),
        ("21.45", "0.1", "21.4"),
        ("21.4501", "0.1", "21.5"),
        ("56.748", "0.1", "56.7"),
        ("2.146", "0.01", "2.15"),
    ],
)
def test_half_goes_to_even(value: str, division: str, expected: str) -> None:
    assert str(round_to(D(value), D(division))) == expected


# Source: a note of a testing laboratory on rounding of test results: binary 2.15 lies below 2.15, decimal
# 2.15 does not.
def test_the_binary_trap() -> None:
    assert round_to(D("2.15"), D("0.1")) == D("2.2")


# Source: PyPI fluids, table ASTM_E11_sieves (openings in metres, by "No. N").
def test_sieves_of_a_fluids_library() -> None:
    sizes = pytest.importorskip("fluids.particle_size_distribution")
    by_number = {
        int(sieve.old_designation.removeprefix("No. ")): round(sieve.opening * 1e6)
        for sieve in sizes.ASTM_E11_sieves.values()
        if sieve.old_designation.removeprefix("No. ").isdigit()
    }
    assert dict(SIEVE_OPENINGS_UM) == {mesh: um for mesh, um in by_number.items() if 20 <= mesh <= 635}


# Source: a summary of ASTM E11: 200 mesh is 75 µm, 325 is 45 µm.
def test_two_sieves_of_the_standard() -> None:
    assert (opening_um(200), opening_um(325)) == (75, 45)


# Source: "Forming Techniques for the Self-Reliant Potter" (GTZ/GATE, 1991), "Dry content of liquid": 1700 g/l
# and 2.5 give 1166 g/l; 30 l hold 35 kg, and 5 % of that is 1.75 kg.
def test_dry_content_of_a_liquid() -> None:
    dry = dry_in_volume(D(1000), D("1.7"), D("2.5"))
    assert int(dry) == 1166
    assert abs(dry - D("1166.67")) < D("0.01")
    assert abs(30 * dry - 35000) < D("0.001")
    assert abs(30 * dry * D("0.05") - 1750) < D("0.001")


# Source: a scanned note that quotes Harrison et al., "Handbook for Australian Potters" (second-hand), table
# at 2.6.
@pytest.mark.parametrize(
    ("slurry", "dry"),
    [
        (1050, 81),
        (1100, 162),
        (1200, 325),
        (1300, 487),
        (1400, 650),
        (1450, 731),
        (1500, 812),
        (1600, 975),
        (1700, 1137),
    ],
)
def test_table_of_dry_content(slurry: int, dry: int) -> None:
    assert abs(dry_in_volume(D(1000), D(slurry) / 1000, D("2.6")) - dry) <= 1


# Source: the US census of 1790 and the apportionment of 120 seats by largest remainder, the standard textbook
# example of the method (from memory).
def test_the_textbook_example_of_largest_remainder() -> None:
    census = {
        "Connecticut": (236841, 8),
        "Delaware": (55540, 2),
        "Georgia": (70835, 2),
        "Kentucky": (68705, 2),
        "Maryland": (278514, 9),
        "Massachusetts": (475327, 16),
        "New Hampshire": (141822, 5),
        "New Jersey": (179570, 6),
        "New York": (331589, 11),
        "North Carolina": (353523, 12),
        "Pennsylvania": (432879, 14),
        "Rhode Island": (68446, 2),
        "South Carolina": (206236, 7),
        "Vermont": (85533, 3),
        "Virginia": (630560, 21),
    }
    people = [D(count) for count, _ in census.values()]
    assert largest_remainder(people, D(120), D(1)) == tuple(seats for _, seats in census.values())


def _seat_by_seat(votes: Sequence[int], seats: int) -> list[int]:
    """Largest remainder in whole numbers only: another way round, to compare with."""
    whole = sum(votes)
    given = [vote * seats // whole for vote in votes]
    left = [vote * seats % whole for vote in votes]
    while sum(given) < seats:
        at = left.index(max(left))
        given[at] += 1
        left[at] = -1
    return given


# Source: an implementation in whole numbers, seat by seat.
@given(st.lists(st.integers(0, 10**6), min_size=1, max_size=12).filter(any), st.integers(0, 5000))
def test_largest_remainder_seat_by_seat(votes: list[int], seats: int) -> None:
    shares = largest_remainder([D(vote) for vote in votes], D(seats), D(1))
    assert list(shares) == _seat_by_seat(votes, seats)


# Source: PyPI apportionment 1.0, method largest_remainder (in floats, so votes are kept small and ties are
# left out).
@given(st.lists(st.integers(1, 997), min_size=2, max_size=9), st.integers(1, 300))
def test_largest_remainder_of_an_apportionment_library(votes: list[int], seats: int) -> None:
    methods = pytest.importorskip("apportionment.methods")
    left = [vote * seats % sum(votes) for vote in votes]
    if len(set(left)) < len(left):
        return
    expected = methods.compute("largest_remainder", votes, seats)
    assert list(largest_remainder([D(vote) for vote in votes], D(seats), D(1))) == [
        int(seat) for seat in expected
    ]


# Source: common practice: additions come on top, so 100 g of base with 2 parts of additions weighs 102 g.
def test_additions_come_on_top_of_100() -> None:
    lines = [
        Line("kaolin", D(100), base=True),
        Line("tin oxide", D("1.5"), base=False),
        Line("rutile", D("0.5"), base=False),
    ]
    planned = plan(lines, D(100), D(100), [], D("0.02"))
    assert planned.total_mass_g == planned.total_target_g == 102
    assert exact_sum(line.target_g for line in planned.lines if line.base) == 100
