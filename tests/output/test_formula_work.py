"""What a formula calculates, counted: what tests have in common once, and nothing that is not shown."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from glost.chemistry import additive, estimate_span, ranges
from glost.chemistry.firing import Calculator
from glost.output.formula import as_json
from glost.output.formula.account import Account, Choice, account
from glost.recipe.body import Body
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.recipe import Part, Recipe, Test
from tests.work import count_steps

GLAZE = {"potash feldspar": 42, "ball clay": 15, "whiting": 18, "silica": 25}


def _test(body: str = "", **more: int) -> Test:
    recipe = Recipe("glaze", "t", fields={"body": body} if body else {})
    amounts = {**GLAZE, **{name.replace("_", " "): amount for name, amount in more.items()}}
    return Test(recipe, "", tuple(Part(name, name, Decimal(amount)) for name, amount in amounts.items()), ())


def _account(test: Test, up_to: int = 0) -> Account:
    bodies = {"clay": Body("clay", Decimal(60), Decimal(2), 20, up_to, "own test")} if up_to else {}
    return account("t.glost", test, Calculator(shipped_catalogue()), Choice(), bodies)


@pytest.fixture
def calls(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """How often each of these is asked."""
    count: Counter[str] = Counter()

    def watch(owner: Any, name: str) -> None:
        plain: Callable[..., Any] = getattr(owner, name)

        def watched(*given: Any, **named: Any) -> Any:
            count[name] += 1
            return plain(*given, **named)

        monkeypatch.setattr(owner, name, watched)

    watch(estimate_span.Moves, "_of_fit")
    watch(ranges._Problem, "exact")
    watch(ranges._Sums, "add_new")
    watch(ranges._Held, "__init__")
    for module in (additive, *_estimating()):
        watch(module, "placed")
    return count


def _estimating() -> list[Any]:
    from glost.chemistry import expansion, softening

    return [expansion, softening]


@pytest.mark.parametrize(("up_to", "spans"), [(0, 2), (300, 2), (400, 3)])
def test_a_span_is_calculated_once_a_model_and_temperature(
    calls: Counter[str], up_to: int, spans: int
) -> None:
    """A body that is measured up to 300 °C is compared with the span that is shown anyhow."""
    found = _account(_test("clay" if up_to else ""), up_to)
    assert (found.fit is not None) == bool(up_to)
    assert set(found.spans) == {"expansion", "fusibility"}
    assert calls["_of_fit"] == spans


def test_whole_estimates_are_made_of_the_melt_alone(calls: Counter[str]) -> None:
    """Not of each analysis that a material may have: of these only the bare figure is wanted."""
    _account(_test("clay"), 400)
    assert calls["placed"] == 3


def test_exact_ends_are_left_out_where_they_are_not_asked_for(calls: Counter[str]) -> None:
    found = _account(_test())
    assert as_json.data(found)["ranges"]["unity"]["K2O"][1] > 0.1
    assert calls["exact"] == 0
    assert found.ranges is not None
    assert found.ranges.unity["K2O"].low
    assert calls["exact"] == 1


def test_a_material_is_taken_apart_once_for_all_tests(calls: Counter[str]) -> None:
    ranges._of_material.cache_clear()
    kiln = Calculator(shipped_catalogue())
    for tin in range(1, 6):
        made = account("t.glost", _test(tin_oxide=tin), kiln, Choice())
        assert made.ranges is not None
    assert calls["__init__"] == len(GLAZE) + 1


def test_what_may_be_several_things_is_summed_once_for_tests_that_differ_in_what_is_known(
    calls: Counter[str],
) -> None:
    ranges._open.cache_clear()
    kiln = Calculator(shipped_catalogue())
    sums = []
    for tin in (3, 4, 9):
        before = calls["add_new"]
        as_json.data(account("t.glost", _test(tin_oxide=tin), kiln, Choice()))
        sums.append(calls["add_new"] - before)
    first, *others = sums
    assert first > 10
    assert max(others) < first / 10


def test_more_lines_take_no_more_than_their_share() -> None:
    """Twice as many materials of the same kinds: more oxides are met by more lines, and no choice by each other."""

    def steps(*names: str) -> int:
        lines = tuple(Part(name, name, Decimal(20)) for name in names)
        made = account("t.glost", Test(Recipe("glaze", "t"), "", lines, ()), kiln, Choice())
        assert as_json.data(made)["ranges"]  # once for what is kept of the materials
        again = account("t.glost", Test(Recipe("glaze", "t"), "", lines, ()), kiln, Choice())
        return count_steps(lambda: as_json.data(again))

    kiln = Calculator(shipped_catalogue())
    four = ("potash feldspar", "ball clay", "whiting", "talc")
    eight = (*four, "nepheline syenite", "kaolin", "dolomite", "soda feldspar")
    assert steps(*eight) < 4 * steps(*four)
