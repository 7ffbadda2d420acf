"""The tests that --test asks for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import click

from glost.cli.errors import sentence
from glost.linter.reporters import plain
from glost.recipe.labels import labels_of
from glost.recipe.materials.catalogue import key
from glost.recipe.points import Points
from glost.recipe.recipe import Test, tests
from glost.workspace.load import Usable


def check_points(points: Points | None) -> None:
    """Raises UsageError for a point that no blend has."""
    for word in points.unmet if points is not None else ():
        raise click.UsageError(
            f"no blend here has a point '{plain.visible(word)}'; write numbers or shares as they stand on the map"
            " of the board, which  glost convert FILE --to sheet  begins with."
        )


class PointsType(click.ParamType[Points]):
    """Points of a blend."""

    name = "points"

    def convert(self, value: object, param: click.Parameter | None, context: click.Context | None) -> Points:
        if isinstance(value, Points):
            return value
        try:
            return Points(str(value))
        except ValueError as error:
            self.fail(sentence(error), param, context)


points_option = click.option(
    "--points",
    type=PointsType(),
    metavar="POINTS",
    help='Of blends only these points, by number or shares, as "1, 7-10, 20/20/60".',
)


def the_test(entry: Usable, label: str | None) -> Test:
    """The one test that a label means, without one the recipe as it stands. Raises UsageError where there is none."""
    chosen = Chosen(*([] if label is None else [label]))
    test = next(chosen.of(tests(entry.recipe)), None)
    chosen.check()
    assert test is not None  # a recipe has at least the test that it is itself
    return test


class Chosen:
    """Takes the tests of one label out of those of many recipes: a variation, a step of a series, or the recipe
    itself by its name. Without a label every test is taken. ``points``: of blends only these points, and no test that
    is no point."""

    def __init__(self, *labels: str, points: Points | None = None) -> None:
        self.labels = labels
        self.points = points
        self._met: dict[str, None] = {}
        self._left = {key(label): label for label in labels}

    def of(self, every: Iterable[Test]) -> Iterator[Test]:
        """Those of one recipe."""
        if self.points is not None:
            every = self.points.of(every)
        for test in every:
            self._met[test.label or test.name] = None
            asked = labels_of(test, self.labels)
            for label in asked:
                self._left.pop(key(label), None)
            if asked or not self.labels:
                yield test

    def check(self) -> None:
        """Raises UsageError for a label that no recipe answered to."""
        check_points(self.points)
        for label in self._left.values():
            raise click.UsageError(self._no_such_test(label))

    def _no_such_test(self, label: str) -> str:
        from glost.language.nearest import nearest

        labels = list(self._met)
        near = nearest(label, labels, 1)
        shown = [plain.visible(one) for one in ([] if near else labels[:8])]
        meant = f" Did you mean '{plain.visible(near[0])}'?" if near else ""
        more = ", ..." if len(labels) > len(shown) > 0 else ""
        there = f" There are: {', '.join(shown)}{more}." if shown else ""
        return f"no recipe here has a test '{plain.visible(label)}'.{meant}{there}"
