"""The layout of the chart: axes, the pixels of every point, and where its label goes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from glost.output.escape import visible
from glost.output.plot.labels import Box, Label, Spot, place
from glost.output.plot.points import LeftOut, Point

WIDTH: Final = 1200
_FRAME: Final = Box(74, 132, 1176, 812)
_TALL_FRAME: Final = Box(74, 132, 1176, 1092)
"""Where the axes are, in pixels of the drawing; many glazes get more room."""
_RADII: Final = (4.5, 4.0)
NAME_SIZE: Final = 11.0
NUMBER_SIZE: Final = 9.5
MOST_NAMED: Final = 90
"""More glazes than this are numbered, with a table of their names."""
_FENCES: Final = (3.0, 2.0)
"""For few glazes and for many: what lies so many times the middle half of all beyond it stands at the edge."""
_INSET: Final = 15
"""How far from the edge such a glaze stands."""
_LEAST_SPAN: Final = (1.0, 0.2)
_REACH: Final = 150.0
"""Pixels; where a name would have to stand further off than this, all are numbered."""
_LONGEST_NAME: Final = 26

RATIOS: Final = (2, 3, 4, 5, 6, 7, 8, 10, 12, 15, 20, 30)


class Axis(NamedTuple):
    """From and to, and where it is marked."""

    low: float
    high: float
    ticks: tuple[float, ...]
    decimals: int


class Mark(NamedTuple):
    """A point in pixels. ``label`` is the name or number as shown; ``away`` is the direction, as an angle down from the
    right, in which it lies beyond the edge, or None."""

    point: Point
    x: float
    y: float
    label: str
    spot: Label
    away: float | None


class Ratio(NamedTuple):
    """A line of one SiO2 : Al2O3 across the frame, with the place of its label, if there is room for one."""

    value: int
    x: float
    y: float
    to_x: float
    to_y: float
    box: Box | None


@dataclass(frozen=True, slots=True)
class Chart:
    """Everything that is drawn. ``numbered``: the labels are numbers of a table, from 1 in the order of ``marks``."""

    title: str
    meant: str
    frame: Box
    radius: float
    silica: Axis
    alumina: Axis
    marks: tuple[Mark, ...]
    ratios: tuple[Ratio, ...]
    numbered: bool
    left_out: tuple[LeftOut, ...]


def chart(points: Sequence[Point], left_out: Sequence[LeftOut], meant: str) -> Chart:
    """The chart of some points, which may be none. ``meant`` says which recipes were asked for, "" for all."""
    many = len(points) > MOST_NAMED
    silica = _axis([point.silica for point in points], _LEAST_SPAN[0], _FENCES[many])
    alumina = _axis([point.alumina for point in points], _LEAST_SPAN[1], _FENCES[many])
    plain = _Frame(_TALL_FRAME if many else _FRAME, silica, alumina)
    radius = _RADII[many]
    at = _apart([plain.at(point) for point in points], plain.box, radius)
    marks = [Box(x - radius, y - radius, x + radius, y + radius) for x, y, _ in at]
    ratios = [
        line
        if line.box is None or not any(line.box.meets(mark, 2) for mark in marks)
        else line._replace(box=None)
        for line in plain.ratios()
    ]
    taken = [line.box for line in ratios if line.box is not None]
    names = [shortened(point.name, _LONGEST_NAME) for point in points]
    numbers = [str(number) for number in range(1, len(points) + 1)]
    labels = None if many else plain.placed(at, names, NAME_SIZE, radius, taken, _REACH)
    numbered = labels is None
    if labels is None:
        labels = plain.placed(at, numbers, NUMBER_SIZE, radius, taken, math.inf) or []
    return Chart(
        f"{len(points)} glaze{'' if len(points) == 1 else 's'} by silica and alumina",
        meant,
        plain.box,
        radius,
        silica,
        alumina,
        tuple(
            Mark(point, x, y, text, label, away)
            for point, (x, y, away), text, label in zip(
                points, at, numbers if numbered else names, labels, strict=True
            )
        ),
        tuple(ratios),
        numbered,
        tuple(left_out),
    )


Place = tuple[float, float, float | None]
"""Where a mark stands, and the direction in which its glaze lies beyond the edge."""


def _apart(places: Sequence[Place], frame: Box, radius: float) -> list[Place]:
    """Marks in a corner, where no figure can be read off, moved along the edge so that they do not hide each other."""
    out: list[Place] = []
    step = 2 * radius + 2
    for x, y, turn in places:
        if turn is not None and turn % (math.pi / 2):
            inwards = -step if x > (frame.left + frame.right) / 2 else step
            while any(there is not None and math.hypot(x - a, y - b) < step - 1 for a, b, there in out):
                x += inwards
        out.append((x, y, turn))
    return out


class _Frame(NamedTuple):
    """From figures to pixels."""

    box: Box
    silica: Axis
    alumina: Axis

    def x(self, value: float) -> float:
        return x_of(value, self.silica, self.box)

    def y(self, value: float) -> float:
        return y_of(value, self.alumina, self.box)

    def at(self, point: Point) -> Place:
        """The pixels of a point. One that lies beyond the edge stands at it, straight across from where it is, with the
        direction that it lies in; one that lies beyond two stands in their corner."""
        x, y = self.x(point.silica), self.y(point.alumina)
        box = self.box
        beside = (x > box.right) - (x < box.left)
        above = (y > box.bottom) - (y < box.top)
        if beside:
            x = box.right - _INSET if beside > 0 else box.left + _INSET
        if above:
            y = box.bottom - _INSET if above > 0 else box.top + _INSET
        return round(x, 2), round(y, 2), math.atan2(above, beside) if beside or above else None

    def placed(
        self,
        at: Sequence[Place],
        texts: Sequence[str],
        size: float,
        radius: float,
        taken: Sequence[Box],
        reach: float,
    ) -> list[Label] | None:
        widest = max((text_width(text, size) for text in texts), default=0.0)
        # Numbers are all given the width of the widest, so that any two can change places.
        widths = [text_width(text, size) if text[:1].isalpha() else widest for text in texts]
        spots = [Spot(x, y, width + 2, size + 2) for (x, y, _), width in zip(at, widths, strict=True)]
        box = self.box
        inside = Box(box.left + 3, box.top + 3, box.right - 3, box.bottom - 3)
        return place(spots, inside, radius + 0.5, taken, reach)

    def ratios(self) -> list[Ratio]:
        """The lines of one ratio that cross the frame, each with its label where it leaves, at the top or right."""
        frame, silica, alumina = self
        out: list[Ratio] = []
        for value in RATIOS:
            first = max(silica.low, value * alumina.low)
            last = min(silica.high, value * alumina.high)
            if last - first < 0.12 * (silica.high - silica.low):
                continue
            to_x, to_y = self.x(last), self.y(last / value)
            width = text_width(f"{value} : 1", 10) + 6
            if last < silica.high - 1e-9:  # it leaves at the top
                box = Box(to_x - width / 2, frame.top + 4, to_x + width / 2, frame.top + 18)
            else:
                box = Box(frame.right - width - 4, to_y - 7, frame.right - 4, to_y + 7)
            inside = frame.left <= box.left and box.right <= frame.right and frame.top + 3 <= box.top
            if inside and not any(line.box and box.meets(line.box, 14) for line in out):
                out.append(Ratio(value, self.x(first), self.y(first / value), to_x, to_y, box))
        return out


def _axis(values: Sequence[float], least: float, fences: float) -> Axis:
    """An axis that holds the values but for those far off all others."""
    if not values:
        values = (0.0, least)
    ordered = sorted(values)
    quarter, three = _part(ordered, 0.25), _part(ordered, 0.75)
    fence = fences * max(three - quarter, least / 8)
    inside = [value for value in ordered if quarter - fence <= value <= three + fence]
    low, high = min(inside), max(inside)
    room = max(0.06 * (high - low), (least - (high - low)) / 2)
    low, high = max(low - room, 0.0), high + room
    step = next(
        size
        for power in range(-3, 7)
        for size in (10.0**power, 2 * 10.0**power, 5 * 10.0**power)
        if (high - low) / size <= 10
    )
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    return Axis(low, high, tuple(count * step for count in range(first, last + 1)), decimals)


def _part(ordered: Sequence[float], share: float) -> float:
    place = share * (len(ordered) - 1)
    below = math.floor(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (place - below) * (ordered[above] - ordered[below])


def x_of(value: float, axis: Axis, frame: Box) -> float:
    return frame.left + (value - axis.low) / (axis.high - axis.low) * (frame.right - frame.left)


def y_of(value: float, axis: Axis, frame: Box) -> float:
    return frame.bottom - (value - axis.low) / (axis.high - axis.low) * (frame.bottom - frame.top)


_NARROW: Final = frozenset("ijlI.,:;'|!()[] ")
_SLIM: Final = frozenset('ftr-"/1')
_WIDE: Final = frozenset("mwMW@%&")


def text_width(text: str, size: float) -> float:
    """How wide a text is at most in a usual sans serif, in pixels; whatever is not Latin counts as a full square."""
    ems = 0.0
    for character in text:
        if character in _NARROW:
            ems += 0.36
        elif character in _SLIM:
            ems += 0.48
        elif character in _WIDE:
            ems += 0.98
        elif ord(character) > 0x24F:
            ems += 1.05
        else:
            ems += 0.72 if character.isupper() else 0.63
    return ems * size


def shortened(text: str, longest: int) -> str:
    """A text that can be shown, cut where it is longer."""
    text = visible(text)
    return text if len(text) <= longest else text[: longest - 1].rstrip() + "\u2026"
