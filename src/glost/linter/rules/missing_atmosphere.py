"""A recipe that does not say the kiln's atmosphere."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule
from glost.recipe.fields import ATMOSPHERES


def check(checked: Checked) -> Iterator[Diagnostic]:
    resolved = checked.resolved
    if resolved.complete and resolved.title is not None and "atmosphere" not in resolved.fields:
        yield Diagnostic(
            resolved.title.name.span,
            "the recipe does not say the kiln's atmosphere",
            f"write such as  atmosphere: oxidation  below the first line (or {', '.join(ATMOSPHERES[1:])})",
        )


RULE = Rule(
    name="missing-atmosphere",
    level="hint",
    summary="A recipe that does not say the kiln's atmosphere.",
    why="""\
Copper that is green in oxidation can be red in reduction, and the iron of an amber is the iron of a celadon. The same
powder fired in two kilns gives two glazes. A studio with one electric kiln may find the line idle, which is why this is
only a hint; a recipe that leaves the studio needs it.""",
    how_to_fix="""\
Write the atmosphere that the recipe was tested in.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
origin: own test

base:
    nepheline syenite      60
    whiting                40
""",
    expected=(Expected(1, 7, "the recipe does not say the kiln's atmosphere"),),
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
