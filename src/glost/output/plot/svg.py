"""The chart as SVG: one drawing that needs no style sheet, no font of its own and no network."""

from __future__ import annotations

import math
import re
import textwrap
from collections.abc import Iterator, Sequence
from typing import Final

from glost.chemistry.unity import COLOURANTS, FLUXES
from glost.output.plot.chart import (
    NAME_SIZE,
    NUMBER_SIZE,
    WIDTH,
    Chart,
    Mark,
    shortened,
    x_of,
    y_of,
)
from glost.output.plot.points import BANDS, Point, ratio
from glost.output.web import shown

_PAPER: Final = "#fcfbf8"
_FIELD: Final = "#ffffff"
_INK: Final = "#20262b"
_SOFT: Final = "#5c656b"
_FAINT: Final = "#e9e6df"
_RATIO: Final = "#c3b9a6"
_LINE: Final = "#7d868c"
TONES: Final = ("#f6dd9c", "#63a59b", "#1d3a57", "#ffffff")
"""One for each of BANDS; light, middle and dark, so that they hold up without colour."""
_FONT: Final = "Helvetica, Arial, 'Liberation Sans', 'DejaVu Sans', sans-serif"
SHAPES: Final = ("oxidation", "reduction", "neutral", "raku", "salt", "soda", "wood")
"""Atmospheres with a mark of their own; any other, or none, has the mark of "other"."""
OTHER: Final = "other or none"

SILICA: Final = "SiO\u2082, mol per mol of flux"
ALUMINA: Final = "Al\u2082O\u2083, mol per mol of flux"
_HALO: Final = {"stroke": _FIELD, "stroke_width": "2.4", "paint_order": "stroke", "stroke_linejoin": "round"}
"""A label that stands on a line stays readable."""
_ROW: Final = 15.0
_COLUMNS: Final = 4


_DRAWN: Final = "<!-- drawn by glost -->"
DRAWN: Final = re.compile(f"^{_DRAWN}$", re.MULTILINE)
"""What is found in every such file."""


def convention() -> str:
    """What the figures are, in words."""
    return (
        f"Unity formula of each recipe as it stands, additions included: {', '.join(FLUXES)} together are 1 mol of "
        f"flux; colouring oxides ({', '.join(COLOURANTS)}) are not counted. Calculated from the analyses of the "
        "catalogue and of the collection. Boric oxide and the kind of flux are not on the chart: neighbours can be "
        "quite different glazes, and no place on it says how one melts, fits or wears."
    )


def svg(chart: Chart) -> str:
    """The whole file, with a table of names where the points are numbered."""
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{_DRAWN}\n' + "\n".join(drawing(chart, True)) + "\n"


def drawing(chart: Chart, table: bool) -> Iterator[str]:
    """The drawing, line by line. ``table``: with the table and the notes below it."""
    below = list(_below(chart)) if table else []
    height = _height(chart) if table else chart.frame.bottom + 62
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {_px(height)}" width="{WIDTH}" '
        f'height="{_px(height)}" font-family="{_FONT}" fill="{_INK}" role="group" aria-label="{text_of(chart.title)}">'
    )
    yield f"<title>{text_of(chart.title)}</title>"
    yield f'<rect width="{WIDTH}" height="{_px(height)}" fill="{_PAPER}"/>'
    yield from _head(chart)
    yield from _axes(chart)
    yield from _ratio_lines(chart)
    yield f'<g fill="none" stroke="{_LINE}" stroke-width="0.7">'
    for at, mark in enumerate(chart.marks):
        if mark.spot.line is not None:
            x, y, to_x, to_y = map(_px, mark.spot.line)
            yield f'<path id="l{at + 1}" d="M{x} {y}L{to_x} {to_y}"/>'
    yield "</g>"
    for at, mark in enumerate(chart.marks):
        yield from _mark(at, mark, chart)
    yield from below
    yield "</svg>"


