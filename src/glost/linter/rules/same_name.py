"""Two recipes of a collection carry the same name."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule, Shared
from glost.recipe.names import folded


def shared(checked: Checked) -> Iterator[Shared]:
    title = checked.resolved.title
    if title is not None:
        yield Shared(
            folded(title.name.text),
            Diagnostic(
                title.name.span,
                f"another recipe is called '{title.name.text}' too: {{others}}",
                "give one of them another name, such as one with the date or the test number",
            ),
        )


RULE = Rule(
    name="same-name",
    level="warning",
    summary="Two recipes of a collection carry the same name.",
    why="""\
Two pages with one name are how a copy of a recipe comes to differ in silence: somebody changes one, somebody else
weighs the other, and both tiles carry the same label. Letter case does not matter.""",
    how_to_fix="""\
Find out which of the two is meant to live. Rename the other, or make it a variation of the first.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                40
""",
    beside="""\
glaze "Harbour mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      58
    whiting                42
""",
    expected=(Expected(1, 7, "another recipe is called 'Harbour Mist' too: beside.glost:1"),),
    good="""\
glaze "Harbour Mist, spring"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                40
""",
    shared=shared,
)
