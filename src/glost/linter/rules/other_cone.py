"""A firing to another cone than a recipe on it is for."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import CheckedFiring, Expected, Rule
from glost.linter.tiles import cone_of
from glost.recipe.cone import Cone


def check(checked: CheckedFiring) -> Iterator[Diagnostic]:
    firing = checked.resolved.firing
    cone = firing.cone or firing.reached
    if checked.library is None or cone is None or not cone.known:
        return
    for (_, said), tile in zip(checked.resolved.entries, firing.tiles, strict=True):
        own = cone_of(tile, checked)
        if tile.test is not None and own is not None and own.known and _apart(own, cone):
            fired = "was meant for" if firing.cone else "reached"
            yield Diagnostic(
                said["test"].value.span,
                f"{tile.test.written} is for cone {own}, and this firing {fired} cone {cone}",
                "look at the cone of the firing and at the test; where it is fired so on purpose, write behind the"
                " line  # allow other-cone: what is looked for",
            )


def _apart(own: Cone, fired: Cone) -> bool:
    """Whether no cone is of both; a half cone beside is none apart."""
    (low, high), (first, last) = own.ranks, fired.ranks
    return last < low - _HALF or first > high + _HALF


_HALF = 1
"""Places between a cone and the half beside it."""


RULE = Rule(
    name="other-cone",
    level="warning",
    summary="A firing to another cone than a recipe on it is for.",
    why="""\
A glaze for cone 04 in a firing to cone 6 runs off its tile onto the shelf; one for cone 10 stays a dry skin. And a cone
that was written wrong puts the result below the wrong heat for good. A half cone beside the cones of the recipe is no
finding, nor is a recipe that says no cone.""",
    how_to_fix="""\
Correct the cone of the firing, or the test of the tile. Where the tile is fired so on purpose, say what for in an
allowance, and put a catch tray below it.""",
    bad="""\
firing "Small kiln 41"
date: 2026-05-14
cone: 6

tile "14-C":
    test: glaze "Quay Fog"
""",
    expected=(Expected(6, 11, 'glaze "Quay Fog" is for cone 04, and this firing was meant for cone 6'),),
    good="""\
firing "Small kiln 41"
date: 2026-05-14
cone: 04

tile "14-C":
    test: glaze "Quay Fog"
""",
    beside="""\
glaze "Quay Fog"
cone: 04

base:
    nepheline syenite      60
    whiting                40
""",
    firing=check,
)
