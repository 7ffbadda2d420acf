"""Whether an amount is too small for the balances at hand, and what helps: for the rules that look for that."""

from __future__ import annotations

import functools
from decimal import Decimal
from fractions import Fraction
from typing import Final, NamedTuple

from glost.linter.rule import Checked
from glost.weighing.balance import ASSUMED_BALANCE, Balance
from glost.weighing.rounding import significant
from glost.weighing.weighable import Flaw, Place, best_place, standard_on

_NOTHING_G: Final = Decimal("0.001")
MARGIN: Final = 1.000001
"""What a float may be off by, and much more: what holds with it holds exactly."""


class Small(NamedTuple):
    """An amount that cannot be weighed well: its share of the base, its mass in grams, and where it is weighed."""

    share: Fraction
    mass: Fraction
    place: Place


@functools.lru_cache(maxsize=16)  # the same for all pages of a collection
def _ample(balances: tuple[Balance, ...], tolerance: Decimal) -> list[tuple[float, float]]:
    """For each balance the masses that it weighs within tolerance for certain, so that only the others, which are few,
    are worked out exactly."""
    return [(float(one.smallest_for(tolerance)) * MARGIN, float(one.room_g) / MARGIN) for one in balances]


class Smallness:
    """What is too small in the batch of a page."""

    def __init__(self, checked: Checked) -> None:
        self._batch_g = checked.batch_g
        self._tolerance = checked.settings.weighing_tolerance
        self._balances = checked.settings.balances or (ASSUMED_BALANCE,)
        self._ample = _ample(self._balances, self._tolerance)
        self._rough = float(self._batch_g)

    def of(self, share: Fraction) -> Small | None:
        """A line with that share of the base, where it is too small; None where it is not, and where no balance carries
        it, which is for over-capacity to say."""
        if not share or self._is_ample(float(share)):
            return None
        mass = share * Fraction(self._batch_g)
        place = best_place(mass, self._balances, self._tolerance)
        return None if place.flaw is None or place.flaw is Flaw.CARRIED else Small(share, mass, place)

    def of_line(self, parts: Decimal, base: Decimal) -> Small | None:
        """The same of so many parts to a base of so many."""
        return (
            None if self._is_ample(float(parts) / float(base)) else self.of(Fraction(parts) / Fraction(base))
        )

    def _is_ample(self, share: float) -> bool:
        return any(least < share * self._rough < most for least, most in self._ample)

    def said(self, small: Small) -> str:
        """How far off it is."""
        mass, place = small.mass, small.place
        balance, division = place.balance, place.division
        assert balance is not None  # there is at least the one that is assumed
        grams = f"{round(float(mass), 4):.4f}".rstrip("0").rstrip(".")
        batch = f"in a batch of {self._batch_g.normalize():f} g"
        which = "the assumed balance" if balance is ASSUMED_BALANCE else f"the balance '{balance.name}'"
        if mass < Fraction(division):
            return f"{grams} g {batch}, and {which} reads steps of {division:f} g"
        if place.flaw is Flaw.MINIMUM:
            return f"{grams} g {batch}, and {which} is not used below {balance.minimum_g:f} g"
        if place.flaw is Flaw.UNSURE:
            standard = standard_on(balance, place.portions)
            percent = significant(Fraction(standard) * 100 / mass)
            return f"{grams} g {batch}; {which} is sure of it to ± {significant(standard):f} g, which is {percent:f} %"
        off = f"{float(abs(Fraction(place.target) - mass) / mass) * 100:.1f}".removesuffix(".0")
        return f"{grams} g {batch}; {which} makes it {place.target:f} g, which is {off} % off"

    def larger(self, small: Small) -> str:
        """The batch from which on it can be weighed."""
        smallest = self.smallest_g(small.share)
        return f"weigh a batch of at least {smallest:f} g" if smallest is not None else "weigh a larger batch"

    def smallest_g(self, share: Fraction) -> Decimal | None:
        """The base from which on a line of that share can be weighed; None where no batch helps."""
        from glost.weighing.batch import smallest_batch  # only a finding needs the whole plan of a batch

        return smallest_batch(share, self._batch_g, self._balances, self._tolerance)

    def least_g(self, share: Fraction) -> Decimal | None:
        """The same, however small the batch of the page is."""
        from glost.weighing.batch import smallest_batch

        return smallest_batch(share, _NOTHING_G, self._balances, self._tolerance)

    @property
    def besides(self) -> str:
        """What else helps."""
        premix = "or make a premix, as glost batch works it out"
        if self._assumed:
            return (
                f"{premix}, or list a finer balance in glost.yaml (none is listed there; one of 0.1 g is"
                " assumed)"
            )
        return f"take it on a finer balance, {premix}"

    @property
    def _assumed(self) -> bool:
        return self._balances == (ASSUMED_BALANCE,)
