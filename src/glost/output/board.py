"""The map of each blend among some tests, as nodes: what its corners are, and where its cups stand."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import groupby
from typing import NamedTuple

from glost.output.model import Map, Spot
from glost.recipe.blends import CORNERS, SHAPES, Point
from glost.recipe.board import Place, board
from glost.recipe.recipe import Blend, Recipe, Test, sets_said, tests, used_alone
from glost.weighing.rounding import plain

MAP = "Map of the board"
LEAST_CUPS = 2
"""A single cup needs no map."""


class Cup(NamedTuple):
    """A test, the number that is written on its cup where that is not the number of its point, and what a page's script
    knows it by."""

    test: Test
    number: int = 0
    name: str = ""


class Mapped(NamedTuple):
    """The map of one blend: what it is of, and in words each of its corners."""

    recipe: Recipe
    title: str
    shape: str
    corners: tuple[tuple[str, str], ...]
    map: Map


def maps_of(cups: Iterable[Cup]) -> Iterator[Mapped]:
    """A map for every blend of which several points are among these cups; points that are not stay empty places."""
    of_points = (cup for cup in cups if cup.test.point is not None)
    for _, group in groupby(of_points, lambda cup: (id(cup.test.recipe), cup.test.block_name)):
        met = list(group)
        if len(met) >= LEAST_CUPS:
            yield _mapped(met)


def _mapped(cups: list[Cup]) -> Mapped:
    first = cups[0].test
    recipe = first.recipe
    blend = next(one for one in recipe.blends if one.name == first.block_name)
    made = board(blend.corners, blend.by)
    corners = {test.point.corner: said_of_corner(test) for test in _corners(blend, cups) if test.point}
    by_number = {cup.test.point.number: cup for cup in cups if cup.test.point}
    title = f"{recipe.name}, {blend.name}"
    some = f", {len(cups)} of them here" if len(cups) < len(made.places) else ""
    return Mapped(
        recipe,
        title,
        f"{SHAPES[blend.corners]} by {plain(blend.by):f} %, {len(made.places)} points{some}",
        tuple((f"corner {CORNERS[at]}", corners[at]) for at in range(blend.corners)),
        Map(
            f"{MAP}: {title}",
            made.across,
            made.down,
            [_spot(place, by_number, corners) for place in made.places],
            made.net,
            staggered=blend.corners == 3,
        ),
    )


def _corners(blend: Blend, cups: list[Cup]) -> list[Test]:
    """The tests of the corners, whether they are among the cups or not."""
    found = [cup.test for cup in cups if cup.test.point and cup.test.point.corner is not None]
    if len(found) == blend.corners:
        return found
    every = tests(cups[0].test.recipe)
    return [
        one
        for one in every
        if one.block_name == blend.name and one.point is not None and one.point.corner is not None
    ]


def said_of_corner(test: Test) -> str:
    """What a corner is: a recipe by itself, which need not be mixed anew where there is some of it, or what it sets."""
    used = used_alone(test)
    return f"= {used.written}" if used else sets_said(test) or "nothing set"


def _spot(place: Place, cups: Mapping[int, Cup], corners: Mapping[int | None, str]) -> Spot:
    point = place.point
    cup = cups.get(point.number)
    if cup is None:
        return Spot(place.across, place.down, "")
    number = cup.number or point.number
    aside = f"point {point.number}" if number != point.number else ""
    what = [f"cup {number}", *([aside] if aside else []), point.label]
    if point.corner is not None:
        what.append(f"corner {CORNERS[point.corner]}: {corners[point.corner]}")
    return Spot(place.across, place.down, f"{number}", _words(point), aside, ", ".join(what), cup.name)


def _words(point: Point) -> tuple[str, ...]:
    """The shares, in pieces that may stand on lines of their own; a corner is said by its letter as well."""
    *first, last = point.label.split("/")
    pieces = (*(f"{one}/" for one in first), last)
    return pieces if point.corner is None else (f"{CORNERS[point.corner]} ", *pieces)
