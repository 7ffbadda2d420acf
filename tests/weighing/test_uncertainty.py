"""Standard uncertainty of weighed lines."""

from decimal import Decimal, localcontext
from fractions import Fraction

import pytest

from glost.weighing.balance import Balance, reading_variance
from glost.weighing.uncertainty import (
    Weighed,
    repeatability,
    square_root,
    total_uncertainty,
    uncertainties,
)

D = Decimal
FINE = Balance("fine", D(300), D("0.01"))


def one_mass(division: Decimal, scatter: Decimal) -> Decimal:
    """The uncertainty of one mass in the cup: it is the difference of two readings."""
    return square_root(2 * reading_variance(division, scatter))


def weighed(*masses: int, chained: bool, division: str = "0.1", scatter: str = "0.041") -> list[Weighed]:
    return [Weighed(Fraction(mass), True, D(division), D(scatter), chained=chained) for mass in masses]


def test_rounding_is_a_division_over_the_root_of_twelve() -> None:
    assert abs(square_root(reading_variance(D("0.1"), D(0))) - D("0.0288675134594812882")) < D("1e-18")
    assert abs(square_root(reading_variance(D("0.1"), D(0))) ** 2 * 12 - D("0.01")) < D("1e-27")


def test_a_balance_is_credited_with_what_it_states_but_not_below_the_floor() -> None:
    assert repeatability(FINE, D("0.01")) == FINE.scatter_g == D("0.0041")
    assert Balance("worn", D(300), D("0.01"), repeatability_g=D("0.02")).scatter_g == D("0.02")
    assert Balance("proud", D(300), D("0.01"), repeatability_g=D("0.001")).scatter_g == D("0.0041")
    assert repeatability(None, D("0.01")) == D("0.0041")


def test_two_readings_make_a_mass() -> None:
    assert reading_variance(D("0.1"), D("0.1")) == Fraction(1, 200) + Fraction(1, 1200)
    assert abs(one_mass(D("0.1"), D("0.1")) ** 2 - (D("0.01") + D("0.01") / 6)) < D("1e-20")


def test_the_result_does_not_hang_on_the_context_of_the_caller() -> None:
    expected = one_mass(D("0.1"), D("0.041"))
    with localcontext() as context:
        context.prec = 3
        assert one_mass(D("0.1"), D("0.041")) == expected


def test_tared_lines_add_up_and_a_running_total_does_not() -> None:
    tared, chained = weighed(10, 20, 30, 40, chained=False), weighed(10, 20, 30, 40, chained=True)
    one = one_mass(D("0.1"), D("0.041"))
    assert {line.standard_g for line in (*uncertainties(tared), *uncertainties(chained))} == {one}
    assert abs(total_uncertainty(tared) - 2 * one) < D("1e-20")
    assert abs(total_uncertainty(chained) - one) < D("1e-20")


def test_the_only_line_of_a_base_is_always_all_of_it() -> None:
    (only,) = uncertainties(weighed(50, chained=False))
    assert only.relative > 0
    assert only.share == 0


def test_an_addition_is_as_unsure_as_itself_and_the_base() -> None:
    base = Weighed(Fraction(100), True, D("0.1"), D("0.041"))
    added = Weighed(Fraction(2), False, D("0.1"), D("0.041"))
    _, found = uncertainties([base, added])
    one = one_mass(D("0.1"), D("0.041"))
    assert abs(found.share**2 - ((one / 2) ** 2 + (one / 100) ** 2)) < D("1e-20")


def test_a_line_left_out_is_not_weighed() -> None:
    lines = weighed(10, 0, 20, chained=True)
    assert uncertainties(lines)[1].standard_g == 0
    # Its neighbours share the reading between them.
    assert total_uncertainty(lines) == total_uncertainty(weighed(10, 20, chained=True))


def test_portions_are_weighings_of_their_own() -> None:
    line = Weighed(Fraction(500), True, D("0.1"), D("0.041"), weighings=4)
    one = one_mass(D("0.1"), D("0.041"))
    assert abs(uncertainties([line])[0].standard_g - 2 * one) < D("1e-20")


def test_what_cannot_be() -> None:
    with pytest.raises(ValueError, match="below 0"):
        Weighed(Fraction(-1), True, D("0.1"), D("0.041"))
    with pytest.raises(ValueError, match="repeatability"):
        Weighed(Fraction(1), True, D("0.1"), D(-1))
    with pytest.raises(ValueError, match="one portion"):
        Weighed(Fraction(1), True, D("0.1"), D("0.041"), weighings=0)
    with pytest.raises(ValueError, match="running total"):
        Weighed(Fraction(1), True, D("0.1"), D("0.041"), weighings=2, chained=True)
    with pytest.raises(ValueError, match="one balance"):
        uncertainties([*weighed(1, chained=True), *weighed(1, chained=True, division="0.01")])
