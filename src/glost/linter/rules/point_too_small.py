"""A blend with a point that the balances at hand cannot weigh well enough."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule
from glost.linter.smallness import Small, Smallness
from glost.recipe.recipe import Part, Test


def check(checked: Checked) -> Iterator[Diagnostic]:
    resolved = checked.resolved
    if not resolved.complete or not resolved.recipe.blends:
        return
    small = Smallness(checked)
    blends: dict[str, list[Test]] = {}
    for test in checked.tests:
        if test.point is not None and test.base_exact:
            blends.setdefault(test.block_name, []).append(test)
    for points in blends.values():
        # What a corner lacks is an amount that stands on the page; here it is the mixing that makes it small.
        between = [point for point in points if point.point is not None and point.point.corner is None]
        worst = _worst(between, small)
        head = resolved.head_of(points[0])
        if worst is None or head is None or head.name is None:
            continue
        test, part, found = worst
        assert test.point is not None
        cups = sum(_is_small(one, small) for one in between)
        of = f"{cups} of {len(points)} points have such a line" if cups > 1 else "it is the only such point"
        corners = [point for point in points if point.point is not None and point.point.corner is not None]
        yield Diagnostic(
            head.name.span,
            f"{part.called} at the point {test.point.label} (number {test.point.number}): {small.said(found)}; {of}",
            f"dry, {small.larger(found)} in each cup; {_wet(corners, small)}",
        )


def _shares(test: Test) -> Iterable[tuple[Part, Fraction]]:
    return ((part, part.exact / test.base_exact) for part in (*test.base, *test.additions) if part.exact)


def _is_small(test: Test, small: Smallness) -> bool:
    return any(small.of(share) is not None for _, share in _shares(test))


def _worst(points: Iterable[Test], small: Smallness) -> tuple[Test, Part, Small] | None:
    """The smallest line that cannot be weighed, the first of equals; None where all can."""
    found: tuple[Test, Part, Small] | None = None
    for test in points:
        for part, share in _shares(test):
            one = small.of(share) if found is None or share < found[2].share else None
            if one is not None:
                found = test, part, one
    return found


def _wet(corners: Iterable[Test], small: Smallness) -> str:
    """From how much on the corners can be weighed by themselves, to be blended wet."""
    least = min((share for test in corners for _, share in _shares(test)), default=Fraction(0))
    smallest = small.least_g(least) if least else None
    if smallest is None:
        return "blended wet, only the corners are weighed, each in one large batch"
    return f"blended wet, only the corners are weighed, and {smallest:f} g of base do for each"


RULE = Rule(
    name="point-too-small",
    level="warning",
    summary="A blend with a point that is too small to weigh, cup by cup.",
    why="""\
A blend makes small amounts smaller: half a part of cobalt carbonate in one corner is a tenth of a part at the point
that takes a fifth of it. Weighed cup by cup in 100 g, that is 0.1 g, and the row of tiles that was to show an even
rise shows what the balance rounded to. Every line of every point between the corners is looked at as
below-readability looks at a page, in the batch of the page; the smallest of a blend is told. The corners are what
stands on the page, and are for below-readability.""",
    how_to_fix="""\
Write a larger `batch:`. Or blend wet: mix the corners once, each large enough to weigh well, and pour the cups by
volume; `glost blend FILE --wet "60 ml"` works out how many millilitres of each.""",
    settings="""\
balances:
  - {name: bench, capacity: 2 kg, readability: 0.1 g}
""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test
batch: 300 g

base:
    nepheline syenite      40
    wollastonite           30
    whiting                30

blend "colours" by 20 %:
    cobalt carbonate        1, 0
    red iron oxide          0, 6

handling:
    cobalt carbonate: P100 respirator and gloves.
""",
    expected=(
        Expected(
            12,
            7,
            "cobalt carbonate at the point 20/80 (number 5): 0.6 g in a batch of 300 g; the balance 'bench' is sure of"
            " it to ± 0.058 g, which is 9.6 %; 4 of 6 points have such a line",
        ),
    ),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test
batch: 1500 g

base:
    nepheline syenite      40
    wollastonite           30
    whiting                30

blend "colours" by 20 %:
    cobalt carbonate        1, 0
    red iron oxide          0, 6

handling:
    cobalt carbonate: P100 respirator and gloves.
""",
    check=check,
)
