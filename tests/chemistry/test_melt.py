"""Batches and what is left of them: sums, scale, order, mixing; the unity formula and its convention."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from glost.chemistry.analysis import analyse
from glost.chemistry.melt import Line, Melt, melt
from glost.chemistry.unity import FLUXES, PLAIN, WITH_COLOURANTS, Convention, unity
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.materials.oxides import IRON_AS
from tests.chemistry.glass import fired_glass

D = Decimal
DUST = D("1e-24")
CATALOGUE = shipped_catalogue()
NAMES = sorted(material.name for material in CATALOGUE)
Batch = Sequence[tuple[str, Decimal]]

amounts = st.decimals(D("0.001"), D(9999), places=3)
batches = st.lists(st.tuples(st.sampled_from(NAMES), amounts), min_size=1, max_size=8)
glazes = batches.map(lambda batch: [*batch, ("whiting", D(10)), ("kaolin", D(10))])


def _melt(batch: Batch) -> Melt:
    lines = []
    for at, (name, parts) in enumerate(batch):
        material = CATALOGUE.find(name)
        assert material is not None
        lines.append(Line(material.name, parts, analyse(material.composition), at))
    return melt(lines)


def _near(first: Mapping[str, Decimal], second: Mapping[str, Decimal]) -> bool:
    keys = {*first, *second}
    return max((abs(first.get(key, D(0)) - second.get(key, D(0))) for key in keys), default=D(0)) <= D(
        "1e-20"
    )


@given(batches)
def test_a_hundred_grams_stay_a_hundred(batch: Batch) -> None:
    found = _melt(batch)
    assert abs(found.fired + found.loss + found.unknown + found.unaccounted - 100) <= DUST
    if found.oxides:
        assert abs(sum(found.weight_percent().values(), D(0)) - 100) <= DUST
        assert abs(sum(found.mol_percent().values(), D(0)) - 100) <= DUST


@given(batches)
def test_every_gram_of_oxide_comes_from_a_line(batch: Batch) -> None:
    found = _melt(batch)
    assert _near({oxide: sum(row, D(0)) for oxide, row in found.origin().items()}, found.oxides)
    assert all(len(row) == len(batch) for row in found.origin().values())


@given(glazes, st.decimals(D("0.01"), D(1000), places=2))
def test_scale_does_not_matter(batch: Batch, factor: Decimal) -> None:
    scaled = [(name, parts * factor) for name, parts in batch]
    assert _near(_melt(batch).oxides, _melt(scaled).oxides)
    assert _near(unity(_melt(batch)).as_mapping(), unity(_melt(scaled)).as_mapping())


@given(glazes, st.randoms(use_true_random=False))
def test_order_does_not_matter(batch: Batch, random: object) -> None:
    shuffled = list(batch)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert _near(_melt(batch).oxides, _melt(shuffled).oxides)
    assert list(unity(_melt(batch)).as_mapping()) == list(unity(_melt(shuffled)).as_mapping())


@given(batches, batches)
def test_a_mixture_of_two_batches_is_their_weighted_mean(first: Batch, second: Batch) -> None:
    one, two, both = _melt(first), _melt(second), _melt([*first, *second])
    share = one.total_parts / both.total_parts
    for figures in ("oxides", "moles", "losses"):
        a, b, c = (getattr(found, figures) for found in (one, two, both))
        mean = {key: share * a.get(key, D(0)) + (1 - share) * b.get(key, D(0)) for key in {*a, *b}}
        assert _near(mean, c)
    assert abs(share * one.unknown + (1 - share) * two.unknown - both.unknown) <= D("1e-20")


@given(glazes)
def test_unity_is_one(batch: Batch) -> None:
    found = _melt(batch)
    for convention in (PLAIN, WITH_COLOURANTS):
        assert (
            abs(sum((term.equivalents for term in unity(found, convention).terms if term.counted), D(-1)))
            <= DUST
        )
    on_alumina = unity(found, on="alumina")
    assert on_alumina.of("Al2O3") == 1
    on_flux = unity(found)
    assert on_flux.silica_to_alumina is not None
    assert abs(on_flux.silica_to_alumina * on_flux.of("Al2O3") - on_flux.of("SiO2")) <= D("1e-18")


def test_an_unknown_share_is_told_and_not_spread() -> None:
    found = _melt([("washed wood ash", D(30)), ("whiting", D(20)), ("silica", D(50))])
    assert found.unknown == 30
    assert round(found.oxides["CaO"], 2) == D("11.21")
    assert melt([Line("pond mud", D(1), None), Line("silica", D(3), None)]).unknown == 100


def test_nothing_known_leaves_nothing() -> None:
    found = _melt([("cmc gum", D(1))])
    assert (found.fired, found.loss) == (D(0), D(100))
    assert not found.weight_percent()
    assert not found.mol_percent()


@pytest.mark.parametrize("parts", ["-1", "NaN", "Infinity"])
def test_amounts_that_cannot_be_weighed(parts: str) -> None:
    with pytest.raises(ValueError, match="cannot be weighed out"):
        melt([Line("silica", D(parts), None)])


def test_all_zero_is_refused_but_one_zero_is_not() -> None:
    with pytest.raises(ValueError, match="nothing to melt"):
        melt([Line("silica", D(0), None)])
    found = _melt([("silica", D(0)), ("whiting", D(5))])
    assert list(found.oxides) == ["CaO"]
    assert found.origin()["CaO"] == (D(0), found.oxides["CaO"])


def test_one_table_for_one_batch() -> None:
    line = Line("red iron oxide", D(1), analyse({"kind": "formula", "formula": "Fe2O3"}, IRON_AS["FeO"]))
    with pytest.raises(ValueError, match="another table"):
        melt([line])
    assert list(melt([line], IRON_AS["FeO"]).oxides) == ["FeO"]


def test_remarks_stand_once() -> None:
    found = _melt([("fluorspar", D(1)), ("cryolite", D(1)), ("silica", D(1))])
    assert len(found.remarks) == 1


def test_groups_and_order_of_print() -> None:
    batch = [
        ("cobalt carbonate", "1"),
        ("silica", "30"),
        ("kaolin", "20"),
        ("tin oxide", "5"),
        ("ulexite", "20"),
    ]
    found = unity(_melt([*((name, D(parts)) for name, parts in batch), ("potash feldspar", D(24))]))
    assert [term.oxide for term in found.group("RO")] == ["Na2O", "K2O", "CaO", "CoO"]
    assert [term.oxide for term in found.group("R2O3")] == ["Al2O3", "B2O3"]
    assert [term.oxide for term in found.group("RO2")] == ["SiO2", "SnO2"]
    assert found.boron == found.of("B2O3") > 0
    assert found.of("Li2O") == 0
    assert abs(found.alkali - found.of("Na2O") - found.of("K2O")) <= DUST


def test_a_colourant_counts_when_asked() -> None:
    found = _melt([("whiting", D(100)), ("cobalt carbonate", D(20)), ("silica", D(60))])
    plain, counted = unity(found), unity(found, WITH_COLOURANTS)
    assert plain.of("CaO") == 1
    assert round(counted.of("CaO") + counted.of("CoO"), 20) == 1
    assert [term.counted for term in plain.group("RO")] == [True, False]
    without_zinc = Convention(frozenset(FLUXES) - {"ZnO"})
    glaze = _melt([("whiting", D(10)), ("zinc oxide", D(10)), ("silica", D(30))])
    assert unity(glaze, without_zinc).of("CaO") == 1


def test_nothing_to_take_as_one() -> None:
    with pytest.raises(ValueError, match="none of its oxides counts as a flux"):
        unity(_melt([("kaolin", D(1))]))
    assert unity(_melt([("kaolin", D(1))]), on="alumina").of("SiO2") == 2
    with pytest.raises(ValueError, match="no alumina"):
        unity(_melt([("whiting", D(1))]), on="alumina")
    assert unity(_melt([("whiting", D(1))])).silica_to_alumina is None


def test_a_glass_given_in_oxides() -> None:
    found = fired_glass({"SiO2": D(60), "CaO": D(30), "FeO": D(10)})
    # 10 of FeO are 11.1135 of Fe2O3, in 101.1135 of glass.
    assert round(found.weight_percent()["Fe2O3"], 3) == D("10.991")
    assert round(found.loss, 3) == D("-1.113")
