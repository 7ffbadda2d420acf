"""Premixes for lines that are too small to weigh."""

from decimal import Decimal
from fractions import Fraction

import pytest

from glost.weighing.balance import Balance
from glost.weighing.batch import Line, Plan, plan
from glost.weighing.premix import NoPremix, Premix, premix, premixes

D = Decimal
TWO_PERCENT = D("0.02")
FLOOR = Balance("floor", D(6000), D("0.1"))


def planned(mass: str = "100", cobalt: str = "0.5", balance: Balance = FLOOR, chrome: str = "0") -> Plan:
    lines = [
        Line("barium carbonate", D(50), base=True),
        Line("silica", D(30), base=True),
        Line("kaolin", D(20), base=True),
        Line("cobalt carbonate", D(cobalt), base=False),
        Line("chromium oxide", D(chrome), base=False),
    ]
    return plan(lines, D(100), D(mass), [balance], TWO_PERCENT)


def test_cobalt_ground_with_silica() -> None:
    # 0.43 g reads 0.4 g on this balance, 7 % off.
    (mix,) = premixes(planned(cobalt="0.43"), [FLOOR], TWO_PERCENT, unfit={"barium carbonate"})
    assert isinstance(mix, Premix)
    assert (mix.material, mix.carrier, mix.one_in) == ("cobalt carbonate", "silica", 10)
    assert (str(mix.small_g), str(mix.with_g), str(mix.mix_g)) == ("3.7", "33.3", "37.0")
    assert (str(mix.take_g), str(mix.left_over_g)) == ("4.3", "32.7")
    assert (mix.brings_g, mix.brings_carrier_g) == (Fraction(43, 100), Fraction(387, 100))
    assert (str(mix.carrier_target_g), mix.carrier_less_g) == ("26.1", D("3.9"))
    assert mix.error == 0
    assert mix.carrier_error == D("0.001")
    assert D("0.01") < mix.uncertainty <= TWO_PERCENT


def test_the_largest_line_carries_where_it_may() -> None:
    mix = premix(planned(cobalt="0.43"), 3, [FLOOR], TWO_PERCENT)
    assert isinstance(mix, Premix)
    assert mix.carrier == "barium carbonate"


def test_two_mixes_with_one_carrier() -> None:
    first, second = premixes(
        planned(cobalt="0.43", chrome="0.26"), [FLOOR], TWO_PERCENT, unfit={"barium carbonate"}
    )
    assert isinstance(first, Premix)
    assert isinstance(second, Premix)
    assert first.carrier == second.carrier == "silica"
    assert first.carrier_target_g == second.carrier_target_g
    brought = first.brings_carrier_g + second.brings_carrier_g + Fraction(first.carrier_target_g)
    assert abs(abs(brought - 30) / 30 - Fraction(first.carrier_error)) < Fraction(1, 10**20)


def test_a_line_that_can_be_weighed_needs_none() -> None:
    assert premixes(planned("1000", "0.5"), [FLOOR], TWO_PERCENT) == ()


def test_nothing_may_carry_it() -> None:
    (none,) = premixes(
        planned(cobalt="0.43"), [FLOOR], TWO_PERCENT, unfit={"barium carbonate", "silica", "kaolin"}
    )
    assert isinstance(none, NoPremix)
    assert "No line of the base may carry 'cobalt carbonate'" in none.why


def test_no_mix_is_weak_enough() -> None:
    (none,) = premixes(planned(cobalt="0.001"), [FLOOR], TWO_PERCENT)
    assert isinstance(none, NoPremix)
    assert "down to one part in 100" in none.why


def test_the_minimum_of_a_balance_holds_for_all_that_is_weighed() -> None:
    strict = Balance("strict", D(6000), D("0.1"), minimum_g=D(5))
    (mix,) = premixes(planned(cobalt="0.5", balance=strict), [strict], TWO_PERCENT)
    assert isinstance(mix, Premix)
    assert min(mix.small_g, mix.with_g, mix.take_g) >= 5


def test_without_a_balance() -> None:
    lines = [Line("kaolin", D(100), base=True), Line("cobalt carbonate", D("0.013"), base=False)]
    made = plan(lines, D(100), D(100), [], TWO_PERCENT)
    (mix,) = premixes(made, [], TWO_PERCENT)
    assert isinstance(mix, Premix)
    assert mix.balance is None
    assert mix.division_g == D("0.01")


def test_a_line_of_nothing() -> None:
    with pytest.raises(ValueError, match="needs no premix"):
        premix(planned(), 4, [FLOOR], TWO_PERCENT)
