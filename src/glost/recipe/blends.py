"""The points of a blend: which there are, in which order they stand on the board, and the shares of each.

Two corners make a line, three a triangle, four a square. The step says how far two neighbours lie apart, in per cent;
the triangle is Scheffé's simplex lattice of three components. Shares are exact fractions.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Final, NamedTuple

from glost.weighing.rounding import trimmed

CORNERS: Final = "ABCD"
SHAPES: Final = {2: "line", 3: "triangle", 4: "square"}
"""What so many corners make."""

_WHOLE: Final = 100


class Point(NamedTuple):
    """One point: its number on the board, from 1; its row and its place in the row, both from 0; and the share of each
    corner, which add up to 1."""

    number: int
    row: int
    place: int
    shares: tuple[Fraction, ...]

    @property
    def label(self) -> str:
        """The shares in per cent: 20/20/60."""
        return "/".join(per_cent(share) for share in self.shares)

    @property
    def corner(self) -> int | None:
        """The column of the corner that it is, None for any other point."""
        return self.shares.index(Fraction(1)) if 1 in self.shares else None


def per_cent(share: Fraction) -> str:
    """A share in per cent, in figures."""
    value = share * _WHOLE
    return trimmed(f"{Decimal(value.numerator) / Decimal(value.denominator):f}")


def divisions(step: Decimal) -> int | None:
    """How many steps lead from one corner to the next; None for a step that does not divide 100 without rest."""
    if step <= 0:
        return None
    count = Fraction(_WHOLE) / Fraction(step)
    return count.numerator if count.denominator == 1 else None


def steps_near(step: Decimal) -> tuple[Decimal, ...]:
    """The steps on both sides of one that does not divide 100: those that potters use (common practice)."""
    usual = [Decimal(one) for one in ("50", "25", "20", "12.5", "10", "5", "4", "2.5", "2", "1")]
    below = [one for one in usual if one < step]
    above = [one for one in usual if one > step]
    return tuple(sorted((*below[:1], *above[-1:])))


def count_of_points(corners: int, step: Decimal) -> int:
    """How many points such a blend has; 0 for one that is none."""
    count = divisions(step)
    if count is None or corners not in SHAPES:
        return 0
    return {2: count + 1, 3: (count + 1) * (count + 2) // 2, 4: (count + 1) ** 2}[corners]


def points(corners: int, step: Decimal) -> Iterator[Point]:
    """Every point, as it is read on the board: a line from A to B; a triangle with A on top, row by row, each from the
    side of B to that of C; a square with A top left, B top right, C bottom left and D bottom right."""
    count = divisions(step)
    if count is None or corners not in SHAPES:
        return
    number = 0
    for row in range(1 if corners == 2 else count + 1):
        for place in range(row + 1 if corners == 3 else count + 1):
            number += 1
            yield Point(number, row, place, _shares(corners, count, row, place))


def _shares(corners: int, count: int, row: int, place: int) -> tuple[Fraction, ...]:
    across, down = Fraction(place, count), Fraction(row, count)
    if corners == 2:
        return (1 - across, across)
    if corners == 3:
        return (1 - down, down - across, across)
    return ((1 - across) * (1 - down), across * (1 - down), (1 - across) * down, across * down)
