"""A handling note for a material that is not in the recipe."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.source import Fault
from glost.lint.rule import Checked, Expected, Rule


def check(checked: Checked) -> Iterator[Fault]:
    resolved = checked.resolved
    if not resolved.complete:
        return
    used = {material or item.name.text for item, material in resolved.places()}
    for instruction in resolved.handling:
        for name in instruction.names:
            material = checked.catalogue.find(name.text)
            called = material.name if material else name.text
            if called == "all" or called in used:
                continue
            from glost.materials.meant import NOTHING, meant, question  # only a finding needs it

            found = NOTHING if material else meant(name.text, checked.catalogue)
            here = tuple(one for one in found.candidates if one.name in used)
            asked = question(found._replace(candidates=here or found.candidates))
            correct = f"{asked} Correct" if asked else "correct"
            yield Fault(
                name.span,
                f"the note is for {called}, which is not in the recipe",
                f"{correct} the name, take the note away, or write  all:  where it holds for every material",
            )


RULE = Rule(
    name="idle-handling-note",
    level="warning",
    summary="A handling note for a material that is not in the recipe.",
    why="""\
The note was written for something that has been taken out or renamed since, or its name is misspelt. In the second
case the material that can harm stands on the sheet without its note, and everybody believes that there is one.""",
    mending="""\
Correct the name. If the material is gone, let the note go with it; if the note holds for everything on the page, write
it for `all`.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                40

handling:
    barium carbonate: P100 respirator and gloves.
""",
    expected=(Expected(11, 5, "the note is for barium carbonate, which is not in the recipe"),),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                40

handling:
    all: P100 respirator and gloves.
""",
    check=check,
)
