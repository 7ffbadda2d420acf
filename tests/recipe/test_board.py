"""Where the cups of a blend stand, against the geometry of the lattice."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal
from fractions import Fraction
from itertools import combinations
from math import sqrt

import pytest

from glost.recipe.blends import count_of_points
from glost.recipe.board import Board, board, place_of

STEPS = [Decimal(step) for step in ("100", "50", "25", "20", "12.5", "10")]
every_board = pytest.mark.parametrize(
    "made", [board(corners, step) for corners in (2, 3, 4) for step in STEPS], ids=str
)


@every_board
def test_no_two_cups_stand_at_one_place(made: Board) -> None:
    where = {(place.across, place.down) for place in made.places}
    assert len(where) == len(made.places) > 0
    # A cup is one step wide: two in a row are at least that far apart.
    for one, other in combinations(made.places, 2):
        assert one.down != other.down or abs(one.across - other.across) >= 1


@every_board
def test_every_cup_stands_on_the_board_and_the_numbers_are_read_row_by_row(made: Board) -> None:
    assert all(0 <= place.across <= made.across - 1 for place in made.places)
    assert {place.down for place in made.places} == set(range(made.down))
    read = sorted(made.places, key=lambda place: (place.down, place.across))
    assert [place.point.number for place in read] == list(range(1, len(made.places) + 1))


@pytest.mark.parametrize("step", STEPS)
def test_a_triangle_has_equal_sides(step: Decimal) -> None:
    """Scheffe's lattice {3, m}, seen from above: its neighbours are all one step apart where a row is as high as an
    equilateral triangle of that side, the square root of 3 halves; inside, each point has six of them."""
    made = board(3, step)
    for a, b in made.net:
        one, other = made.places[a], made.places[b]
        wide = float(one.across - other.across)
        assert sqrt(wide**2 + 0.75 * (one.down - other.down) ** 2) == pytest.approx(1)
    count = Counter(at for pair in made.net for at in pair)
    for at, place in enumerate(made.places):
        zero = sum(share == 0 for share in place.point.shares)
        assert count[at] == {0: 6, 1: 4, 2: 2}[zero]
    m = made.across - 1
    assert len(made.net) == 3 * m * (m + 1) // 2


@every_board
def test_neighbours_are_those_whose_shares_are_one_step_apart(made: Board) -> None:
    if made.corners != 4:
        step = min(
            max(abs(a - b) for a, b in zip(one.point.shares, other.point.shares, strict=True))
            for one, other in combinations(made.places, 2)
        )
        apart = {
            (a, b)
            for (a, one), (b, other) in combinations(enumerate(made.places), 2)
            if sum(abs(x - y) for x, y in zip(one.point.shares, other.point.shares, strict=True)) == 2 * step
        }
        assert {(min(pair), max(pair)) for pair in made.net} == apart
    else:
        side = made.across
        assert len(made.net) == 2 * side * (side - 1)


@pytest.mark.parametrize(
    ("corners", "corner_places"),
    [
        (3, [(Fraction(5, 2), 0), (0, 5), (5, 5)]),
        (4, [(0, 0), (5, 0), (0, 5), (5, 5)]),
        (2, [(0, 0), (5, 0)]),
    ],
)
def test_the_corners_stand_where_the_language_says(
    corners: int, corner_places: list[tuple[Fraction, int]]
) -> None:
    made = board(corners, Decimal(20))
    found = [(place.across, place.down) for place in made.places if place.point.corner is not None]
    assert found == corner_places


def test_the_middle_of_four_corners_is_the_middle_of_the_board() -> None:
    assert place_of([Fraction(1, 4)] * 4) == (Fraction(1, 2), Fraction(1, 2))
    assert place_of([Fraction(1, 3)] * 3) == (Fraction(1, 2), Fraction(2, 3))


@pytest.mark.parametrize(
    ("step", "rows"), [("20", [6]), ("10", [6, 5]), ("5", [6, 6, 6, 3]), ("1", [11] * 9 + [2])]
)
def test_a_long_line_goes_on_in_the_next_row(step: str, rows: list[int]) -> None:
    made = board(2, Decimal(step))
    assert list(Counter(place.down for place in made.places).values()) == rows
    assert len(made.net) == len(made.places) - 1


@pytest.mark.parametrize(("corners", "step"), [(5, "20"), (3, "30"), (1, "50")])
def test_what_is_no_blend_has_no_board(corners: int, step: str) -> None:
    made = board(corners, Decimal(step))
    assert not made.places
    assert not made.net
    assert count_of_points(corners, Decimal(step)) == 0
