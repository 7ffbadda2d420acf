"""Where the labels of crowded points go: beside their point where there is room, else at the end of a line to it.

No two labels overlap, and none lies on a point. Lines avoid labels and each other as far as they can. The same points
always give the same places.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Final, NamedTuple

_CELL: Final = 32
_DIRECTIONS: Final = 24
_RING: Final = 5.0
_CLOSE: Final = 3.0
"""Pixels between a point and a label beside it."""
_LINE_FROM: Final = 7.0
"""A label further off than this gets a line."""
_CROSSING: Final = 36.0
_ON_LINE: Final = 30.0
_OVER_POINT: Final = 6.0
"""What it costs, in pixels: a line across another, a label on a line, a line over a point."""
_ROUNDS: Final = 2


class Box(NamedTuple):
    """A rectangle, from its least corner to its greatest."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box, gap: float = 0.0) -> bool:
        """Whether two overlap, or come nearer than ``gap``."""
        return (
            self.left < other.right + gap
            and other.left < self.right + gap
            and self.top < other.bottom + gap
            and other.top < self.bottom + gap
        )


class Spot(NamedTuple):
    """A point and the size of its label, in pixels."""

    x: float
    y: float
    width: float
    height: float


class Label(NamedTuple):
    """A label's place, and the line that leads to it from its point, or None."""

    box: Box
    line: tuple[float, float, float, float] | None


Segment = tuple[float, float, float, float]


def place(
    spots: Sequence[Spot], area: Box, radius: float, taken: Sequence[Box] = (), reach: float = math.inf
) -> list[Label] | None:
    """A place for each label within ``area``. ``radius`` is that of the points' marks; ``taken`` is where something
    stands already. None where some label finds no place within ``reach`` of its point."""
    return _Placing(spots, area, radius, taken, reach).labels()


class _Placing:
    def __init__(
        self, spots: Sequence[Spot], area: Box, radius: float, taken: Sequence[Box], reach: float
    ) -> None:
        self._spots = spots
        self._area = area
        self._radius = radius
        widest = math.hypot(area.right - area.left, area.bottom - area.top)
        self._reach = min(reach, widest)
        marks = [Box(spot.x - radius, spot.y - radius, spot.x + radius, spot.y + radius) for spot in spots]
        self._solid = _Grid()
        self._points = _Grid()
        self._boxes = _Grid()
        self._lines = _Grid()
        for at, box in enumerate(marks):
            self._solid.add(at, box)
            self._points.add(at, box)
        for box in taken:
            self._solid.add(-1, box)
        self._labels: dict[int, Label] = {}

    def labels(self) -> list[Label] | None:
        crowd = [
            sum(math.hypot(spot.x - other.x, spot.y - other.y) < 60 for other in self._spots)
            for spot in self._spots
        ]
        # Points in a crowd first, as long as there is room beside them.
        for at in sorted(range(len(self._spots)), key=lambda at: (-crowd[at], at)):
            label = self._found(at)
            if label is None:
                return None
            self._take(at, label)
        for _ in range(_ROUNDS):
            self._untangle()
            self._settle()
        self._untangle()
        return [self._labels[at] for at in range(len(self._spots))]

    def _settle(self) -> None:
        """Looks for a better place for every label that has a line, the longest first."""
        lined = [at for at in range(len(self._spots)) if self._labels[at].line]
        for at in sorted(lined, key=lambda at: (-self._length(at), at)):
            before = self._labels[at]
            self._give_back(at)
            self._take(at, self._found(at) or before)

    def _untangle(self) -> None:
        """Two labels of one size change places where that makes their lines shorter together; lines that cross always
        get shorter."""
        lined = [at for at in range(len(self._spots)) if self._labels[at].line]
        changed = True
        while changed:
            changed = False
            for place, first in enumerate(lined):
                for second in lined[place + 1 :]:
                    one, other = self._spots[first], self._spots[second]
                    if (one.width, one.height) != (other.width, other.height):
                        continue
                    to_first, to_second = self._labels[first].box, self._labels[second].box
                    now = _apart(one, to_first) + _apart(other, to_second)
                    if _apart(one, to_second) + _apart(other, to_first) < now - 0.5:
                        self._give_back(first)
                        self._give_back(second)
                        self._take(first, Label(to_second, self._line(one, to_second)))
                        self._take(second, Label(to_first, self._line(other, to_first)))
                        changed = True

    def _length(self, at: int) -> float:
        line = self._labels[at].line
        return math.hypot(line[2] - line[0], line[3] - line[1]) if line else 0.0

    def _take(self, at: int, label: Label) -> None:
        self._labels[at] = label
        self._solid.add(at, label.box)
        self._boxes.add(at, label.box)
        if label.line:
            self._lines.add(at, _around(label.line))

    def _give_back(self, at: int) -> None:
        label = self._labels.pop(at)
        self._solid.remove(at, label.box)
        self._boxes.remove(at, label.box)
        if label.line:
            self._lines.remove(at, _around(label.line))

    def _found(self, at: int) -> Label | None:
        """The best place for one label: near, and with a line that crosses little."""
        best: tuple[float, Label] | None = None
        distance = self._radius + _CLOSE
        while distance <= self._reach:
            if best is not None and distance >= best[0]:
                break
            for label, turn in self._around(at, distance):
                cost = distance + turn + self._trouble(at, label)
                if best is None or cost < best[0] - 1e-9:
                    best = cost, label
            distance += _RING
        return best[1] if best else None

    def _around(self, at: int, distance: float) -> Iterator[tuple[Label, float]]:
        """Free places at a distance, with how much a direction is liked less than straight to the right."""
        spot = self._spots[at]
        for step in range(_DIRECTIONS):
            angle = 2 * math.pi * step / _DIRECTIONS
            across, down = math.cos(angle), math.sin(angle)
            x, y = spot.x + distance * across, spot.y + distance * down
            # The side or corner of the label that faces the point touches the end of the line.
            left = x - spot.width * (1 - across) / 2
            top = y - spot.height * (1 - down) / 2
            box = Box(left, top, left + spot.width, top + spot.height)
            if not self._free(box):
                continue
            yield Label(box, self._line(spot, box)), 1.5 * min(step, _DIRECTIONS - step) / _DIRECTIONS

    def _line(self, spot: Spot, box: Box) -> Segment | None:
        length = _apart(spot, box)
        if length <= self._radius + _LINE_FROM:
            return None
        x, y = _nearest(spot, box)
        share = self._radius / length
        return (spot.x + share * (x - spot.x), spot.y + share * (y - spot.y), x, y)

    def _free(self, box: Box) -> bool:
        area = self._area
        if box.left < area.left or box.right > area.right or box.top < area.top or box.bottom > area.bottom:
            return False
        return not self._solid.meets(box, 1.0)

    def _trouble(self, at: int, label: Label) -> float:
        """What a label costs that stands on lines, and its line where it crosses others, labels or points."""
        box, line = label
        cost = 0.0
        for other, _ in self._lines.near(box):
            if (segment := self._labels[other].line) and _cuts(segment, box):
                cost += _ON_LINE
        if line is None:
            return cost
        around = _around(line)
        for other, _ in self._lines.near(around):
            if (segment := self._labels[other].line) and _cross(line, segment):
                cost += _CROSSING
        cost += _ON_LINE * sum(_cuts(line, other) for _, other in self._boxes.near(around))
        cost += _OVER_POINT * sum(
            _cuts(line, mark) for other, mark in self._points.near(around) if other != at
        )
        return cost


