"""Dry material in a slurry, its gravity, and water for a dry batch.

The relation is Brongniart's: W = (P - 1000) * S / (S - 1), with W grams of dry material in a litre of slurry,
P grams a litre of slurry weighs and S the specific gravity of the dry material (how much heavier it is than
water). Source: "Forming Techniques for the Self-Reliant Potter" (GTZ/GATE, 1991), "Dry content of liquid". It
takes a litre of water as 1000 g and holds for what does not dissolve. Results that do not end are rounded to
28 figures.

Specific gravities are relative to water, so that grams per millilitre and gravity are one figure here. "Dry
gravity" is that of the dry material, "gravity" alone that of the slurry.
"""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from glost.errors import ValueRefusedError
from glost.weighing.rounding import Mass, check_finite, exact_product, plain, to_decimal


def water_for(dry_mass_g: Decimal, percent: Decimal) -> Decimal:
    """Grams of water for dry_mass_g grams of dry material, at percent of the dry mass (60 for 60 %), exact.

    Raises ValueError for a mass or a percentage that is below 0 or not finite.
    """
    if not dry_mass_g.is_finite() or dry_mass_g < 0:
        raise ValueRefusedError(f"a dry mass of {dry_mass_g} g cannot be", "it is 0 g or more")
    if not percent.is_finite() or percent < 0:
        raise ValueRefusedError(f"water of {percent} % cannot be", "it is 0 % of the dry mass or more")
    return plain(exact_product(dry_mass_g, percent) / 100)


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
            raise ValueRefusedError(f"a mass of {grams} g in a mixture cannot be", "it is 0 g or more")
        if not gravity.is_finite() or gravity <= 0:
            raise ValueRefusedError(f"a specific gravity of {gravity} cannot be", "it must be above 0")
        mass += Fraction(grams)
        volume += Fraction(grams) / Fraction(gravity)
    if not mass:
        raise ValueRefusedError("all masses are 0", "there is no mixture")
    return to_decimal(mass / volume)


def dry_fraction(gravity: Decimal, dry_gravity: Decimal) -> Decimal:
    """Grams of dry material in a gram of slurry of that gravity, from 0 to 1.

    Raises ValueError for a gravity below 1 or above dry_gravity, or a dry gravity that is not above 1.
    """
    dry = _dry_per_ml(gravity, dry_gravity)
    return to_decimal(dry / Fraction(gravity))


def water_percent_for(gravity: Decimal, dry_gravity: Decimal) -> Decimal:
    """Percent of the dry mass to take as water so that the slurry has that gravity.

    Raises ValueError for a gravity that is not above 1 (no dry material at all) or above dry_gravity.
    """
    dry = _dry_per_ml(gravity, dry_gravity)
    if not dry:
        raise ValueRefusedError(
            "a slurry of specific gravity 1 is plain water", "it must be above 1, such as 1.45"
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
            raise ValueRefusedError(f"a mass of {mass} g in a slip cannot be", "it is 0 g or more")
    return to_decimal(Fraction(dry_g) / heavy + Fraction(water_g))


def dry_for_volume(volume_ml: Mass, water_percent: Decimal, dry_gravity: Decimal) -> Decimal:
    """Grams of dry material for volume_ml of finished slip with water at percent of the dry mass.

    The dry mass holds base and additions; batch.base_for_total makes the base of it. Raises ValueError for a
    volume that is not above 0, a percentage below 0, or a dry gravity that is not above 1.
    """
    check_finite(volume_ml)
    if volume_ml <= 0:
        raise ValueRefusedError(f"a volume of {volume_ml} ml cannot be made", "it must be above 0")
    heavy = _gravity(dry_gravity)
    water = Fraction(water_for(Decimal(1), water_percent))
    return to_decimal(Fraction(volume_ml) / (1 / heavy + water))


def dry_for_mass(slip_g: Mass, water_percent: Decimal) -> Decimal:
    """Grams of dry material, base and additions, for slip_g grams of finished slip, water included.

    Raises ValueError for a mass that is not above 0 or a percentage below 0.
    """
    check_finite(slip_g)
    if slip_g <= 0:
        raise ValueRefusedError(f"a slip of {slip_g} g cannot be made", "the mass must be above 0")
    return to_decimal(Fraction(slip_g) / (1 + Fraction(water_for(Decimal(1), water_percent))))


def dry_in_volume(volume_ml: Mass, gravity: Decimal, dry_gravity: Decimal) -> Decimal:
    """Grams of dry material, base and additions, in volume_ml of slip of that gravity.

    Raises ValueError for a volume that is not above 0, a gravity below 1 or above dry_gravity, or a dry gravity
    that is not above 1.
    """
    check_finite(volume_ml)
    if volume_ml <= 0:
        raise ValueRefusedError(f"a volume of {volume_ml} ml cannot be made", "it must be above 0")
    return to_decimal(Fraction(volume_ml) * _dry_per_ml(gravity, dry_gravity))


def _dry_per_ml(gravity: Decimal, dry_gravity: Decimal) -> Fraction:
    heavy = _gravity(dry_gravity)
    if not gravity.is_finite() or not 1 <= gravity <= dry_gravity:
        raise ValueRefusedError(
            f"a slurry of specific gravity {gravity} cannot be",
            f"it lies from 1 (water) to {dry_gravity}, that of its dry material",
        )
    return (Fraction(gravity) - 1) * heavy / (heavy - 1)


def _gravity(dry_gravity: Decimal) -> Fraction:
    if not dry_gravity.is_finite() or dry_gravity <= 1:
        raise ValueRefusedError(
            f"a dry material of specific gravity {dry_gravity} would float", "it must be above 1, such as 2.5"
        )
    return Fraction(dry_gravity)
