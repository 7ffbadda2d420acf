"""The hazard statements of the catalogue against what is known of the harmonised classification.

Regulation (EC) No 1272/2008, annex VI, table 3, was not at hand as a whole. Each row below names where its codes were
seen; rows from memory only check that the catalogue says so. What is checked is that the critical codes are there, and
that no code claims to have been checked further than it was.
"""

from __future__ import annotations

from typing import NamedTuple

import pytest

from glost.recipe.materials.catalogue import Material, shipped_catalogue

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
        "",
        "a safety data sheet; ICSC 0175 for the index",
    ),
    Row(("cobalt monoxide",), "027-002-00-4", "", "H302 H317 H400 H410", "", "a safety data sheet"),
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
    Row(("lithium carbonate",), "", "", "", "H302 H319", "suppliers, from memory; no harmonised entry known"),
    Row(("boric acid",), "005-007-00-2", "H360FD", "", "", "WECOBIS, on Delegated Regulation (EU) 2023/1435"),
    Row(("boric oxide",), "005-008-00-8", "H360FD", "", "", "WECOBIS, as above"),
    Row(("anhydrous borax",), "005-011-00-4", "H360FD", "", "", "WECOBIS, as above"),
    Row(("borax",), "005-011-01-1", "H360FD", "", "", "WECOBIS, as above"),
    Row(("borax pentahydrate",), "005-011-02-9", "H360FD", "", "", "WECOBIS, as above"),
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
    Row(("silica", "silica sand", "cristobalite"), "", "", "", "H372", "industry's own, from memory"),
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
    rows: dict[str, set[str]] = {}
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
@pytest.mark.parametrize("name", ["fluorspar", "titanium dioxide", "anatase", "cadmium sulfoselenide"])
def test_what_has_no_harmonised_entry_has_no_statement(name: str) -> None:
    assert _material(name).statements == ()


# Source: IARC, quartz or cristobalite dust in group 1 (100C, 2012), as in the table of the PyPI package chemicals:
# every silica that is crystalline carries the statement for harm by long exposure.
@pytest.mark.parametrize("name", ["silica", "silica sand", "cristobalite", "calcined diatomite"])
def test_crystalline_silica_is_never_without_a_statement(name: str) -> None:
    assert "H372" in _material(name).statements
