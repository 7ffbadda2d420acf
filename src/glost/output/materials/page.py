"""What is known of one material, with its relatives and the recipes that use it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import fsum
from typing import Final, NamedTuple

from glost.chemistry.analysis import Analysis
from glost.chemistry.firing import Calculator, Unknown
from glost.recipe.materials.catalogue import Catalogue, Material
from glost.recipe.recipe import Recipe

MEASURE: Final = (
    "half the sum of the differences of oxides and loss in % by mass as weighed: "
    "0 is the same, 100 shares nothing"
)
MOST_RELATIVES: Final = 5
FARTHEST: Final = 40.0
"""Beyond this a material has little in common with the other (this project's own choice)."""


class Relative(NamedTuple):
    """A material and how far its fired composition is from another's, by MEASURE."""

    material: Material
    distance: float


class Use(NamedTuple):
    """A recipe that uses a material: its file as shown, and its name."""

    file: str
    name: str


@dataclass(frozen=True, slots=True)
class Page:
    """All that is shown of a material. ``own``: the collection's materials.yaml has an entry for it. ``relatives``
    and ``uses`` are None where they were not looked for. ``invented``: its composition is made up. ``corners``: what
    else it may be."""

    material: Material
    composition: Analysis | Unknown
    own: bool
    relatives: tuple[Relative, ...] | None = None
    uses: tuple[Use, ...] | None = None
    invented: bool = False
    corners: tuple[Analysis, ...] = ()

    @property
    def members(self) -> tuple[tuple[str, str, Analysis], ...]:
        """What else the material may be, where analyses are held of that: what each is of, its standing, and it."""
        records = (self.material.composition or {}).get("bracket", ())
        if not records:
            return ()
        return tuple(
            (record.get("of", ""), record.get("standing", ""), one)
            for record, one in zip(records, self.corners, strict=True)
        )


def page(material: Material, kiln: Calculator, shipped: Catalogue) -> Page:
    """A material without relatives and uses. ``shipped`` is the catalogue without the collection's own entries."""
    return Page(
        material,
        kiln.analysis(material.name),
        _own(material, shipped.find(material.name)),
        invented=kiln.invented(material.name),
        corners=kiln.corners(material.name),
    )


def _own(material: Material, shipped: Material | None) -> bool:
    """Whether a collection says anything of a material itself; that another took an alias from it is nothing."""
    if shipped is None or not set(material.aliases) <= set(shipped.aliases):
        return True
    return material._replace(aliases=()) != shipped._replace(aliases=())


def relatives(material: Material, catalogue: Catalogue, kiln: Calculator) -> tuple[Relative, ...]:
    """The materials nearest to one by MEASURE, the nearest first; none where its composition is not known
    or all of it burns out."""
    own = _shares(kiln.analysis(material.name))
    if not own:
        return ()
    found = []
    for other in catalogue:
        composition = _shares(kiln.analysis(other.name)) if other.name != material.name else {}
        if composition:
            # Summed exactly: in every run the same, in whichever order a set has its oxides.
            away = fsum(abs(own.get(o, 0.0) - composition.get(o, 0.0)) for o in {*own, *composition}) / 2
            if away <= FARTHEST:
                found.append(Relative(other, round(away, 2)))
    found.sort(key=lambda one: (one.distance, one.material.name))
    return tuple(found[:MOST_RELATIVES])


def _shares(analysis: Analysis | Unknown) -> Mapping[str, float]:
    """Oxides that stay and the loss, % by mass of the raw material; empty where they are not known, or where
    all of it burns out."""
    if isinstance(analysis, Unknown) or not analysis.oxides:
        return {}
    return {oxide: float(mass) for oxide, mass in analysis.oxides.items()} | {"loss": float(analysis.loss)}


def uses(material: Material, recipes: Iterable[tuple[str, Recipe]]) -> tuple[Use, ...]:
    """The recipes, with their files, that weigh a material out in any of their tests."""
    return tuple(Use(file, recipe.name) for file, recipe in recipes if material.name in used_in(recipe))


def used_in(recipe: Recipe) -> set[str | None]:
    """The materials that a recipe weighs out in any of its tests; None among them for a name of no material."""
    anew = (i for v in recipe.variations for i in (*v.base, *v.additions))
    lines = [*recipe.base, *recipe.additions, *anew]
    several = [step for one in recipe.series for step in (*one.base, *one.steps)]
    several += [step for one in recipe.blends for step in (*one.base, *one.steps)]
    return {
        *(line.material for line in lines if line.quantity.amount),
        *(step.material for step in several if any(q.amount for q in step.quantities)),
        *(part.material for used in recipe.uses.values() for part in used.parts),
    }
