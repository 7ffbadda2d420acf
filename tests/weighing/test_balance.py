"""What a balance carries, reads and can be relied upon for."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from glost.weighing.balance import Balance, best_for, relative_error, smallest_mass
from glost.weighing.rounding import count_of, multiple, round_to

D = Decimal
FINE = Balance("fine", D(300), D("0.01"), cup_g=D(20))
FLOOR = Balance("floor", D(6000), D("0.1"))
BENCH = Balance("bench", D(30000), D(5))


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"name": "  "}, "no name"),
        ({"capacity_g": D(0)}, "capacity .* above 0"),
        ({"capacity_g": D("NaN")}, "capacity .* above 0"),
        ({"readability_g": D(0)}, "readability .* above 0"),
        ({"readability_g": D("-0.1")}, "readability .* above 0"),
        ({"readability_g": D(300)}, "changed places"),
        ({"repeatability_g": D(0)}, "repeatability .* above 0"),
        ({"minimum_g": D(-1)}, "minimum .* below 0"),
        ({"minimum_g": D(300)}, "nothing could be weighed"),
        ({"cup_g": D("Infinity")}, "cup .* below 0"),
        ({"cup_g": D(400)}, "nothing could be weighed"),
    ],
)
def test_refuses_figures_that_cannot_be(fields: dict[str, object], says: str) -> None:
    good: dict[str, object] = {"name": "fine", "capacity_g": D(300), "readability_g": D("0.01")}
    with pytest.raises(ValueError, match=says):
        Balance(**(good | fields))  # type: ignore[arg-type]


def test_carries_with_the_cup() -> None:
    assert FINE.carries(D(280))
    assert not FINE.carries(D("280.01"))
    assert FINE.carries(D(300), with_cup=False)
    assert FINE.carries(Fraction(280))
    assert FINE.room_g == 280


def test_reads_whole_divisions() -> None:
    assert FLOOR.reads(D("12.3"))
    assert not FLOOR.reads(D("12.34"))
    assert BENCH.reads(D(15))
    assert not BENCH.reads(Fraction(1, 3))


@pytest.mark.parametrize(
    ("division", "tolerance", "least"),
    [
        ("0.01", "0.02", "0.29"),
        ("0.1", "0.02", "2.9"),
        ("0.01", "0.03", "0.20"),
        ("1", "0.9", "1"),
        ("5", "0.01", "290"),
    ],
)
def test_smallest_mass_for_a_tolerance(division: str, tolerance: str, least: str) -> None:
    assert smallest_mass(D(division), D(tolerance)) == D(least)
    assert Balance("b", D(10000), D(division)).smallest_for(D(tolerance)) == D(least)


def test_smallest_is_never_below_the_minimum() -> None:
    assert Balance("b", D(300), D("0.1"), minimum_g=D("4.25")).smallest_for(D("0.02")) == D("4.3")
    assert Balance("b", D(300), D("0.1"), minimum_g=D("0.2")).smallest_for(D("0.02")) == D("2.9")


@pytest.mark.parametrize("tolerance", ["0", "-0.1", "1", "2", "NaN", "Infinity"])
def test_a_tolerance_is_a_fraction(tolerance: str) -> None:
    with pytest.raises(ValueError, match="fraction between 0 and 1"):
        FINE.smallest_for(D(tolerance))


@given(
    st.sampled_from([D("0.01"), D("0.02"), D("0.1"), D("0.5"), D(2)]),
    st.decimals(min_value="0.001", max_value="0.5", places=3),
    st.fractions(min_value=0, max_value=1000),
)
def test_from_the_smallest_mass_on_a_line_keeps_to_the_tolerance(
    division: Decimal, tolerance: Decimal, more: Fraction
) -> None:
    least = smallest_mass(division, tolerance)
    mass = Fraction(least) + more
    assert abs(Fraction(round_to(mass, division)) - mass) <= Fraction(tolerance) * mass
    count = count_of(least, division)
    assert count is not None
    variance = (Fraction(41, 100) ** 2 + Fraction(1, 6)) * Fraction(division) ** 2
    assert variance <= (Fraction(tolerance) * mass) ** 2
    # And one division lower it would not: it is then less sure than the tolerance.
    if count > 1:
        lower = Fraction(multiple(count - 1, division))
        assert variance > (Fraction(tolerance) * lower) ** 2


@pytest.mark.parametrize("scatter", ["0.001", "0.0041", "0.01", "0.5"])
def test_a_stated_repeatability_counts(scatter: str) -> None:
    balance = Balance("b", D(300), D("0.01"), repeatability_g=D(scatter))
    least = balance.smallest_for(D("0.02"))
    spread = max(D(scatter), D("0.0041")) ** 2 + D("0.0001") / 6
    assert spread.sqrt() <= D("0.02") * least
    assert spread.sqrt() > D("0.02") * (least - D("0.01"))


def test_best_is_the_surest_that_carries_it() -> None:
    assert best_for(D(280), [BENCH, FLOOR, FINE]) is FINE
    assert best_for(D(281), [BENCH, FLOOR, FINE]) is FLOOR
    assert best_for(D(7000), [FINE, FLOOR, BENCH]) is BENCH
    shaky = Balance("shaky", D(300), D("0.01"), repeatability_g=D("0.3"))
    assert best_for(D(5), [shaky, FLOOR]) is FLOOR
    careful = Balance("careful", D(300), D("0.001"), minimum_g=D(10))
    assert best_for(D(5), [careful, FLOOR]) is FLOOR
    assert best_for(D(50), [careful, FLOOR]) is careful
    assert best_for(D(5), [careful]) is careful
    assert best_for(D(99000), [FINE, BENCH, FLOOR]) is BENCH
    twin = Balance("twin", D(300), D("0.01"))
    assert best_for(D(5), [twin, FINE]) is twin
    with pytest.raises(ValueError, match="no balance"):
        best_for(D(5), [])


def test_an_error_of_nothing() -> None:
    with pytest.raises(ValueError, match="0 g cannot"):
        relative_error(D(0), D(1))
