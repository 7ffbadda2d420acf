"""Many tests at one go."""

from decimal import Decimal

import pytest

from glost.weighing.balance import Balance
from glost.weighing.batch import Line
from glost.weighing.rounding import exact_sum
from glost.weighing.session import Cup, session

D = Decimal
TWO_PERCENT = D("0.02")
FINE = Balance("fine", D(300), D("0.01"))
FLOOR = Balance("floor", D(6000), D("0.1"))
TOXIC = {"barium carbonate", "cobalt carbonate"}
COLOURING = {"cobalt carbonate", "red iron oxide"}


def cups(count: int = 24) -> list[Cup]:
    """Tests on two bases, the second written in other parts every other time."""
    made: list[Cup] = []
    for at in range(count):
        base = (
            [("nepheline syenite", 45), ("silica", 35), ("barium carbonate", 20)]
            if at % 3
            else [("kaolin", 25), ("nepheline syenite", 50), ("whiting", 25)]
        )
        if at % 2:
            base = [(material, 2 * parts) for material, parts in reversed(base)]
        additions = [("red iron oxide", at % 4), ("cobalt carbonate", at % 5 / 4), ("tin oxide", at % 2)]
        total = sum(parts for _, parts in base)
        lines = [Line(material, D(parts), base=True) for material, parts in base]
        lines += [Line(material, D(str(parts * total / 100)), base=False) for material, parts in additions]
        made.append(Cup(f"tile {at + 1}", tuple(lines), D(100), D(60) if at else None))
    return made


def test_each_container_is_opened_once_and_harmful_ones_last() -> None:
    found = session(cups(), [FINE, FLOOR], TWO_PERCENT, TOXIC, COLOURING)
    order = [opening.material for opening in found.by_material]
    assert order == [
        "kaolin",
        "nepheline syenite",
        "whiting",
        "silica",
        "tin oxide",
        "red iron oxide",
        "barium carbonate",
        "cobalt carbonate",
    ]
    assert [(opening.toxic, opening.colouring) for opening in found.by_material][-3:] == [
        (False, True),
        (True, False),
        (True, True),
    ]


def test_the_pull_list_is_the_sum_of_the_sheets() -> None:
    found = session(cups(), [FINE, FLOOR], TWO_PERCENT, TOXIC, COLOURING)
    for pull in found.pull:
        targets = [
            line.target_g
            for one in found.by_cup
            for line in one.plan.lines
            if line.material == pull.material and line.exact_g
        ]
        assert pull.total_g == exact_sum(targets)
        assert pull.cups == len(targets)
        assert pull.total_g * D("1.05") <= pull.with_margin_g < pull.total_g * D("1.05") + D("0.01")


def test_both_orders_fill_the_same_cups() -> None:
    found = session(cups(), [FINE, FLOOR], TWO_PERCENT, TOXIC, COLOURING)
    pours = [pour for opening in found.by_material for pour in opening.pours]
    for one in found.by_cup:
        into = [pour for pour in pours if pour.label == one.cup.label]
        assert into[-1].running_total_g == one.plan.total_target_g
        assert sorted((pour.material, pour.target_g) for pour in into) == sorted(
            (line.material, line.target_g) for line in one.plan.lines if line.exact_g
        )


def test_water_and_cups() -> None:
    found = session(cups(3), [FINE], TWO_PERCENT)
    assert found.cups == 3
    assert [one.water_g for one in found.by_cup] == [
        None,
        D("60") * one_total(found.by_cup[1].plan.total_mass_g),
        D("60") * one_total(found.by_cup[2].plan.total_mass_g),
    ]
    assert found.water_g == exact_sum(one.water_g for one in found.by_cup if one.water_g is not None)
    assert session([cups(1)[0]], [FINE], TWO_PERCENT).water_g is None


def one_total(mass: Decimal) -> Decimal:
    return mass / 100


def test_a_shared_base_is_mixed_once() -> None:
    found = session(cups(), [FINE, FLOOR], TWO_PERCENT, TOXIC, COLOURING)
    first, second = found.shared
    assert [portion.label for portion in first.portions][:3] == ["tile 1", "tile 4", "tile 7"]
    assert (len(first.portions), len(second.portions)) == (8, 16)
    assert {portion.mass_g for portion in first.portions} == {D(100)}
    assert first.needed_g == 800
    assert first.mix.base_mass_g == first.mix.base_target_g == 840
    assert all(line.base for line in first.mix.lines)
    assert first.weighings_saved == 8 * 3 - 3 - 8


def test_portions_stand_on_the_division() -> None:
    base = (Line("kaolin", D(1), base=True),)
    made = [Cup("a", base, D("100.004")), Cup("b", base, D(50))]
    (shared,) = session(made, [FINE], TWO_PERCENT).shared
    assert [str(portion.mass_g) for portion in shared.portions] == ["100.00", "50.00"]
    assert shared.portions[0].error > 0
    assert shared.weighings_saved == -1


def test_what_cannot_be_planned() -> None:
    with pytest.raises(ValueError, match="no tests"):
        session([], [FINE], TWO_PERCENT)
    with pytest.raises(ValueError, match="tile 1"):
        session([*cups(2), *cups(1)], [FINE], TWO_PERCENT)
    with pytest.raises(ValueError, match="margin"):
        session(cups(2), [FINE], TWO_PERCENT, margin=D(-1))
