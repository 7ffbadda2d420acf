"""Whether a line can be weighed, and on which balance: asked here by the plan, by lint and by whatever advises.

A line can be weighed where the display shows something of it, no less than the balance is to be used from, where
rounding puts it off by no more than the tolerance, and where the standard uncertainty of its mass (see uncertainty)
is within the same tolerance. A mass that happens to stand on a step of the display is not surer for that.
"""

from collections.abc import Sequence
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from typing import Final, NamedTuple

from glost.weighing.balance import REPEATABILITY_FLOOR, Balance, best_for, reading_variance
from glost.weighing.rounding import round_to, to_decimal

DEFAULT_DIVISION: Final = Decimal("0.01")
"""Division in grams where no balance is known (a pocket balance for tests: common practice)."""

MOST_PORTIONS: Final = 40
"""In how many portions or vessels something is weighed at the most; beyond that there is no plan (chosen here)."""


class Flaw(StrEnum):
    """Why a line cannot be weighed."""

    CARRIED = "no balance carries it, not even in portions"
    NOTHING = "the display shows nothing of it"
    MINIMUM = "it is less than the balance is to be used from"
    ROUNDING = "rounding puts it off by more than the tolerance"
    UNSURE = "the balance is not sure of it to within the tolerance"


class Place(NamedTuple):
    """Where a line is weighed by itself, and what comes of it. balance: None where none is known. target: on the
    division. portions: in how many it is weighed, more than one where no balance carries it at once, 0 where not
    even that will do. flaw: None where it can be weighed."""

    balance: Balance | None
    division: Decimal
    target: Decimal
    portions: int
    flaw: Flaw | None


def place_of(exact: Fraction, balance: Balance | None, tolerance: Decimal) -> Place:
    """A line of that mass (grams, before rounding) on that balance."""
    division = DEFAULT_DIVISION if balance is None else balance.readability_g
    target = round_to(exact, division)
    portions = portions_of(target, balance)
    return Place(balance, division, target, portions, flaw_of(exact, target, balance, tolerance))


def best_place(exact: Fraction, balances: Sequence[Balance], tolerance: Decimal) -> Place:
    """A line on the balance that is surest of it (see best_for); without any, to 0.01 g."""
    return place_of(exact, best_for(exact, balances) if balances else None, tolerance)


def flaw_of(exact: Fraction, target: Decimal, balance: Balance | None, tolerance: Decimal) -> Flaw | None:
    """Why target (grams) on that balance will not do for a line of exact grams; None where it will. Compared in whole
    numbers, so that a border is exact: all are multiplied by their denominators. That is a third of the work in
    fractions, and a plan asks it two or three times a line. A line of 0 g can always be left out."""
    mass, per_mass = exact.as_integer_ratio()
    if not mass:
        return Flaw.ROUNDING if target else None
    if not target:
        return Flaw.NOTHING
    portions = portions_of(target, balance)
    if not portions:
        return Flaw.CARRIED
    if balance is not None and balance.minimum_g is not None and target < balance.minimum_g:
        return Flaw.MINIMUM
    whole, per_whole = target.as_integer_ratio()
    share, per_share = tolerance.as_integer_ratio()
    # |target - exact| > tolerance * exact
    if abs(whole * per_mass - mass * per_whole) * per_share > share * mass * per_whole:
        return Flaw.ROUNDING
    square, per_square = _variance_ratio(balance)
    # portions * variance > (tolerance * exact) ** 2
    unsure = portions * square * (per_share * per_mass) ** 2 > (share * mass) ** 2 * per_square
    return Flaw.UNSURE if unsure else None


def variance_on(balance: Balance | None) -> Fraction:
    """Variance of one mass in the cup, in grams squared; to 0.01 g where no balance is known."""
    if balance is not None:
        return balance.variance
    scatter = to_decimal(Fraction(REPEATABILITY_FLOOR) * Fraction(DEFAULT_DIVISION))
    return 2 * reading_variance(DEFAULT_DIVISION, scatter)


def _variance_ratio(balance: Balance | None) -> tuple[int, int]:
    return variance_on(None).as_integer_ratio() if balance is None else balance.variance_ratio


def standard_on(balance: Balance | None, portions: int = 1) -> Decimal:
    """Standard uncertainty of a mass weighed in so many portions, in grams."""
    from glost.weighing.uncertainty import square_root  # most runs of lint have nothing to say of it

    return square_root(portions * variance_on(balance))


def portions_of(target: Decimal, balance: Balance | None) -> int:
    """In how many portions a mass is weighed on that balance, cup and all; 0 where it cannot be."""
    if balance is None or not target:
        return 1
    # No portion may overload the balance, and each stands on a division.
    most = balance.most_g
    if target <= most:
        return 1
    if not most:
        return 0
    count = -(-Fraction(target) // Fraction(most))
    return count if count <= MOST_PORTIONS else 0
