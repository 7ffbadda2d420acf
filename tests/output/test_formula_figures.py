"""Figures that the JSON form rounds from floats, to be fast, are those that round() makes of the exact ones."""

from __future__ import annotations

import random
from decimal import Decimal
from functools import partial

import pytest

from glost.chemistry.firing import Calculator
from glost.output.formula import as_json
from glost.output.formula.account import Choice, account
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.recipe import Part, Recipe, Test

KILN = Calculator(shipped_catalogue())
_MELTING = ("soda ash", "whiting", "potash feldspar")


def _tests(count: int) -> list[Test]:
    luck = random.Random("figures of a formula")
    names = sorted(material.name for material in shipped_catalogue())
    made = []
    for _ in range(count):
        chosen = dict.fromkeys((luck.choice(_MELTING), *luck.sample(names, luck.randint(2, 8))))
        lines = tuple(
            Part(name, name, Decimal(luck.randint(1, 999)).scaleb(luck.randint(-4, 1))) for name in chosen
        )
        made.append(Test(Recipe("glaze", "t"), "", lines, ()))
    return made


def test_tables_are_those_of_the_exact_figures() -> None:
    compared = 0
    for test in _tests(200):
        made = account("page", test, KILN, Choice())
        melt, unity = made.fired.melt, made.fired.unity
        assert melt is not None
        shown = as_json.data(made)
        tables = [
            ("fired_weight_percent", melt.weight_percent(), 4),
            ("mol_percent", melt.mol_percent(), 4),
            ("batch_weight_percent", melt.oxides, 4),
        ]
        if unity is not None:
            tables.append(("unity", unity.as_mapping(), 6))
            assert shown["boron"] == round(float(unity.boron), 6)
        for name, exact, decimals in tables:
            assert shown[name] == {oxide: round(float(exact[oxide]), decimals) for oxide in made.oxides}
            compared += len(made.oxides)
        for line, written in zip(melt.lines, shown["lines"], strict=True):
            share = float(line.parts) / float(melt.total_parts)
            oxides = line.analysis.oxides if line.analysis else {}
            assert written["oxides"] == {name: round(share * float(part), 4) for name, part in oxides.items()}
    assert compared > 5000


@pytest.mark.parametrize("decimals", [4, 6])
def test_near_a_half_the_exact_figure_tells(decimals: int) -> None:
    luck = random.Random("halves")
    for _ in range(3000):
        half = Decimal(luck.randint(0, 10 ** luck.randint(1, 12))) + Decimal("0.5")
        off = Decimal(luck.choice((0, 1, -1, 3, -7))).scaleb(-luck.randint(2, 16))
        exact = {"one": (half + off).scaleb(-decimals), "other": Decimal("1.25")}
        near = {name: float(figure) * (1 + luck.uniform(-1e-15, 1e-15)) for name, figure in exact.items()}
        shown = as_json.rounded(near, 1.0, decimals, partial(dict, exact))
        assert shown == {name: round(float(figure), decimals) for name, figure in exact.items()}


def test_what_is_exact_is_not_asked_for_in_vain() -> None:
    def refuse() -> dict[str, Decimal]:
        raise AssertionError

    assert as_json.rounded({"SiO2": 3.0000014, "Al2O3": 0.0}, 1.0, 6, refuse) == {
        "SiO2": 3.000001,
        "Al2O3": 0.0,
    }
    assert as_json.rounded({"SiO2": 0.5, "Al2O3": 0.25}, 0.5, 4) == {"SiO2": 0.25, "Al2O3": 0.125}
