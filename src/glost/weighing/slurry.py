"""Dry material in a slurry, its gravity, and water for a dry batch.

The relation is Brongniart's: W = (P - 1000) * S / (S - 1), with W grams of dry material in a litre of slurry,
P grams a litre of slurry weighs and S the specific gravity of the dry material (how much heavier it is than
water). Source: "Forming Techniques for the Self-Reliant Potter" (GTZ/GATE, 1991), "Dry content of liquid". It
takes a litre of water as 1000 g and holds for what does not dissolve. Results that do not end are rounded to
28 figures.

Specific gravities are relative to water, so that grams per millilitre and gravity are one figure here. "Dry
gravity" is that of the dry material, "gravity" alone that of the slurry.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from glost.errors import ValueRefusedError
from glost.weighing.rounding import Mass, check_finite, to_decimal
from glost.weighing.units import MASS_UNITS, VOLUME_UNITS

WATER_G_PER_LITRE: Final = Decimal(1000)

WATER_OZ_PER_PINT: Final[Mapping[str, Fraction]] = MappingProxyType(
    {
        "imperial pint": Fraction(20),
        "US pint": Fraction(VOLUME_UNITS["US pint"]) / Fraction(MASS_UNITS["oz"]),
    }
)
"""What a pint of water weighs in avoirdupois ounces. Imperial: 20, as the trade calculates and as the gallon of ten
pounds of water was once defined (from memory); at one gram a millilitre it would be 20.04. US: 16.69, worked out
at one gram a millilitre."""


def dry_per_litre(slurry_g_per_litre: Decimal, dry_gravity: Decimal) -> Decimal:
    """Grams of dry material in a litre of slurry.

    slurry_g_per_litre: what a litre of slurry weighs, from 1000 (water) to 1000 times dry_gravity (no water
    left). dry_gravity: specific gravity of the dry material, above 1 (2.5 for most clays, same source).
    Raises ValueError outside these limits.
    """
    gravity = _gravity(dry_gravity)
    if not slurry_g_per_litre.is_finite() or slurry_g_per_litre < WATER_G_PER_LITRE:
        raise ValueRefusedError(
            f"A litre of slurry weighs at least 1000 g, as water does: {slurry_g_per_litre} g cannot be."
        )
    slurry = Fraction(slurry_g_per_litre)
    if slurry > Fraction(WATER_G_PER_LITRE) * gravity:
        raise ValueRefusedError(
            f"A litre of slurry of {slurry_g_per_litre} g is heavier than its dry material of specific"
            f" gravity {dry_gravity}: one of the two is not right."
        )
    return to_decimal((slurry - Fraction(WATER_G_PER_LITRE)) * gravity / (gravity - 1))


def slurry_per_litre(dry_g_per_litre: Decimal, dry_gravity: Decimal) -> Decimal:
    """What a litre of slurry weighs, in grams, that holds dry_g_per_litre grams of dry material; the inverse.

    dry_g_per_litre: from 0 to 1000 times dry_gravity. dry_gravity: above 1. Raises ValueError outside these
    limits.
    """
    gravity = _gravity(dry_gravity)
    if not dry_g_per_litre.is_finite() or dry_g_per_litre < 0:
        raise ValueRefusedError(f"A litre of slurry cannot hold {dry_g_per_litre} g of dry material.")
    dry = Fraction(dry_g_per_litre)
    if dry > Fraction(WATER_G_PER_LITRE) * gravity:
        raise ValueRefusedError(
            f"{dry_g_per_litre} g of dry material of specific gravity {dry_gravity} do not go into one litre."
        )
    return to_decimal(Fraction(WATER_G_PER_LITRE) + dry * (gravity - 1) / gravity)


def water_for(dry_mass_g: Decimal, percent: Decimal) -> Decimal:
    """Grams of water for dry_mass_g grams of dry material, at percent of the dry mass (60 for 60 %), exact.

    Raises ValueError for a mass or a percentage that is below 0 or not finite.
    """
    if not dry_mass_g.is_finite() or dry_mass_g < 0:
        raise ValueRefusedError(f"A dry mass of {dry_mass_g} g cannot be: it is 0 g or more.")
    if not percent.is_finite() or percent < 0:
        raise ValueRefusedError(f"Water of {percent} % cannot be: it is 0 % of the dry mass or more.")
    return to_decimal(Fraction(dry_mass_g) * Fraction(percent) / 100)


def mixture_gravity(masses: Sequence[tuple[Mass, Decimal]]) -> Decimal:
    """Specific gravity of a dry mixture: its mass over the sum of the volumes of what is in it.

    masses: grams (or parts) and dry gravity of each material. Weighted by volume, so that the heavy ones count
    for less than a mean by mass would give them. Raises ValueError for a mass below 0, a gravity that is not
    above 0, or when all masses are 0.
    """
    mass = volume = Fraction(0)
    for grams, gravity in masses:
        check_finite(grams)
        if grams < 0:
            raise ValueRefusedError(f"A mass of {grams} g in a mixture cannot be: it is 0 g or more.")
        if not gravity.is_finite() or gravity <= 0:
            raise ValueRefusedError(f"A specific gravity of {gravity} cannot be: it must be above 0.")
        mass += Fraction(grams)
        volume += Fraction(grams) / Fraction(gravity)
    if not mass:
        raise ValueRefusedError("All masses are 0: there is no mixture.")
    return to_decimal(mass / volume)


def dry_fraction(gravity: Decimal, dry_gravity: Decimal) -> Decimal:
    """Grams of dry material in a gram of slurry of that gravity, from 0 to 1.

    Raises ValueError for a gravity below 1 or above dry_gravity, or a dry gravity that is not above 1.
    """
    dry = _dry_per_ml(gravity, dry_gravity)
    return to_decimal(dry / Fraction(gravity))


def gravity_of_fraction(fraction: Decimal, dry_gravity: Decimal) -> Decimal:
    """Specific gravity of a slurry that holds so many grams of dry material in a gram; the inverse.

    Raises ValueError for a fraction that is not from 0 to 1, or a dry gravity that is not above 1.
    """
    heavy = _gravity(dry_gravity)
    if not fraction.is_finite() or not 0 <= fraction <= 1:
        raise ValueRefusedError(f"A dry content of {fraction} cannot be: it is a fraction from 0 to 1.")
    dry = Fraction(fraction)
    return to_decimal(1 / (dry / heavy + 1 - dry))


def water_percent_for(gravity: Decimal, dry_gravity: Decimal) -> Decimal:
    """Percent of the dry mass to take as water so that the slurry has that gravity.

    Raises ValueError for a gravity that is not above 1 (no dry material at all) or above dry_gravity.
    """
    dry = _dry_per_ml(gravity, dry_gravity)
    if not dry:
        raise ValueRefusedError(
            "A slurry of specific gravity 1 is plain water: it must be above 1, such as 1.45."
        )
    return to_decimal((Fraction(gravity) - dry) * 100 / dry)


def gravity_with_water(percent: Decimal, dry_gravity: Decimal) -> Decimal:
    """Specific gravity of a slurry with water at percent of the dry mass; the inverse.

    Raises ValueError for a percentage below 0 or a dry gravity that is not above 1.
    """
    heavy = _gravity(dry_gravity)
    water = Fraction(water_for(Decimal(1), percent))
    return to_decimal((1 + water) / (1 / heavy + water))


def slip_volume(dry_g: Mass, water_g: Mass, dry_gravity: Decimal) -> Decimal:
    """Millilitres of slip that dry material and water make together. Masses in grams.

    Raises ValueError for a mass below 0 or a dry gravity that is not above 1.
    """
    heavy = _gravity(dry_gravity)
    for mass in (dry_g, water_g):
        check_finite(mass)
        if mass < 0:
            raise ValueRefusedError(f"A mass of {mass} g in a slip cannot be: it is 0 g or more.")
    return to_decimal(Fraction(dry_g) / heavy + Fraction(water_g))


@dataclass(frozen=True, slots=True)
class WaterChange:
    """How to bring a slurry to another gravity. add_g: water to add, in grams (or millilitres); settle_off_g:
    clear water to take off after settling; one of the two is 0. volume_ml: what there is of it then."""

    add_g: Decimal
    settle_off_g: Decimal
    volume_ml: Decimal


def reach_gravity(volume_ml: Decimal, gravity: Decimal, target: Decimal) -> WaterChange:
    """The water that brings volume_ml of slurry of one gravity to the target gravity.

    Adding w to a volume V changes its gravity g to (g V + w) / (V + w). No dry gravity is needed, but a target
    above that of the dry material is out of reach, and one near it too. Raises ValueError for a volume that is
    not above 0 or a gravity that is not above 1.
    """
    if not volume_ml.is_finite() or volume_ml <= 0:
        raise ValueRefusedError(f"A volume of {volume_ml} ml cannot be: it must be above 0.")
    for what in (gravity, target):
        if not what.is_finite() or what <= 1:
            raise ValueRefusedError(f"A slurry of specific gravity {what} cannot be: it must be above 1.")
    volume, now, then = Fraction(volume_ml), Fraction(gravity), Fraction(target)
    water = volume * (now - then) / (then - 1)
    return WaterChange(
        add_g=to_decimal(max(water, Fraction(0))),
        settle_off_g=to_decimal(max(-water, Fraction(0))),
        volume_ml=to_decimal(volume + water),
    )


def pint_weight_oz(gravity: Decimal, pint: str) -> Decimal:
    """What a pint of slurry weighs, in avoirdupois ounces. pint: "US pint" or "imperial pint".

    Raises ValueError for another pint, or a gravity that is not finite or below 1.
    """
    if not gravity.is_finite() or gravity < 1:
        raise ValueRefusedError(f"A slurry of specific gravity {gravity} cannot be: water is 1.")
    return to_decimal(Fraction(gravity) * _water_oz(pint))


def gravity_of_pint(weight_oz: Decimal, pint: str) -> Decimal:
    """Specific gravity of a slurry of which a pint weighs so many avoirdupois ounces; the inverse.

    Raises ValueError for another pint, or a weight that is not above 0.
    """
    if not weight_oz.is_finite() or weight_oz <= 0:
        raise ValueRefusedError(f"A pint of {weight_oz} oz cannot be: it must be above 0.")
    return to_decimal(Fraction(weight_oz) / _water_oz(pint))


def dry_for_volume(volume_ml: Mass, water_percent: Decimal, dry_gravity: Decimal) -> Decimal:
    """Grams of dry material for volume_ml of finished slip with water at percent of the dry mass.

    The dry mass holds base and additions; batch.base_for_total makes the base of it. Raises ValueError for a
    volume that is not above 0, a percentage below 0, or a dry gravity that is not above 1.
    """
    check_finite(volume_ml)
    if volume_ml <= 0:
        raise ValueRefusedError(f"A volume of {volume_ml} ml cannot be made: it must be above 0.")
    heavy = _gravity(dry_gravity)
    water = Fraction(water_for(Decimal(1), water_percent))
    return to_decimal(Fraction(volume_ml) / (1 / heavy + water))


def dry_for_mass(slip_g: Mass, water_percent: Decimal) -> Decimal:
    """Grams of dry material, base and additions, for slip_g grams of finished slip, water included.

    Raises ValueError for a mass that is not above 0 or a percentage below 0.
    """
    check_finite(slip_g)
    if slip_g <= 0:
        raise ValueRefusedError(f"A slip of {slip_g} g cannot be made: the mass must be above 0.")
    return to_decimal(Fraction(slip_g) / (1 + Fraction(water_for(Decimal(1), water_percent))))


def dry_in_volume(volume_ml: Mass, gravity: Decimal, dry_gravity: Decimal) -> Decimal:
    """Grams of dry material, base and additions, in volume_ml of slip of that gravity.

    Raises ValueError for a volume that is not above 0, a gravity below 1 or above dry_gravity, or a dry gravity
    that is not above 1.
    """
    check_finite(volume_ml)
    if volume_ml <= 0:
        raise ValueRefusedError(f"A volume of {volume_ml} ml cannot be made: it must be above 0.")
    return to_decimal(Fraction(volume_ml) * _dry_per_ml(gravity, dry_gravity))


def _dry_per_ml(gravity: Decimal, dry_gravity: Decimal) -> Fraction:
    heavy = _gravity(dry_gravity)
    if not gravity.is_finite() or not 1 <= gravity <= dry_gravity:
        raise ValueRefusedError(
            f"A slurry of specific gravity {gravity} cannot be: it lies from 1 (water) to {dry_gravity}, that"
            " of its dry material."
        )
    return (Fraction(gravity) - 1) * heavy / (heavy - 1)


def _water_oz(pint: str) -> Fraction:
    found = WATER_OZ_PER_PINT.get(pint)
    if found is None:
        raise ValueRefusedError(f"'{pint}' is not a pint that is known here: write US pint or imperial pint.")
    return found


def _gravity(dry_gravity: Decimal) -> Fraction:
    if not dry_gravity.is_finite() or dry_gravity <= 1:
        raise ValueRefusedError(
            f"A dry material of specific gravity {dry_gravity} would float: it must be above 1, such as 2.5."
        )
    return Fraction(dry_gravity)
