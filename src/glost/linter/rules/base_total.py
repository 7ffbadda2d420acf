"""The base does not total 100."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from glost.language import tree
from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule
from glost.recipe.analysed import AnalysedRecipe
from glost.recipe.blends import CORNERS
from glost.recipe.recipe import Test

_WHOLE = Decimal(100)


def check(checked: Checked) -> Iterator[Diagnostic]:
    resolved = checked.resolved
    recipe = resolved.recipe
    if recipe.in_masses or not resolved.complete:
        return
    if any(True for _ in resolved.in_base()):
        yield from _set_anew(checked)
    if resolved.base_head is None or not recipe.base:
        return
    total = checked.base_total
    if total <= 0 or abs(total - _WHOLE) <= checked.settings.base_tolerance:
        return
    off = total - _WHOLE
    much = f"{abs(off):f} too {'much' if off > 0 else 'little'}"
    yield Diagnostic(
        resolved.base_head.span,
        f"the base totals {total:f}, not 100 ({much})",
        "find the amount that was mistyped; if all are right, glost lint --fix --rescale brings the base to 100",
    )


def _set_anew(checked: Checked) -> Iterator[Diagnostic]:
    """Bases that are set anew. Of a blend only the corners are looked at: a point cannot be off where no corner is."""
    resolved = checked.resolved
    recipe = resolved.recipe
    own = checked.base_total
    for test in checked.tests:
        if not test.base_sets or (test.point is not None and test.point.corner is None):
            continue
        total = test.base_total
        if abs(total - _WHOLE) <= checked.settings.base_tolerance or (recipe.base and total == own):
            continue
        head = next((one for one in _heads(resolved, test)), None)
        if head is None:
            continue
        span, what = head.span, f"'{test.label}'"
        if test.point is not None:
            what = f"corner {CORNERS[test.point.corner or 0]} of '{test.block_name}'"
        elif test.block == "series":
            what = f"test {test.label.rpartition(' ')[2]} of '{test.block_name}'"
        off = total - _WHOLE
        much = f"{abs(off):f} too {'much' if off > 0 else 'little'}"
        column = (
            test.point.corner
            if test.point
            else int(test.label.rpartition(" ")[2]) - 1
            if test.block == "series"
            else 0
        )
        line = next((item for one, item, _ in resolved.in_base() if one is head), None)
        if line is not None and test.block != "variation" and len(line.amounts) > (column or 0):
            span = line.amounts[column or 0].span
        yield Diagnostic(
            span,
            f"the base of {what} totals {total:f}, not 100 ({much})",
            "set another line too, so that all of them come to 100, or correct the amount",
        )


def _heads(resolved: AnalysedRecipe, test: Test) -> Iterator[tree.Head]:
    for head, *_ in resolved.in_base():
        if (
            head.name is not None
            and head.name.text == test.block_name
            and head.word.text == f"base {test.block}"
        ):
            yield head


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
