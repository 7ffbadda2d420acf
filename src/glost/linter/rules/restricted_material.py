"""A compound of lead, cadmium or another poison that is only known here so that old recipes can be read."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal, InvalidOperation

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule
from glost.recipe.materials.catalogue import Material

# The harm: hazard statements of the entries in the catalogue, in plain words. Fumes and what reaches food: common
# practice.
_WHY = {
    "lead": "its dust and fumes poison, harm the unborn child and stay in the body, and a glaze gives it off to food",
    "cadmium": "its dust and fumes cause cancer and harm the kidneys, and a glaze gives it off to food",
    "arsenic": "it is deadly when swallowed, causes cancer, and leaves the kiln as fume",
    "selenium": "it is poisonous when swallowed or breathed in, and part of it leaves the kiln as fume",
    "uranium": "it is radioactive and deadly when swallowed or breathed in, and the law restricts who may keep it",
    "chromium(VI)": "its dust causes cancer and genetic defects, and it burns the skin",
}
_ELEMENTS = {"Pb": "lead", "Cd": "cadmium", "As": "arsenic", "Se": "selenium", "U": "uranium"}
_ELEMENT = re.compile("[A-Z][a-z]?")
_TRACE = Decimal("0.1")
"""Per cent of an analysis up to which an oxide is a trace, as glass holds of arsenic. A line of our own."""


def check(checked: Checked) -> Iterator[Diagnostic]:
    for one, material in checked.materials:
        what = material.restricted or checked.catalogue.told_of(material, _held)
        if what:
            why = _WHY.get(what, "its entry marks it as one to read about, not to use")
            yield Diagnostic(
                one.item.name.span,
                f"{material.name}{one.where} is restricted ({what}): {why}",
                f"do not weigh it out: take a material without {what}, and test the recipe as a new one. Where the "
                "page is kept to be read, write  # allow restricted-material: why  behind the line",
            )


def _held(material: Material) -> str:
    """The restricted element in the composition of a material whose entry does not say so, or ""."""
    composition = material.composition or {}
    if composition.get("kind") == "formula":
        formulas = [str(composition["formula"])]
    elif composition.get("kind") == "analysis":
        formulas = [oxide for oxide, share in composition["oxides"].items() if _above_trace(str(share))]
    else:
        return ""
    held = {element for formula in formulas for element in _ELEMENT.findall(formula)}
    return next((what for element, what in _ELEMENTS.items() if element in held), "")


def _above_trace(share: str) -> bool:
    try:
        return Decimal(share) > _TRACE
    except InvalidOperation:
        return False


RULE = Rule(
    name="restricted-material",
    level="error",
    summary="A material that is known only so that old recipes can be read, such as a lead compound.",
    why="""\
Lead, cadmium, arsenic, selenium, uranium and chromium(VI) stand in old books as one more white or bright powder. Lead
and cadmium gather in the body over years, from dust, from the kiln's fumes and from ware; in many places the law
restricts who may keep or use them, or what ware they may stand on. The catalogue holds these materials so that such a
recipe can be read and understood. A frit does not change that: it is less dusty and still holds what it was made of.
A studio's own material is looked at too, by the formula or analysis in its materials.yaml; traces up to 0.1 % are
left out. Local codes, the supplier's safety data sheet and licensed practice come first.""",
    how_to_fix="""\
Take a frit or a stain without it and test the recipe as a new glaze; boron, soda and zinc melt where lead did. If the
page is kept as a piece of history, say so in an allowance behind the line, and never mix it. A material that lies on
the shelf goes to the collection of hazardous waste, not into the bin or the drain.""",
    bad="""\
glaze "Harbour Mist"
cone: 04
atmosphere: oxidation
origin: an old notebook

base:
    lead bisilicate frit   80
    kaolin                 12
    whiting                 8

handling:
    lead bisilicate frit: P100 respirator and gloves; wet-clean spills.
""",
    expected=(
        Expected(
            7,
            5,
            "lead bisilicate frit is restricted (lead): its dust and fumes poison, harm the unborn child and stay in "
            "the body, and a glaze gives it off to food",
        ),
    ),
    good="""\
glaze "Harbour Mist"
cone: 04
atmosphere: oxidation
origin: an old notebook

base:
    soda lime borate frit  80
    kaolin                 12
    whiting                 8
""",
    check=check,
)
