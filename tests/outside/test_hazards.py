"""The hazard statements of the catalogue against what is known of the harmonised classification.

Regulation (EC) No 1272/2008, annex VI, table 3, was not at hand as a whole. Each row below names where its codes were
seen; rows from memory only check that the catalogue says so. What is checked is that the critical codes are there, and
that no code claims to have been checked further than it was.
"""

from __future__ import annotations

from typing import NamedTuple

import pytest

from glost.recipe.materials.catalogue import Material, shipped_catalogue
from glost.recipe.safety.statements import needs_note

CATALOGUE = shipped_catalogue()
RANKS = {"from memory": 0, "second-hand": 1, "read": 2}


class Row(NamedTuple):
    """Materials that stand for one substance, its index number, the codes seen for it by how far, and where."""

    materials: tuple[str, ...]
    number: str
    read: str
    second_hand: str
    memory: str
    source: str


ROWS = (
    Row(
        (
            "white lead",
            "red lead",
            "litharge",
            "galena",
            "lead antimonate",
            "lead bisilicate frit",
            "lead sesquisilicate frit",
            "lead monosilicate frit",
            "lead borosilicate frit",
        ),
        "082-001-00-6",
        "",
        "H302 H332 H360Df H373 H410",
        "H400",
        "a supplier's safety data sheet of red lead",
    ),
    Row(("red lead",), "", "", "H272", "", "the same sheet, the supplier's own addition"),
    Row(
        ("barium carbonate",), "056-003-00-2", "", "H302", "", "a safety data sheet; ICSC 0777 for the index"
    ),
    Row(
        ("manganese dioxide", "granular manganese dioxide"),
        "025-001-00-3",
        "",
        "H302 H332",
        "H373",
        "a safety data sheet; ICSC 0175 for the index; the nerves as suppliers have it, from memory",
    ),
    Row(("manganese carbonate",), "", "", "", "H373", "suppliers, from memory; no harmonised entry known"),
    Row(
        ("cobalt monoxide",),
        "027-002-00-4",
        "",
        "H302 H317 H350i H400 H410",
        "",
        "a safety data sheet; cancer by inhalation as the industry's institute says of its own classification",
    ),
    Row(
        ("cobalt carbonate",),
        "027-010-00-9",
        "",
        "H317 H334 H341 H350i H410",
        "H360F H400",
        "an encyclopedia; the rest from memory",
    ),
    Row(
        ("nickel oxide",),
        "028-003-00-2",
        "",
        "H317 H350i H372 H413",
        "",
        "GisChem for the sister entry, a safety data sheet for the index",
    ),
    Row(("black nickel oxide",), "", "H317 H350i H372 H413", "", "", "GisChem, dinickel trioxide"),
    Row(
        ("vanadium pentoxide",),
        "023-001-00-8",
        "",
        "",
        "H301 H330 H335 H341 H350 H361fd H362 H372 H411",
        "Regulation (EU) 2022/692 (18th adaptation), from memory",
    ),
    Row(("red copper oxide",), "029-002-00-X", "H302 H318 H332 H400 H410", "", "", "GisChem"),
    Row(("black copper oxide",), "029-016-00-6", "", "", "H400 H410", "from memory"),
    Row(("copper carbonate",), "029-020-00-8", "", "", "H302 H319 H332 H400 H410", "from memory"),
    Row(
        ("lithium carbonate",),
        "",
        "",
        "",
        "H302 H319 H360FD",
        "suppliers, and the opinion of the Committee for Risk Assessment of 2021, both from memory",
    ),
    Row(
        ("talc",), "", "", "", "H350 H372", "opinion of the Committee for Risk Assessment, 2024, from memory"
    ),
    Row(("boric acid",), "005-007-00-2", "H360FD", "", "", "WECOBIS, on Delegated Regulation (EU) 2023/1435"),
    Row(("boric oxide",), "005-008-00-8", "H360FD", "", "", "WECOBIS, as above"),
    Row(("anhydrous borax",), "005-011-00-4", "H360FD", "", "H319", "WECOBIS, as above; eyes from memory"),
    Row(("borax",), "005-011-01-1", "H360FD", "", "H319", "WECOBIS, as above; eyes from memory"),
    Row(("borax pentahydrate",), "005-011-02-9", "H360FD", "", "H319", "WECOBIS, as above; eyes from memory"),
    Row(
        ("potassium dichromate",),
        "024-002-00-6",
        "",
        "H272 H301 H314 H317 H330 H334 H340 H350 H360FD H372 H400 H410",
        "H312",
        "a safety data sheet with that index; H312 from memory, the sheet prints H310",
    ),
    Row(("iron chromate",), "024-017-00-8", "", "", "H317 H350i H400 H410", "from memory"),
    Row(
        ("cadmium sulfide",),
        "048-010-00-4",
        "H350 H372 H413",
        "",
        "H302 H341 H361fd",
        "ICSC 0404 (ILO and WHO); the rest from memory",
    ),
    Row(("selenium",), "034-001-00-2", "", "", "H301 H331 H373 H413", "from memory"),
    Row(("antimony trioxide",), "051-005-00-X", "", "", "H351", "from memory"),
    Row(
        ("zinc oxide", "calcined zinc oxide"),
        "030-013-00-7",
        "",
        "H400 H410",
        "",
        "two safety data sheets and the text of the REACH consortium",
    ),
    Row(("arsenic trioxide",), "033-003-00-0", "", "", "H300 H314 H350 H400 H410", "from memory"),
    Row(
        ("cryolite",),
        "009-016-00-2",
        "H332",
        "",
        "H372 H411",
        "the REACH dossier at ECHA; the rest from memory",
    ),
    Row(("soda ash", "soda crystals"), "011-005-00-2", "", "", "H319", "from memory"),
    Row(
        ("silica", "silica sand", "cristobalite"),
        "",
        "",
        "H350i",
        "H372",
        "industry's own, from memory; cancer by the table of IARC's groups in the PyPI package chemicals",
    ),
    Row(
        ("cadmium sulfoselenide", "encapsulated cadmium stain"),
        "",
        "",
        "H350",
        "",
        "the same table: cadmium and cadmium compounds, group 1",
    ),
)
each_row = pytest.mark.parametrize("row", ROWS, ids=[row.materials[0] + f" {row.number}" for row in ROWS])


