"""Where the cups of a blend stand on the board: a line, a triangle or a square, each cup at the place that its shares
give it.

The corners are fixed, and a point lies at their mean, weighted by its shares; so the points of a triangle are those of
Scheffé's simplex lattice, seen from above. Places are exact fractions, counted from the middle of the first cup in
steps from one neighbour to the next: ``across`` to the right, ``down`` in rows. A line that is longer than a board is
wide goes on in a further row, from the left again.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Final, NamedTuple

from glost.recipe.blends import Point, count_of_points, divisions, points

_LEAST_ROW: Final = 6
"""So many cups of a line stand in one row at least, where there are so many."""

_CORNERS: Final = {
    2: ((0, 0), (1, 0)),
    3: ((Fraction(1, 2), 0), (0, 1), (1, 1)),
    4: ((0, 0), (1, 0), (0, 1), (1, 1)),
}
"""Across and down, of a board that is one wide and one high: A above B and C; A and B above C and D."""


class Place(NamedTuple):
    """A point and where it stands; its row is a whole number."""

    point: Point
    across: Fraction
    down: int


class Board(NamedTuple):
    """``across`` and ``down``: how many cups stand side by side in the widest row, and in how many rows. ``net``: pairs
    of neighbours, as indices of places."""

    corners: int
    across: int
    down: int
    places: tuple[Place, ...]
    net: tuple[tuple[int, int], ...]


def board(corners: int, step: Decimal) -> Board:
    """The board of a blend with so many corners and such a step; an empty one where that is none."""
    count = divisions(step)
    if count is None or not count_of_points(corners, step):
        return Board(corners, 0, 0, (), ())
    wide = _row_of_line(count + 1) if corners == 2 else count + 1
    places = tuple(_place(point, corners, count, wide) for point in points(corners, step))
    return Board(corners, wide, 1 + max(place.down for place in places), places, _net(corners, places))


def place_of(shares: Sequence[Fraction]) -> tuple[Fraction, Fraction]:
    """The mean of the corners by these shares: across and down, on a board that is one wide and one high."""
    across = down = Fraction(0)
    for share, (x, y) in zip(shares, _CORNERS[len(shares)], strict=True):
        across += share * x
        down += share * y
    return across, down


def _place(point: Point, corners: int, count: int, wide: int) -> Place:
    across, down = (one * count for one in place_of(point.shares))
    if corners == 2:
        row, at = divmod(int(across), wide)
        return Place(point, Fraction(at), row)
    return Place(point, across, int(down))


def _row_of_line(count: int) -> int:
    """How many cups of a line go into one row, so that a long line is no higher than wide."""
    wide = min(count, _LEAST_ROW)
    while -(-count // wide) > wide:
        wide += 1
    return wide


def _net(corners: int, places: Sequence[Place]) -> tuple[tuple[int, int], ...]:
    """Neighbours: those from one of which a single step leads to the other."""
    at = {(place.point.row, place.point.place): number for number, place in enumerate(places)}
    steps = {2: ((0, 1),), 3: ((0, 1), (1, 0), (1, 1)), 4: ((0, 1), (1, 0))}[corners]
    return tuple(
        (number, at[row + down, place + across])
        for (row, place), number in at.items()
        for down, across in steps
        if (row + down, place + across) in at
    )
