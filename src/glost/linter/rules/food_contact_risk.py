"""A recipe for food that holds a metal which glazes give off."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING

from glost.language.diagnostics import Diagnostic
from glost.language.source import Span
from glost.linter.rule import Checked, Expected, Rule
from glost.recipe.recipe import Part, Test

if TYPE_CHECKING:
    from glost.chemistry.firing import Fired
    from glost.recipe.safety.limits import FoodMetal


def check(checked: Checked) -> Iterator[Diagnostic]:
    resolved = checked.resolved
    if resolved.recipe.fields.get("use") != "food":
        return
    # Only here: a usual run of the linter calculates no oxides.
    from glost.chemistry.firing import Calculator
    from glost.recipe.safety.limits import food_metals

    kiln = Calculator(checked.catalogue)
    told: set[tuple[str, Span]] = set()
    for test, spans in _tests(checked):
        fired = kiln.fire(test)
        weighed = [part for part in (*test.base, *test.additions) if part.parts]
        for metal in food_metals():
            found = _found(metal, fired, weighed, checked)
            if found is None:
                continue
            part, said = found
            span = spans.get(part.called)
            if span is None or (metal.metal, span) in told:
                continue
            told.add((metal.metal, span))
            yield Diagnostic(span, said, _hint(metal))


def _tests(checked: Checked) -> Iterator[tuple[Test, dict[str, Span]]]:
    """Every test, and where its materials stand: in a variation or a series, there before the lines above it."""
    resolved = checked.resolved
    plain = {placed.ingredient.called: placed.item.name.span for placed in reversed(resolved.base)}
    plain |= {placed.ingredient.called: placed.item.name.span for placed in resolved.additions}
    own: dict[Span, dict[str, Span]] = {}
    for head, lines in (*resolved.base_variations, *resolved.variations):
        spans = own.setdefault(head.span, {})
        spans |= {placed.ingredient.called: placed.item.name.span for placed in lines}
    for head, steps in (*resolved.base_series, *resolved.base_blends, *resolved.series, *resolved.blends):
        spans = own.setdefault(head.span, {})
        spans |= {step.material or step.name: item.name.span for item, step in steps}
    for test in checked.tests:
        heads = [
            head
            for head in resolved.heads
            if head.name is not None
            and (head.name.text, head.word.text.rpartition(" ")[2]) == (test.block_name, test.block)
        ]
        spans = plain | {name: span for head in heads for name, span in own[head.span].items()}
        # What a recipe among the ingredients brings in stands on its line.
        for name, used in resolved.recipe.uses.items():
            if name in spans:
                spans = {part.called: spans[name] for part in used.parts} | spans
        yield test, spans


def _found(metal: FoodMetal, fired: Fired, weighed: list[Part], checked: Checked) -> tuple[Part, str] | None:
    """The line that brings most of a metal, and what is to be said of it; None where there is too little."""
    share = Decimal(0)
    if metal.oxide is not None and fired.melt is not None:
        share = fired.melt.weight_percent().get(metal.oxide, Decimal(0))
    if metal.oxide is not None and metal.above is not None and share > metal.above:
        assert fired.melt is not None
        brought = fired.melt.origin()[metal.oxide]
        at = max(range(len(brought)), key=brought.__getitem__)
        part = weighed[at]
        load = "" if metal.words else f", and more than {metal.above} % is a high load (a line of our own)"
        known = " of what is known of it" if fired.partial else ""
        of = f" in '{fired.test.label}'" if fired.test.label else ""
        return part, (
            f"the recipe is for food and fires to {_rounded(share)} % {metal.oxide}{known}{of}, most of it from "
            f"{part.called}{load}: a glaze can give {metal.metal} off"
        )
    for part in weighed:
        if _named(metal, part, checked):
            return part, (
                f"the recipe is for food and holds {metal.metal}, in {part.called}: a glaze can give it off"
            )
    return None


def _named(metal: FoodMetal, part: Part, checked: Checked) -> bool:
    """Whether a name says that the material holds the metal, where its composition does not."""
    if not metal.words:
        return False
    material = checked.catalogue.find(part.called)
    names = f"{part.name}\n{part.called}\n{material.restricted if material else ''}"
    words = "|".join(map(re.escape, metal.words))
    return re.search(rf"(?<!\w)(?:{words})(?!\w|[ -]free\b)", names, re.IGNORECASE) is not None


def _rounded(share: Decimal) -> str:
    return f"{share:.1f}" if share >= Decimal("0.1") else f"{share:.2f}"


def _hint(metal: FoodMetal) -> str:
    limits = (
        "the limits of Directive 84/500/EEC and of local law"
        if metal.metal in ("lead", "cadmium")
        else f"limits that hold for {metal.metal} (those of Directive 84/500/EEC are for lead and cadmium only)"
    )
    answer = (
        ""
        if metal.metal in ("lead", "cadmium")
        else "  # allow food-contact-risk: which test, of what date  behind the line, or"
    )
    return (
        f"leaching must be tested by a laboratory, on fired pieces from your own kiln, against {limits}; write{answer}"
        "  use: decorative"
    )


RULE = Rule(
    name="food-contact-risk",
    level="error",
    summary="A recipe for food that holds a metal which glazes give off.",
    why="""\
Acid food and drink take metals out of a glaze, more from some glazes than from others, and neither the recipe nor the
look of the surface tells how much. `use: food` is what the next person goes by. So a recipe that says it is looked at
as fired, each of its tests: for lead, cadmium, barium, uranium, selenium, antimony, arsenic and chromium(VI) at all
(traces up to 0.05 % of the oxide are left out), and for a high load of copper (CuO above 2 %), manganese (MnO, 3),
cobalt (CoO, 1.5), nickel (NiO, 1), chromium (Cr2O3, 2), vanadium (V2O5, 1) or lithium (Li2O, 3). That loaded glazes
give off more is common practice; where the lines are drawn is our own, for we know of no standard that limits a
content. What lies below them is not cleared by that. The limits of Directive 84/500/EEC, of FDA CPG 545.400 and
545.450 and of ISO 6486-2 are for what comes off, and for lead and cadmium. Zinc is not among the metals asked after,
which decides nothing about it. A stain or rock of unknown composition is seen only where its name says what it holds:
enter its analysis. The rule is silent about far more than it knows; silence says nothing about ware.""",
    how_to_fix="""\
Have fired pieces from your own kiln, of this batch and this firing, leach-tested by a laboratory, against the law of
the place. Write which test that was in an allowance behind the line. Otherwise take the line `use: food` back: `test`
until the answer is there, `decorative` for ware that is never to hold food or drink.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test
use: food

base:
    nepheline syenite      60
    whiting                24
    barium carbonate       16

additions:
    copper carbonate        4

handling:
    all: P100 respirator and gloves; wet-clean spills.
""",
    expected=(
        Expected(
            10,
            5,
            "the recipe is for food and fires to 14.1 % BaO, most of it from barium carbonate: a glaze can give "
            "barium off",
        ),
        Expected(
            13,
            5,
            "the recipe is for food and fires to 3.3 % CuO, most of it from copper carbonate, and more than 2 % "
            "is a high load (a line of our own): a glaze can give copper off",
        ),
    ),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test
use: decorative

base:
    nepheline syenite      60
    whiting                24
    barium carbonate       16

additions:
    copper carbonate        4

handling:
    all: P100 respirator and gloves; wet-clean spills.
""",
    check=check,
)
