"""Two recipes of a collection are the same mix under different names."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from fractions import Fraction

from glost.language.source import Fault
from glost.lint.rule import Checked, Expected, Rule, Shared
from glost.recipe.recipe import Part, tests


def shared(checked: Checked) -> Iterator[Shared]:
    resolved = checked.resolved
    recipe = resolved.recipe
    if not resolved.complete or resolved.title is None or len(recipe.base) < 2 or recipe.base_total <= 0:
        return
    total = recipe.base_total
    mixes = [_mix(test.base, total) + "+" + _mix(test.additions, total) for test in tests(recipe)]
    yield Shared(
        "\n".join(sorted(mixes)),
        Fault(
            resolved.title.name.span,
            "another recipe is the same mix under another name: {others}",
            "keep one of them, or say in the notes of both why there are two",
        ),
        apart=" ".join(recipe.name.casefold().split()),
    )


def _mix(lines: Iterable[Part], total: Decimal) -> str:
    """The materials and their exact shares of the base, whatever the order, the spelling or the scale."""
    shares: dict[str, Fraction] = {}
    for line in lines:
        shares[line.called] = shares.get(line.called, Fraction(0)) + Fraction(line.parts) / Fraction(total)
    return ",".join(f"{name}={share}" for name, share in sorted(shares.items()) if share)


RULE = Rule(
    name="same-composition",
    level="warning",
    summary="Two recipes of a collection are the same mix under different names.",
    why="""\
The same glaze comes into a collection twice: once from a workshop, once from a friend, with another name and in
another order, in percent here and in grams there. Both are then tested, and every improvement reaches only one of
them. Recipes are compared by the materials they mean and the exact shares of the base, with all their variations and
series; order, spelling and scale do not matter.""",
    mending="""\
Keep one page, and note the other name on it. If the two are kept on purpose, for two clay bodies or two cones, say so
with an allowance on the first line.""",
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
