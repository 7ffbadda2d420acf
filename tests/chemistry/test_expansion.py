"""The estimates: arithmetic of the published sets, ranges and warnings, and the refusal to mix models."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from glost.chemistry import expansion, softening
from glost.chemistry.additive import (
    FITTED,
    CompositionError,
    MixedModelsError,
    Spread,
    composition,
    difference,
    unlike_a_glaze,
)
from tests.conftest import TOP

GLAZE = {"SiO2": 60, "Al2O3": 12, "K2O": 3, "Na2O": 2, "CaO": 12, "MgO": 2, "B2O3": 6, "ZnO": 3}
WINDOW = {"SiO2": 72, "Na2O": 14, "CaO": 10, "MgO": 2.5, "Al2O3": 1.5}
BOROSILICATE = {"SiO2": 80.6, "B2O3": 13.0, "Na2O": 4.0, "Al2O3": 2.3}
MODELS = pytest.mark.parametrize("model", expansion.MODELS)


# ---- one estimate ----------------------------------------------------------------------------------------


@MODELS
def test_an_estimate_says_what_it_is(model: str) -> None:
    found = expansion.estimate(GLAZE, model)
    assert found.low < found.value < found.high
    assert found.model == model
    assert found.unit == "1e-7/K"
    assert found.outside == ()
    assert model in str(found)
    assert f"({found.low:.0f} to {found.high:.0f})" in str(found)


@MODELS
def test_decimal_mass_and_mol_give_the_same(model: str) -> None:
    mass = expansion.estimate({oxide: Decimal(amount) / 7 for oxide, amount in GLAZE.items()}, model)
    mol = expansion.estimate(composition(GLAZE, FITTED, "wt").percent, model, "mol")
    assert mass.value == pytest.approx(expansion.estimate(GLAZE, model).value, rel=1e-9)
    assert mol.value == pytest.approx(mass.value, rel=1e-9)


@MODELS
def test_out_of_range_is_said_and_widens_the_interval(model: str) -> None:
    within, beyond = expansion.estimate(GLAZE, model), expansion.estimate(BOROSILICATE, model)
    assert "SiO2" in beyond.outside
    assert "do not rely" in beyond.note
    assert "outside its range" in str(beyond)
    assert beyond.high - beyond.low > within.high - within.low


def test_a_set_has_its_own_limits_too() -> None:
    assert "B2O3" in expansion.estimate(BOROSILICATE, "english-turner").outside


def test_oxides_without_a_factor_are_named() -> None:
    trace, some, much = (expansion.estimate(GLAZE | {"SnO2": amount}) for amount in (0.4, 4, 12))
    assert trace.outside == ()
    assert some.outside == much.outside == ("SnO2",)
    assert "left out" in some.note
    assert "do not rely" in much.note
    assert trace.high - trace.low < some.high - some.low < much.high - much.low
    assert trace.value == some.value == much.value
    assert expansion.estimate(GLAZE | {"SnO2": 4}, "appen").outside == ()
    assert expansion.estimate(GLAZE | {"Li2O": 2}, "english-turner").outside == ("Li2O",)


def test_iron_of_a_reduced_glaze_is_reckoned_as_ferric() -> None:
    reduced = expansion.estimate(GLAZE | {"FeO": 71.844 * 0.02})
    assert reduced.outside == ()
    assert reduced.value == pytest.approx(
        expansion.estimate(GLAZE | {"Fe2O3": 159.687 * 0.01}).value, abs=1e-3
    )


def test_what_is_unlike_a_glaze_is_said() -> None:
    assert "Al2O3 to flux" in expansion.estimate(WINDOW).note
    assert unlike_a_glaze({"SiO2": 70, "Al2O3": 30}) == ("flux",)


def test_rich_in_alkali_counts_as_outside() -> None:
    found = expansion.estimate({"SiO2": 60, "Na2O": 30, "CaO": 10}, basis="mol")
    assert found.value > expansion.HIGHEST
    assert found.outside == ("alkali",)


@pytest.mark.parametrize(
    "oxides",
    [{}, {"SiO2": 0}, {"SiO2": -1, "CaO": 5}, {"SiO2": float("nan")}, {"UO3": 3}, {"CaO": float("inf")}],
)
def test_no_composition(oxides: dict[str, float]) -> None:
    with pytest.raises(CompositionError):
        expansion.estimate(oxides)
    with pytest.raises(CompositionError):
        softening.estimate(oxides)


def test_unknown_model() -> None:
    with pytest.raises(expansion.UnknownModelError, match="appen"):
        expansion.estimate(GLAZE, "apen")


@given(
    st.dictionaries(
        st.sampled_from([*FITTED, "SnO2", "CoO", "FeO", "Rb2O"]), st.floats(0.01, 100), min_size=1
    )
)
def test_every_composition_has_an_interval_or_is_refused(oxides: dict[str, float]) -> None:
    for model in expansion.MODELS:
        try:
            found = expansion.estimate(oxides, model)
        except CompositionError:
            continue
        assert found.low < found.value < found.high
        assert found.outside or not found.note.endswith("do not rely on this figure")


# ---- several ---------------------------------------------------------------------------------------------


def test_models_are_never_mixed() -> None:
    own, other = expansion.estimate(GLAZE), expansion.estimate(GLAZE, "appen")
    soft = softening.estimate(GLAZE)
    for mixed in ((own, other), (own, soft)):
        with pytest.raises(MixedModelsError, match="different models"):
            difference(*mixed)
        with pytest.raises(MixedModelsError):
            expansion.ranked(mixed)
        with pytest.raises(MixedModelsError):
            softening.by_fusibility(mixed)
    with pytest.raises(TypeError):
        assert own < other  # type: ignore[operator]


def test_more_alkali_more_expansion_and_more_fusible() -> None:
    more = GLAZE | {"Na2O": 5}
    assert difference(expansion.estimate(more), expansion.estimate(GLAZE)) > 5
    assert [one.value for one in expansion.ranked(map(expansion.estimate, (more, GLAZE)))] == sorted(
        expansion.estimate(one).value for one in (more, GLAZE)
    )
    first, _ = softening.by_fusibility(map(softening.estimate, (GLAZE, more)))
    assert first == softening.estimate(more)


def test_softening_is_an_order_and_says_so() -> None:
    found = softening.estimate(GLAZE)
    assert found.unit == "°C"
    assert found.outside == ()
    assert "not a cone" in found.note
    assert "Al2O3 to flux" in softening.estimate(WINDOW).outside
    assert softening.estimate(GLAZE | {"PbO": 8}).outside == ("PbO",)
    assert "below 1050 °C" in softening.estimate(GLAZE | {"Na2O": 8}).outside
    shares = [softening.order_right(apart) for apart in (0, 30, 60, 120, 200)]
    assert shares == sorted(shares)
    assert softening.order_right(-60) == softening.order_right(60)


# ---- what is shipped -------------------------------------------------------------------------------------


@pytest.mark.parametrize("fit", [expansion.fit, softening.fit])
def test_each_fit_carries_its_licence_and_covers_what_it_says(fit: object) -> None:
    assert callable(fit)
    own = fit()
    assert "Open Database License" in own.licence
    assert set(own.factors) == set(own.ranges) <= set(FITTED)
    assert set(own.spreads) >= {"like a glaze", "outside"}
    assert own.spreads["outside"].above > own.spreads["like a glaze"].above


@pytest.mark.parametrize("name", expansion.PUBLISHED)
def test_each_published_set_has_a_source_and_a_standing(name: str) -> None:
    of = expansion.published(name)
    assert of.source
    assert "from memory" in of.standing
    assert set(of.read) <= set(of.factors)
    assert (of.basis == "mol") == (name == "appen")


def row(model: str, spread: Spread) -> str:
    return (
        f"| {model} | {spread.glasses} | {spread.authors} | {spread.median} | {spread.ninetieth} | {spread.bias:+} "
        f"| {spread.median_by_author} | {spread.ninetieth_by_author} | -{spread.below} to +{spread.above} |"
    )


def test_the_page_holds_the_shipped_figures() -> None:
    page = (TOP / "docs" / "models.md").read_text("utf-8")
    for model in expansion.MODELS:
        assert row(model, expansion.spread(model, "like a glaze")) in page
    for kind in ("in range", "oxides left out", "outside"):
        assert row(kind, expansion.fit().spreads[kind]) in page
    for kind, spread in softening.fit().spreads.items():
        assert row(kind, spread) in page
    for fit in (expansion.fit(), softening.fit()):
        for oxide, factor in fit.factors.items():
            low, high = fit.ranges[oxide]
            assert f"| {oxide} | {factor:g} | {low:g} to {high:g} |" in page
        for apart, right in fit.order:
            assert f"| {apart} | {right:.0%} |".replace("%", " %") in page
