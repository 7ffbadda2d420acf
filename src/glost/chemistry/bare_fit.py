"""The bare figure of a fit, of a melt and of what other analyses of its materials make of it.

A fit is a sum over the mol fractions of what it counts, and over products of two of them. So the figure of a changed
melt follows from a few sums over the melt and over each change, and those of a material are always the same. A formula
asks for it some forty times; a whole estimate takes thirty times as long.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from itertools import repeat
from operator import add, le, mul, sub
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
    """What a fit makes of a change: the sum over its oxides, that over products of them, and by how much the second
    grows with each oxide."""

    linear: float
    squared: float
    slopes: _Row


class Change:
    """What another analysis of a material brings more or less than its typical one, in 100 g of it."""

    def __init__(self, typical: Counted, other: Counted) -> None:
        self.row, self.whole, self.others = self.brought = other.plus(-1.0, typical)
        # So much, at the most, the fraction of an oxide moves by it, of each mol that there is then.
        self.reach = max(map(abs, self.row)) + abs(self.whole)
        self._sums: dict[BareFit, _Sums] = {}

    def sums(self, fit: BareFit) -> _Sums:
        found = self._sums.get(fit)
        if found is None:
            found = self._sums[fit] = fit.sums(self.row)
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

    def slopes(self, row: _Row) -> list[float]:
        """By how much the sum of products grows with each oxide."""
        grows = [0.0] * len(row)
        for one, other, by in self._products:
            grows[one] += by * row[other]
            grows[other] += by * row[one]
        return grows

    def sums(self, row: _Row) -> _Sums:
        slopes = self.slopes(row)
        return _Sums(_dot(self.factors, row), _dot(slopes, row) / 2, slopes)

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
        """How far each fraction may move before one leaves its range; below 0 where one lies outside."""
        fractions = [amount / melt.whole for amount in melt.row]
        below = [fractions[at] - least for at, least in self._present]
        least: float = min(*below, *map(sub, self._most, fractions))
        return least


@functools.cache
def bare(fit: Fit) -> BareFit:
    return BareFit(fit)


class FitOf:
    """The figures of one fit for a melt and for what it may be."""

    def __init__(self, fit: BareFit, melt: Counted) -> None:
        self._fit = fit
        self._melt = melt
        self._linear, self._squared, self._slopes = fit.sums(melt.row)
        self._ease = fit.ease(melt) if melt.whole > 0 else -1.0
        self.typical = self.changed(())

    def each(self, changes: Sequence[tuple[float, Change]]) -> list[float | None]:
        """What changed() says of each change by itself, in half its time: nine of ten figures are such."""
        fit, slopes = self._fit, self._slopes
        linear, squared, within = self._linear, self._squared, self._ease
        _, whole, others = self._melt
        found: list[float | None] = []
        for share, change in changes:
            sums = change.sums(fit)
            mol = whole + share * change.whole
            if (
                mol > 0
                and share * change.reach <= within * mol
                and not _too_many(others + share * change.others, mol)
            ):
                products = squared + share * (_dot(slopes, change.row) + share * sums.squared)
                found.append((linear + share * sums.linear + products / mol) / mol)
            else:
                found.append(self.changed(((share, change),)))
        return found

    def changed(self, chosen: Sequence[tuple[float, Change]]) -> float | None:
        """With so many times each change; None where no figure would be true."""
        fit = self._fit
        _, whole, others = self._melt
        linear, products, reach = self._linear, self._squared, 0.0
        earlier: list[tuple[float, _Row]] = []
        for share, change in chosen:
            row, sums = change.row, change.sums(fit)
            whole += share * change.whole
            others += share * change.others
            reach += share * change.reach
            linear += share * sums.linear
            products += share * (_dot(self._slopes, row) + share * sums.squared)
            for times, slopes in earlier:
                products += share * times * _dot(slopes, row)
            earlier.append((share, sums.slopes))
        if whole > 0 and reach <= self._ease * whole and not _too_many(others, whole):
            return (linear + products / whole) / whole
        melt = self._melt
        for share, change in chosen:
            melt = melt.plus(share, change.brought)
        return fit.value(melt)


def _too_many(others: float, whole: float) -> bool:
    """Whether too much is something else for any fit, as in additive.placed()."""
    return 100 * others > LEFT_OUT_AT_MOST * (whole + others)


def _dot(one: _Row, other: _Row) -> float:
    total: float = sum(map(mul, one, other))
    return total
