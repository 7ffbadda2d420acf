"""What the catalogue holds of its materials, against a general library of molar masses and published tables."""

from __future__ import annotations

import csv
import re
from decimal import Decimal
from pathlib import Path

import pytest
from molmass import Formula

from glost.chemistry.analysis import Analysis
from glost.chemistry.firing import Calculator, Unknown
from glost.recipe.materials.catalogue import Material, shipped_catalogue

DATA = Path(__file__).parent / "data"
CATALOGUE = shipped_catalogue()
KILN = Calculator(CATALOGUE)
FORMULAS = [one for one in CATALOGUE if one.composition and one.composition["kind"] == "formula"]
_PART = re.compile(r"([0-9]*\.?[0-9]*)(.+)")
_GONE = {"H", "C", "N", "S", "F", "Cl", "Se", "O"}


def _atoms(formula: str) -> dict[str, float]:
    """Atoms of each element, counted by molmass part by part; a factor in front of a part is taken off first."""
    out: dict[str, float] = {}
    for part in formula.split("·"):
        found = _PART.fullmatch(part)
        assert found is not None
        for element, item in Formula(found[2]).composition().items():
            out[element] = out.get(element, 0.0) + float(found[1] or 1) * item.count
    return out


# Source: PyPI molmass, whose masses and parser of formulas are its own.
@pytest.mark.parametrize("material", FORMULAS, ids=[one.name for one in FORMULAS])
def test_stoichiometry_of_every_formula(material: Material) -> None:
    assert material.composition is not None
    atoms = _atoms(material.composition["formula"])
    whole = sum(count * Formula(element).mass for element, count in atoms.items())
    analysis = KILN.analysis(material.name)
    assert isinstance(analysis, Analysis)
    expected = {}
    for oxide in analysis.oxides:
        held = Formula(oxide).composition()
        (metal,) = (element for element in held if element != "O")
        expected[oxide] = 100 * atoms[metal] / held[metal].count * Formula(oxide).mass / whole
    assert {oxide: float(mass) for oxide, mass in analysis.oxides.items()} == pytest.approx(
        expected, abs=0.01
    )
    assert len(expected) == len(set(atoms) - _GONE), "an element that stays has no oxide"
    assert float(analysis.loss) == pytest.approx(100 - sum(expected.values()), abs=0.01)


# Source: CRC Handbook of Chemistry and Physics, table of physical constants of inorganic compounds, as PyPI chemicals
# 1.5.2 carries it (molar volumes; here with the molar masses of the substances that the table names).
CRC = {
    row["cas"]: row for row in csv.DictReader((DATA / "crc-densities.csv").read_text("utf-8").splitlines())
}


def test_densities_are_those_of_the_table_that_they_cite() -> None:
    held = [one for one in CATALOGUE if one.density and one.density["source"].startswith("CRC Handbook")]
    assert len(held) > 100
    for material in held:
        assert material.density is not None
        rows = [CRC[number] for number in material.cas if number in CRC]
        if rows:
            figure = float(rows[0]["g/cm3"])
            assert float(material.density["value"]) == pytest.approx(figure, rel=0.006), material.name


@pytest.mark.parametrize(
    ("name", "density"),
    [("litharge", 9.35), ("zirconium silicate", 4.6), ("rutile", 4.17), ("black iron oxide", 5.17),
     ("cobalt monoxide", 6.44), ("cerium oxide", 7.22), ("barium sulfate", 4.49), ("antimony trioxide", 5.7),
     ("bismuth oxide", 8.9), ("silicon carbide", 3.16), ("gypsum", 2.32)],
)  # fmt: skip
def test_densities_of_what_is_heavy(name: str, density: float) -> None:
    """The same table, read by eye."""
    material = CATALOGUE.find(name)
    assert material is not None
    assert material.density is not None
    assert float(material.density["value"]) == pytest.approx(density, abs=0.01)


def test_cas_check_digits() -> None:
    """CAS: the other figures, counted from the right, times their places, added up, modulo 10 (common practice)."""
    numbers = [(number, one.name) for one in CATALOGUE for number in one.cas]
    assert len(numbers) > 200
    for number, name in numbers:
        body, check = number.rsplit("-", 1)
        figures = [int(figure) for figure in reversed(body.replace("-", ""))]
        assert sum(place * figure for place, figure in enumerate(figures, 1)) % 10 == int(check), (
            number,
            name,
        )


# Source: H. van Olphen and J. J. Fripiat (eds.), Data Handbook for Clay Materials and Other Non-metallic Minerals,
# Pergamon, 1979, kaolin KGa-1, as quoted by the Clay Minerals Society; its figures for oxides and loss on heating.
def test_reference_kaolin_lies_in_the_bracket_of_kaolin() -> None:
    published = {"SiO2": 44.2, "Al2O3": 39.7, "TiO2": 1.39, "MgO": 0.03, "Na2O": 0.013, "K2O": 0.05}
    assert any(
        all(
            float(corner.oxides.get(oxide, 0)) == pytest.approx(figure) for oxide, figure in published.items()
        )
        and float(corner.loss) == pytest.approx(12.6 + 1.18, abs=0.05)
        for corner in KILN.corners("kaolin")
    )


# Source: the paper brings the oxides of an ash to 100 %; its figures are from memory, and this can be checked of them.
def test_ashes_of_the_overview_of_biomass_add_up_to_100() -> None:
    records = [
        one
        for material in CATALOGUE
        if material.composition
        for one in (material.composition, *material.composition.get("bracket", ()))
        if one.get("source", "").startswith("S. V. Vassilev")
    ]
    assert len(records) > 10
    for one in records:
        total = sum((Decimal(figure) for figure in one["oxides"].values()), Decimal(0))
        assert abs(total - 100) <= Decimal("0.03"), one
        assert one["standing"] == "from memory"


# Source: PyPI molmass: 224.08 of 376.18 g of the carbonate with four parts of water are nickel oxide, 59.6 %.
def test_nickel_carbonate_is_as_strong_as_its_water_allows() -> None:
    dry, wet = KILN.analysis("nickel carbonate"), KILN.analysis("hydrated nickel carbonate")
    assert not isinstance(dry, Unknown)
    assert not isinstance(wet, Unknown)
    share = (
        3
        * Formula("NiO").mass
        / (Formula("NiCO3").mass + 2 * Formula("Ni(OH)2").mass + 4 * Formula("H2O").mass)
    )
    assert float(wet.oxides["NiO"]) == pytest.approx(100 * share, abs=0.01)
    (other,) = KILN.corners("nickel carbonate")
    assert float(other.oxides["NiO"]) == pytest.approx(100 * share, abs=0.01)
    assert float(dry.oxides["NiO"]) == pytest.approx(73.68, abs=0.01)
