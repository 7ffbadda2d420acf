"""A recipe that does not say its cone."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule


def check(checked: Checked) -> Iterator[Diagnostic]:
    resolved = checked.resolved
    if resolved.complete and resolved.title is not None and "cone" not in resolved.fields:
        yield Diagnostic(
            resolved.title.name.span,
            "the recipe does not say its cone",
            "write such as  cone: 6  below the first line; a range such as 5-6 will do",
        )


RULE = Rule(
    name="missing-cone",
    level="warning",
    summary="A recipe that does not say its cone.",
    why="""\
A glaze for cone 6 that is fired to cone 10 may run off the pot and weld it to the shelf; fired to cone 06 it has not
melted, and comes off on the hand. The cone is the first thing that the person who loads the kiln must know, and a copy
of the recipe that lost it cannot be fired without asking.""",
    how_to_fix="""\
Write the cone, or the range that the recipe was tested in. The zero counts: cone 06 is far cooler than cone 6.""",
    bad="""\
glaze "Harbour Mist"
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                40
""",
    expected=(Expected(1, 7, "the recipe does not say its cone"),),
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
