"""The path of one recipe: its revisions from the oldest on, itself, and its variations and the steps of its series."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from glost.chemistry.firing import Calculator
from glost.output.plot.chart import Stop
from glost.output.plot.points import Axes, LeftOut, Point, point_of, variations
from glost.recipe.recipe import Recipe, sets_said, tests

NOT_COMMITTED = "now"


class Past(NamedTuple):
    """A revision: what it is called, its day, its subject, and the recipe then, None where it was not read whole."""

    short: str
    day: str
    subject: str
    recipe: Recipe | None


def stops_of(
    file: str, past: Sequence[Past], now: Recipe, kiln: Calculator, axes: Axes
) -> tuple[list[Stop], list[Point]]:
    """The stops, and the points that they name by their numbers. The recipe as it is now is a stop of its own where it
    says other than its last revision."""
    stops: list[Stop] = []
    points: list[Point] = []

    def add(sign: str, what: str, when: str, said: str, found: Point | LeftOut, aside: bool = False) -> None:
        if isinstance(found, Point):
            stops.append(Stop(sign, what, when, said, len(points), "", aside))
            points.append(found)
        else:
            stops.append(Stop(sign, what, when, said, None, found.why, aside))

    for number, one in enumerate(past, 1):
        add(str(number), one.short, one.day, one.subject, _then(one, file, kiln, axes))
    if not past or past[-1].recipe != now:
        said = "not committed yet" if past else "as it stands"
        add(str(len(past) + 1), NOT_COMMITTED, "", said, point_of(next(tests(now)), file, kiln, axes))
    for at, (test, found) in enumerate(variations(now, file, kiln, axes)):
        add(_letter(at), test.label, "", sets_said(test), found, aside=True)
    return stops, points


def _then(one: Past, file: str, kiln: Calculator, axes: Axes) -> Point | LeftOut:
    recipe = one.recipe
    if recipe is None:
        return LeftOut(one.short, "the page could not be read whole then")
    if recipe.kind != "glaze":
        return LeftOut(one.short, f"it was of the kind {recipe.kind} then")
    return point_of(next(tests(recipe)), file, kiln, axes)


def _letter(at: int) -> str:
    """a to z, then aa, ab and so on."""
    more, letter = divmod(at, 26)
    return (_letter(more - 1) if more else "") + chr(ord("a") + letter)
