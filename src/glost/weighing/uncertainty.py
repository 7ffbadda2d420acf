"""How sure a weighed mass is: the standard uncertainty of a line, and of its part in the recipe.

The model, in the terms of the GUM (JCGM 100:2008, from memory):

- A reading is rounded to the division d. The true value lies anywhere within half a division of it, so that
  rounding gives a reading the standard uncertainty d / sqrt(12) (rectangular distribution, 4.3.7).
- A mass in the cup is the difference of two readings, the one before (zero, after the tare key) and the one
  after. Both are rounded: calibration guides count a rounding at zero and one at load (EURAMET cg-18, from
  memory).
- Repeated weighings of one load scatter by the repeatability s, stated by the maker or 0.41 d at the least
  (USP <41>, see balance). Such a weighing has both its readings in it, so that a reading by itself is credited
  with half the variance, s^2 / 2.
- Independent contributions add as squares (5.1.2): a reading has the variance s^2 / 2 + d^2 / 12, and a mass
  in the cup s^2 + d^2 / 6.

What follows for the bench:

- Each line tared has a zero of its own: the lines do not depend on each other, and the uncertainty of the
  whole grows with their number.
- In one running total the reading after one line is the reading before the next. What one line has too much,
  the next has too little: neighbours are correlated (-1/2 between two such lines), a line is no surer than a
  tared one, and the whole is as sure as a single weighing.

The floor 0.41 d is itself the rounding of two readings, d / sqrt(6); where it stands in for a repeatability
that nobody measured, rounding counts twice and the result errs towards too large. Nothing here speaks of an
error of calibration, of an eccentric load, of damp materials or of what stays on the spoon.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from typing import Final

from glost.errors import ValueRefusedError
from glost.weighing.balance import REPEATABILITY_FLOOR, Balance, reading_variance
from glost.weighing.rounding import check_division, plain, to_decimal

_FIGURES: Final = Context(prec=28)


@dataclass(frozen=True, slots=True)
class Weighed:
    """One line as it is weighed.

    mass_g: its mass; 0 is a line that is left out. base: whether it counts for the base that parts refer to.
    division_g, repeatability_g: of the balance it is weighed on. weighings: in how many portions. chained:
    whether it is weighed onto a running total that it shares with the other chained lines, which then stand
    in the order of weighing. vessels: where there are several running totals, the number of the one that each
    portion goes onto, in the order of weighing; a portion by itself has 0. Raises ValueError for figures that
    cannot be, or for a chained line in portions without its vessels.
    """

    mass_g: Fraction
    base: bool
    division_g: Decimal
    repeatability_g: Decimal
    weighings: int = 1
    chained: bool = False
    vessels: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        check_division(self.division_g)
        if self.mass_g < 0:
            raise ValueRefusedError(f"a mass of {self.mass_g} g is below 0 and cannot be weighed")
        if not self.repeatability_g.is_finite() or self.repeatability_g < 0:
            raise ValueRefusedError(
                f"a repeatability of {self.repeatability_g} g cannot be", "it is 0 g or more"
            )
        if self.weighings < 1:
            raise ValueRefusedError("a line is weighed in one portion or more")
        if self.vessels and len(self.vessels) != self.weighings:
            raise ValueRefusedError("every portion of a line goes into one vessel")
        if self.chained and self.weighings > 1 and not self.vessels:
            raise ValueRefusedError("a line that is weighed in portions cannot stand in a running total")

    @property
    def onto(self) -> tuple[int, ...]:
        """The running totals that it stands in."""
        if self.vessels:
            return tuple(number for number in self.vessels if number)
        return (1,) if self.chained else ()


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """How sure one line is. standard_g: standard uncertainty of its mass, in grams. relative: that, as a
    fraction of the mass. share: relative standard uncertainty of its parts, a fraction; the mass of the base,
    which parts refer to, is not sure either."""

    standard_g: Decimal
    relative: Decimal
    share: Decimal


def repeatability(balance: Balance | None, division: Decimal) -> Decimal:
    """What repeated weighings scatter by, in grams: that of the balance, 0.41 d where none is known."""
    if balance is not None:
        return balance.scatter_g
    check_division(division)
    return to_decimal(Fraction(REPEATABILITY_FLOOR) * Fraction(division))


def uncertainties(lines: Sequence[Weighed]) -> tuple[Uncertainty, ...]:
    """How sure each line is, in the order given.

    Parts go as mass over mass of base, so the relative variance of a part is, to first order,
    V(i,i)/m(i)^2 - 2 V(i,B)/(m(i) B) + V(B,B)/B^2, where B is the mass of the base (GUM 5.2.2). Raises
    ValueError when chained lines do not stand on the same division and repeatability.
    """
    covariance = _covariances(lines)
    base = [at for at, line in enumerate(lines) if line.base]
    base_mass = sum((lines[at].mass_g for at in base), Fraction(0))
    base_variance = sum((covariance.get((i, k), Fraction(0)) for i in base for k in base), Fraction(0))
    found: list[Uncertainty] = []
    for at, line in enumerate(lines):
        if line.mass_g == 0:
            found.append(Uncertainty(Decimal(0), Decimal(0), Decimal(0)))
            continue
        own = covariance[(at, at)]
        relative = own / line.mass_g**2
        share = relative
        if base_mass:
            with_base = sum((covariance.get((at, k), Fraction(0)) for k in base), Fraction(0))
            share += base_variance / base_mass**2 - 2 * with_base / (line.mass_g * base_mass)
        found.append(Uncertainty(square_root(own), square_root(relative), square_root(share)))
    return tuple(found)


def total_uncertainty(lines: Sequence[Weighed]) -> Decimal:
    """Standard uncertainty of the mass of all lines together, in grams; raises as uncertainties does."""
    return square_root(sum(_covariances(lines).values(), Fraction(0)))


def _covariances(lines: Sequence[Weighed]) -> dict[tuple[int, int], Fraction]:
    """Variances, and the covariances that are not 0, by the positions of two lines."""
    found: dict[tuple[int, int], Fraction] = {}
    before: dict[int, int] = {}
    for at, line in enumerate(lines):
        if line.mass_g == 0:
            continue
        reading = reading_variance(line.division_g, line.repeatability_g)
        found[(at, at)] = found.get((at, at), Fraction(0)) + 2 * line.weighings * reading
        for vessel in line.onto:
            if vessel in before:
                last = lines[before[vessel]]
                if (last.division_g, last.repeatability_g) != (line.division_g, line.repeatability_g):
                    raise ValueRefusedError("one running total stands on one balance")
                # They share a reading, which ends the one and begins the other.
                for pair in ((before[vessel], at), (at, before[vessel])):
                    found[pair] = found.get(pair, Fraction(0)) - reading
            before[vessel] = at
    return found


def square_root(variance: Fraction) -> Decimal:
    """The square root to 28 figures, whatever the precision that the caller works with."""
    ratio = _FIGURES.divide(Decimal(variance.numerator), Decimal(variance.denominator))
    return plain(_FIGURES.sqrt(ratio))
