"""What a balance cannot show is nothing that went wrong."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from glost.weighing.balance import Balance
from glost.weighing.batch import Line, plan
from glost.weighing.overshoot import rescue
from glost.weighing.standing import Standing, standing

D = Decimal


@pytest.mark.parametrize(
    ("target", "division", "actual", "expected"),
    [
        ("100", "0.1", "100", "on"),
        ("100", "0.1", "100.05", "on"),
        ("100", "0.1", "99.91", "on"),
        ("100", "0.1", "100.1", "within"),
        ("100", "0.1", "102", "within"),
        ("100", "0.1", "102.1", "over"),
        ("100", "0.1", "97.9", "short"),
        ("100", "1", "100.9", "on"),
        ("100", "1", "1000", "over"),
        ("0.30", "0.01", "0.305", "on"),
        ("0.30", "0.01", "0.31", "over"),
    ],
)
def test_the_readability_is_the_limit(target: str, division: str, actual: str, expected: Standing) -> None:
    assert standing(D(target), D(target), D(division), True, D(actual), D("0.02")) == expected


def test_steps_too_coarse_for_a_line_say_nothing_of_it() -> None:
    """0.15 g on a balance that shows whole grams: it cannot tell 0.15 from 0.5, but whoever has another balance can."""
    assert standing(D("0.15"), D(0), D(1), False, D("0.5"), D("0.02")) == "over"
    assert standing(D("0.15"), D(0), D(1), False, D("0.15"), D("0.02")) == "within"


BALANCE = Balance("bench", D(2000), D("0.01"))
LINES = [Line("silica", D(60), base=True), Line("kaolin", D(40), base=True)]


@pytest.mark.parametrize("more", ["0.001", "0.005", "0.009"])
@pytest.mark.parametrize("mass", [D(100), D(1), D("0.3")])
def test_what_the_balance_cannot_show_is_not_over(more: str, mass: Decimal) -> None:
    """At 0.3 g of base 0.005 g of the 0.12 g of kaolin are 4 %, more than the tolerance."""
    made = plan(LINES, D(100), mass, [BALANCE], D("0.02"))
    kaolin = made.lines[1]
    found = rescue(made, {"kaolin": kaolin.target_g + D(more)}, D("0.02"))
    assert (found.over, found.too_much, found.leave) == ((), (), True)
    assert Fraction(found.base_mass_g) == mass
    assert [step.add_g for step in found.steps] == [made.lines[0].target_g, D(0)]
    assert all(step.within for step in found.steps)


def test_what_it_shows_is_over_and_too_much_where_it_is_out_of_tolerance() -> None:
    made = plan(LINES, D(100), D(100), [BALANCE], D("0.02"))
    little = rescue(made, {"kaolin": D("40.01")}, D("0.02"))
    assert (little.over, little.too_much, little.leave) == (("kaolin",), (), True)
    much = rescue(made, {"kaolin": D("40.81")}, D("0.02"))
    assert (much.over, much.too_much, much.leave) == (("kaolin",), ("kaolin",), False)


def test_a_little_short_is_not_topped_up() -> None:
    made = plan(LINES, D(100), D(100), [BALANCE], D("0.02"))
    found = rescue(made, {"kaolin": D("39.994")}, D("0.02"))
    assert [step.add_g for step in found.steps] == [D("60.00"), D(0)]
