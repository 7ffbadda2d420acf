"""The bare figure of a fit, of a melt and of what other analyses of its materials make of it.

A fit is a sum over the mol fractions of what it counts, and over products of two of them. So the figure of a changed
melt follows from a few sums over the melt and over each change, and those of a material are always the same. A formula
asks for it some forty times; a whole estimate takes thirty times as long.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from itertools import repeat
from operator import add, le, mul, sub, truediv
from typing import NamedTuple

from glost.chemistry.additive import FAR_OUTSIDE, FITTED, LEFT_OUT_AT_MOST, OTHERS, Fit, beyond_ranges

_Row = Sequence[float]
"""A figure for each of FITTED."""


class Counted(NamedTuple):
    """Mol of what fits count, in the order of FITTED; of that together, and of all others."""

    row: _Row
    whole: float
    others: float

    def plus(self, share: float, other: Counted) -> Counted:
        """With so many times the other."""
        return Counted(
            list(map(add, self.row, map(mul, repeat(share), other.row))),
            self.whole + share * other.whole,
            self.others + share * other.others,
        )


def row_of(held: Mapping[str, float]) -> Counted:
    """What additive.counted() makes of oxides."""
    row = [held.get(oxide, 0.0) for oxide in FITTED]
    return Counted(row, sum(row), held.get(OTHERS, 0.0))


class _Sums(NamedTuple):
    """What a fit makes of a change: the sum over its oxides, that over products of them, by how much the second grows
    with each oxide, and ``reach``: by so many times its range, at the most, it moves the fraction of an oxide, of each
    mol that there is then."""

    linear: float
    squared: float
    slopes: _Row
    reach: float


class Change:
    """What another analysis of a material brings more or less than its typical one, in 100 g of it."""

    def __init__(self, typical: Counted, other: Counted) -> None:
        self.row, self.whole, self.others = self.brought = other.plus(-1.0, typical)
        self._sums: dict[BareFit, _Sums] = {}

    def sums(self, fit: BareFit) -> _Sums:
        found = self._sums.get(fit)
        if found is None:
            slopes = fit.slopes(self.row)
            found = self._sums[fit] = _Sums(*fit.sums(self.row, slopes), slopes, fit.reach(self.brought))
        return found


class BareFit:
    """A fit for mol, counted in the order of FITTED."""

    def __init__(self, fit: Fit) -> None:
        at = {oxide: place for place, oxide in enumerate(FITTED)}
        self.factors = [fit.factors.get(oxide, 0.0) for oxide in FITTED]
        self._plain = [fit.plain.get(oxide, 0.0) for oxide in FITTED]
        self._products = [(at[one], at[other], by) for (one, other), by in fit.products.items()]
        self._ranges = fit.ranges
        # As in additive.out_of_range(), in fractions.
        self._least = [(fit.ranges[oxide][0] - 0.05) / 100 for oxide in FITTED]
        # An oxide cannot become less than nothing.
        self._present = [(at, least) for at, least in enumerate(self._least) if least > 0]
        self._most = [(fit.ranges[oxide][1] + 0.05) / 100 for oxide in FITTED]
        self._widths = list(map(sub, self._most, self._least))

    def slopes(self, row: _Row) -> list[float]:
        """By how much the sum of products grows with each oxide."""
        grows = [0.0] * len(row)
        for one, other, by in self._products:
            grows[one] += by * row[other]
            grows[other] += by * row[one]
        return grows

    def sums(self, row: _Row, slopes: _Row) -> tuple[float, float]:
        """The sum over oxides, and that over products of them."""
        return _dot(self.factors, row), _dot(slopes, row) / 2

    def reach(self, change: Counted) -> float:
        """See _Sums; of a melt that lies within all ranges."""
        most, whole = self._most, abs(change.whole)
        moved = [abs(mol) + most[at] * whole for at, mol in enumerate(change.row)]
        most_moved: float = max(map(truediv, moved, self._widths))
        return most_moved

    def value(self, melt: Counted) -> float | None:
        """The figure of a melt; None where it would not be true, as in additive.placed()."""
        row, whole, others = melt
        if whole <= 0 or _too_many(others, whole):
            return None
        fractions = [amount / whole for amount in row]
        if all(map(le, self._least, fractions)) and all(map(le, fractions, self._most)):
            products: float = sum(
                [by * fractions[one] * fractions[other] for one, other, by in self._products]
            )
            return _dot(self.factors, fractions) + products
        percents = {oxide: 100 * fraction for oxide, fraction in zip(FITTED, fractions, strict=True)}
        return None if beyond_ranges(percents, self._ranges) > FAR_OUTSIDE else _dot(self._plain, fractions)

    def ease(self, melt: Counted) -> float:
        """By how many times its range each fraction may move before one leaves it; below 0 where one lies outside."""
        fractions = [amount / melt.whole for amount in melt.row]
        below = [(fractions[at] - least) / self._widths[at] for at, least in self._present]
        least: float = min(*below, *map(truediv, map(sub, self._most, fractions), self._widths))
        return least


@functools.cache
def bare(fit: Fit) -> BareFit:
    return BareFit(fit)


class FitOf:
    """The figures of one fit for a melt and for what it may be."""

    def __init__(self, fit: BareFit, melt: Counted) -> None:
        self._fit = fit
        self._melt = melt
        self._slopes = fit.slopes(melt.row)
        self._linear, self._squared = fit.sums(melt.row, self._slopes)
        self._ease = fit.ease(melt) if melt.whole > 0 else -1.0
        self.typical = self.changed(())

    def changed(self, chosen: Sequence[tuple[float, Change]]) -> float | None:
        """With so many times each change; None where no figure would be true."""
        fit, melt = self._fit, self._melt
        _, whole, others = melt
        reach = 0.0
        for share, change in chosen:
            whole += share * change.whole
            others += share * change.others
            reach += share * change.sums(fit).reach
        if whole > 0 and reach <= self._ease * whole and not _too_many(others, whole):
            linear, products = self._linear, self._squared
            earlier: list[tuple[float, _Row]] = []
            for share, change in chosen:
                row, sums = change.row, change.sums(fit)
                linear += share * sums.linear
                products += share * (_dot(self._slopes, row) + share * sums.squared)
                for times, slopes in earlier:
                    products += share * times * _dot(slopes, row)
                earlier.append((share, sums.slopes))
            return (linear + products / whole) / whole
        for share, change in chosen:
            melt = melt.plus(share, change.brought)
        return fit.value(melt)


def _too_many(others: float, whole: float) -> bool:
    """Whether too much is something else for any fit, as in additive.placed()."""
    return 100 * others > LEFT_OUT_AT_MOST * (whole + others)


def _dot(one: _Row, other: _Row) -> float:
    total: float = sum(map(mul, one, other))
    return total
