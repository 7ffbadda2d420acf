"""What a test fires to, whatever is held of its materials."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from glost.chemistry.firing import NO_COMPOSITION, NOT_IN_CATALOGUE, NOTHING, Calculator, Fired
from glost.chemistry.unity import WITH_COLOURANTS
from glost.language.parse import parse
from glost.language.source import Source
from glost.recipe import recipe
from glost.recipe.materials.catalogue import Catalogue, Material, shipped_catalogue
from glost.recipe.materials.oxides import IRON_AS
from glost.recipe.recipe import Test
from glost.recipe.resolve import resolve

D = Decimal

PORCELAIN = """\
glaze "Plain Porcelain"
cone: 10

base:
    potash feldspar       167
    whiting                70
    kaolin                 52
    silica                108
"""


def every_test(text: str, catalogue: Catalogue | None = None) -> list[Test]:
    found = resolve(parse(Source("x.glost", text)), catalogue or shipped_catalogue())
    assert not found.diagnostics
    return list(recipe.tests(found.recipe))


def fire(text: str, catalogue: Catalogue | None = None, **asked: Any) -> Fired:
    known = catalogue or shipped_catalogue()
    return Calculator(known, **asked).fire(every_test(text, known)[0])


def with_composition(composition: Mapping[str, Any] | None) -> Catalogue:
    own = Material("house dust", "flux", "a test", composition=composition)
    return shipped_catalogue().with_own([own])


# Source: C. F. Binns, The Potter's Craft, 1910: K2O .3 CaO .7, Al2O3 .5, SiO2 4.0.
def test_a_whole_recipe() -> None:
    fired = fire(PORCELAIN)
    assert fired.unity is not None
    found = {oxide: round(figure, 2) for oxide, figure in fired.unity.as_mapping().items()}
    assert found == {"K2O": D("0.30"), "CaO": D("0.70"), "Al2O3": D("0.50"), "SiO2": D("4.00")}
    assert round(fired.loss, 2) == D("9.58")
    assert fired.unknown_percent == 0
    assert (fired.unknown, fired.problems) == ((), ())
    assert not fired.partial


def test_additions_are_part_of_the_batch() -> None:
    fired = fire(PORCELAIN + "additions:\n    tin oxide  3\n    cobalt carbonate  1 %\n")
    assert fired.melt is not None
    assert fired.melt.total_parts == D("403.97")
    assert {"SnO2", "CoO"} <= set(fired.melt.oxides)


def test_what_is_not_in_the_catalogue_is_unknown_and_the_rest_is_known() -> None:
    fired = fire(PORCELAIN + "additions:\n    moon dust  3\n")
    assert fired.partial
    assert [(one.name, one.reason) for one in fired.unknown] == [("moon dust", NOT_IN_CATALOGUE)]
    assert fired.unknown_percent == fired.unknown[0].percent == D(300) / D(400)
    whole = fire(PORCELAIN)
    assert fired.unity is not None
    assert whole.unity is not None
    assert fired.unity.of("SiO2") == pytest.approx(whole.unity.of("SiO2"))


def test_unknown_by_the_catalogue_says_what_to_do() -> None:
    fired = fire(PORCELAIN + "    washed wood ash  40\n")
    (ash,) = fired.unknown
    assert "enter the supplier's analysis in materials.yaml" in ash.reason
    assert not ash.broken


def test_a_line_of_0_is_no_unknown_share() -> None:
    assert not fire(PORCELAIN + "    washed wood ash  0\n").partial


@pytest.mark.parametrize(
    ("composition", "says"),
    [
        (None, NO_COMPOSITION),
        ({"kind": "formula", "formula": "CaXx3"}, "is no element"),
        ({"kind": "formula", "formula": "He"}, "no oxide that it is counted as"),
        ({"kind": "formula", "formula": "0CaO"}, "cannot be used"),
        ({"kind": "analysis", "oxides": {"SiO2": "60"}, "loss": "1"}, "short of"),
        ({"kind": "analysis", "oxides": {"SiO2": "much"}, "loss": "1"}, "is not a number"),
        ({"kind": "analysis", "oxides": {"SiO2": "60", "QqO": "40"}, "loss": "0"}, "'Qq' is no element"),
        ({"kind": "guess"}, "is no kind of composition"),
    ],
)
def test_composition_that_cannot_be_used_is_unknown_with_the_reason(
    composition: Mapping[str, Any] | None, says: str
) -> None:
    fired = fire(PORCELAIN + "    house dust  3\n", with_composition(composition))
    (dust,) = fired.unknown
    assert says in dust.reason
    assert dust.broken == (composition is not None) == bool(fired.problems)
    assert fired.unity is not None


_TEXTS = st.text(st.sampled_from("CaSiONBKXH0123456789.()·"), max_size=12)
_COMPOSITIONS = st.one_of(
    st.builds(lambda formula: {"kind": "formula", "formula": formula}, _TEXTS),
    st.builds(
        lambda oxides, loss: {"kind": "analysis", "oxides": oxides, "loss": loss},
        st.dictionaries(
            _TEXTS, st.one_of(st.decimals().map(str), st.sampled_from(["100", "50", "nan"])), max_size=3
        ),
        st.sampled_from(["0", "1", "50", "-1"]),
    ),
)


@given(_COMPOSITIONS)
def test_no_composition_makes_it_raise(composition: dict[str, Any]) -> None:
    catalogue = with_composition(composition)
    for text in (PORCELAIN + "    house dust  3\n", 'glaze "x"\nbase:\n    house dust  3\n'):
        fired = fire(text, catalogue)
        assert fired.melt is not None
        assert fired.unity is not None or fired.problems
        assert fired.partial == bool(fired.unknown_percent)


def test_without_flux_there_is_no_formula_and_the_problem_says_so() -> None:
    fired = fire('wash "Shelf"\nbase:\n    kaolin  50\n    silica  50\n')
    assert fired.unity is None
    assert fired.melt is not None
    assert "none of its oxides counts as a flux" in fired.problems[0]
    assert fire('wash "Shelf"\nbase:\n    kaolin  50\n    silica  50\n', on="alumina").unity is not None


def test_nothing_known_stays() -> None:
    fired = fire('glaze "x"\nbase:\n    moon dust  3\n')
    assert fired.unity is None
    assert fired.unknown_percent == 100
    assert fired.problems == ("no unity formula: no known oxide stays in the fire",)


def test_nothing_to_weigh() -> None:
    fired = fire('glaze "x"\nbase:\n    silica  0\n')
    assert (fired.melt, fired.unity, fired.problems) == (None, None, (NOTHING,))
    assert not fired.partial


def test_the_convention_and_the_table_are_those_asked_for() -> None:
    text = PORCELAIN + "additions:\n    cobalt carbonate  4\n    red iron oxide  4\n"
    plain, counted, reduced = (
        fire(text),
        fire(text, convention=WITH_COLOURANTS),
        fire(text, table=IRON_AS["FeO"]),
    )
    assert plain.unity is not None
    assert counted.unity is not None
    assert reduced.unity is not None
    assert counted.unity.of("SiO2") < plain.unity.of("SiO2")
    assert reduced.unity.of("FeO") == pytest.approx(2 * plain.unity.of("Fe2O3"))


def test_every_test_of_a_recipe_is_fired_and_each_material_calculated_once() -> None:
    text = PORCELAIN + 'series "tin":\n    tin oxide  1, 2, 3\nvariation "none":\n    tin oxide  0\n'
    kiln = Calculator(shipped_catalogue())
    tin = [kiln.fire(test).unity for test in every_test(text)]
    assert [round(one.of("SnO2"), 4) if one else None for one in tin] == [
        D(0), D(0), D("0.0066"), D("0.0133"), D("0.0199")
    ]  # fmt: skip
    assert kiln.analysis("tin oxide") is kiln.analysis("tin oxide")


def test_a_base_in_masses() -> None:
    in_grams = PORCELAIN
    for parts in ("167", "70", "52", "108"):
        in_grams = in_grams.replace(f" {parts}\n", f" {parts} kg\n")
    fired, other = fire(PORCELAIN), fire(in_grams)
    assert fired.unity == other.unity
    assert fired.loss == other.loss
