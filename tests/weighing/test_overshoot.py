"""Too much has gone in."""

from decimal import Decimal
from fractions import Fraction

import pytest

from glost.weighing.balance import Balance
from glost.weighing.batch import Line, Plan, plan
from glost.weighing.overshoot import rescue

D = Decimal
TWO_PERCENT = D("0.02")
FLOOR = Balance("floor", D(1000), D("0.1"), cup_g=D(100))


def planned(mass: str = "500") -> Plan:
    lines = [
        Line("nepheline syenite", D(40), base=True),
        Line("silica", D(30), base=True),
        Line("kaolin", D(30), base=True),
        Line("tin oxide", D(5), base=False),
    ]
    return plan(lines, D(100), D(mass), [FLOOR], TWO_PERCENT)


def test_a_larger_batch() -> None:
    found = rescue(planned(), {"nepheline syenite": D("200.0"), "silica": D("165.0")}, TWO_PERCENT)
    assert (found.over, found.leave) == (("silica",), False)
    assert (found.base_mass_g, found.factor, found.in_g) == (D(550), D("1.1"), D(365))
    assert [(step.material, str(step.add_g), str(step.running_total_g)) for step in found.steps] == [
        ("nepheline syenite", "20.0", "385.0"),
        ("silica", "0.0", "385.0"),
        ("kaolin", "165.0", "550.0"),
        ("tin oxide", "27.5", "577.5"),
    ]
    assert (found.error, found.within, found.under_capacity) == (D(0), True, True)


def test_an_excess_within_tolerance_is_left() -> None:
    found = rescue(planned(), {"nepheline syenite": D("203.0")}, TWO_PERCENT)
    assert (found.over, found.leave, found.factor) == (("nepheline syenite",), True, D(1))
    assert found.steps[0].add_g == 0
    assert found.error == found.steps[0].error == D("0.015")
    assert [str(step.add_g) for step in found.steps[1:]] == ["150.0", "150.0", "25.0"]


def test_nothing_is_over() -> None:
    found = rescue(planned(), {"nepheline syenite": D("150.0")}, TWO_PERCENT)
    assert (found.over, found.leave, found.error) == ((), True, D(0))
    assert str(found.steps[0].add_g) == "50.0"


def test_targets_of_the_plan_hold_where_the_batch_stays() -> None:
    thirds = plan([Line(name, D(1), base=True) for name in "abc"], D(3), D(100), [FLOOR], TWO_PERCENT)
    found = rescue(thirds, {"a": D("33.4")}, TWO_PERCENT)
    assert found.over == ()
    assert [step.final_g for step in found.steps] == [line.target_g for line in thirds.lines]


def test_the_batch_grows_until_a_line_of_few_divisions_fits() -> None:
    # 1.0 g is exact; at 1.06 times that, 1.1 would be 3.8 % off, so the batch goes on to where 1.1 is within 2 %.
    made = plan(
        [Line("kaolin", D(100), base=True), Line("rutile", D(1), base=False)],
        D(100),
        D(100),
        [FLOOR],
        TWO_PERCENT,
    )
    found = rescue(made, {"kaolin": D("106")}, TWO_PERCENT)
    assert Fraction(11, 10) / Fraction("1.02") - Fraction(found.steps[1].exact_g) == 0
    assert found.within
    assert found.steps[1].final_g == D("1.1")
    assert found.steps[0].add_g == D("1.8")


def test_a_line_that_was_hopeless_before_does_not_drive_the_batch() -> None:
    made = plan(
        [Line("kaolin", D(100), base=True), Line("rutile", D("0.13"), base=False)],
        D(100),
        D(100),
        [FLOOR],
        TWO_PERCENT,
    )
    found = rescue(made, {"kaolin": D("110")}, TWO_PERCENT)
    assert found.base_mass_g == 110
    assert [step.within for step in found.steps] == [True, False]
    assert not found.within
    assert found.error == found.steps[1].error > TWO_PERCENT


def test_the_cup_may_become_too_heavy() -> None:
    assert rescue(planned("800"), {"silica": D("300")}, TWO_PERCENT).under_capacity is False


def test_lines_of_one_material_count_as_one() -> None:
    lines = [
        Line("kaolin", D(90), base=True),
        Line("silica", D(10), base=True),
        Line("kaolin", D(10), base=False),
    ]
    found = rescue(plan(lines, D(100), D(100), [FLOOR], TWO_PERCENT), {"silica": D(12)}, TWO_PERCENT)
    assert [(step.material, step.final_g) for step in found.steps] == [
        ("kaolin", D("120.0")),
        ("silica", D(12)),
    ]


@pytest.mark.parametrize(
    ("inside", "message"),
    [
        ({"zircon": D(1)}, "not in this recipe"),
        ({"silica": D(-1)}, "0 g or more"),
        ({"silica": D("NaN")}, "not a number"),
    ],
)
def test_what_cannot_be_in_the_cup(inside: dict[str, Decimal], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        rescue(planned(), inside, TWO_PERCENT)


def test_a_material_of_no_parts() -> None:
    lines = [Line("kaolin", D(1), base=True), Line("rutile", D(0), base=False)]
    with pytest.raises(ValueError, match="0 parts"):
        rescue(plan(lines, D(1), D(100), [FLOOR], TWO_PERCENT), {"rutile": D(1)}, TWO_PERCENT)
