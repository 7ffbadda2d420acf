"""A material that neither the catalogue nor the collection knows."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.source import Fault
from glost.lint.rule import Checked, Expected, Rule


def check(checked: Checked) -> Iterator[Fault]:
    for item, material in checked.resolved.places():
        if material is not None:
            continue
        near = checked.catalogue.nearest(item.name.text)
        meant = f"did you mean {_listed(near)}? " if near else ""
        yield Fault(
            item.name.span,
            f"'{item.name.text}' is no material that is known here",
            f"{meant}Correct the name, or add the material to the collection's materials.yaml"
            if near
            else "correct the name, or add the material to the collection's materials.yaml",
        )


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"


RULE = Rule(
    name="unknown-material",
    level="error",
    summary="A material that neither the catalogue nor the collection knows.",
    why="""\
A name that nobody can place is a jar that nobody finds. It may be a slip of the pen, a shop's name for a common
powder, or a material that the studio no longer stocks. As long as it is unknown, nothing can be said of its
hazards or its chemistry, and the test cannot be repeated by anyone else.""",
    mending="""\
Take one of the names that are offered if one of them is meant. If the material is the studio's own, add it to
materials.yaml with its role and where its figures come from; an alias there lets every spelling in use stand.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nephelin syenite       40
    wollastonite           30
    grandfather's clay     30
""",
    expected=(
        Expected(7, 5, "'nephelin syenite' is no material that is known here"),
        Expected(9, 5, "'grandfather's clay' is no material that is known here"),
    ),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      40
    wollastonite           30
    kaolin                 30
""",
    check=check,
    doubtful=True,
)
