"""How what was weighed stands to what was asked for: the one answer of the bench, the record and the rescue. The page
at the bench answers the same in ``plans.js``; tests compare the two, case by case.

What a balance cannot show is nothing that went wrong: less than one of its steps is on target. That holds while the
steps are fine enough for the line; where rounding to them alone puts it out of tolerance, only the tolerance counts.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Literal, TypeAlias

from glost.weighing.rounding import Mass

Standing: TypeAlias = Literal["on", "within", "short", "over"]


def shows(off: Mass, division: Decimal, rounds_well: bool) -> bool:
    """Whether a balance of that division shows that a mass is ``off`` its target by so much, in grams.
    ``rounds_well``: rounding to the division alone keeps the line within tolerance."""
    return abs(Fraction(off)) >= division if rounds_well else off != 0


def standing(
    exact: Mass, target: Decimal, division: Decimal, rounds_well: bool, actual: Decimal, tolerance: Decimal
) -> Standing:
    """How a mass stands to its line, in grams. exact: what the batch calls for; target: the same on the division.
    tolerance: a fraction."""
    off = Fraction(actual) - Fraction(target)
    if not shows(off, division, rounds_well):
        return "on"
    margin = Fraction(exact) * Fraction(tolerance)
    if off > 0 and actual > Fraction(exact) + margin:
        return "over"
    if off < 0 and actual < Fraction(exact) - margin:
        return "short"
    return "within"
