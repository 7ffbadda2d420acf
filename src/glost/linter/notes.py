"""Which materials have a handling note, in the recipe or in the house."""

from __future__ import annotations

from typing import Final

from glost.linter.rule import Checked
from glost.recipe.safety.protection import protects

ALL: Final = "all"


def noted(checked: Checked) -> set[str]:
    """The canonical names that the recipe or the house has a note for; ALL where one says for every material what to
    put on or do about dust or skin. That nobody eats at the bench is a good rule, and protects from no powder."""
    notes = [(name, note.text) for note in checked.resolved.recipe.every_handling for name in note.names]
    notes += checked.settings.handling.items()
    found = set()
    for name, text in notes:
        if name == ALL and not protects(text):
            continue
        material = checked.catalogue.find(name)
        found.add(material.name if material else name)
    return found
