"""Cups of a blend poured by volume out of one slip a corner.

The dry material in a millilitre of slip is Brongniart's (see weighing.slurry): c = (G - 1) d / (d - 1), with G the
gravity of the slip and d that of its dry material. A point takes of each corner dry mass in proportion to its share
times the parts of that corner's whole mix, so that wet and dry give the same cup; equal volumes would not, unless the
slips are alike. Volumes are exact fractions of millilitres. It holds for what does not dissolve.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from glost.errors import ValueRefusedError
from glost.weighing.rounding import Mass


class Slip(NamedTuple):
    """The slip of one corner. gravity: of the slip; dry_gravity: of its dry material. parts: of the corner's whole mix,
    base and additions."""

    gravity: Mass
    dry_gravity: Mass
    parts: Fraction

    @property
    def dry_g_per_ml(self) -> Fraction:
        """Grams of dry material in a millilitre. Raises ValueError where such a slip cannot be."""
        slip, dry = Fraction(self.gravity), Fraction(self.dry_gravity)
        if dry <= 1:
            raise ValueRefusedError(f"a dry material of gravity {float(dry):.4g} would float", "correct it")
        if not 1 < slip < dry:
            raise ValueRefusedError(
                f"a slip of gravity {float(slip):.4g} cannot be: it lies between 1 (water) and {float(dry):.4g}"
                " (its dry material)",
                "weigh 100 ml of it: 145 g are a gravity of 1.45",
            )
        return (slip - 1) * dry / (dry - 1)

    @property
    def water_g_per_ml(self) -> Fraction:
        return 1 - self.dry_g_per_ml / Fraction(self.dry_gravity)


def volumes(shares: Sequence[Fraction], ml: Mass | int, slips: Sequence[Slip]) -> tuple[Fraction, ...]:
    """The millilitres of each corner's slip for a cup of so many millilitres with these shares."""
    weights = [share * slip.parts / slip.dry_g_per_ml for share, slip in zip(shares, slips, strict=True)]
    whole = sum(weights, Fraction(0))
    if not whole:
        raise ValueRefusedError("a cup of no share of any corner is empty", "name another point")
    return tuple(Fraction(ml) * weight / whole for weight in weights)


def shares_of(poured: Sequence[Mass] | Sequence[int], slips: Sequence[Slip]) -> tuple[Fraction, ...]:
    """The shares that volumes give: the inverse of volumes()."""
    weights = [
        Fraction(one) * slip.dry_g_per_ml / slip.parts for one, slip in zip(poured, slips, strict=True)
    ]
    whole = sum(weights, Fraction(0))
    if not whole:
        raise ValueRefusedError("nothing is poured", "pour a larger cup")
    return tuple(weight / whole for weight in weights)


def rounded(exact: Sequence[Fraction], step: Decimal) -> tuple[Decimal, ...]:
    """Each volume to the nearest step of the syringe or cylinder, halves up."""
    return tuple(int(one / Fraction(step) + Fraction(1, 2)) * step for one in exact)
