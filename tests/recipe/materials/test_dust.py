"""What carries quartz or cristobalite in its dust is marked evenly, and what does not has a reason."""

from __future__ import annotations

import pytest

from glost.recipe.materials.catalogue import LibraryError, _read, shipped_catalogue

CATALOGUE = shipped_catalogue()
QUARRIED = ("clay", "feldspar", "silica", "silicate", "ash")
"""Roles of what is dug, quarried or burnt, most of it with some quartz."""

# Why what is of such a role, or was found in the ground, is not marked: common practice.
WITHOUT = {
    "nepheline syenite": "a rock short of silica, in which quartz cannot stand beside nepheline",
    "nepheline": "as nepheline syenite",
    "analysed anorthoclase": "a single crystal",
    "analysed anorthite": "a single crystal",
    "cordierite": "made, or the pure mineral",
    "diopside": "made, or the pure mineral",
    "soda-lime glass": "a glass",
    "certified flat glass": "a glass",
    "certified container glass": "a glass",
    "olivine": "a rock short of silica, sold for sand that holds no quartz",
    "seaweed ash": "salts, hardly any sand",
    "vermiculite": "a mica that the heat opened; its fibres are the question, and its note says so",
    "obsidian": "a glass",
    "phonolite": "a rock short of silica, as nepheline syenite",
    "borosilicate glass": "a glass",
}


@pytest.mark.parametrize("role", QUARRIED)
def test_what_is_dug_carries_quartz_or_says_why_not(role: str) -> None:
    for material in CATALOGUE:
        if material.role == role:
            assert bool(material.carries) != (material.name in WITHOUT), material.name


def test_a_note_that_speaks_of_quartz_is_not_alone() -> None:
    for material in CATALOGUE:
        said = f"{material.note} {material.source}".casefold()
        if any(
            word in said for word in ("carry some quartz", "crystalline silica", "cristobalite", "of quartz")
        ):
            assert material.carries, material.name


def test_all_that_carry_it_have_the_same_statements() -> None:
    much = {material.statements for material in CATALOGUE if "H372" in _carried(material.name)}
    some = {_carried(material.name) for material in CATALOGUE if material.carries}
    assert some == {("H350i", "H372"), ("H350i", "H373")}
    assert ("H350i", "H372") in much


def _carried(name: str) -> tuple[str, ...]:
    found = CATALOGUE.find(name)
    assert found is not None
    return tuple(sorted(code for hazard in found.hazards if hazard.carried for code in hazard.statements))


def test_every_statement_says_what_it_rests_on() -> None:
    for material in CATALOGUE:
        for hazard in material.hazards:
            assert hazard.basis in ("law", "industry", "opinion"), material.name
            # A classification of the law is one by its regulation, and nothing else is called law.
            assert (hazard.basis == "law") == hazard.source.startswith("Regulation (EC) 1272/2008"), (
                material.name
            )


def test_a_dust_that_nothing_is_held_of_does_not_load() -> None:
    entry = {"name": "moon dust", "source": "invented", "hazards": [], "carries": "moon"}
    with pytest.raises(LibraryError, match="nothing is held of the dust 'moon'"):
        _read(entry)
