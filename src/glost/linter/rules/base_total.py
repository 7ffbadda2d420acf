"""The base does not total 100."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule

_WHOLE = Decimal(100)


def check(checked: Checked) -> Iterator[Diagnostic]:
    resolved = checked.resolved
    recipe = resolved.recipe
    if not resolved.complete or resolved.base_head is None or recipe.in_masses or not recipe.base:
        return
    total = recipe.base_total
    if total <= 0 or abs(total - _WHOLE) <= checked.settings.base_tolerance:
        return
    off = total - _WHOLE
    much = f"{abs(off):f} too {'much' if off > 0 else 'little'}"
    yield Diagnostic(
        resolved.base_head.span,
        f"the base totals {total:f}, not 100 ({much})",
        "find the amount that was mistyped; if all are right, glost lint --fix --rescale brings the base to 100",
    )


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
    how_to_fix="""\
Compare the amounts with the page they came from: no tool knows which one was mistyped, so `glost lint --fix` changes
none of them. If every one is meant, `glost lint --fix --rescale` brings the base to 100 and prints each line before and
after. It keeps the proportions, rounds by largest remainder so that the printed parts add up to exactly 100, and
rescales additions that are written as bare numbers with it, so that the same mix is weighed. It refuses a page with a
line that could not be read, an unknown material or another reason to doubt the amounts, and one where the steps of a
series or a variation (1, 2, 4, 8) would no longer be round: written in per cent of the base (1 %, 2 %) they stay.""",
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
    rescaled="""\
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
