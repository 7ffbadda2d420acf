"""A frit that a studio melts itself, written by its charge in materials.yaml."""

from __future__ import annotations

import pytest
from molmass import Formula

from glost.chemistry.analysis import Analysis
from glost.chemistry.firing import Calculator, Unknown
from glost.language.source import Source
from glost.language.yaml_tree import ConfigError
from glost.recipe.materials.catalogue import Catalogue, shipped_catalogue
from glost.recipe.materials.own import with_own_materials

CHARGE = "  - {name: yard frit, role: frit, source: melted here, charge: {%s}}\n"


def _catalogue(*entries: str) -> Catalogue:
    text = "materials:\n" + "".join(entries)
    return with_own_materials(shipped_catalogue(), Source("materials.yaml", text))


def test_charge_is_what_is_left_of_it() -> None:
    """40 borax and 60 silica: masses by molmass, water gone, made up to 100."""
    borax = Formula("Na2B4O7(H2O)10").mass
    left = {
        "Na2O": 40 * Formula("Na2O").mass / borax,
        "B2O3": 40 * 2 * Formula("B2O3").mass / borax,
        "SiO2": 60.0,
    }
    found = Calculator(_catalogue(CHARGE % "borax: 40, flint: 60")).analysis("yard frit")
    assert isinstance(found, Analysis)
    expected = {oxide: 100 * mass / sum(left.values()) for oxide, mass in left.items()}
    assert {o: float(m) for o, m in found.oxides.items()} == pytest.approx(expected, abs=0.002)
    assert found.loss == 0
    assert "borax 40, silica 60" in found.source


def test_charge_is_as_uncertain_as_what_it_is_made_of() -> None:
    kiln = Calculator(_catalogue(CHARGE % "borax: 40, potash feldspar: 60"))
    kaolin = [one.oxides.get("Na2O", 0) for one in kiln.corners("yard frit")]
    assert min(kaolin) < max(kaolin)
    assert len(kiln.corners("yard frit")) == len(kiln.corners("potash feldspar")) + 1


def test_a_frit_of_a_frit_is_made_up_with_it_and_unknown_with_it() -> None:
    kiln = Calculator(_catalogue(CHARGE % "calcium borate frit: 50, silica: 50"))
    assert kiln.invented("yard frit")
    unknown = Calculator(_catalogue(CHARGE % "washed wood ash: 50, silica: 50")).analysis("yard frit")
    assert isinstance(unknown, Unknown)
    assert "washed wood ash" in unknown.reason


def test_two_frits_of_each_other_are_unknown() -> None:
    kiln = Calculator(
        _catalogue(
            CHARGE % "mill frit: 1",
            "  - {name: mill frit, role: frit, source: melted here, charge: {yard frit: 1}}\n",
        )
    )
    assert isinstance(kiln.analysis("yard frit"), Unknown)
    assert isinstance(kiln.analysis("mill frit"), Unknown)
    assert kiln.corners("yard frit") == ()
    assert not kiln.invented("yard frit")


def test_lead_in_the_charge_is_lead_in_the_frit() -> None:
    found = _catalogue(CHARGE % "red lead: 70, silica: 30").find("yard frit")
    assert found is not None
    assert found.restricted == "lead"


@pytest.mark.parametrize(
    ("charge", "message"),
    [
        ("moon dust: 40", "no material that is known here"),
        ("yard frit: 40", "is itself"),
        ("silica: 40, flint: 10", "a second time"),
        ("silica: 0", "nothing is weighed"),
        ("silica: much", "silica"),
    ],
)
def test_a_charge_that_cannot_be_taken_is_refused_with_its_place(charge: str, message: str) -> None:
    with pytest.raises(ConfigError, match=message) as caught:
        _catalogue(CHARGE % charge)
    assert caught.value.position.line == 2


def test_one_way_of_saying_what_a_material_is() -> None:
    with pytest.raises(ConfigError, match="a formula and a charge"):
        _catalogue("  - {name: f, role: frit, source: s, formula: SiO2, charge: {silica: 1}}\n")
    with pytest.raises(ConfigError, match="loss on ignition beside a charge"):
        _catalogue("  - {name: f, role: frit, source: s, loss: 2, charge: {silica: 1}}\n")