def text_of(text: str) -> str:
    """Text as markup, without the two characters that XML does not allow and that are not hidden otherwise."""
    return shown(text.replace("\ufffe", "\ufffd").replace("\uffff", "\ufffd"))


def said(point: Point) -> str:
    """A point in words."""
    fired = f"cone {point.cone}" if point.cone else "no cone"
    of_both = ratio(point)
    return (
        f"{point.name}: {fired}, {point.atmosphere or 'no atmosphere'}; SiO2 {point.silica:.2f}, "
        f"Al2O3 {point.alumina:.2f}" + (f", SiO2 : Al2O3 {of_both:.1f}" if of_both else "")
    )


def shape_of(atmosphere: str) -> str:
    return atmosphere if atmosphere in SHAPES else OTHER


def _px(value: float) -> str:
    """A coordinate with a decimal, without what says nothing."""
    rounded = f"{value:.1f}".removesuffix(".0")
    return "0" if rounded == "-0" else rounded


def _text(x: float, y: float, text: str, size: float, **more: str) -> str:
    attributes = "".join(f' {name.replace("_", "-")}="{value}"' for name, value in more.items())
    return f'<text x="{_px(x)}" y="{_px(y)}" font-size="{size:g}"{attributes}>{text_of(text)}</text>'


# ---- around the points -----------------------------------------------------------------------------------


def _head(chart: Chart) -> Iterator[str]:
    yield _text(chart.frame.left, 44, chart.title, 24, font_weight="bold")
    meant = f"{chart.meant}. " if chart.meant else ""
    yield _text(
        chart.frame.left,
        66,
        f"{meant}Fluxes are taken as 1. Dotted: one ratio of SiO\u2082 to Al\u2082O\u2083.",
        13,
        fill=_SOFT,
    )
    yield from key(chart.marks, chart.frame.left, 96)


def key(marks: Sequence[Mark], x: float, y: float) -> Iterator[str]:
    """What shapes and tones stand for, those that are on the chart."""
    bands = sorted({mark.point.band for mark in marks})
    shapes = {shape_of(mark.point.atmosphere) for mark in marks}
    yield _text(x, y + 4, "Tone", 12, font_weight="bold")
    x += 42
    for band in bands:
        yield f'<rect x="{_px(x)}" y="{_px(y - 6)}" width="18" height="12" {_paint(band)}/>'
        yield _text(x + 24, y + 4, BANDS[band], 12)
        x += 24 + 7.0 * len(BANDS[band]) + 16
    x += 14
    yield _text(x, y + 4, "Shape", 12, font_weight="bold")
    x += 50
    for shape in (*SHAPES, OTHER):
        if shape in shapes:
            yield f'{_outline(shape, x, y, 5.5)} fill="#b9c0c4" stroke="{_INK}" stroke-width="1.1"/>'
            yield _text(x + 11, y + 4, shape, 12)
            x += 11 + 6.6 * len(shape) + 20


def _axes(chart: Chart) -> Iterator[str]:
    left, top, right, bottom = chart.frame
    yield (
        f'<rect x="{_px(left)}" y="{_px(top)}" width="{_px(right - left)}" height="{_px(bottom - top)}" '
        f'fill="{_FIELD}" stroke="{_SOFT}"/>'
    )
    for value in chart.silica.ticks:
        x = x_of(value, chart.silica, chart.frame)
        yield f'<path d="M{_px(x)} {_px(top)}V{_px(bottom)}" stroke="{_FAINT}"/>'
        yield f'<path d="M{_px(x)} {_px(bottom)}v5" stroke="{_SOFT}"/>'
        yield _text(x, bottom + 19, f"{value:.{chart.silica.decimals}f}", 12, text_anchor="middle")
    for value in chart.alumina.ticks:
        y = y_of(value, chart.alumina, chart.frame)
        yield f'<path d="M{_px(left)} {_px(y)}H{_px(right)}" stroke="{_FAINT}"/>'
        yield f'<path d="M{_px(left)} {_px(y)}h-5" stroke="{_SOFT}"/>'
        yield _text(left - 9, y + 4, f"{value:.{chart.alumina.decimals}f}", 12, text_anchor="end")
    yield _text((left + right) / 2, bottom + 44, SILICA, 14, text_anchor="middle", font_weight="bold")
    x, y = 24, (top + bottom) / 2
    yield _text(
        x, y, ALUMINA, 14, text_anchor="middle", font_weight="bold", transform=f"rotate(-90 {x} {_px(y)})"
    )