def _material(name: str) -> Material:
    found = CATALOGUE.find(name)
    assert found is not None, name
    return found


def _standings(material: Material) -> dict[str, str]:
    """Each code with the furthest that it says to have been checked."""
    out: dict[str, str] = {}
    for hazard in material.hazards:
        for code in hazard.statements:
            if code not in out or RANKS[hazard.standing] > RANKS[out[code]]:
                out[code] = hazard.standing
    return out


@each_row
def test_critical_codes_are_there_and_say_how_far_they_were_checked(row: Row) -> None:
    expected = dict.fromkeys(row.read.split(), "read")
    expected |= dict.fromkeys(row.second_hand.split(), "second-hand")
    expected |= dict.fromkeys(row.memory.split(), "from memory")
    for name in row.materials:
        held = _standings(_material(name))
        assert {code: held.get(code) for code in expected} == expected, name


@each_row
def test_index_number_is_the_entry_s(row: Row) -> None:
    for name in row.materials if row.number else ():
        assert any(row.number in hazard.source for hazard in _material(name).hazards), name


# What the rows above do not hold was in no text that was seen.
def test_nothing_else_claims_to_have_been_checked() -> None:
    # What carries quartz has the statements of quartz.
    quartz = {"H350i"}
    rows: dict[str, set[str]] = {material.name: set(quartz) for material in CATALOGUE if material.carries}
    for row in ROWS:
        for name in row.materials:
            rows.setdefault(name, set()).update((row.read + " " + row.second_hand).split())
    claimed = {
        material.name: {code for code, standing in _standings(material).items() if RANKS[standing]}
        for material in CATALOGUE
    }
    assert {
        name: codes - rows.get(name, set())
        for name, codes in claimed.items()
        if codes - rows.get(name, set())
    } == {}


# Sources: no entry in annex VI, from memory (fluorspar, with "no classification proposed for acute toxicity" read in
# the REACH dossier at ECHA); the entry of titanium dioxide powder, 022-006-00-2, was annulled by the courts of the
# European Union, from memory; cadmium sulfoselenide is left out of the general entry for cadmium, from memory.
@pytest.mark.parametrize(
    "name",
    ["fluorspar", "titanium dioxide", "anatase", "cadmium sulfoselenide", "manganese carbonate", "talc"],
)
def test_what_has_no_harmonised_entry_has_no_statement_of_the_law(name: str) -> None:
    assert [hazard for hazard in _material(name).hazards if hazard.basis == "law"] == []


# Source: IARC, quartz or cristobalite dust in group 1 (100C, 2012), as in the table of the PyPI package chemicals:
# every silica that is crystalline carries the statement for harm by long exposure.
@pytest.mark.parametrize("name", ["silica", "silica sand", "cristobalite", "calcined diatomite"])
def test_crystalline_silica_is_never_without_a_statement(name: str) -> None:
    assert {"H350i", "H372"} <= set(_material(name).statements)


# Source: the table of IARC's groups in the PyPI package chemicals 1.5.2: quartz or cristobalite, cadmium and its
# compounds in group 1. Talc in group 2A, 2024: from memory.
@pytest.mark.parametrize("name", ["silica", "cristobalite", "kaolin", "cadmium sulfoselenide"])
def test_what_a_committee_holds_is_called_that_and_not_law(name: str) -> None:
    (opinion,) = [hazard for hazard in _material(name).hazards if hazard.basis == "opinion"]
    assert "International Agency for Research on Cancer" in opinion.source
    assert opinion.cited.startswith("a committee's opinion, not law: ")
    assert opinion.standing == "second-hand"


# Source: Regulation (EC) No 1272/2008, annex III: H318 causes serious eye damage, H272 may intensify fire.
def test_harm_to_the_eyes_and_oxidisers_are_asked_about() -> None:
    for code in ("H318", "H272"):
        carry = [material.name for material in CATALOGUE if code in material.statements]
        assert len(carry) >= 4, code
        for name in carry:
            assert code in needs_note(_material(name).statements_to_note)
