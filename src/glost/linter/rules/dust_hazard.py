"""A handling note for a material whose dust harms, without a word on breathing it."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.diagnostics import Diagnostic
from glost.language.source import Span
from glost.linter.rule import Checked, Expected, Rule
from glost.recipe.materials.catalogue import Material
from glost.recipe.safety.protection import protects, speaks_of_breathing

_ALL = "all"
_BY_DUST = frozenset({"H330", "H331", "H332", "H334", "H350i", "H372", "H373"})
"""Statements of harm by what is breathed in: poisonous, allergy of the airways, cancer by inhalation, and organs
through long exposure, which is the lungs for the quartz that clays and feldspars carry, and the nerves for
manganese."""


def _harms(material: Material) -> list[str]:
    return [code for code in material.statements if code in _BY_DUST]


def check(checked: Checked) -> Iterator[Diagnostic]:
    if checked.resolved.page.diagnostics:
        # A handling line that cannot be read is reported as that; the word may be there.
        return
    notes = _notes(checked)
    bare: dict[Span, list[str]] = {}
    for one, material in checked.materials:
        harms = checked.catalogue.told_of(material, _harms)
        if not harms:
            continue
        read = notes.get(material.name, []) + [note for note in notes.get(_ALL, []) if protects(note[0])]
        # Without any note it is for missing-handling-note to speak.
        if not read or any(speaks_of_breathing(text) for text, _ in read):
            continue
        at = next((span for _, span in read if span is not None), one.item.name.span)
        bare.setdefault(at, []).append(f"{material.name}{one.where} ({', '.join(harms)})")
    for span, names in bare.items():
        yield Diagnostic(
            span,
            f"the note says nothing of breathing, and this dust harms: {', '.join(names)}",
            "add what is worn against dust, such as  P100 or P3 respirator  and how spills are cleaned up wet. The "
            "supplier's safety data sheet comes first",
        )


def _notes(checked: Checked) -> dict[str, list[tuple[str, Span | None]]]:
    """The notes on each material, by canonical name, or on "all": the text, and where it stands if on this page."""
    notes: dict[str, list[tuple[str, Span | None]]] = {}
    for instruction in checked.resolved.handling:
        for name in instruction.names:
            notes.setdefault(_called(checked, name.text), []).append(
                (instruction.text.text, instruction.text.span)
            )
    for inherited in checked.resolved.recipe.inherited_handling:
        for used in inherited.names:
            notes.setdefault(_called(checked, used), []).append((inherited.text, None))
    for house, text in checked.settings.handling.items():
        notes.setdefault(_called(checked, house), []).append((text, None))
    return notes


def _called(checked: Checked, name: str) -> str:
    material = checked.catalogue.find(name)
    return material.name if material else " ".join(name.split())


RULE = Rule(
    name="dust-hazard",
    level="warning",
    summary="A handling note that says nothing of breathing, for a material whose dust harms.",
    why="""\
Gloves do not keep dust out of the lungs. Fine crystalline silica scars them for good, years after it was breathed: 29
CFR 1910.1053 limits it to 50 µg in a cubic metre of air, a mean of eight hours, with action to be taken from 25
(second-hand), which is far less than can be seen. Cobalt, nickel and vanadium compounds can cause asthma or cancer by
what is breathed in, manganese harms the nerves, and the clays and feldspars carry quartz themselves. A note that
stops at gloves looks like care, so nobody asks for the other half. The rule looks only at notes that are there; where
there is none, missing-handling-note speaks. It asks for a word and judges nothing: not the respirator, nor its fit.""",
    how_to_fix="""\
Say what is worn for anything dry: a fitted P100 respirator (42 CFR 84.170: at least 99.97 % of the particles held
back), a P3 or FFP3 one by the European classes, or what the supplier's safety data sheet and local codes ask for.
Weigh and mix so that no dust rises, clean up wet and never sweep. In a house note of glost.yaml it is said once for
every recipe.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test
batch: 500 g

base:
    nepheline syenite      60
    silica                 40

additions:
    cobalt carbonate        1

handling:
    silica: P100 respirator; wet-clean, never sweep.
    cobalt carbonate: gloves.
""",
    expected=(
        Expected(
            16,
            23,
            "the note says nothing of breathing, and this dust harms: cobalt carbonate (H334, H350i)",
        ),
    ),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test
batch: 500 g

base:
    nepheline syenite      60
    silica                 40

additions:
    cobalt carbonate        1

handling:
    silica: P100 respirator; wet-clean, never sweep.
    cobalt carbonate: P100 respirator and gloves; wet-clean spills.
""",
    check=check,
)
