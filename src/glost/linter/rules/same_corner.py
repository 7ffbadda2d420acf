"""A blend with one corner twice."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule
from glost.recipe.blends import CORNERS
from glost.recipe.recipe import Test


def check(checked: Checked) -> Iterator[Diagnostic]:
    resolved = checked.resolved
    if not resolved.complete or not resolved.recipe.blends:
        return
    corners: dict[str, list[Test]] = {}
    for test in checked.tests:
        if test.point is not None and test.point.corner is not None:
            corners.setdefault(test.block_name, []).append(test)
    for found in corners.values():
        head = resolved.head_of(found[0])
        alike: dict[frozenset[tuple[bool, str, Fraction]], list[str]] = {}
        for test in sorted(found, key=_column):
            alike.setdefault(_mix(test), []).append(CORNERS[_column(test)])
        for names in alike.values():
            if len(names) > 1 and head is not None and head.name is not None:
                yield Diagnostic(
                    head.name.span,
                    f"the corners {', '.join(names[:-1])} and {names[-1]} are the same mix, so that nothing changes "
                    "between them",
                    "give each corner its own amounts, or take one of them out: a blend of two corners is a line, of "
                    "three a triangle",
                )


def _column(test: Test) -> int:
    assert test.point is not None
    assert test.point.corner is not None
    return test.point.corner


def _mix(test: Test) -> frozenset[tuple[bool, str, Fraction]]:
    """The materials by their shares of the base: order and scale do not matter."""
    amounts: dict[tuple[bool, str], Fraction] = {}
    for base, lines in ((True, test.base), (False, test.additions)):
        for part in lines:
            amounts[base, part.called] = amounts.get((base, part.called), Fraction(0)) + part.exact
    whole = test.base_exact or Fraction(1)
    return frozenset((base, name, exact / whole) for (base, name), exact in amounts.items() if exact)


RULE = Rule(
    name="same-corner",
    level="warning",
    summary="A blend of which two corners are the same mix.",
    why="""\
Between two corners that hold the same, every cup is the same glaze. A line copied and not changed does it, and so
does a corner that was to be moved and was not; a triangle of 21 cups is then a line of six, weighed three times over.
Corners are compared by the materials they weigh and their exact shares of the base, with what recipes among the
ingredients bring in; order and scale do not matter.""",
    how_to_fix="""\
Each column is a corner: compare them from top to bottom, and write what the one was to hold.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test
batch: 5 kg

base blend "search" by 50 %:
    nepheline syenite      60, 50, 60
    whiting                40, 50, 40
""",
    expected=(Expected(7, 12, "the corners A and C are the same mix, so that nothing changes between them"),),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test
batch: 5 kg

base blend "search" by 50 %:
    nepheline syenite      60, 50, 70
    whiting                40, 50, 30
""",
    check=check,
)
