"""A recipe that does not say where it comes from."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule


def check(checked: Checked) -> Iterator[Diagnostic]:
    resolved = checked.resolved
    if resolved.complete and resolved.title is not None and "origin" not in resolved.fields:
        yield Diagnostic(
            resolved.title.name.span,
            "the recipe does not say where it comes from",
            "write such as  origin: own test 14-C, March  below the first line",
        )


RULE = Rule(
    name="missing-origin",
    level="hint",
    summary="A recipe that does not say where it comes from.",
    why="""\
When a test comes out unlike the tile on the board, the first question is where the recipe was copied from, and who
can be asked. A recipe from a book or from another studio is also somebody's work, and deserves the line.""",
    how_to_fix="""\
Name the test, the person, the page or the recipe that it was changed from.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation

base:
    nepheline syenite      60
    whiting                40
""",
    expected=(Expected(1, 7, "the recipe does not say where it comes from"),),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test 14-C, March

base:
    nepheline syenite      60
    whiting                40
""",
    check=check,
)
