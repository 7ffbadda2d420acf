"""A panel as SVG. Looks are named by classes: a page gives them by its style sheet, light or dark; a drawing that
stands alone has them written out as attributes."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from types import MappingProxyType
from typing import Final

from glost.output.plot.chart import (
    DOT,
    HEIGHT,
    NAME_SIZE,
    SIGN_HEIGHT,
    WIDTH,
    Chart,
    Mark,
    Panel,
    Step,
    Stop,
    sign_of,
    sign_width,
)
from glost.output.plot.labels import Box
from glost.output.plot.points import Point
from glost.output.web import shown

LETTERS: Final = MappingProxyType(
    {
        "oxidation": "O",
        "reduction": "R",
        "neutral": "N",
        "raku": "K",
        "salt": "S",
        "soda": "D",
        "wood": "W",
    }
)
OTHER: Final = "other or none"
_NO_LETTER: Final = "\u2013"
"""For a word that is not one of the language, and for none."""

FONT: Final = "Helvetica, Arial, 'Liberation Sans', 'DejaVu Sans', sans-serif"
_INK: Final = "#1f2a2c"
_SOFT: Final = "#566163"
LOOKS: Final = MappingProxyType(
    {
        "ink": f'fill="{_INK}"',
        "soft": f'fill="{_SOFT}"',
        "field": 'fill="#ffffff" stroke="#9aa5a4"',
        "margin": 'fill="#f0f2ef"',
        "rule": 'fill="none" stroke="#e6eae7"',
        "letter": f'fill="{_INK}" font-weight="bold"',
        "alkalis": 'fill="#274b73"',
        "earths": 'fill="#8fb3a4"',
        "zinc": 'fill="#ffffff" stroke="#566163" stroke-width="0.8"',
        "boron": 'fill="#b4641a"',
        "several": f'fill="#ffffff" stroke="{_INK}" stroke-width="1.2"',
        "ghost": 'fill="#88928f"',
        "stop": f'fill="{_INK}"',
        "sign": 'fill="#ffffff" font-weight="bold"',
        "variation": f'fill="#ffffff" stroke="{_INK}" stroke-width="1.4" stroke-dasharray="3 2"',
        "step": f'fill="none" stroke="{_INK}" stroke-width="1.6"',
        "net": 'fill="none" stroke="#88928f" stroke-width="0.8"',
        "aside": f'fill="none" stroke="{_INK}" stroke-width="1.1" stroke-dasharray="2 3"',
        "view": f'fill="none" stroke="{_INK}" stroke-width="1.4"',
    }
)
"""How each class looks on white paper."""

_CLASS: Final = re.compile(r'class="([a-z]+)"')


def alone(markup: str) -> str:
    """Markup with the looks of its classes written out. Text holds no quote that is not escaped, so none is met."""
    return _CLASS.sub(lambda found: LOOKS[found[1]], markup)


def text_of(text: str) -> str:
    """Text as markup, without the two characters that XML does not allow and that are not hidden otherwise."""
    return shown(text.replace("\ufffe", "\ufffd").replace("\uffff", "\ufffd"))


def px(value: float) -> str:
    """A coordinate with a decimal, without what says nothing."""
    rounded = f"{value:.1f}".removesuffix(".0")
    return "0" if rounded == "-0" else rounded


def words(x: float, y: float, text: str, size: float, look: str = "ink", anchor: str = "start") -> str:
    placed = "" if anchor == "start" else f' text-anchor="{anchor}"'
    return f'<text class="{look}" x="{px(x)}" y="{px(y)}" font-size="{size:g}"{placed}>{text_of(text)}</text>'


def atmosphere_of(point: Point) -> str:
    return point.atmosphere if point.atmosphere in LETTERS else OTHER


def letter_of(atmosphere: str) -> str:
    return LETTERS.get(atmosphere, _NO_LETTER)


def said(point: Point) -> str:
    """A glaze in words, with all figures that its mark shows."""
    fired = f"cone {point.cone}" if point.cone else "no cone"
    return (
        f"{point.name}: {fired}, {point.atmosphere or 'no atmosphere'}; SiO2 {point.silica:.2f}, "
        f"Al2O3 {point.alumina:.2f}, B2O3 {point.boron:.2f}; fluxes: alkalis {point.alkalis:.2f}, "
        f"earths {point.earths:.2f}, zinc and lead {point.zinc_lead:.2f}"
    )


# ---- marks -----------------------------------------------------------------------------------------------

_BAR_LEFT: Final = -9.0
_BAR_WIDTH: Final = 16.0
_BAR_TOP: Final = 6.0
_BAR_HIGH: Final = 3.5
_BORON_LEFT: Final = 8.2
_BORON_WIDE: Final = 2.6
_BORON_A_MOL: Final = 24.0
_MOST_BORON: Final = 0.8


def glyph(letter: str, alkalis: float, earths: float, zinc_lead: float, boron: float) -> Iterator[str]:
    """The mark of one glaze about 0, 0: its letter; below it the fluxes as a bar of three parts; at its right boric
    oxide as an upright bar. The script of the page draws the same (plot.js)."""
    yield f'<text class="letter" y="3.6" font-size="12" text-anchor="middle">{text_of(letter)}</text>'
    left = _BAR_LEFT
    for look, part in (("alkalis", alkalis), ("earths", earths), ("zinc", zinc_lead)):
        wide = _BAR_WIDTH * part
        yield (
            f'<rect class="{look}" x="{left:.2f}" y="{_BAR_TOP:g}" width="{wide:.2f}" height="{_BAR_HIGH:g}"/>'
            if wide >= 0.05
            else ""
        )
        left += wide
    high = _BORON_A_MOL * min(boron, _MOST_BORON)
    if high >= 0.05:
        yield (
            f'<rect class="boron" x="{_BORON_LEFT:g}" y="{_BAR_TOP + _BAR_HIGH - high:.2f}" '
            f'width="{_BORON_WIDE:g}" height="{high:.2f}"/>'
        )


def of_point(point: Point) -> str:
    """The mark of a glaze about 0, 0."""
    parts = (point.alkalis, point.earths, point.zinc_lead, point.boron)
    return "".join(glyph(letter_of(atmosphere_of(point)), *parts))


def _several(sign: str, box: str = "several", look: str = "letter") -> str:
    wide = sign_width(sign)
    return (
        f'<rect class="{box}" x="{px(-wide / 2)}" y="-8" width="{px(wide)}" height="{SIGN_HEIGHT:g}" rx="4"/>'
        f'<text class="{look}" y="4" font-size="11" text-anchor="middle">{text_of(sign)}</text>'
    )


def _mark(mark: Mark, inner: str, told: str, size: float = NAME_SIZE, look: str = "ink") -> Iterator[str]:
    numbers = " ".join(map(str, mark.members))
    yield f'<g data-mark="{numbers}" aria-label="{text_of(told)}">'
    yield f'<g transform="translate({px(mark.x)} {px(mark.y)})">{inner}</g>'
    if mark.beyond:
        yield words(mark.x, mark.y + 18, mark.beyond, 9, look, "middle")
    elif mark.spot:
        yield _label(mark.label, mark, mark.spot, size, look)
    yield "</g>"


def _label(text: str, mark: Mark, spot: Box, size: float, look: str) -> str:
    """A name is narrower than its box; it stands at the side where its mark is."""
    line = spot.bottom - 0.3 * size
    if spot.left >= mark.x:
        return words(spot.left, line, text, size, look)
    if spot.right <= mark.x:
        return words(spot.right, line, text, size, look, "end")
    return words((spot.left + spot.right) / 2, line, text, size, look, "middle")


def _told(mark: Mark, points: tuple[Point, ...]) -> str:
    if len(mark.members) == 1:
        return said(points[mark.members[0]])
    names = "; ".join(said(points[one]) for one in mark.members[:3])
    rest = len(mark.members) - 3
    return f"{len(mark.members)} glazes at one place: {names}" + (f"; and {rest} more" if rest > 0 else "")


def _one_or_several(mark: Mark, points: tuple[Point, ...]) -> str:
    if len(mark.members) == 1:
        return of_point(points[mark.members[0]])
    return _several(str(len(mark.members)))


def _ghost(mark: Mark, points: tuple[Point, ...]) -> str:
    """A mark of the collection behind a path: its letter, or how many it stands for."""
    letters = {letter_of(atmosphere_of(points[one])) for one in mark.members}
    sign = letters.pop() if len(mark.members) == 1 else str(len(mark.members))
    return f'<text class="ghost" y="3.6" font-size="11" text-anchor="middle">{text_of(sign)}</text>'


def _path_mark(mark: Mark, stops: tuple[Stop, ...]) -> str:
    here = [stop for stop in stops if stop.point in mark.members]
    is_main = any(not stop.aside for stop in here)
    if all(stop.board for stop in here):
        return f'<circle class="stop" r="{DOT:g}"/>'
    if mark.dot:
        return f'<circle class="{"stop" if is_main else "variation"}" r="{DOT:g}"/>'
    sign = sign_of(here)
    return _several(sign, "stop", "sign") if is_main else _several(sign, "variation", "letter")


# ---- panels ----------------------------------------------------------------------------------------------


def panel(one: Panel, chart: Chart) -> Iterator[str]:
    """What stands in the drawing of a panel, of WIDTH by HEIGHT."""
    yield from _axes(one)
    for mark in one.behind:
        yield from _mark(mark, _ghost(mark, chart.points), _told(mark, chart.points), 10, "soft")
    if one.view:
        left, top, right, bottom = one.view
        yield (
            f'<rect class="view" x="{px(left)}" y="{px(top)}" width="{px(max(right - left, 4))}" '
            f'height="{px(max(bottom - top, 4))}"/>'
        )
    if one.net:
        lines = "".join(f"M{px(x)} {px(y)}L{px(to_x)} {px(to_y)}" for x, y, to_x, to_y in one.net)
        yield f'<path class="net" d="{lines}"/>'
    for step in one.steps:
        yield f'<path class="{"aside" if step.aside else "step"}" d="{_arrow(step)}"/>'
    for mark in one.marks:
        yield from _mark(mark, _one_or_several(mark, chart.points), _told(mark, chart.points))
    for mark in one.path:
        told = "; ".join(
            f"{stop.sign}, {stop.what}: {said(chart.points[stop.point])}"
            for stop in chart.stops
            if stop.point is not None and stop.point in mark.members
        )
        yield from _mark(mark, _path_mark(mark, chart.stops), told)


def _arrow(step: Step) -> str:
    """The line of a step, with a small arrowhead in its middle, where no mark hides it."""
    x, y, to_x, to_y, _ = step
    turn = math.atan2(to_y - y, to_x - x)
    middle = ((x + to_x) / 2 + 3 * math.cos(turn), (y + to_y) / 2 + 3 * math.sin(turn))
    wings = [
        (middle[0] - 7 * math.cos(turn + side), middle[1] - 7 * math.sin(turn + side)) for side in (0.5, -0.5)
    ]
    (ax, ay), (bx, by) = wings
    return (
        f"M{px(x)} {px(y)}L{px(to_x)} {px(to_y)}"
        f"M{px(ax)} {px(ay)}L{px(middle[0])} {px(middle[1])}L{px(bx)} {px(by)}"
    )


def _axes(one: Panel) -> Iterator[str]:
    left, top, right, bottom = one.frame
    outside = [mark for mark in (*one.marks, *one.behind) if mark.beyond]
    if any(mark.x > right for mark in outside):
        yield _margin(right + 3, top, WIDTH - 2, bottom)
    if any(mark.y < top for mark in outside):
        yield _margin(left, 3, WIDTH - 2, top - 3)
    yield (
        f'<rect class="field" x="{px(left)}" y="{px(top)}" width="{px(right - left)}" '
        f'height="{px(bottom - top)}"/>'
    )
    for value in one.across.ticks:
        x = left + one.across.share(value) * (right - left)
        yield f'<path class="rule" d="M{px(x)} {px(top)}V{px(bottom)}"/>'
        yield words(x, bottom + 15, f"{value:.{one.across.decimals}f}", 11, "soft", "middle")
    for value in one.up.ticks:
        y = bottom - one.up.share(value) * (bottom - top)
        yield f'<path class="rule" d="M{px(left)} {px(y)}H{px(right)}"/>'
        yield words(left - 5, y + 4, f"{value:.{one.up.decimals}f}", 11, "soft", "end")
    yield words((left + right) / 2, HEIGHT - 8, f"{one.across.words}, mol to 1 of flux", 12, "ink", "middle")
    middle = (top + bottom) / 2
    yield (
        f'<text class="ink" x="13" y="{px(middle)}" font-size="12" text-anchor="middle" '
        f'transform="rotate(-90 13 {px(middle)})">{text_of(one.up.words)}, mol to 1 of flux</text>'
    )


def _margin(left: float, top: float, right: float, bottom: float) -> str:
    return (
        f'<rect class="margin" x="{px(left)}" y="{px(top)}" width="{px(right - left)}" '
        f'height="{px(bottom - top)}"/>'
    )


def key(chart: Chart) -> Iterator[tuple[str, str]]:
    """What the marks say: each as a drawing about 0, 0, and in words."""
    if chart.stops:
        yield _several("1", "stop", "sign"), "a revision, from the oldest"
        if any(stop.aside and not stop.board for stop in chart.stops):
            yield _several("a", "variation", "letter"), "a variation or a step of a series"
        if any(stop.board for stop in chart.stops):
            dot = f'<circle class="stop" r="{DOT:g}"/><text class="ink" x="5" y="-2" font-size="9">5</text>'
            yield dot, "a point of a blend, by its number on the board"
        yield '<text class="ghost" y="3.6" font-size="11" text-anchor="middle">O</text>', "the collection"
    met = {atmosphere_of(point) for point in chart.points}
    for atmosphere in (*LETTERS, OTHER):
        if atmosphere in met:
            yield "".join(glyph(letter_of(atmosphere), 0, 0, 0, 0)), atmosphere
    if chart.stops:
        return
    yield "".join(glyph("", 1, 0, 0, 0)), "fluxes: alkalis"
    yield "".join(glyph("", 0, 1, 0, 0)), "magnesia, lime, strontia, baryta"
    yield "".join(glyph("", 0, 0, 1, 0)), "zinc, lead"
    yield "".join(glyph("", 0, 0, 0, 0.4)), "boric oxide (this high: 0.4 mol)"
    if any(len(mark.members) > 1 for one in chart.panels for mark in one.marks):
        yield _several("3"), "so many glazes at one place"
