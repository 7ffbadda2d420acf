"""An amount that the balances at hand cannot weigh well enough."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction

from glost.language import tree
from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule
from glost.recipe.recipe import parts
from glost.weighing.balance import ASSUMED_BALANCE, Balance
from glost.weighing.rounding import significant
from glost.weighing.weighable import Flaw, Place, best_place, standard_on


def check(checked: Checked) -> Iterator[Diagnostic]:
    resolved = checked.resolved
    base_total = resolved.recipe.base_total
    if not resolved.complete or base_total <= 0:
        return
    balances = checked.settings.balances or (ASSUMED_BALANCE,)
    scale = Fraction(checked.batch_g) / Fraction(base_total)
    ample = _ample(balances, checked)
    rough = float(scale)
    for amount, value in _amounts(checked, base_total):
        if not value or any(least < float(value) * rough < most for least, most in ample):
            continue
        mass = Fraction(value) * scale
        place = best_place(mass, balances, checked.settings.weighing_tolerance)
        # What no balance carries is another matter: see over-capacity.
        if place.flaw is None or place.flaw is Flaw.CARRIED:
            continue
        yield Diagnostic(
            amount.span, _said(mass, place, checked), _mend(value, base_total, balances, checked)
        )


def _ample(balances: Sequence[Balance], checked: Checked) -> list[tuple[float, float]]:
    """For each balance the masses that it weighs within tolerance for certain, so that only the others, which are few,
    are worked out exactly."""
    margin = 1.000001
    return [
        (
            float(balance.smallest_for(checked.settings.weighing_tolerance)) * margin,
            float(balance.room_g) / margin,
        )
        for balance in balances
    ]


def _amounts(checked: Checked, base_total: Decimal) -> Iterator[tuple[tree.Amount, Decimal]]:
    resolved = checked.resolved
    for placed in (
        *resolved.base,
        *resolved.additions,
        *(p for _, lines in resolved.variations for p in lines),
    ):
        yield placed.item.amounts[0], parts(placed.ingredient.quantity, base_total)
    for _, steps in resolved.series:
        for item, step in steps:
            for amount, quantity in zip(item.amounts, step.quantities, strict=False):
                yield amount, parts(quantity, base_total)


def _said(mass: Fraction, place: Place, checked: Checked) -> str:
    balance, division = place.balance, place.division
    assert balance is not None  # there is at least the one that is assumed
    grams = f"{round(float(mass), 4):.4f}".rstrip("0").rstrip(".")
    batch = f"in a batch of {checked.batch_g.normalize():f} g"
    which = "the assumed balance" if balance is ASSUMED_BALANCE else f"the balance '{balance.name}'"
    if mass < Fraction(division):
        return f"{grams} g {batch}, and {which} reads steps of {division:f} g"
    if place.flaw is Flaw.MINIMUM:
        return f"{grams} g {batch}, and {which} is not used below {balance.minimum_g:f} g"
    if place.flaw is Flaw.UNSURE:
        standard = standard_on(balance, place.portions)
        share = significant(Fraction(standard) * 100 / mass)
        return (
            f"{grams} g {batch}; {which} is sure of it to ± {significant(standard):f} g, which is {share:f} %"
        )
    percent = f"{float(abs(Fraction(place.target) - mass) / mass) * 100:.1f}".removesuffix(".0")
    return f"{grams} g {batch}; {which} makes it {place.target:f} g, which is {percent} % off"


def _mend(value: Decimal, base_total: Decimal, balances: tuple[Balance, ...], checked: Checked) -> str:
    from glost.weighing.batch import smallest_batch  # only a finding needs the whole plan of a batch

    share = Fraction(value) / Fraction(base_total)
    smallest = smallest_batch(share, checked.batch_g, balances, checked.settings.weighing_tolerance)
    advice = f"weigh a batch of at least {smallest:f} g" if smallest is not None else "weigh a larger batch"
    premix = "or make a premix, as glost batch works it out"
    if balances == (ASSUMED_BALANCE,):
        return (
            f"{advice}, {premix}, or list a finer balance in glost.yaml (none is listed there; one of 0.1 g is"
            " assumed)"
        )
    return f"{advice}, take it on a finer balance, {premix}"


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
series count, base lines too. Where no balance is listed, one that reads 0.1 g is assumed.""",
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