def _ratio_lines(chart: Chart) -> Iterator[str]:
    yield f'<g stroke="{_RATIO}" stroke-width="1.2" stroke-dasharray="1.5 4" stroke-linecap="round">'
    for line in chart.ratios:
        yield f'<path d="M{_px(line.x)} {_px(line.y)}L{_px(line.to_x)} {_px(line.to_y)}"/>'
    yield "</g>"
    for line in chart.ratios:
        box = line.box
        if box is None:
            continue
        yield (
            f'<rect x="{_px(box.left)}" y="{_px(box.top)}" width="{_px(box.right - box.left)}" '
            f'height="{_px(box.bottom - box.top)}" fill="{_FIELD}"/>'
        )
        yield _text(
            (box.left + box.right) / 2,
            box.bottom - 3.5,
            f"{line.value} : 1",
            10,
            text_anchor="middle",
            fill="#8a7a5c",
        )


# ---- the points ------------------------------------------------------------------------------------------


def _mark(at: int, mark: Mark, chart: Chart) -> Iterator[str]:
    point, box = mark.point, mark.spot.box
    yield (
        f'<g id="p{at + 1}" data-low="{point.low}" data-high="{point.high}" '
        f'data-atmosphere="{text_of(shape_of(point.atmosphere))}">'
    )
    yield f"<title>{text_of(said(point))}</title>"
    if mark.away is not None:
        yield _arrow(mark, mark.away, chart.radius)
    yield f"{_outline(shape_of(point.atmosphere), mark.x, mark.y, chart.radius)} {_paint(point.band)}/>"
    size = NUMBER_SIZE if chart.numbered else NAME_SIZE
    # Text is narrower than its box; it stands at the side where its point is.
    x, anchor = (box.left + box.right) / 2, "middle"
    if box.left >= mark.x - 1:
        x, anchor = box.left + 1, "start"
    elif box.right <= mark.x + 1:
        x, anchor = box.right - 1, "end"
    yield _text(x, box.bottom - 1 - 0.22 * size, mark.label, size, text_anchor=anchor, **_HALO)
    yield "</g>"


def _arrow(mark: Mark, turn: float, radius: float) -> str:
    """A small arrow at a point that lies beyond the edge, towards where it is."""
    reach = radius + 5
    tip = (mark.x + reach * math.cos(turn), mark.y + reach * math.sin(turn))
    wings = [(tip[0] - 5 * math.cos(turn + side), tip[1] - 5 * math.sin(turn + side)) for side in (0.6, -0.6)]
    return (
        f'<path d="M{_px(wings[0][0])} {_px(wings[0][1])}L{_px(tip[0])} {_px(tip[1])}L{_px(wings[1][0])} '
        f'{_px(wings[1][1])}" fill="none" stroke="{_INK}" stroke-width="1.4"/>'
    )


def _paint(band: int) -> str:
    dashes = ' stroke-dasharray="2 1.5"' if band == 3 else ""
    return f'fill="{TONES[band]}" stroke="{_INK}" stroke-width="1.1"{dashes}'


_CORNERS: Final = {
    "reduction": ((-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)),
    "neutral": ((0, -1.3), (1.3, 0), (0, 1.3), (-1.3, 0)),
    "raku": ((-1.2, -0.9), (1.2, -0.9), (0, 1.25)),
    "salt": ((-1.2, 0.9), (1.2, 0.9), (0, -1.25)),
    "soda": tuple(
        (1.2 * math.sin(2 * math.pi * corner / 5), -1.2 * math.cos(2 * math.pi * corner / 5))
        for corner in range(5)
    ),
    "wood": (
        *((-0.45, -1.2), (0.45, -1.2), (0.45, -0.45), (1.2, -0.45), (1.2, 0.45), (0.45, 0.45)),
        *((0.45, 1.2), (-0.45, 1.2), (-0.45, 0.45), (-1.2, 0.45), (-1.2, -0.45), (-0.45, -0.45)),
    ),
    OTHER: ((-1.2, -1.0), (1.2, -1.0), (-1.2, 1.0), (1.2, 1.0)),
}


