"""An addition as a bare number on a base that does not total 100."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule


def check(checked: Checked) -> Iterator[Diagnostic]:
    resolved = checked.resolved
    recipe = resolved.recipe
    total = checked.base_total
    if not recipe.base or total <= 0 or not resolved.complete:
        return
    if not recipe.in_masses and abs(total - Decimal(100)) <= checked.settings.base_tolerance:
        return
    base = "a base in masses" if recipe.in_masses else f"a base that totals {total:f}"
    amounts = [placed.item.amounts[0] for placed in resolved.additions]
    amounts += [placed.item.amounts[0] for _, lines in resolved.variations for placed in lines]
    amounts += [
        amount
        for _, steps in (*resolved.series, *resolved.blends)
        for item, _ in steps
        for amount in item.amounts
    ]
    for amount in amounts:
        if amount.unit == "" and amount.value:
            yield Diagnostic(
                amount.span,
                f"{amount.value:f} on {base} may be parts or per cent",
                f"write {amount.value:f} % if it is per cent of the base"
                + (", or a mass such as 4 g" if recipe.in_masses else ", or bring the base to 100"),
            )


RULE = Rule(
    name="bare-addition",
    level="error",
    summary="An addition as a bare number on a base that does not total 100.",
    why="""\
On a base of 100, four parts of tin oxide and four per cent are one thing. On a base of 85, or on a base in grams,
they are not, and nobody at the bench can tell which was meant. The two mixes differ by as much as the base differs
from 100.""",
    how_to_fix="""\
Write the percent sign if the number is per cent of the base; on a base in masses, write a mass. Or bring the base to
100, where both readings agree.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      250 g
    whiting                150 g

additions:
    tin oxide                4
""",
    expected=(Expected(11, 30, "4 on a base in masses may be parts or per cent"),),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      250 g
    whiting                150 g

additions:
    tin oxide                4 %
""",
    check=check,
)