class _Grid:
    """Boxes by the cells that they touch."""

    def __init__(self) -> None:
        self._cells: dict[tuple[int, int], list[tuple[int, Box]]] = {}

    def add(self, owner: int, box: Box) -> None:
        for cell in _cells(box):
            self._cells.setdefault(cell, []).append((owner, box))

    def remove(self, owner: int, box: Box) -> None:
        for cell in _cells(box):
            self._cells[cell].remove((owner, box))

    def meets(self, box: Box, gap: float) -> bool:
        """Whether anything lies nearer to a box than ``gap``."""
        left, top, right, bottom = box.left - gap, box.top - gap, box.right + gap, box.bottom + gap
        cells = self._cells
        for cell in _cells(Box(left, top, right, bottom)):
            for _, other in cells.get(cell, ()):
                if left < other[2] and other[0] < right and top < other[3] and other[1] < bottom:
                    return True
        return False

    def near(self, box: Box) -> Iterable[tuple[int, Box]]:
        """What may meet a box, each once, in the order in which it was added to its first cell."""
        found: dict[tuple[int, Box], None] = {}
        for cell in _cells(box):
            for entry in self._cells.get(cell, ()):
                found[entry] = None
        return found


def _cells(box: Box) -> Iterator[tuple[int, int]]:
    for column in range(int(box.left // _CELL), int(box.right // _CELL) + 1):
        for row in range(int(box.top // _CELL), int(box.bottom // _CELL) + 1):
            yield column, row


def _around(line: Segment) -> Box:
    x, y, to_x, to_y = line
    return Box(min(x, to_x), min(y, to_y), max(x, to_x), max(y, to_y))


def _nearest(spot: Spot, box: Box) -> tuple[float, float]:
    """The place on a label that a line from its point leads to."""
    return min(max(spot.x, box.left), box.right), min(max(spot.y, box.top + 1), box.bottom - 1)


def _apart(spot: Spot, box: Box) -> float:
    x, y = _nearest(spot, box)
    return math.hypot(x - spot.x, y - spot.y)


def _side(line: Segment, x: float, y: float) -> float:
    return (line[2] - line[0]) * (y - line[1]) - (line[3] - line[1]) * (x - line[0])


def _cross(first: Segment, second: Segment) -> bool:
    return (
        _side(first, second[0], second[1]) * _side(first, second[2], second[3]) < 0
        and _side(second, first[0], first[1]) * _side(second, first[2], first[3]) < 0
    )


def _cuts(line: Segment, box: Box) -> bool:
    """Whether a line runs through a box: clipped to it, something is left (Liang and Barsky's clipping)."""
    x, y, to_x, to_y = line
    start, end = 0.0, 1.0
    for move, low, high in (
        (to_x - x, box.left - x, box.right - x),
        (to_y - y, box.top - y, box.bottom - y),
    ):
        if move == 0:
            if low > 0 or high < 0:
                return False
            continue
        first, last = sorted((low / move, high / move))
        start, end = max(start, first), min(end, last)
        if start > end:
            return False
    return True
