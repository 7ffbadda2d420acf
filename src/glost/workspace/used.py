"""The materials that the recipes of a collection use."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from glost.language.source import DecodeError
from glost.output.materials.page import used_in
from glost.recipe.recipe import Recipe
from glost.workspace.collection import Collection, Collections, find
from glost.workspace.load import load


class Used(NamedTuple):
    """Canonical names of what is used, and how many files cannot be read whole and may use more."""

    materials: frozenset[str]
    unreadable: int


def used_by(collection: Collection, collections: Collections) -> Used | None:
    """What the recipes below a collection's glost.yaml weigh out; None where none holds. Raises ConfigError."""
    if collection.root is None:
        return None
    materials: set[str] = set()
    unreadable = 0
    for path in find([str(collection.root)], collections):
        if collections.root_of(path) != collection.root:
            continue  # of a collection within
        try:
            entry = load(path, collections)
        except DecodeError:
            unreadable += 1
            continue
        unreadable += not entry.resolved.complete
        materials.update(_named(entry.resolved.recipe))
    return Used(frozenset(materials), unreadable)


def _named(recipe: Recipe) -> Iterator[str]:
    return (name for name in used_in(recipe) if name is not None)
