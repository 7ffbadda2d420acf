"""The layout of the charts: axes, panels, which marks stand where, and which of them bear a name.

Glazes that lie nearer to each other than their marks are wide share one mark, which says how many they are. So the
marks of a panel are never more than find room in it, however many glazes there are.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from glost.output.plot.labels import Box, Grid, Label, place, shortened
from glost.output.plot.points import FIGURES, RANGES, SILICA_ALUMINA, Axes, LeftOut, Point

WIDTH: Final = 380.0
HEIGHT: Final = 330.0
"""Of a panel, in the units of its drawing."""
_LEFT, _RIGHT, _TOP, _BOTTOM = 46.0, 372.0, 8.0, 286.0
_MARGIN_RIGHT: Final = 46.0
_MARGIN_TOP: Final = 36.0
"""Room for what lies beyond an axis."""
NAME_SIZE: Final = 11.0
_LONGEST_NAME: Final = 24
HALF_WIDTH: Final = 11.0
HALF_HEIGHT: Final = 10.0
"""Of a mark."""
DOT: Final = 3.0
"""Half the width of the mark of a point of a blend."""
SIGN_HEIGHT: Final = 16.0
_APART: Final = 15.0
"""Marks in a panel are at least so far from each other."""
_CROWDED: Final = 60
_APART_NET: Final = 3.0
"""The points of a blend are dots, and are told apart where those are."""
_APART_CROWDED: Final = 26.0
"""And where a panel would hold more marks than that, of which most stand for several glazes."""
_APART_MARGIN: Final = 40.0
"""And in the margins, where each has its figure below it."""
_LINE_BOX: Final = 5.0
_FENCE: Final = 2.5
"""What lies more than so many times the middle half of all above it stands in the margin."""
_LEAST_SPAN: Final = {"silica": 1.0}
_SPAN: Final = 0.2
_CLOSE_SPAN: Final = {"silica": 0.5}
_CLOSE: Final = 0.1
_LARGER: Final = 5
"""The least that an axis shows: of a collection, and of the path of one recipe; of that of a blend, whose points lie
close to each other, so many times less."""
_DECIMALS: Final = 2
"""Of what is written at an axis; more would stand in its name."""


class Scale(NamedTuple):
    """One axis: what it shows, from and to, and where it is marked."""

    words: str
    low: float
    high: float
    ticks: tuple[float, ...]
    decimals: int

    def share(self, value: float) -> float:
        """Where a value lies, 0 at the low end and 1 at the high one."""
        return (value - self.low) / (self.high - self.low)


class Mark(NamedTuple):
    """One place on a panel: the glazes that stand there, as their numbers in the chart's list. ``beyond`` is the figure
    written below a mark in a margin, "" within the axes. ``label`` is the name that is written, at ``spot``.
    ``dot``: a place of a path whose sign stands in its label, since it would lie over that of another."""

    members: tuple[int, ...]
    x: float
    y: float
    beyond: str = ""
    label: str = ""
    spot: Box | None = None
    dot: bool = False


class Step(NamedTuple):
    """A line from one place of a path to the next; ``aside`` where it leads to a variation."""

    x: float
    y: float
    to_x: float
    to_y: float
    aside: bool


class Line(NamedTuple):
    """A thin line between two neighbours of a blend."""

    x: float
    y: float
    to_x: float
    to_y: float


class Panel(NamedTuple):
    """One field with its marks. ``behind`` are those of the collection that a path is seen against; ``path`` are the
    places of the path, ``steps`` its lines, ``net`` those between the points of a blend. ``view`` is the part of the
    field that another panel shows larger."""

    title: str
    frame: Box
    across: Scale
    up: Scale
    marks: tuple[Mark, ...] = ()
    behind: tuple[Mark, ...] = ()
    path: tuple[Mark, ...] = ()
    steps: tuple[Step, ...] = ()
    net: tuple[Line, ...] = ()
    view: Box | None = None


class Stop(NamedTuple):
    """One place of the path of a recipe: a revision, the recipe as it is now, or a variation. ``point`` is the number
    of its glaze in the chart's list, or None where it has no place; ``why`` then says why. ``sign`` is what is written
    at its mark. ``board``: the number of a point of a blend, 0 of any other; its mark stands in the net of its blend.
    """

    sign: str
    what: str
    when: str
    said: str
    point: int | None
    why: str = ""
    aside: bool = False
    board: int = 0


@dataclass(frozen=True, slots=True)
class Chart:
    """Everything that is drawn. ``meant`` says which glazes were asked for, "" for all; ``stops`` are those of the path
    of one recipe, if that is what is shown. The points of the stops are the first of ``points``. ``collections``: what
    those are called that the glazes are of."""

    title: str
    meant: str
    axes: Axes
    points: tuple[Point, ...]
    panels: tuple[Panel, ...]
    left_out: tuple[LeftOut, ...] = ()
    stops: tuple[Stop, ...] = ()
    collections: tuple[str, ...] = ()

    @property
    def collection(self) -> int:
        """The number of the first point that is no stop."""
        return len({stop.point for stop in self.stops if stop.point is not None})


def chart(
    points: Sequence[Point], left_out: Sequence[LeftOut], meant: str, axes: Axes = SILICA_ALUMINA
) -> Chart:
    """The chart of a collection, which may hold none: one panel a range of cones, all with the same axes."""
    across = _scale(axes.across, [point.x for point in points], fenced=True)
    up = _scale(axes.up, [point.y for point in points], fenced=True)
    frame = _frame(points, across, up)
    field = Panel("", frame, across, up)
    groups = [[at for at, point in enumerate(points) if point.range == one] for one in range(len(RANGES))]
    drawn = [_marks(field, points, members) for members in groups]
    if max(map(len, drawn)) > _CROWDED:
        drawn = [_marks(field, points, members, _APART_CROWDED) for members in groups]
    panels = [
        field._replace(title=title, marks=_named(field, marks, points))
        for title, marks in zip(RANGES, drawn, strict=True)
        if marks
    ]
    if not panels:
        panels.append(Panel("No glaze", frame, across, up))
    names = f"{FIGURES[axes.across].words} and {FIGURES[axes.up].words}"
    count = f"{len(points)} glaze{'' if len(points) == 1 else 's'}"
    return Chart(f"{count} by {names}", meant, axes, tuple(points), tuple(panels), tuple(left_out))


def path_chart(
    name: str,
    stops: Sequence[Stop],
    on_path: Sequence[Point],
    others: Sequence[Point],
    left_out: Sequence[LeftOut],
    meant: str,
    axes: Axes = SILICA_ALUMINA,
    net: Sequence[tuple[int, int]] = (),
) -> Chart:
    """The path of one recipe: near by, and where that lies in its collection. ``on_path`` are the points that the stops
    name by their numbers; ``net`` are pairs of them that are neighbours in a blend."""
    points = (*on_path, *others)
    wide = Panel("In its collection", Box(_LEFT, _TOP, _RIGHT, _BOTTOM), *_scales(axes, points, True))
    wide = wide._replace(frame=_frame(points, wide.across, wide.up))
    field = Box(_LEFT, _TOP, _RIGHT, _BOTTOM)
    near = Panel("Its path", field, *_scales(axes, on_path or points, False, bool(net)))
    numbers = range(len(on_path), len(points))
    seen = [at for at in numbers if _is_within(points[at], near)]
    near = _with_path(near, points, stops, seen, net)
    panels = [near]
    if numbers:
        marks = _marks(wide, points, numbers)
        if len(marks) > _CROWDED:
            marks = _marks(wide, points, numbers, _APART_CROWDED)
        left, top = _at(wide, near.across.low, near.up.high)
        right, bottom = _at(wide, near.across.high, near.up.low)
        frame = wide.frame
        view = Box(
            max(left, frame.left), max(top, frame.top), min(right, frame.right), min(bottom, frame.bottom)
        )
        panels.append(wide._replace(behind=tuple(marks), view=view if on_path else None))
    title = f"{name}: its path by {FIGURES[axes.across].words} and {FIGURES[axes.up].words}"
    return Chart(title, meant, axes, points, tuple(panels), tuple(left_out), tuple(stops))


def _with_path(
    panel: Panel,
    points: Sequence[Point],
    stops: Sequence[Stop],
    seen: list[int],
    net: Sequence[tuple[int, int]],
) -> Panel:
    placed = [stop for stop in stops if stop.point is not None]
    members = dict.fromkeys(stop.point for stop in placed if stop.point is not None and not stop.board)
    path = _marks(panel, points, list(members))
    in_net = [stop.point for stop in placed if stop.point is not None and stop.board]
    path += _marks(panel, points, in_net, _APART_NET)
    of_point = {number: at for at, mark in enumerate(path) for number in mark.members}
    signs: dict[int, list[Stop]] = {}
    for stop in placed:
        assert stop.point is not None
        signs.setdefault(of_point[stop.point], []).append(stop)
    newest = next((stop for stop in reversed(placed) if not stop.aside), None)
    path = list(_told_apart(path, [signs[at] for at in range(len(path))], newest))
    steps: dict[Step, None] = {}
    before: Mark | None = None
    main: Mark | None = None
    for stop in placed:
        assert stop.point is not None
        here = path[of_point[stop.point]]
        # The points of a blend hang on each other, and not on the recipe.
        origin = None if stop.board else main if stop.aside else before
        if origin is not None and (origin.x, origin.y) != (here.x, here.y):
            steps[Step(origin.x, origin.y, here.x, here.y, stop.aside)] = None
        if not stop.aside:
            before = main = here
    behind = _marks(panel, points, seen)
    # A neighbour that lies under the path would only be in its way there; its name is in the table.
    behind = [
        mark
        for mark in behind
        if not any(math.hypot(mark.x - one.x, mark.y - one.y) < _APART for one in path)
    ]
    # The newest is looked for first of all.
    order = sorted(range(len(path)), key=lambda at: newest not in signs[at])
    labels = [
        Label(
            path[at].label, _box_of_dot(path[at]) if signs[at][0].board or path[at].dot else box_of(path[at])
        )
        for at in order
    ]
    labels += [Label(_name(mark, points), box_of(mark)) for mark in behind]
    joined = _lines(net, path, of_point)
    lines = [box for step in steps for box in _along(step)]
    spots = place(labels, NAME_SIZE, panel.frame.wider(-2), lines, first=len(path))
    spot_of = dict(zip(order, spots, strict=False))
    named = [mark._replace(spot=spot_of[at]) for at, mark in enumerate(path)]
    others = [
        mark._replace(label=label.text if spot else "", spot=spot)
        for mark, label, spot in zip(behind, labels[len(path) :], spots[len(path) :], strict=True)
    ]
    return panel._replace(path=tuple(named), behind=tuple(others), steps=tuple(steps), net=joined)


def _told_apart(path: Sequence[Mark], signs: Sequence[Sequence[Stop]], newest: Stop | None) -> Iterator[Mark]:
    """The marks of a path with their labels. Where the sign of one would lie over that of another, both are dots, and
    the signs stand beside them as far as there is room."""
    boxes = [_box_of_sign(mark, sign_of(stops)) for mark, stops in zip(path, signs, strict=True)]
    grid = Grid()
    for box in boxes:
        grid.add(box)
    for mark, stops, box in zip(path, signs, boxes, strict=True):
        said = path_label(stops, newest)
        of_net = all(stop.board for stop in stops)
        if of_net or grid.meeting(box) == {box}:
            yield mark._replace(label=said)
        else:
            # There is little room: what is tried from a revision is told by its card and by the table.
            if any(not stop.aside for stop in stops):
                said = "now" if newest in stops else ""
            yield mark._replace(label=f"{sign_of(stops)} {said}".rstrip(), dot=True)


def sign_of(stops: Sequence[Stop]) -> str:
    """What is written on a place of the path. Where a revision stands, what is tried from it is told by the label
    alone."""
    main = [stop.sign for stop in stops if not stop.aside]
    return in_short(main or [stop.sign for stop in stops])


def _lines(
    net: Sequence[tuple[int, int]], path: Sequence[Mark], of_point: Mapping[int, int]
) -> tuple[Line, ...]:
    """The lines of a net; points that share a mark have none between them."""
    ends = ((path[of_point[a]], path[of_point[b]]) for a, b in net)
    return tuple(dict.fromkeys(Line(a.x, a.y, b.x, b.y) for a, b in ends if (a.x, a.y) != (b.x, b.y)))


def in_short(signs: Sequence[str]) -> str:
    """Signs as they are written at a mark: numbers that follow each other become a range; of variations that stand
    where a revision does, only the label tells."""
    numbers = sorted({int(sign) for sign in signs if sign.isdigit()})
    if not numbers:
        return signs[0] if len(signs) == 1 else f"{signs[0]}-{signs[-1]}"
    parts: list[list[int]] = []
    for number in numbers:
        if parts and number == parts[-1][-1] + 1:
            parts[-1].append(number)
        else:
            parts.append([number])
    return ", ".join(str(part[0]) if len(part) == 1 else f"{part[0]}-{part[-1]}" for part in parts)


def _along(step: Step) -> Iterator[Box]:
    """Small boxes along a line, so that no name is written over it."""
    length = math.hypot(step.to_x - step.x, step.to_y - step.y)
    for at in range(int(length / _LINE_BOX) + 1):
        share = min(1.0, at * _LINE_BOX / length)
        x, y = step.x + share * (step.to_x - step.x), step.y + share * (step.to_y - step.y)
        yield Box(x, y, x, y).wider(_LINE_BOX / 2)


def path_label(stops: Sequence[Stop], newest: Stop | None) -> str:
    """What is written beside a place of the path: whether it is the newest revision, and the variations there."""
    if all(stop.board for stop in stops):
        return in_short([stop.sign for stop in stops])
    aside = [stop.what for stop in stops if stop.aside]
    if len(aside) == len(stops):
        said, more = shortened(aside[0], _LONGEST_NAME), len(aside) - 1
    else:
        said, more = "now" if newest in stops else "", len(aside)
    return said + (f" +{more}" if more else "")


# ---- axes ----------------------------------------------------------------------------------------------------


def _scales(axes: Axes, points: Sequence[Point], fenced: bool, with_net: bool = False) -> tuple[Scale, Scale]:
    return (
        _scale(axes.across, [point.x for point in points], fenced, with_net),
        _scale(axes.up, [point.y for point in points], fenced, with_net),
    )


def _scale(figure: str, values: Sequence[float], fenced: bool, with_net: bool = False) -> Scale:
    """An axis that holds all values; ``fenced``: but for those far above all others. It may begin a little below 0, so
    that the marks of what is not there stand whole. ``with_net``: it is to show a net as large as it goes."""
    least = _LEAST_SPAN.get(figure, _SPAN) if fenced else _CLOSE_SPAN.get(figure, _CLOSE)
    if with_net:
        least /= _LARGER
    ordered = sorted(values) or [0.0, least]
    low, high = ordered[0], ordered[-1]
    if fenced:
        quarter, three = _part(ordered, 0.25), _part(ordered, 0.75)
        fence = three + _FENCE * max(three - quarter, least / 8)
        high = max((value for value in ordered if value <= fence), default=high)
    room = max((0.08 if fenced else 0.16) * (high - low), (least - (high - low)) / 2)
    low, high = low - room, high + room
    step = next(
        size
        for power in range(-_DECIMALS, 7)
        for size in (10.0**power, 2 * 10.0**power, 5 * 10.0**power)
        if (high - low) / size <= 7
    )
    first, last = math.ceil(max(low, 0.0) / step - 1e-9), math.floor(high / step + 1e-9)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    ticks = tuple(count * step for count in range(first, last + 1))
    return Scale(FIGURES[figure].words, low, high, ticks, decimals)


def _part(ordered: Sequence[float], share: float) -> float:
    place = share * (len(ordered) - 1)
    below = math.floor(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (place - below) * (ordered[above] - ordered[below])


def _frame(points: Sequence[Point], across: Scale, up: Scale) -> Box:
    """The field, with a margin where something lies beyond an axis."""
    beside = any(point.x > across.high for point in points)
    above = any(point.y > up.high for point in points)
    return Box(
        _LEFT, _TOP + (_MARGIN_TOP if above else 0), _RIGHT - (_MARGIN_RIGHT if beside else 0), _BOTTOM
    )


def _at(panel: Panel, x: float, y: float) -> tuple[float, float]:
    frame = panel.frame
    return (
        frame.left + panel.across.share(x) * (frame.right - frame.left),
        frame.bottom - panel.up.share(y) * (frame.bottom - frame.top),
    )


def _is_within(point: Point, panel: Panel) -> bool:
    return panel.across.low <= point.x <= panel.across.high and panel.up.low <= point.y <= panel.up.high


# ---- marks ---------------------------------------------------------------------------------------------------


def place_of(point: Point, panel: Panel) -> tuple[float, float, bool, bool]:
    """Where a glaze stands in a panel, and whether that is the margin beside the field, or the one above it."""
    x, y = _at(panel, point.x, point.y)
    beside, above = point.x > panel.across.high, point.y > panel.up.high
    if beside:
        x = panel.frame.right + _MARGIN_RIGHT / 2 + 2
    if above:
        y = panel.frame.top - _MARGIN_TOP * 2 / 3
    return round(x, 2), round(y, 2), beside, above


def _marks(
    panel: Panel, points: Sequence[Point], members: Sequence[int], least: float = _APART
) -> list[Mark]:
    """The marks of some glazes: one joins the first mark that is too near to stand beside."""
    cells: dict[tuple[bool, bool, int, int], list[int]] = {}
    found: list[tuple[list[int], float, float, bool, bool]] = []
    for number in members:
        x, y, beside, above = place_of(points[number], panel)
        apart = _APART_MARGIN if beside or above else least
        column, row = int(x // apart), int(y // apart)
        near = (
            at
            for right in (-1, 0, 1)
            for down in (-1, 0, 1)
            for at in cells.get((beside, above, column + right, row + down), ())
            if math.hypot(x - found[at][1], y - found[at][2]) < apart
        )
        at = next(near, None)
        if at is None:
            cells.setdefault((beside, above, column, row), []).append(len(found))
            found.append(([number], x, y, beside, above))
        else:
            found[at][0].append(number)
    return [
        Mark(tuple(group), x, y, _beyond([points[one] for one in group], beside, above))
        for group, x, y, beside, above in found
    ]


def _beyond(points: Sequence[Point], beside: bool, above: bool) -> str:
    if not (beside or above):
        return ""
    values = [point.x if beside else point.y for point in points]
    low, high = min(values), max(values)
    if f"{low:.1f}" == f"{high:.1f}":
        return f"{low:.2f}" if f"{low:.2f}" == f"{high:.2f}" else f"{low:.1f}"
    return f"{low:.1f}-{high:.1f}"


def box_of(mark: Mark) -> Box:
    """What a mark covers."""
    return Box(mark.x - HALF_WIDTH, mark.y - HALF_HEIGHT, mark.x + HALF_WIDTH, mark.y + HALF_HEIGHT)


def _box_of_sign(mark: Mark, sign: str) -> Box:
    half = sign_width(sign) / 2
    return Box(mark.x - half, mark.y - SIGN_HEIGHT / 2, mark.x + half, mark.y + SIGN_HEIGHT / 2)


def sign_width(sign: str) -> float:
    """How wide the box is in which a sign stands, SIGN_HEIGHT high."""
    return max(18.0, 7.0 * len(sign) + 6)


def _box_of_dot(mark: Mark) -> Box:
    return Box(mark.x, mark.y, mark.x, mark.y).wider(DOT + 1)


def _name(mark: Mark, points: Sequence[Point]) -> str:
    """The name at a mark within the field: of one glaze, or of two. More would be a heap of names."""
    if mark.beyond or len(mark.members) > 2:
        return ""
    longest = _LONGEST_NAME if len(mark.members) == 1 else _LONGEST_NAME // 2
    return ", ".join(shortened(points[one].name, longest) for one in mark.members)


def _named(panel: Panel, marks: Sequence[Mark], points: Sequence[Point]) -> tuple[Mark, ...]:
    labels = [Label(_name(mark, points), box_of(mark)) for mark in marks]
    spots = place(labels, NAME_SIZE, panel.frame.wider(-2))
    return tuple(
        mark._replace(label=label.text, spot=spot) if spot else mark
        for mark, label, spot in zip(marks, labels, spots, strict=True)
    )


def unnamed(chart: Chart) -> list[int]:
    """The glazes whose name stands on no panel, as numbers."""
    return [
        number
        for panel in chart.panels
        for mark in panel.marks
        if mark.spot is None and not mark.beyond
        for number in mark.members
    ]
