"""An amount that the balances at hand cannot weigh well enough."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from glost.language import tree
from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule
from glost.linter.smallness import Smallness
from glost.recipe.recipe import parts


def check(checked: Checked) -> Iterator[Diagnostic]:
    resolved = checked.resolved
    base_total = checked.base_total
    if not resolved.complete:
        return
    small = Smallness(checked)
    for amount, value in _amounts(checked, base_total) if base_total > 0 else ():
        found = small.of_line(value, base_total)
        if found is not None:
            yield Diagnostic(amount.span, small.said(found), f"{small.larger(found)}, {small.besides}")
    if resolved.recipe.uses:
        yield from _brought_in(checked, small)


def _brought_in(checked: Checked, small: Smallness) -> Iterator[Diagnostic]:
    """What recipes among the ingredients bring in, and no line of the page has: of each material where it is least. The
    points of blends are another matter: see point-too-small."""
    own = {one.called for one in checked.weighed if one.through is None}
    least: dict[str, Fraction] = {}
    for test in checked.tests:
        if test.point is not None or not test.base_exact:
            continue
        for part in (*test.base, *test.additions):
            if part.exact and part.called not in own:
                share = part.exact / test.base_exact
                least[part.called] = min(share, least.get(part.called, share))
    for one in checked.weighed:
        found = small.of(least.pop(one.called)) if one.called in least else None
        if found is not None:
            yield Diagnostic(
                one.item.name.span,
                f"{one.called}{one.where}: {small.said(found)}",
                f"{small.larger(found)}, {small.besides}",
            )


def _amounts(checked: Checked, base_total: Decimal) -> Iterator[tuple[tree.Amount, Decimal]]:
    resolved = checked.resolved
    for placed in (
        *resolved.base,
        *resolved.additions,
        *(p for _, lines in (*resolved.variations, *resolved.base_variations) for p in lines),
    ):
        if placed.item.name.kind:  # what it brings in is weighed, and not the recipe
            continue
        yield placed.item.amounts[0], parts(placed.ingredient.quantity, base_total)
    for _, steps in (*resolved.series, *resolved.base_series):
        for item, step in steps if not resolved.recipe.in_masses or resolved.base else ():
            if item.name.kind:
                continue
            for amount, quantity in zip(item.amounts, step.quantities, strict=False):
                yield amount, parts(quantity, base_total)


RULE = Rule(
    name="below-readability",
    level="error",
    summary="An amount that the balances at hand cannot weigh well enough.",
    why="""\
A quarter of a gram of cobalt carbonate on a balance that reads tenths becomes 0.2 g or 0.3 g: a fifth less or a
fifth more of the strongest colour in the studio, and the sheet would still say 0.25. The rule scales each amount
to the recipe's batch (or the collection's, or the one given with --batch, or 100 g), takes the balance in glost.yaml
that is surest of it among those that can carry it, and compares, as the sheet and `glost batch` do. An amount is found
where rounding to the steps of that balance puts it off by more than the `weighing tolerance` (2 % unless the
collection sets it), where the balance itself is not sure of it to that tolerance (0.5 g that stands on a step of 0.1 g
may well be 0.44 g), or where it is below the least that the balance is said to weigh. Additions, variations and
series count, base lines too, and what a recipe among the ingredients brings in. Where no balance is listed, one that
reads 0.1 g is assumed. For the points of a blend see point-too-small.""",
    how_to_fix="""\
Mix a larger batch: the finding names the smallest one that would do. Or list a finer balance if there is one on
the bench. For a few test tiles, make a premix: grind the small material wet with ten times as much of another material
of the recipe, dry it, weigh eleven times the small amount of that mixture, and take that much less of the other;
`glost batch` works out the masses. What dissolves in water can be measured out of a stock solution instead.""",
    settings="""\
batch: 100 g
balances:
  - {name: bench, capacity: 2 kg, readability: 0.1 g}
""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      40
    wollastonite           30
    whiting                30

additions:
    cobalt carbonate        0.25

handling:
    cobalt carbonate: P100 respirator and gloves.
""",
    expected=(
        Expected(12, 29, "0.25 g in a batch of 100 g; the balance 'bench' makes it 0.2 g, which is 20 % off"),
    ),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test
batch: 1200 g

base:
    nepheline syenite      40
    wollastonite           30
    whiting                30

additions:
    cobalt carbonate        0.25

handling:
    cobalt carbonate: P100 respirator and gloves.
""",
    check=check,
)
