"""What rules on firings ask of a tile."""

from __future__ import annotations

from typing import TYPE_CHECKING

from glost.linter.rule import CheckedFiring
from glost.recipe.cone import Cone, read_cone
from glost.recipe.library import UseError

if TYPE_CHECKING:  # the rules are there for recipes too, whose check reads nothing of firings
    from glost.recipe.firing import Tile


def cone_of(tile: Tile, checked: CheckedFiring) -> Cone | None:
    """The cone that the recipe of a tile is for; None where it says none, and where there is no such recipe, which
    unknown-test tells."""
    if tile.test is None or checked.library is None:
        return None
    try:
        used = checked.library.find(tile.test.kind, tile.test.name, checked.resolved.page)
    except UseError:
        return None
    text = dict(used.fields).get("cone", "")
    return read_cone(text) if text else None
