"""Notes that say what to put on or do about dust or skin, and notes that do not."""

from __future__ import annotations

import pytest

from glost.recipe.safety.protection import protects, speaks_of_breathing

SAYS = (
    "P100 respirator and gloves; wet-clean spills.",
    "gloves",
    "Wear a dust mask.",
    "mask with P3 filter",
    "mask",
    "put on a mask, always",
    "FFP3 for anything dry",
    "do not breathe the dust",
    "never sweep; call the technician",
    "no food or drink at the bench; gloves",
    "never without gloves",
    "nobody weighs here without a respirator",
    "weigh under the hood",
    "clean up wet",
    "wipe the bench with a damp cloth",
    "goggles when sieving",
    "gloves, no exceptions",
    "vacuum with HEPA",
    "good ventilation",
    "Atemschutz tragen",
)
SAYS_NOTHING = (
    "no food or drink at the bench.",
    "no mask needed",
    "respirator not needed",
    "respirator optional",
    "gloves are not needed",
    "you needn’t wear gloves",
    "no gloves, no mask, no worry",
    "without gloves",
    "masking tape on the lids",
    "mask off the foot with wax",
    "unmask the tile",
    "gloveless",
    "kiln gloves at the peephole",
    "wash the cups",
    "handle with care",
    "keep the lid on",
    "label every cup",
    "hooded jackets",
    "sieve twice",
    "the wet tiles",
    "",
)


@pytest.mark.parametrize("note", SAYS)
def test_what_to_put_on_or_do_is_understood(note: str) -> None:
    assert protects(note)
    assert protects(note.upper())
    assert protects(f"No food here. {note}")


@pytest.mark.parametrize("note", SAYS_NOTHING)
def test_what_protects_from_no_powder_says_nothing(note: str) -> None:
    assert not protects(note)
    assert not protects(f"No food here. {note}")


@pytest.mark.parametrize(
    "note", ["no mask needed", "masking tape", "respirator not needed", "gloves; no food"]
)
def test_a_mask_that_is_not_worn_says_nothing_of_breathing(note: str) -> None:
    assert not speaks_of_breathing(note)
