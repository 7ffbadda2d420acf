"""A material that can harm people, without a word on how it is handled."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.diagnostics import Diagnostic
from glost.linter.notes import ALL, noted
from glost.linter.rule import Checked, Expected, Rule
from glost.recipe.materials.catalogue import Material
from glost.recipe.safety.statements import needs_note, plain_text


def check(checked: Checked) -> Iterator[Diagnostic]:
    if checked.resolved.page.diagnostics:
        # A handling line that cannot be read is reported as that; the note may be there.
        return
    have = noted(checked)
    if ALL in have:
        return
    for one, material in checked.materials:
        name = material.name
        harm = "" if name in have else checked.catalogue.told_of(material, _harm)
        if not harm:
            continue
        yield Diagnostic(
            one.item.name.span,
            f"{name}{one.where} has no handling note, and can harm: {harm}",
            f"write below  handling:  a line such as  {name}: P100 or P3 respirator and gloves; wet-clean spills. "
            "The supplier's safety data sheet comes first",
        )


def _harm(material: Material) -> str:
    """What it can do and who says so; "" for nothing that calls for a note."""
    codes = needs_note(material.statements_to_note)
    return f"{_said(material, codes)} ({_sources(material, codes)})" if codes else ""


def _said(material: Material, codes: tuple[str, ...]) -> str:
    texts = {code: plain_text(code, material.detail_of(code)) or "" for code in codes}
    return "; ".join(f"{code} {text.rstrip('.')}".strip() for code, text in texts.items())


def _sources(material: Material, codes: tuple[str, ...]) -> str:
    wanted = set(codes)
    sources = []
    for hazard in material.hazards:
        if wanted & set(hazard.statements):
            sources.append(hazard.cited)
    return "; ".join(dict.fromkeys(sources))


RULE = Rule(
    name="missing-handling-note",
    level="error",
    summary="A material that can harm people, without a word on how it is handled.",
    why="""\
The sheet on the bench is what the next person reads, and that may be a student on a first day. A material whose
hazard statements speak of poisoning, sensitising, cancer, damage to genes, to fertility, to an unborn child or to
organs, of severe burns, of lasting damage to the eyes, or of feeding a fire, must not lie there as one more white or
black powder. So must none that is for a good part fine quartz, as silica and most clays are; of what holds only some,
as feldspars and kaolin do, the caution on dust speaks that stands on every sheet. The statements come from the
catalogue, or from the studio's own materials.yaml, each with where it stands written and how far that was checked;
a note in the recipe or a house note in glost.yaml answers the rule. It asks for a word, and does not judge it; only a
note for `all` has to say what is put on or done about dust or skin, since "no food or drink at the bench" protects from
no powder. The supplier's safety data sheet, local codes and licensed practice come first.""",
    how_to_fix="""\
Read the supplier's safety data sheet, then say in one line what the person at the bench puts on and does. A note
that holds for every recipe of the studio is written once, under `handling` in glost.yaml; it is then printed on
every sheet that uses the material. A note for `all` answers where it names gloves, a respirator, a mask that is
worn, goggles, ventilation or a hood, or wet cleaning.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test
batch: 500 g

base:
    nepheline syenite      60
    whiting                40

additions:
    manganese dioxide       2
""",
    expected=(
        Expected(
            12,
            5,
            "manganese dioxide has no handling note, and can harm: H302 Harmful if swallowed; H332 Harmful if inhaled; "
            "H373 May cause damage to the nervous system through prolonged or repeated exposure by inhalation "
            "(law: Regulation (EC) 1272/2008, Annex VI, index 025-001-00-3, as quoted by a supplier's safety data "
            "sheet, second-hand; industry: suppliers' classification beside the harmonised entry: harm to the nervous "
            "system by long inhalation, from memory)",
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
    whiting                40

additions:
    manganese dioxide       2

handling:
    manganese dioxide: P100 respirator and gloves; wet-clean spills.
""",
    check=check,
)
