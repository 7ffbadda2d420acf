"""Two recipes of a collection are the same mix under different names."""

from __future__ import annotations

from collections.abc import Iterator
from math import gcd, lcm

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule, Shared
from glost.recipe.names import folded
from glost.recipe.recipe import Test


def shared(checked: Checked) -> Iterator[Shared]:
    resolved = checked.resolved
    recipe = resolved.recipe
    if not resolved.complete or resolved.title is None or len(recipe.base) < 2 or checked.base_total <= 0:
        return
    mixes = [_mix(test) for test in checked.tests if test.point is None or test.point.corner is None]
    yield Shared(
        "\n".join(sorted(mixes)),
        Diagnostic(
            resolved.title.name.span,
            "another recipe is the same mix under another name: {others}",
            "keep one of them, or write on the first line of both  # allow same-composition: why there are two",
        ),
        apart=folded(recipe.name),
    )


def _mix(test: Test) -> str:
    """The materials and their proportions in the smallest whole numbers, whatever the order, the spelling or the
    scale. Additions stand apart from the base."""
    lines = [*(("", line) for line in test.base), *(("+", line) for line in test.additions)]
    ratios = [line.amount.as_integer_ratio() for _, line in lines]
    below = lcm(*(one for _, one in ratios))
    counts: dict[tuple[str, str], int] = {}
    for (sign, line), (above, own) in zip(lines, ratios, strict=True):
        at = (sign, line.called)
        counts[at] = counts.get(at, 0) + above * (below // own)
    common = gcd(*counts.values()) or 1
    return ",".join(
        f"{sign}{name}={count // common}" for (sign, name), count in sorted(counts.items()) if count
    )


RULE = Rule(
    name="same-composition",
    level="warning",
    summary="Two recipes of a collection are the same mix under different names.",
    why="""\
The same glaze comes into a collection twice: once from a workshop, once from a friend, with another name and in
another order, in percent here and in grams there. Both are then tested, and every improvement reaches only one of
them. Recipes are compared by the materials they mean and the exact shares of the base, with all their variations and
series; order, spelling and scale do not matter.""",
    how_to_fix="""\
Keep one page, and note the other name on it. If the two are kept on purpose, for two clay bodies or two cones, say so
with an allowance on the first line of each.""",
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
glaze "Quay Fog"
cone: 6
atmosphere: oxidation
origin: a friend's notebook

base:
    calcium carbonate     200 g
    nepheline syenite     300 g
""",
    expected=(Expected(1, 7, "another recipe is the same mix under another name: beside.glost:1"),),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      62
    whiting                38
""",
    shared=shared,
)
