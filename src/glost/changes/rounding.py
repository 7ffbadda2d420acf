"""Which amounts differ only as rounding makes them differ: a base that was brought to 100 and written with two decimals
is the same glaze.

One side must be a rounding of the other at some scale: one factor takes every amount of the base to within half of the
last decimal of what the other side writes. And no amount may have moved by more than anybody could weigh or see.
"""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction
from typing import Final, NamedTuple

from glost.changes.meaning import WEIGHED, Fact, Place, Told, Weighed, Written

PARTS: Final = Fraction(1, 100)
"""How far an amount may have moved, in parts for 100 of the base."""
SHARE: Final = Fraction(1, 100)
"""And how far as a share of itself, since a hundredth of a part is much of a strong colourant."""

TOLERANCE: Final = "every amount within 0.01 parts of 100 and 1 % of itself, as rounding leaves it"


class _Range(NamedTuple):
    """Factors from ``low`` to ``high``."""

    low: Fraction
    high: Fraction

    def meets(self, other: _Range) -> bool:
        return max(self.low, other.low) <= min(self.high, other.high)

    def within(self, other: _Range) -> _Range:
        return _Range(max(self.low, other.low), min(self.high, other.high))


def rounded_places(old: Told, new: Told) -> frozenset[Place]:
    """The places whose amounts only moved by rounding; none where the bases differ by more than that."""
    factors = [_factors(old, new, _finest(new)), _factors(new, old, _finest(old))]
    found: set[Place] = set()
    for place in old.meaning.keys() & new.meaning.keys():
        before, after = old.meaning[place], new.meaning[place]
        if place.section not in WEIGHED or before == after or not close(before, after):
            continue
        sides = (old.written[place], new.written[place])
        if (factors[0] and _fits(factors[0], *sides, _finest(new))) or (
            factors[1] and _fits(factors[1], *sides[::-1], _finest(old))
        ):
            found.add(place)
    return frozenset(found)


def _finest(one: Told) -> Fraction:
    """Half of the last decimal that the base writes anywhere: beside 25.01, 25 is 25.00."""
    halves = (half for place in one.base_places for half in _halves(one.written[place]) if half)
    return min(halves, default=Fraction(0))


def _factors(old: Told, new: Told, finest: Fraction) -> _Range | None:
    """The factors at which the new base is the old one, rounded; None where there is none."""
    bases = [set(one.base_places) for one in (old, new)]
    if bases[0] != bases[1] or not bases[0]:
        return None
    within = _Range(Fraction(0), Fraction(10**12))
    for place in bases[0]:
        before, after = old.meaning[place], new.meaning[place]
        if before != after and not close(before, after):
            return None
        for ratio in _ratios(old.written[place], new.written[place], finest):
            if ratio is None:
                return None
            within = within.within(ratio)
    # What only the two ends of a rounding have in common is a step of the last decimal, which somebody has changed.
    return within if within.low < within.high else None


def _fits(factors: _Range, old: Written, new: Written, finest: Fraction) -> bool:
    return all(ratio is not None and ratio.meets(factors) for ratio in _ratios(old, new, finest))


def _ratios(old: Written, new: Written, finest: Fraction) -> list[_Range | None]:
    """For each amount the factors that take the old one to what is rounded to the new one."""
    if len(old.parts) != len(new.parts):
        return [None]
    everything = _Range(Fraction(0), Fraction(10**12))
    ratios: list[_Range | None] = []
    for was, now, half in zip(old.parts, new.parts, _halves(new), strict=True):
        if not was:
            ratios.append(None if now else everything)
        else:
            least = min(half, finest)
            ratios.append(_Range((now - least) / was, (now + least) / was))
    return ratios


_NUMBER: Final = re.compile(r"[0-9]+(?:\.([0-9]+))?", re.ASCII)


def _halves(written: Written) -> list[Fraction]:
    """Half of the last decimal of each amount, in the base's own parts."""
    if len(written.amounts) != len(written.parts):  # two lines that are added up
        return [Fraction(0)] * len(written.parts)
    return [_half(amount, part) for amount, part in zip(written.amounts, written.parts, strict=True)]


def _half(amount: str, part: Fraction) -> Fraction:
    found = _NUMBER.search(amount)
    if found is None or not (number := Fraction(Decimal(found[0]))):
        return Fraction(0)
    return Fraction(1, 2 * 10 ** len(found[1] or "")) * part / number


def close(before: Fact | None, after: Fact | None) -> bool:
    """Whether no amount moved by more than anybody could weigh or see."""
    if not isinstance(before, Weighed) or not isinstance(after, Weighed) or before.note != after.note:
        return False
    if len(before.on_100) != len(after.on_100):
        return False
    return all(
        abs(a - b) <= PARTS and abs(a - b) <= SHARE * max(a, b)
        for a, b in zip(before.on_100, after.on_100, strict=True)
    )
