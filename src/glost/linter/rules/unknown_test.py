"""A tile of a test that the collection does not have."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import CheckedFiring, Expected, Rule
from glost.recipe.library import UseError


def check(checked: CheckedFiring) -> Iterator[Diagnostic]:
    if checked.library is None:
        return
    for (_, said), tile in zip(checked.resolved.entries, checked.resolved.firing.tiles, strict=True):
        if tile.test is None:
            continue
        try:
            checked.library.find(tile.test.kind, tile.test.name, checked.resolved.page)
        except UseError as error:
            yield error.at(said["test"].value.span)


RULE = Rule(
    name="unknown-test",
    level="error",
    summary="A tile of a test that the collection does not have.",
    why="""\
A tile says what was in the kiln. Under a name that no recipe has, its result belongs to nobody: it stands in no row of
`glost results`, and whoever looks for what came of the recipe does not find it.""",
    how_to_fix="""\
Write the kind and the name as the recipe's own page has them, with the label of a variation, step or point behind a
comma. A recipe that was given another name since has the new one here too.""",
    bad="""\
firing "Small kiln 41"
date: 2026-05-14

tile "14-C":
    test: glaze "Harbour Myst"
""",
    expected=(Expected(5, 11, "there is no glaze called 'Harbour Myst' in this collection"),),
    good="""\
firing "Small kiln 41"
date: 2026-05-14

tile "14-C":
    test: glaze "Harbour Mist"
""",
    beside="""\
glaze "Harbour Mist"

base:
    nepheline syenite      60
    whiting                40
""",
    firing=check,
)
