"""An amount of nothing, or more of an addition than there is base."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule
from glost.recipe.recipe import parts


def check(checked: Checked) -> Iterator[Diagnostic]:
    resolved = checked.resolved
    total = checked.base_total
    in_base = {placed.ingredient.called for placed in resolved.base}
    for placed in (*resolved.base, *resolved.additions):
        amount = placed.item.amounts[0]
        # An addition of 0 says of a material of the base that variations set it on top.
        if not amount.value and (placed in resolved.base or placed.ingredient.called not in in_base):
            yield Diagnostic(
                amount.span,
                f"{placed.ingredient.called} is given as 0",
                "take the line away, or write its amount; a 0 takes an addition out only in a variation",
            )
    if total <= 0:
        return
    added = [(p.item.amounts[0], p.ingredient.quantity, p.ingredient.called) for p in resolved.additions]
    added += [
        (p.item.amounts[0], p.ingredient.quantity, p.ingredient.called)
        for _, lines in resolved.variations
        for p in lines
    ]
    added += [
        (amount, quantity, step.material or step.name)
        for _, steps in (*resolved.series, *resolved.blends)
        for item, step in steps
        for amount, quantity in zip(item.amounts, step.quantities, strict=False)
    ]
    for amount, quantity, name in added:
        if parts(quantity, total) > total:
            yield Diagnostic(
                amount.span,
                f"more {name} is added than there is base",
                "check the decimal point and the unit; what is more than half of the mix belongs in the base",
            )


RULE = Rule(
    name="implausible-amount",
    level="warning",
    summary="An amount of nothing, or more of an addition than there is base.",
    why="""\
A line of 0 is a line that somebody meant to fill in, or a material that was taken out and left on the page; at the
bench it is a question nobody can answer. An addition that outweighs the base is nearly always a lost decimal point
or a wrong unit, and a dear one where the material is tin or cobalt.""",
    how_to_fix="""\
Take the line away or write the amount. In a variation a 0 is right: there it takes an addition of the recipe out. So it
is for an addition whose material is in the base: it says that variations and series set it on top (added-to-base).""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite       60
    whiting                 40
    zinc oxide               0

additions:
    tin oxide              400
""",
    expected=(
        Expected(9, 30, "zinc oxide is given as 0"),
        Expected(12, 28, "more tin oxide is added than there is base"),
    ),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite       60
    whiting                 40

additions:
    tin oxide                4.00
""",
    check=check,
    doubtful=True,
)
