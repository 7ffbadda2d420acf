"""The chart as one drawing that needs no style sheet, no font of its own and no network."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator
from typing import Final

from glost.chemistry.unity import COLOURANTS, FLUXES
from glost.output.plot.chart import HEIGHT, WIDTH, Chart, Panel, unnamed
from glost.output.plot.draw import FONT, alone, key, panel, px, text_of, words
from glost.output.plot.labels import shortened, text_width
from glost.output.plot.points import Point

_DRAWN: Final = "<!-- drawn by glost -->"
DRAWN: Final = re.compile(f"^{_DRAWN}$", re.MULTILINE)
"""What is found in every such file."""

_EDGE: Final = 16.0
_ROW: Final = 15.0
_SMALL: Final = 11.0
_PANEL: Final = HEIGHT + 34
_LEAST_COLUMNS: Final = 2
_MOST_COLUMNS: Final = 3


def convention() -> str:
    """What the figures are, in words."""
    return (
        f"Unity formula of each recipe, additions included: {', '.join(FLUXES)} together are 1 mol of flux; colouring "
        f"oxides ({', '.join(COLOURANTS)}) are not counted. Calculated from the analyses of the catalogue and of the "
        "collection. No place on the chart says how a glaze melts, fits its body, or wears."
    )


def beyond(chart: Chart) -> list[int]:
    """The glazes beyond the axes of a panel, as numbers."""
    return [number for one in chart.panels for mark in one.marks if mark.beyond for number in mark.members]


def svg(chart: Chart) -> str:
    """The whole file: the panels, and below them the glazes whose names found no room."""
    columns = max(_LEAST_COLUMNS, min(_MOST_COLUMNS, len(chart.panels)))
    width = columns * WIDTH + 2 * _EDGE
    body, y = _head(chart, width)
    for at, one in enumerate(chart.panels):
        row, column = divmod(at, columns)
        x, top = _EDGE + column * WIDTH, y + row * _PANEL
        body.append(words(x + 46, top, titled(one), 14, "letter"))
        body.append(f'<g transform="translate({px(x)} {px(top + 4)})">')
        body += panel(one, chart)
        body.append("</g>")
    y += -(-len(chart.panels) // columns) * _PANEL + 8
    for line in _below(chart, width - 2 * _EDGE):
        if line:
            body.append(words(_EDGE, y, line, _SMALL, "soft"))
        y += _ROW
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n{_DRAWN}\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {px(width)} {px(y)}" width="{px(width)}" '
        f'height="{px(y)}" font-family="{FONT}" role="group" aria-label="{text_of(chart.title)}">\n'
        f"<title>{text_of(chart.title)}</title>\n"
        f'<rect fill="#ffffff" width="{px(width)}" height="{px(y)}"/>\n'
        + alone("\n".join(body))
        + "\n</svg>\n"
    )


def titled(one: Panel) -> str:
    """The heading of a panel, with how many glazes it holds."""
    count = sum(len(mark.members) for mark in one.marks)
    return f"{one.title}: {count} glaze{'' if count == 1 else 's'}" if count else one.title


def _head(chart: Chart, width: float) -> tuple[list[str], float]:
    """Title, filter and key; and where the panels begin."""
    lines = [words(_EDGE, 30, chart.title, 20, "letter")]
    y = 50.0
    if chart.meant:
        lines.append(words(_EDGE, y, f"Only these: {chart.meant}.", 13, "ink"))
        y += 22
    x = _EDGE + 12
    for drawn, said in key(chart):
        wide = 30 + text_width(said, 11)
        if x + wide > width - _EDGE:
            x, y = _EDGE + 12, y + 24
        lines.append(f'<g transform="translate({px(x)} {px(y)})">{drawn}</g>')
        lines.append(words(x + 15, y + 4, said, 11))
        x += wide
    return lines, y + 34


def _below(chart: Chart, width: float) -> Iterator[str]:
    """The lines below the panels: stops of a path, what lies beyond the axes, who has no name or no place, and what
    the figures are."""
    # A usual letter is a good half as wide as it is high.
    columns = int(width / (0.56 * _SMALL))
    for stop in chart.stops:
        place = figures(chart.points[stop.point]) if stop.point is not None else f"no place; {stop.why}"
        named = "  ".join(filter(None, (stop.sign, stop.what, stop.when, shortened(stop.said, 60))))
        yield from textwrap.wrap(f"{named}: {place}", columns, subsequent_indent="      ")
    for heading, told in (
        ("Beyond the axes, in the margins", [_named(chart.points[number]) for number in beyond(chart)]),
        ("Without a name for want of room", [_named(chart.points[number]) for number in unnamed(chart)]),
        (
            "Not on the chart",
            [f"{shortened(one.name, 40)} ({shortened(one.why, 80)})" for one in chart.left_out],
        ),
    ):
        if told:
            yield ""
            yield from textwrap.wrap(f"{heading}: {'; '.join(told)}.", columns)
    yield ""
    yield from textwrap.wrap(convention(), columns)


def figures(point: Point) -> str:
    """What a mark shows, in short."""
    return (
        f"SiO\u2082 {point.silica:.2f}, Al\u2082O\u2083 {point.alumina:.2f}, B\u2082O\u2083 {point.boron:.2f}; alkalis "
        f"{point.alkalis:.2f}, earths {point.earths:.2f}, zinc and lead {point.zinc_lead:.2f}"
    )


def _named(point: Point) -> str:
    return f"{shortened(point.name, 40)} {point.x:.2f}, {point.y:.2f}"
