"""How much water a test is mixed with, and what says so: one answer for every sheet, plan, page and account.

A gravity comes before a water, since it is what is measured in the bucket; what the page of a test says comes before
what its collection says. A corner that is a recipe by itself is the slip of that recipe, so that what its page says is
nearer than what the page of the blend says.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final, NamedTuple

from glost.recipe.fields import Quantity
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.recipe import Recipe, Test, used_alone
from glost.recipe.settings import Settings
from glost.weighing.slurry import gravity_with_water, mixture_gravity, water_percent_for

ASSUMED_GRAVITY: Final = Decimal("2.6")
"""Specific gravity of a powder whose density is not on record: that of the clays, feldspars and silica which most
glazes are made of (common practice)."""


class Said(NamedTuple):
    """A gravity, or a water in per cent of the dry mass, as it is written. ``of``: the recipe whose page says it, ""
    for the page of the test. ``house``: the collection says it."""

    value: Decimal
    of: str = ""
    house: bool = False


@dataclass(frozen=True, slots=True)
class Powder:
    """The dry material of a test. gravity: its specific gravity. assumed: what has no density on record and is taken
    at ASSUMED_GRAVITY. dissolving: what dissolves in the water, at least in part, so that the relation of water and
    gravity does not hold for it."""

    gravity: Decimal
    assumed: tuple[str, ...]
    dissolving: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Mixed:
    """percent: water, of the dry mass, not rounded. gravity: of the slip that it makes. ``said``: what that is
    calculated from, a gravity where ``by_gravity``. Where the same page says a gravity and a water, beside is that
    water and other the gravity that it would make; else both are None."""

    percent: Decimal
    gravity: Decimal
    said: Said
    by_gravity: bool
    powder: Powder
    beside: Decimal | None = None
    other: Decimal | None = None

    @property
    def contradicts(self) -> bool:
        """Whether the water that is said makes another gravity than is said, to the hundredth that is measured."""
        return self.other is not None and abs(self.other - self.gravity) > Decimal("0.005")


def said_gravity(test: Test) -> Said | None:
    """The gravity that a test is to have."""
    return _corner(test, "gravity") or _own(test.recipe, "gravity")


def said_water(test: Test, settings: Settings) -> Said | None:
    """The water that is said for a test, in per cent of the dry mass."""
    found = _corner(test, "water") or _own(test.recipe, "water")
    if found is None and settings.water is not None:
        return Said(settings.water, house=True)
    return found


def mixed_with(test: Test, settings: Settings, catalogue: Catalogue) -> Mixed | None:
    """How a test is mixed; None where neither a gravity nor a water is said. Raises ValueError in a potter's words for
    a gravity that this powder cannot give."""
    gravity, water = said_gravity(test), said_water(test, settings)
    said = gravity or water
    if said is None:
        return None
    powder = powder_of(test, catalogue)
    if gravity is None:
        makes = gravity_with_water(said.value, powder.gravity)
        return Mixed(said.value, makes, said, False, powder)
    percent = water_percent_for(gravity.value, powder.gravity)
    beside = None if water is None or water.house or water.of != gravity.of else water.value
    other = None if beside is None else gravity_with_water(beside, powder.gravity)
    return Mixed(percent, gravity.value, gravity, True, powder, beside, other)


def powder_of(test: Test, catalogue: Catalogue) -> Powder:
    """The dry material of a test. Raises ValueError where there is none."""
    masses: list[tuple[Fraction, Decimal]] = []
    assumed: dict[str, None] = {}
    dissolving: dict[str, None] = {}
    for part in (*test.base, *test.additions):
        if not part.exact:
            continue
        found = catalogue.find(part.called)
        density = found.density if found else None
        if density is not None and density["unit"] == "g/cm3":
            masses.append((part.exact, Decimal(density["value"])))
        else:
            assumed[part.called] = None
            masses.append((part.exact, ASSUMED_GRAVITY))
        if found is not None and found.soluble != "no":
            dissolving[part.called] = None
    return Powder(mixture_gravity(masses), tuple(assumed), tuple(dissolving))


def _own(recipe: Recipe, field: str) -> Said | None:
    value = recipe.fields.get(field)
    return Said(value.amount) if isinstance(value, Quantity) else None


def _corner(test: Test, field: str) -> Said | None:
    used = used_alone(test)
    said = dict(used.fields).get(field) if used else None
    return Said(Decimal(said.removesuffix("%").rstrip()), used.name) if used and said else None
