"""A material that dissolves in the glaze water."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule

_KINDS = ("glaze", "engobe", "slip")
_ON_PURPOSE = ("deflocculant", "suspender", "binder")
"""What is put in to change the slurry is meant to dissolve."""


def check(checked: Checked) -> Iterator[Diagnostic]:
    if checked.resolved.recipe.kind not in _KINDS:
        return
    for one, material in checked.materials:
        if material.soluble != "yes" or material.role in _ON_PURPOSE:
            continue
        yield Diagnostic(
            one.item.name.span,
            f"{material.name}{one.where} dissolves in the glaze water",
            "mix small and use it fresh, and never pour off its water; or take a frit that brings the same oxides; "
            "or write  # allow soluble-material: why  behind the line",
        )


RULE = Rule(
    name="soluble-material",
    level="warning",
    summary="A material that dissolves in the glaze water.",
    why="""\
What dissolves is no longer where the recipe put it. It soaks into the biscuit with the water, dries to crystals on the
rim, goes down the drain when the bucket is settled and poured off, and sets the slurry to jelly or to stone. The tile
of the first day and the pot of the next month then come from two different glazes. It also reaches the skin: alkalis
and borates in the water want gloves. Washes are left out, and so is what is put in to thicken or thin the slurry.""",
    how_to_fix="""\
A frit brings the same alkali or boron, melted into a glass that hardly dissolves; it brings silica too, so the amounts
have to be calculated anew, and the result is tested as a new glaze. Where the effect is wanted, as in a carbon-trap
shino, mix small, use it fresh, and say so with an allowance.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                32
    pearl ash               8

handling:
    pearl ash: gloves and eye protection.
""",
    expected=(Expected(9, 5, "pearl ash dissolves in the glaze water"),),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                32
    alkaline frit           8
""",
    check=check,
)
