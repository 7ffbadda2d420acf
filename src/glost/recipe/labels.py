"""Which tests a label means."""

from __future__ import annotations

from collections.abc import Iterable

from glost.recipe.materials.catalogue import key
from glost.recipe.recipe import Test


def labels_of(test: Test, labels: Iterable[str]) -> list[str]:
    """Those of the labels that mean this test: a variation, a step of a series, a point of a blend, or the recipe
    itself by its name; each by its label, by its name, or as an ingredient has it."""
    own = {key(test.label or test.name), key(test.name), key(f'{test.recipe.kind} "{test.name}"')}
    return [label for label in labels if key(label) in own]
