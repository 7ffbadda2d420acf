"""How much of a test is wanted, in any of the ways a potter says it: base, whole batch, or finished slip."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple, TypeAlias

from glost.errors import ValueRefusedError
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.recipe import Test, own_batch_g
from glost.recipe.settings import Settings
from glost.recipe.water import Mixed, mixed_with
from glost.weighing.batch import base_for_total
from glost.weighing.rounding import exact_sum, to_decimal
from glost.weighing.slurry import (
    dry_for_mass,
    dry_for_volume,
    dry_fraction,
    dry_in_volume,
    slip_volume,
    water_for,
)
from glost.weighing.units import MASS_UNITS, UnitError, read_mass, read_volume


class BaseMass(NamedTuple):
    """So many grams of base; additions come on top."""

    grams: Decimal


class TotalMass(NamedTuple):
    """So many grams of base and additions together."""

    grams: Decimal


class SlipVolume(NamedTuple):
    """So many millilitres of finished slip."""

    ml: Decimal


class SlipMass(NamedTuple):
    """So many grams of finished slip, water included."""

    grams: Decimal


Asked: TypeAlias = "BaseMass | TotalMass | SlipVolume | SlipMass | None"
"""None asks for the recipe's own batch, else the collection's, else 100 g of base."""


@dataclass(frozen=True, slots=True)
class Slip:
    """The slip that a batch makes. Masses in grams, before rounding.

    water_percent: of the dry mass. gravity: of the slip; ``measured`` where it is the recipe's own. dry_gravity: of
    the powder. assumed: materials whose density is not on record, taken at ASSUMED_GRAVITY. dissolving: materials
    that dissolve in the water, for which the relation does not hold. by_water: what the recipe's own water, where it
    names both, would make of the gravity; else None.
    """

    dry_g: Decimal
    water_g: Decimal
    volume_ml: Decimal
    water_percent: Decimal
    gravity: Decimal
    measured: bool
    dry_gravity: Decimal
    assumed: tuple[str, ...]
    dissolving: tuple[str, ...]
    by_water: Decimal | None

    @property
    def mass_g(self) -> Decimal:
        return exact_sum((self.dry_g, self.water_g))


@dataclass(frozen=True, slots=True)
class Amount:
    """base_g: grams of base to weigh. ``slip`` where finished slip was asked for."""

    base_g: Decimal
    asked: Asked
    slip: Slip | None = None


def read_slip(text: str) -> SlipVolume | SlipMass:
    """The slip written in text, a volume ("2 l", "1 US pint") or a mass ("3 kg"). Raises UnitError."""
    try:
        return SlipMass(read_mass(text))
    except UnitError as error:
        as_mass = error
    try:
        return SlipVolume(read_volume(text))
    except UnitError as error:
        # A slip of the pen in a unit of mass ("5 lbs") is answered as one.
        raise (as_mass if as_mass.meant in MASS_UNITS else error) from None


def amount_of(test: Test, asked: Asked, settings: Settings, catalogue: Catalogue) -> Amount:
    """How much base a test takes for what is asked. Raises ValueError in a potter's words where that cannot be
    worked out: an empty base, or slip of a recipe that says neither its water nor its gravity."""
    if not test.base_total:
        raise ValueRefusedError("the base is empty", "there is nothing to weigh")
    if asked is None:
        own = own_batch_g(test) or settings.batch_g or settings.USUAL_BATCH_G
        return Amount(own, None)
    if isinstance(asked, BaseMass):
        return Amount(asked.grams, asked)
    if isinstance(asked, TotalMass):
        return Amount(base_for_total(asked.grams, test.base_exact, test.added_exact), asked)
    slip = _slip(test, asked, settings, catalogue)
    return Amount(base_for_total(slip.dry_g, test.base_exact, test.added_exact), asked, slip)


def _slip(test: Test, asked: SlipVolume | SlipMass, settings: Settings, catalogue: Catalogue) -> Slip:
    mixed = mixed_with(test, settings, catalogue)
    if mixed is None:
        raise ValueRefusedError(
            "nothing says how much water the slip takes",
            "write such as  water: 75 %  or  gravity: 1.45  into the recipe",
        )
    powder = mixed.powder
    dry = _dry(mixed, asked)
    water_g = water_for(dry, mixed.percent)
    return Slip(
        dry_g=dry,
        water_g=water_g,
        volume_ml=slip_volume(dry, water_g, powder.gravity),
        water_percent=mixed.percent,
        gravity=mixed.gravity,
        measured=mixed.by_gravity,
        dry_gravity=powder.gravity,
        assumed=powder.assumed,
        dissolving=powder.dissolving,
        by_water=mixed.other,
    )


def _dry(mixed: Mixed, asked: SlipVolume | SlipMass) -> Decimal:
    """Grams of dry material in what is asked for, from the figure that is said."""
    powder = mixed.powder.gravity
    if isinstance(asked, SlipVolume):
        if mixed.by_gravity:
            return dry_in_volume(asked.ml, mixed.gravity, powder)
        return dry_for_volume(asked.ml, mixed.percent, powder)
    if mixed.by_gravity:
        return to_decimal(Fraction(asked.grams) * Fraction(dry_fraction(mixed.gravity, powder)))
    return dry_for_mass(asked.grams, mixed.percent)
