"""The base does not total 100."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import ROUND_HALF_EVEN, Decimal

from glost.language import tree
from glost.language.source import Edit, Fault
from glost.lint.rule import Checked, Expected, Rule
from glost.recipe.resolve import Placed
from glost.weighing.rounding import largest_remainder

_WHOLE = Decimal(100)
_FEWEST_DECIMALS = 2
_MOST_DECIMALS = 6


def check(checked: Checked) -> Iterator[Fault]:
    resolved = checked.resolved
    recipe = resolved.recipe
    if not resolved.complete or resolved.base_head is None or recipe.in_masses or not recipe.base:
        return
    total = recipe.base_total
    if total <= 0 or abs(total - _WHOLE) <= checked.settings.base_tolerance:
        return
    off = total - _WHOLE
    much = f"{abs(off):f} too {'much' if off > 0 else 'little'}"
    yield Fault(
        resolved.base_head.span,
        f"the base totals {total:f}, not 100 ({much})",
        "find the amount that was mistyped; if all are right, glost lint --fix rescales the recipe to 100",
        tuple(_rescaled(checked, total)),
    )


def _rescaled(checked: Checked, total: Decimal) -> Iterator[Edit]:
    """The base rescaled so that its printed parts add up to exactly 100, and with it every bare number that
    counts in the same parts, so that what is weighed stays the same."""
    resolved = checked.resolved
    decimals = max(
        _FEWEST_DECIMALS, *(_decimals(placed.ingredient.quantity.amount) for placed in resolved.base)
    )
    division = Decimal(1).scaleb(-decimals)
    shares = largest_remainder(
        [placed.ingredient.quantity.amount for placed in resolved.base], _WHOLE, division
    )
    for placed, share in zip(resolved.base, shares, strict=True):
        yield _edit(placed.item.amounts[0], share)
    others: list[Placed] = [
        *resolved.additions,
        *(placed for _, lines in resolved.variations for placed in lines),
    ]
    amounts = [placed.item.amounts[0] for placed in others]
    amounts += [amount for _, steps in resolved.series for item, _ in steps for amount in item.amounts]
    for amount in amounts:
        if amount.unit == "" and amount.value:
            finest = Decimal(1).scaleb(-min(_decimals(amount.value) + 2, _MOST_DECIMALS))
            yield _edit(amount, (amount.value * _WHOLE / total).quantize(finest, ROUND_HALF_EVEN))


def _decimals(value: Decimal) -> int:
    return max(-int(value.as_tuple().exponent), 0)


def _edit(amount: tree.Amount, value: Decimal) -> Edit:
    text = f"{value:f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return Edit(amount.span, text)


RULE = Rule(
    name="base-total",
    level="error",
    summary="The base does not total 100.",
    why="""\
The parts of a base are percentages of it: the batch is scaled by them, additions are counted on top of them,
and two recipes are compared by them. A base of 99 or 101 nearly always means that one amount was mistyped or
one line lost when the recipe was copied. Weighed as it stands, it is another glaze, and nothing on the bench
shows that. The tolerance is 0.05 parts unless the collection sets `base tolerance` in its glost.yaml; a base
written in masses is not looked at, since it has no reason to total 100.""",
    mending="""\
Compare the amounts with the page they came from. If every one of them is meant, let `glost lint --fix` rescale
the base: it keeps the proportions, rounds by largest remainder so that the printed parts add up to exactly 100,
and rescales additions that are written as bare numbers with it.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      38
    wollastonite           22
    whiting                14
    kaolin                 16
    zinc oxide              9

additions:
    tin oxide               4 %
""",
    expected=(Expected(6, 1, "the base totals 99, not 100 (1 too little)"),),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      38
    wollastonite           22
    whiting                14
    kaolin                 16
    zinc oxide             10

additions:
    tin oxide               4 %
""",
    fixed="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      38.39
    wollastonite           22.22
    whiting                14.14
    kaolin                 16.16
    zinc oxide              9.09

additions:
    tin oxide               4 %
""",
    check=check,
)