def _outline(shape: str, x: float, y: float, radius: float) -> str:
    """The open tag of a shape, to be painted."""
    if shape == "oxidation":
        return f'<circle cx="{_px(x)}" cy="{_px(y)}" r="{_px(radius)}"'
    corners = " ".join(
        f"{x + radius * across:.1f},{y + radius * down:.1f}" for across, down in _CORNERS[shape]
    )
    return f'<polygon points="{corners}"'


# ---- below the chart -------------------------------------------------------------------------------------


def _rows(chart: Chart) -> int:
    return -(-len(chart.marks) // _COLUMNS) if chart.numbered else 0


def _notes(chart: Chart) -> list[str]:
    notes = textwrap.wrap(convention(), 178)
    told = beyond(chart)
    if told:
        notes += textwrap.wrap(told, 178)
    if chart.left_out:
        told = "; ".join(f"{shortened(one.name, 40)} ({shortened(one.why, 80)})" for one in chart.left_out)
        notes += textwrap.wrap(f"Not on the chart: {told}.", 178)
    return notes


def beyond(chart: Chart) -> str:
    """What lies beyond the axes, or ""."""
    told = "; ".join(
        f"{shortened(mark.point.name, 40)} {mark.point.silica:.2f}, {mark.point.alumina:.2f}"
        for mark in chart.marks
        if mark.away is not None
    )
    return f"Beyond the axes, at the arrows (SiO2, Al2O3): {told}." if told else ""


def _height(chart: Chart) -> float:
    table = _rows(chart) * _ROW + 44 if chart.numbered else 0
    return chart.frame.bottom + 70 + table + 16 * len(_notes(chart)) + 14


def _below(chart: Chart) -> Iterator[str]:
    y = chart.frame.bottom + 70
    if chart.numbered:
        yield from _table(chart, y)
        y += _rows(chart) * _ROW + 44
    for line in _notes(chart):
        yield _text(chart.frame.left, y + 6, line, 11.5, fill=_SOFT)
        y += 16


def _table(chart: Chart, y: float) -> Iterator[str]:
    rows = _rows(chart)
    width = (chart.frame.right - chart.frame.left) / _COLUMNS
    for column in range(min(_COLUMNS, -(-len(chart.marks) // max(rows, 1)))):
        x = chart.frame.left + column * width
        yield _text(x + width - 52, y, "SiO\u2082", 10.5, text_anchor="end", fill=_SOFT)
        yield _text(x + width - 14, y, "Al\u2082O\u2083", 10.5, text_anchor="end", fill=_SOFT)
    y += 18
    for at, mark in enumerate(chart.marks):
        column, row = divmod(at, rows)
        x, line = chart.frame.left + column * width, y + row * _ROW
        point = mark.point
        if row % 5 == 4 and row < rows - 1:
            yield f'<path d="M{_px(x)} {_px(line + 4.5)}h{_px(width - 14)}" stroke="{_FAINT}"/>'
        yield _text(x + 22, line, mark.label, 11, text_anchor="end", font_weight="bold")
        yield f"{_outline(shape_of(point.atmosphere), x + 33, line - 4, 4)} {_paint(point.band)}/>"
        yield _text(x + 44, line, shortened(point.name, 22), 11)
        yield _text(x + width - 52, line, f"{point.silica:.2f}", 11, text_anchor="end", fill=_SOFT)
        yield _text(x + width - 14, line, f"{point.alumina:.2f}", 11, text_anchor="end", fill=_SOFT)
