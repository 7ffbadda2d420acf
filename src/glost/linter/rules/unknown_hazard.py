"""A material of the studio's own of whose hazards nothing is said."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.diagnostics import Diagnostic
from glost.linter.notes import ALL, noted
from glost.linter.rule import Checked, Expected, Rule


def check(checked: Checked) -> Iterator[Diagnostic]:
    if checked.resolved.page.diagnostics:
        # A handling line that cannot be read is reported as that; the note may be there.
        return
    told: set[str] | None = None
    for one, material in checked.materials:
        if not material.hazards_unsaid:
            continue
        told = noted(checked) if told is None else told
        if ALL in told or material.name in told:
            continue
        yield Diagnostic(
            one.item.name.span,
            f"nothing is said of the hazards of {material.name}{one.where}, and it has no handling note",
            f"write below its entry in {checked.settings.materials or 'materials.yaml'}  hazards:  and  "
            "hazard source:  as the supplier's safety data sheet has them; what was dug or burnt has none, so go by "
            "the nearest material that has, or say below  handling:  what is put on",
        )


RULE = Rule(
    name="unknown-hazard",
    level="warning",
    summary="A material of the studio's own of whose hazards nothing is said.",
    why="""\
A clay from the creek, an ash from the stove, a rock through the crusher come without a safety data sheet, and an entry
that says nothing of hazards reads like one that has none. Most clays and rocks hold fine quartz, which harms the lungs
(H372, common practice for bought ones); most ashes burn skin and eyes once they are wet. The catalogue cannot know. An
entry that has looked, and found nothing, says so: `hazards: []` and where that stands.""",
    how_to_fix="""\
Write `hazards` and `hazard source` below the material's entry in materials.yaml. Where there is no sheet, take the
statements of the nearest material that has one and say so in the source, or write a handling note: gloves, a respirator
and wet cleaning are the usual caution for a powder of which nothing is known. The supplier's safety data sheet comes
first where there is one.""",
    settings="""\
materials: materials.yaml
""",
    materials="""\
materials:
  - name: creek clay
    role: clay
    source: dug behind the mill (invented)
""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    creek clay             40
""",
    expected=(Expected(8, 5, "nothing is said of the hazards of creek clay, and it has no handling note"),),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    creek clay             40

handling:
    creek clay: slake it wet; P100 respirator where it has dried; wet-clean.
""",
    check=check,
)
