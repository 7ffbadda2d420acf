"""What a material is like to have on the bench, as far as the catalogue knows: which jar to open last, and what may
be ground with what. That nothing is flagged does not mean that a material is harmless."""

from __future__ import annotations

from typing import Final

from glost.recipe.materials.catalogue import Catalogue, Material
from glost.recipe.safety.incompatible import groups_of
from glost.recipe.safety.statements import classes_of, needs_note

_DUSTY: Final = frozenset({"clay", "silica", "feldspar"})
"""Roles whose harm on record is their dust in the lungs. Every batch holds such a material, and what is worn against
it is worn from first to last, so that it says nothing of the order of the jars (common practice)."""


def toxic(material: Material) -> bool:
    """Whether it is restricted, or a hazard statement on record calls for a handling note for more than dust."""
    harms = {name for code in needs_note(material.own_statements) for name in classes_of(code)}
    if material.role in _DUSTY:
        harms.discard("chronic")
    return bool(material.restricted or harms)


def colouring(material: Material) -> bool:
    """Whether a trace of it shows in the next jar."""
    return material.role == "colourant"


def fit_to_carry(name: str, catalogue: Catalogue) -> bool:
    """Whether another material may be ground with it and kept as a mix: not where it is toxic, caustic, colours,
    dissolves, is unknown, or is of a group that must not be ground with another."""
    found = catalogue.find(name)
    return found is not None and not (
        toxic(found)
        or colouring(found)
        or found.caustic
        or found.soluble != "no"
        or groups_of(found.name, found)
    )
