"""The map of a board in text and Markdown, and how shares find room on a cup."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from glost.output.board_picture import broken
from glost.output.board_rows import rows_of
from glost.output.model import Map, Spot
from glost.output.model.markdown import as_markdown
from glost.output.model.text import as_text
from glost.output.plot.labels import text_width
from glost.recipe.board import board


def made(corners: int, step: str, only: tuple[int, ...] = ()) -> Map:
    found = board(corners, Decimal(step))
    spots = [
        Spot(
            place.across,
            place.down,
            "" if only and place.point.number not in only else f"{place.point.number}",
            (place.point.label,),
        )
        for place in found.places
    ]
    return Map("Map", found.across, found.down, spots, found.net, corners == 3)


def test_a_triangle_in_text() -> None:
    assert (
        as_text([made(3, "50")])
        == """\
      1
    2   3
  4   5   6

[ ] 1  100/0/0   [ ] 3  50/0/50   [ ] 5  0/50/50
[ ] 2  50/50/0   [ ] 4  0/100/0   [ ] 6  0/0/100
"""
    )


@pytest.mark.parametrize(
    ("corners", "step", "lines"),
    [
        (2, "25", ["  1   2   3   4   5"]),
        (2, "10", ["   1   2   3   4   5   6", "   7   8   9  10  11"]),
        (
            3,
            "25",
            ["          1", "        2   3", "      4   5   6", "    7   8   9  10", "  11  12  13  14  15"],
        ),
        (4, "50", ["  1   2   3", "  4   5   6", "  7   8   9"]),
    ],
)
def test_each_number_stands_where_its_cup_does(corners: int, step: str, lines: list[str]) -> None:
    assert [line.split() for line in rows_of(made(corners, step))] == [line.split() for line in lines]


@pytest.mark.parametrize(("corners", "step"), [(3, "20"), (3, "10"), (4, "20"), (4, "10"), (2, "1")])
def test_rows_are_as_far_apart_as_their_cups(corners: int, step: str) -> None:
    map_ = made(corners, step)
    ends: dict[int, dict[str, int]] = {}
    for down, line in enumerate(rows_of(map_)):
        assert len(line) <= 80
        at = 0
        for word in line.split():
            at = line.index(word, at) + len(word)
            ends.setdefault(down, {})[word] = at
    first = map_.spots[-1] if corners == 3 else map_.spots[0]
    scale = {
        (ends[spot.down][spot.number] - ends[first.down][first.number], spot.across - first.across)
        for spot in map_.spots
    }
    # One step is the same number of columns everywhere, and half a step is half of it.
    assert len({columns / across for columns, across in scale if across}) == 1
    assert all(columns == 0 for columns, across in scale if not across)


def test_what_is_not_asked_for_is_a_point() -> None:
    assert [line.split() for line in rows_of(made(3, "50", (1, 5)))] == [["1"], [".", "."], [".", "5", "."]]


def test_a_board_wider_than_the_page_says_its_rows() -> None:
    lines = rows_of(made(4, "2.5"))
    assert lines[0] == "row 1: 1-41"
    assert lines[-1] == "row 41: 1641-1681"
    assert rows_of(made(4, "2.5", (1, 3, 4, 1681)))[0] == "row 1: 1, 3-4"


def test_the_map_in_markdown_is_text_that_keeps_its_places() -> None:
    shown = as_markdown([made(3, "50")])
    assert shown.startswith("```text\n")
    assert "| ☐ | 5 | 0/50/50 |" in shown


@given(
    st.lists(st.sampled_from(["0/", "100/", "12.5/", "76.5625/", "A ", "20"]), min_size=1, max_size=5),
    st.floats(40, 90),
    st.floats(20, 60),
)
def test_shares_are_written_whole_and_find_room(pieces: list[str], wide: float, high: float) -> None:
    lines, size = broken(pieces, wide, high)
    assert "".join(lines) == "".join(pieces)
    assert all(text_width(line.strip(), size) <= wide + 0.01 for line in lines)
    assert len(lines) * size <= high
    assert size > 0
