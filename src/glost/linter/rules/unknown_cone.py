"""A cone that is not among those that are made."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language import tree
from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule
from glost.recipe.cone import KNOWN, Cone


def check(checked: Checked) -> Iterator[Diagnostic]:
    cone = checked.resolved.recipe.fields.get("cone")
    place = checked.resolved.fields.get("cone")
    if not isinstance(cone, Cone) or cone.known or place is None:
        return
    span = place.value.span if isinstance(place, tree.Field) else place.span
    wrong = cone.low if cone.low not in KNOWN else cone.high
    yield Diagnostic(
        span,
        f"there is no cone {wrong}",
        f"the cones run from {KNOWN[0]} (the coolest) to 01 and from 1 to {KNOWN[-1]}; "
        "a temperature goes below  firing:",
    )


RULE = Rule(
    name="unknown-cone",
    level="error",
    summary="A cone that is not among those that are made.",
    why="""\
A cone of 60 or 1222 is a slip of the pen or a temperature, and the kiln is loaded by that number. The cones for
glazes and bodies run from 022, the coolest, through 01 to 1 and on to 14.""",
    how_to_fix="""\
Write the cone. A temperature, a soak or a cooling schedule goes into the field `firing`.""",
    bad="""\
glaze "Harbour Mist"
cone: 60
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                40
""",
    expected=(Expected(2, 7, "there is no cone 60"),),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                40
""",
    check=check,
)
