"""The path of one recipe: its revisions from the oldest on, itself, its variations, the steps of its series, and the
points of its blends, which make a net."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import count
from typing import NamedTuple

from glost.chemistry.firing import Calculator
from glost.output.plot.chart import Stop
from glost.output.plot.points import Axes, LeftOut, Point, point_of, variations
from glost.recipe.board import board
from glost.recipe.recipe import Recipe, sets_said, tests

NOT_COMMITTED = "now"


class Past(NamedTuple):
    """A revision: what it is called, its day, its subject, and the recipe then, None where it was not read whole;
    ``kiln`` knows the materials of that time."""

    short: str
    day: str
    subject: str
    recipe: Recipe | None
    kiln: Calculator | None = None


def stops_of(
    file: str, past: Sequence[Past], now: Recipe, kiln: Calculator, axes: Axes, is_changed: bool = False
) -> tuple[list[Stop], list[Point], list[tuple[int, int]]]:
    """The stops, the points that they name by their numbers, and which of those are neighbours in a blend. The recipe
    as it is now is a stop of its own where it says other than its last revision, or its collection does
    (``is_changed``)."""
    stops: list[Stop] = []
    points: list[Point] = []

    def add(
        sign: str,
        what: str,
        when: str,
        said: str,
        found: Point | LeftOut,
        aside: bool = False,
        board: int = 0,
    ) -> None:
        if isinstance(found, Point):
            stops.append(Stop(sign, what, when, said, len(points), "", aside, board))
            points.append(found)
        else:
            stops.append(Stop(sign, what, when, said, None, found.why, aside, board))

    for number, one in enumerate(past, 1):
        add(str(number), one.short, one.day, one.subject, _then(one, file, kiln, axes))
    if not past or is_changed or past[-1].recipe != now:
        said = "not committed yet" if past else "as it stands"
        add(str(len(past) + 1), NOT_COMMITTED, "", said, point_of(next(tests(now)), file, kiln, axes))
    letters = map(_letter, count())
    drawn: dict[tuple[str, int], int] = {}
    for test, found in variations(now, file, kiln, axes):
        if test.point is None:
            add(next(letters), test.label, "", sets_said(test), found, aside=True)
            continue
        if isinstance(found, Point):
            drawn[test.block_name, test.point.number] = len(points)
        sign = _sign_of(test.block_name, test.point.number, now)
        add(sign, test.label, "", sets_said(test), found, aside=True, board=test.point.number)
    return stops, points, list(_net(now, drawn))


def _sign_of(blend: str, number: int, recipe: Recipe) -> str:
    """The number on the board; of several blends on a page, with that of the blend."""
    names = [one.name for one in recipe.blends]
    return f"{number}" if len(names) == 1 else f"{names.index(blend) + 1}.{number}"


def _net(recipe: Recipe, drawn: Mapping[tuple[str, int], int]) -> Iterator[tuple[int, int]]:
    """Neighbours that have both a place on the chart."""
    for blend in recipe.blends:
        made = board(blend.corners, blend.by)
        for pair in made.net:
            one, other = (drawn.get((blend.name, made.places[at].point.number)) for at in pair)
            if one is not None and other is not None:
                yield one, other


def _then(one: Past, file: str, kiln: Calculator, axes: Axes) -> Point | LeftOut:
    recipe = one.recipe
    if recipe is None:
        return LeftOut(one.short, "the page could not be read whole then")
    if recipe.kind != "glaze":
        return LeftOut(one.short, f"it was of the kind {recipe.kind} then")
    return point_of(next(tests(recipe)), file, one.kiln or kiln, axes)


def _letter(at: int) -> str:
    """a to z, then aa, ab and so on."""
    more, letter = divmod(at, 26)
    return (_letter(more - 1) if more else "") + chr(ord("a") + letter)
