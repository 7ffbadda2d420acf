"""A balance (a scale): what it carries, what it reads, and from which mass on it can be relied upon.

``division``, ``readability`` and the "d" of the scale codes are one thing: the least step of the display.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from math import isqrt
from typing import Final

from glost.errors import ValueRefusedError
from glost.weighing.rounding import (
    Mass,
    check_division,
    count_of,
    multiple,
    round_to,
    round_up_to,
    to_decimal,
)

REPEATABILITY_FLOOR: Final = Decimal("0.41")
"""Least standard deviation that a balance is credited with, in divisions (USP <41>, from memory)."""


@dataclass(frozen=True)
class Balance:
    """One balance of the studio. All masses in grams. What follows from its figures is worked out once: a plan asks
    for it at every line, and a third of a sheet's time went there (so it has no slots).

    capacity_g: the most it carries, cup included. readability_g: one division of the display.
    repeatability_g: standard deviation of repeated weighings of one load, where the maker states it.
    minimum_g: the least mass that is weighed on it, by the maker's word or the studio's.
    cup_g: the empty cup or bucket that stands on it.
    Raises ValueError, in a potter's words, for figures that cannot belong to a balance.
    """

    name: str
    capacity_g: Decimal
    readability_g: Decimal
    repeatability_g: Decimal | None = None
    minimum_g: Decimal | None = None
    cup_g: Decimal | None = None

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise ValueRefusedError("a balance has no name", "give it one, such as fine or floor")
        self._above_zero("capacity", self.capacity_g)
        self._above_zero("readability", self.readability_g)
        if self.readability_g >= self.capacity_g:
            raise ValueRefusedError(
                f"the balance '{self.name}' reads steps of {self.readability_g} g but carries only {self.capacity_g} g",
                "the two may have changed places",
            )
        if self.repeatability_g is not None:
            self._above_zero("repeatability", self.repeatability_g)
        for what, mass in (("minimum", self.minimum_g), ("cup", self.cup_g)):
            if mass is None:
                continue
            if not mass.is_finite() or mass < 0:
                raise ValueRefusedError(
                    f"the {what} of the balance '{self.name}' is {mass} g", "it cannot be below 0"
                )
            if mass >= self.capacity_g:
                raise ValueRefusedError(
                    f"the {what} of the balance '{self.name}' is {mass} g, and it carries only {self.capacity_g} g",
                    "nothing could be weighed on it",
                )

    def _above_zero(self, what: str, mass: Decimal) -> None:
        if not mass.is_finite() or mass <= 0:
            raise ValueRefusedError(
                f"the {what} of the balance '{self.name}' is {mass} g", "it must be above 0"
            )

    @cached_property
    def room_g(self) -> Decimal:
        """What can be weighed into the cup, in grams: the capacity less the cup."""
        return to_decimal(self._room)

    @cached_property
    def scatter_g(self) -> Decimal:
        """Standard deviation of repeated weighings, in grams: as stated, but never below 0.41 d (USP <41>)."""
        floor = Fraction(REPEATABILITY_FLOOR) * Fraction(self.readability_g)
        return to_decimal(max(Fraction(self.repeatability_g or 0), floor))

    @cached_property
    def variance(self) -> Fraction:
        """Variance of one mass in the cup, in grams squared, exact: what the choice of a balance goes by.

        It is that of two readings (see reading_variance): tare and load, or one running total and the next.
        """
        return 2 * reading_variance(self.readability_g, self.scatter_g)

    @cached_property
    def variance_ratio(self) -> tuple[int, int]:
        """The same as a number over another, to be compared in whole numbers."""
        return self.variance.as_integer_ratio()

    @cached_property
    def most_g(self) -> Decimal:
        """The most that one weighing can come to, in grams: the room, down to a division. 0 where the cup leaves
        room for less than one division."""
        return multiple(int(Fraction(self.room_g) // Fraction(self.readability_g)), self.readability_g)

    def carries(self, mass_g: Mass, with_cup: bool = True) -> bool:
        """Whether mass_g (grams), and the cup unless with_cup is False, stays within the capacity."""
        if not with_cup:
            return mass_g <= self.capacity_g
        # In whole numbers: a comparison of fractions takes four times as long, and is made for each line and balance.
        above, below = mass_g.as_integer_ratio()
        room, per_room = self._room_ratio
        return above * per_room <= room * below

    @cached_property
    def _room(self) -> Fraction:
        return Fraction(self.capacity_g) - Fraction(self.cup_g or 0)

    @cached_property
    def _room_ratio(self) -> tuple[int, int]:
        return self._room.as_integer_ratio()

    def rules_out(self, mass_g: Mass) -> bool:
        """Whether mass_g (grams), as the display shows it, is less than the balance is to be used from."""
        if self.minimum_g is None or not mass_g:
            return False
        return round_to(mass_g, self.readability_g) < self.minimum_g

    def reads(self, mass_g: Mass) -> bool:
        """Whether the display can show exactly mass_g (grams): it is a whole number of divisions."""
        return count_of(mass_g, self.readability_g) is not None

    def smallest_for(self, tolerance: Decimal) -> Decimal:
        """The least mass, in grams, that this balance weighs to within tolerance wherever it lies between two steps.

        tolerance: a fraction, 0.02 for 2 %. See smallest_mass; never below minimum_g, and rounded up to a division
        so that the balance can show it. Raises ValueError for a tolerance that is not above 0 and below 1.
        """
        least = smallest_mass(self.readability_g, tolerance, self.scatter_g)
        if self.minimum_g is None:
            return least
        return max(least, round_up_to(self.minimum_g, self.readability_g))


def check_tolerance(tolerance: Decimal) -> None:
    """Raise ValueError unless tolerance is a fraction above 0 and below 1."""
    if not tolerance.is_finite() or not 0 < tolerance < 1:
        raise ValueRefusedError(
            f"a tolerance of {tolerance} cannot be used", "it is a fraction between 0 and 1, 0.02 for 2 %"
        )


def reading_variance(division: Decimal, repeatability_g: Decimal) -> Fraction:
    """Variance of one reading, s^2 / 2 + d^2 / 12, exact, in grams squared (see the head of uncertainty).

    Raises ValueError for a division that is not above 0.
    """
    check_division(division)
    return Fraction(repeatability_g) ** 2 / 2 + Fraction(division) ** 2 / 12


def smallest_mass(division: Decimal, tolerance: Decimal, repeatability_g: Decimal | None = None) -> Decimal:
    """The least multiple of division (grams) that is weighed to within tolerance (a fraction).

    Half a division is at most the tolerance of it, and so is the standard uncertainty sqrt(s^2 + d^2 / 6). s is
    repeatability_g, 0.41 d where it is None. Raises ValueError for a division that is not above 0 or a tolerance
    that is not above 0 and below 1.
    """
    check_division(division)
    check_tolerance(tolerance)
    step, limit = Fraction(division), Fraction(tolerance)
    scatter = Fraction(REPEATABILITY_FLOOR) * step if repeatability_g is None else Fraction(repeatability_g)
    variance = 2 * reading_variance(division, to_decimal(scatter))
    # The least whole count with (count * d * tolerance)^2 >= variance: roots of whole numbers are exact.
    squared = variance / (step * limit) ** 2
    count = isqrt(-(-squared.numerator // squared.denominator) - 1) + 1
    return multiple(max(count, -(-1 // (2 * limit)), 1), division)


def best_for(mass_g: Mass, balances: Sequence[Balance]) -> Balance:
    """The balance to take for a mass (grams) in a cup of its own: of those that carry it, the one that is surest of it.

    One whose stated minimum rules the mass out is passed over while another will do. Among equally sure ones it is
    the one with the most room, then the first. Where nothing carries the mass it is the balance with the most room,
    the surest among equals: there it is weighed in portions. Raises ValueError when there is no balance to choose
    from.
    """
    if not balances:
        raise ValueRefusedError("there is no balance to choose from")
    able = [balance for balance in balances if balance.carries(mass_g)]
    if not able:
        return min(balances, key=lambda balance: (-balance.room_g, balance.variance))
    return min(able, key=lambda balance: (balance.rules_out(mass_g), balance.variance, -balance.room_g))


def surest_first(balances: Sequence[Balance]) -> list[Balance]:
    """The balances in the order in which best_for takes them."""
    return sorted(balances, key=lambda balance: (balance.variance, -balance.room_g))


def relative_error(exact_g: Mass, target_g: Decimal) -> Decimal:
    """|target - exact| / exact, a fraction never below 0; 0 when both are 0.

    Raises ValueError when exact_g alone is 0.
    """
    exact, target = Fraction(exact_g), Fraction(target_g)
    if exact == target:
        return Decimal(0)
    if exact == 0:
        raise ValueRefusedError(f"a line of 0 g cannot be weighed as {target_g} g")
    return to_decimal(abs(target - exact) / exact)


ASSUMED_BALANCE: Final = Balance("assumed", Decimal(3000), Decimal("0.1"))
"""The balance that is assumed where a collection lists none: a kitchen-size one that reads 0.1 g (common practice)."""
