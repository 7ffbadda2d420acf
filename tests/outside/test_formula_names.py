"""Formulas in the place of a name mean the material of that composition, by an outside reading of both formulas."""

from __future__ import annotations

import math

import periodictable
import pytest

from glost.recipe.materials.catalogue import Material, shipped_catalogue
from glost.recipe.materials.chemical_words import ELEMENTS
from glost.recipe.materials.meant import meant

CATALOGUE = shipped_catalogue()


def composition(formula: str) -> dict[str, float]:
    """Mass shares of the elements, read and weighed by periodictable."""
    read = periodictable.formula(formula.replace("·", "+"))
    return {str(element): share for element, share in read.mass_fraction.items()}


def same(one: str, other: str) -> bool:
    first, second = composition(one), composition(other)
    return first.keys() == second.keys() and all(
        math.isclose(first[e], second[e], rel_tol=1e-9) for e in first
    )


# Formulas as handbooks print them (common practice); what they weigh is periodictable's.
_WRITTEN = (
    "SiO2 TiO2 SnO2 ZrO2 ZrSiO4 Al2O3 Fe2O3 Fe3O4 FeO FeO(OH) CoO Co3O4 CoCO3 CuO Cu2O NiO Ni2O3 MnO2 MnCO3 Cr2O3 "
    "V2O5 CeO2 Sb2O3 Bi2O3 La2O3 MoO3 WO3 ZnO MgO CaCO3 BaCO3 SrCO3 Li2CO3 Na2CO3 K2CO3 KNO3 NaNO3 NaHCO3 NaCl CaF2 "
    "Na3AlF6 BaSO4 SrSO4 Ca(OH)2 CaMg(CO3)2 CaSiO3 Mg2SiO4 CaMgSi2O6 Al2Si4O10(OH)2 Mg3Si4O10(OH)2 Al2Si2O5(OH)4 "
    "KAlSi3O8 NaAlSi3O8 CaAl2Si2O8 LiAlSi2O6 LiAlSi4O10 KAl3Si3O10(OH)2 Al(OH)3 H3BO3 B2O3 Na2B4O7 Ca3(PO4)2 CaHPO4 "
    "PbO Pb3O4 PbS CdS As2O3 U3O8 FeTiO3 FeCr2O4 SiC Cu2CO3(OH)2 Pr6O11 Nd2O3 Er2O3 K2Cr2O7 PbCrO4 AgNO3 CaSO4(H2O)2"
)
WRITTEN = _WRITTEN.split()


@pytest.mark.parametrize("formula", WRITTEN)
def test_formula_means_the_material_of_that_composition(formula: str) -> None:
    for written in (formula, formula.translate(str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉"))):
        found = meant(written, CATALOGUE)
        assert found.material is not None, written
        assert found.material.composition is not None
        assert same(formula, found.material.composition["formula"])


FORMULAS = [one for one in CATALOGUE if one.composition and one.composition["kind"] == "formula"]


@pytest.mark.parametrize("material", FORMULAS, ids=[one.name for one in FORMULAS])
def test_own_formula_means_that_material_or_is_refused_with_it(material: Material) -> None:
    assert material.composition is not None
    formula = material.composition["formula"]
    for written in (formula, formula.replace("·", "*"), formula.replace("·", " · ")):
        found = meant(written, CATALOGUE)
        if found.material is not None and found.material.composition is not None:
            assert same(formula, found.material.composition["formula"])
        else:
            assert (
                material.name in {one.name for one in found.candidates}
                or formula == "CaO"
                or formula in {*ELEMENTS.values(), "C", "H", "O"}
            )


@pytest.mark.parametrize(
    ("formula", "near"),
    [
        ("CuCO3", "copper carbonate"),
        ("CuSO4", "copper sulfate"),
        ("NiCO3", "nickel carbonate"),
        ("Mn2O3", "manganese dioxide"),
    ],
)
def test_formula_of_another_composition_is_refused_with_what_is_near(formula: str, near: str) -> None:
    found = meant(formula, CATALOGUE)
    assert found.material is None
    candidates = {one.name: one for one in found.candidates}
    assert near in candidates
    held = candidates[near].composition
    assert held is not None
    assert not same(formula, held["formula"])
