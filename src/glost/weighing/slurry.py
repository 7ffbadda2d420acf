"""Dry material in a slurry, and water for a dry batch.

The relation is Brongniart's: W = (P - 1000) * S / (S - 1), with W grams of dry material in a litre of slurry,
P grams a litre of slurry weighs and S the specific gravity of the dry material (how much heavier it is than
water). Source: "Forming Techniques for the Self-Reliant Potter" (GTZ/GATE, 1991), "Dry content of liquid". It
takes a litre of water as 1000 g and holds for what does not dissolve. Results that do not end are rounded to
28 figures.
"""

from decimal import Decimal
from fractions import Fraction
from typing import Final

from glost.weighing.rounding import to_decimal

WATER_G_PER_LITRE: Final = Decimal(1000)


def dry_per_litre(slurry_g_per_litre: Decimal, dry_gravity: Decimal) -> Decimal:
    """Grams of dry material in a litre of slurry.

    slurry_g_per_litre: what a litre of slurry weighs, from 1000 (water) to 1000 times dry_gravity (no water
    left). dry_gravity: specific gravity of the dry material, above 1 (2.5 for most clays, same source).
    Raises ValueError outside these limits.
    """
    gravity = _gravity(dry_gravity)
    if not slurry_g_per_litre.is_finite() or slurry_g_per_litre < WATER_G_PER_LITRE:
        raise ValueError(
            f"A litre of slurry weighs at least 1000 g, as water does: {slurry_g_per_litre} g cannot be."
        )
    slurry = Fraction(slurry_g_per_litre)
    if slurry > Fraction(WATER_G_PER_LITRE) * gravity:
        raise ValueError(
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
        raise ValueError(f"A litre of slurry cannot hold {dry_g_per_litre} g of dry material.")
    dry = Fraction(dry_g_per_litre)
    if dry > Fraction(WATER_G_PER_LITRE) * gravity:
        raise ValueError(
            f"{dry_g_per_litre} g of dry material of specific gravity {dry_gravity} do not go into one litre."
        )
    return to_decimal(Fraction(WATER_G_PER_LITRE) + dry * (gravity - 1) / gravity)


def water_for(dry_mass_g: Decimal, percent: Decimal) -> Decimal:
    """Grams of water for dry_mass_g grams of dry material, at percent of the dry mass (60 for 60 %), exact.

    Raises ValueError for a mass or a percentage that is below 0 or not finite.
    """
    if not dry_mass_g.is_finite() or dry_mass_g < 0:
        raise ValueError(f"A dry mass of {dry_mass_g} g cannot be: it is 0 g or more.")
    if not percent.is_finite() or percent < 0:
        raise ValueError(f"Water of {percent} % cannot be: it is 0 % of the dry mass or more.")
    return to_decimal(Fraction(dry_mass_g) * Fraction(percent) / 100)


def _gravity(dry_gravity: Decimal) -> Fraction:
    if not dry_gravity.is_finite() or dry_gravity <= 1:
        raise ValueError(
            f"A dry material of specific gravity {dry_gravity} would float: it must be above 1, such as 2.5."
        )
    return Fraction(dry_gravity)
