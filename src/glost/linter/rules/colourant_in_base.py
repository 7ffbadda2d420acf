"""A colourant or an opacifier among the parts of the base."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule

_ROLES = {"colourant": "a colourant", "opacifier": "an opacifier"}
_KINDS = ("glaze",)
"""Washes and engobes are made of colourants; only a glaze has a base that stands for itself."""


def check(checked: Checked) -> Iterator[Diagnostic]:
    if checked.resolved.recipe.kind not in _KINDS:
        return
    for placed in checked.resolved.base:
        material = checked.catalogue.find(placed.ingredient.name)
        if material is not None and material.role in _ROLES:
            yield Diagnostic(
                placed.item.name.span,
                f"{material.name} is {_ROLES[material.role]}, and stands in the base",
                "move it below  additions:  as it is; glost lint --fix --rescale then brings the base back to 100",
            )


RULE = Rule(
    name="colourant-in-base",
    level="hint",
    summary="A colourant or an opacifier among the parts of the base.",
    why="""\
A base that stands for itself can be mixed once, coloured in many ways and compared with other bases; variations and
series are written on it. With 8 parts of iron among the 100, the clear base behind the glaze can no longer be seen.
Old tenmoku recipes are often written that way, and they work; so this is a hint.""",
    how_to_fix="""\
Move the line below `additions:` and leave its number as it is. `glost lint --fix --rescale` then brings the base to 100
and rescales the addition with it, so that the same mix is weighed.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                32
    red iron oxide          8
""",
    expected=(Expected(9, 5, "red iron oxide is a colourant, and stands in the base"),),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      65.22
    whiting                34.78

additions:
    red iron oxide          8.7
""",
    check=check,
    doubtful=True,
)
