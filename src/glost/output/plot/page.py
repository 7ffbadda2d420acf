"""The charts as a page: the same panels, with a filter, a card for each mark, and a table. One file, no network."""

from __future__ import annotations

from collections.abc import Iterator

from glost.output.plot.chart import HEIGHT, WIDTH, Chart, Stop
from glost.output.plot.draw import LETTERS, OTHER, atmosphere_of, key, letter_of, panel, px
from glost.output.plot.points import FIGURES, Point
from glost.output.plot.svg import beyond, convention, titled
from glost.output.web import document, in_short, shown, some_of
from glost.recipe.cone import cone_at


def page(chart: Chart) -> str:
    """The whole file."""
    return document(
        chart.title,
        _body(chart),
        ["common.css", "plot.css"],
        ["plot.js"],
        _held(chart),
        feet={"": _foot(chart)},
    )


def _foot(chart: Chart) -> str:
    """Whose chart it is. How many glazes it shows is known where it is filtered, on the page itself."""
    axes = f"glazes by {FIGURES[chart.axes.across].words} and {FIGURES[chart.axes.up].words}"
    whose = ": ".join(filter(None, (some_of(chart.collections), chart.title if chart.stops else axes)))
    return f"{whose}; {in_short(chart.meant)}" if chart.meant else whose


def _held(chart: Chart) -> object:
    """What the script needs of each glaze; the figures are those of the marks."""
    return {
        "collection": chart.collection,
        "glazes": [
            [
                point.name,
                letter_of(atmosphere_of(point)),
                atmosphere_of(point),
                point.low,
                point.high,
                *(round(part, 4) for part in (point.alkalis, point.earths, point.zinc_lead, point.boron)),
            ]
            for point in chart.points
        ],
    }


def _body(chart: Chart) -> Iterator[str]:
    yield '<main id="plot">'
    yield f"<h1>{shown(chart.title)}</h1>"
    if chart.meant:
        yield f"<p>Only these: {shown(chart.meant)}.</p>"
    if not chart.stops:
        yield '<p id="asked" role="status"></p>'
        yield from _filter(chart)
    yield from _key(chart)
    yield '<div class="panels">'
    for one in chart.panels:
        yield f'<figure data-title="{shown(one.title)}"><figcaption>{shown(titled(one))}</figcaption><div class="pane">'
        yield (
            f'<svg viewBox="0 0 {px(WIDTH)} {px(HEIGHT)}" role="group" aria-label="{shown(one.title)}" '
            'font-family="inherit">'
        )
        yield from panel(one, chart)
        yield "</svg></div></figure>"
    yield "</div>"
    yield '<div id="card" hidden></div>'
    yield '<p class="keys">Point at a mark or tap it: a card tells its glazes. Arrow keys go from mark to mark.</p>'
    if chart.stops:
        yield from _stops(chart)
    yield from _table(chart)
    if far := beyond(chart):
        yield '<section class="note"><h2>Beyond the axes, in the margins</h2><ul>'
        for number in far:
            point = chart.points[number]
            yield f'<li data-glaze="{number}">{shown(point.name)}: {point.x:.2f}, {point.y:.2f}</li>'
        yield "</ul></section>"
    if chart.left_out:
        yield '<section class="note"><h2>Not on the chart</h2><ul>'
        for left in chart.left_out:
            yield f"<li>{shown(left.name)}: {shown(left.why)}</li>"
        yield "</ul></section>"
    yield f'<p class="note">{shown(convention())}</p>'
    yield "</main>"


def _key(chart: Chart) -> Iterator[str]:
    yield '<ul class="key" aria-label="What the marks say">'
    for drawn, said in key(chart):
        of = f' data-atmosphere="{said}"' if said in (*LETTERS, OTHER) else ""
        yield (
            f'<li{of}><svg viewBox="-12 -12 24 24" width="24" height="24" aria-hidden="true">{drawn}</svg> '
            f"{shown(said)}</li>"
        )
    yield "</ul>"


def _filter(chart: Chart) -> Iterator[str]:
    ranks = sorted({rank for point in chart.points for rank in (point.low, point.high) if rank >= 0})
    met = {atmosphere_of(point) for point in chart.points}
    yield '<details id="choose"><summary>Choose what is shown</summary>'
    yield '<form id="filter">'
    for name, label, chosen in (("from", "Cone from", ranks[:1]), ("to", "to", ranks[-1:])):
        yield f'<label>{label} <select id="{name}">'
        for rank in ranks:
            selected = " selected" if rank in chosen else ""
            yield f'<option value="{cone_at(rank)}" data-rank="{rank}"{selected}>{cone_at(rank)}</option>'
        yield "</select></label>"
    if any(point.high < 0 for point in chart.points):
        yield '<label><input type="checkbox" id="coneless" checked> without a cone</label>'
    yield "<fieldset><legend>Atmosphere</legend>"
    for atmosphere in (*LETTERS, OTHER):
        if atmosphere in met:
            yield (
                f'<label><input type="checkbox" name="atmosphere" value="{atmosphere}" checked> '
                f"{atmosphere}</label>"
            )
    yield "</fieldset>"
    yield '<button type="reset">Show all</button>'
    yield "</form></details>"


_FIGURES = (
    '<th scope="col">SiO\u2082</th><th scope="col">Al\u2082O\u2083</th><th scope="col">B\u2082O\u2083</th>'
    '<th scope="col">Alkalis</th><th scope="col">Earths</th><th scope="col">Zn, Pb</th>'
)


def _figures(point: Point) -> str:
    parts = (point.silica, point.alumina, point.boron, point.alkalis, point.earths, point.zinc_lead)
    return "".join(f'<td class="figure">{part:.2f}</td>' for part in parts)


def _stops(chart: Chart) -> Iterator[str]:
    yield '<div class="scroll" tabindex="0" role="region" aria-label="The path">'
    yield "<table><caption>The path, from the oldest revision</caption>"
    yield (
        '<thead><tr><th scope="col">Mark</th><th scope="col">Revision or variation</th><th scope="col">Day</th>'
        f'<th scope="col">What was changed</th><th scope="col">Cone</th>{_FIGURES}</tr></thead><tbody>'
    )
    for stop in chart.stops:
        yield _stop(stop, chart)
    yield "</tbody></table></div>"


def _stop(stop: Stop, chart: Chart) -> str:
    head = (
        f'<td>{shown(stop.sign)}</td><th scope="row">{shown(stop.what)}</th>'
        f'<td class="day">{shown(stop.when)}</td><td>{shown(stop.said)}</td>'
    )
    if stop.point is None:
        return f'<tr>{head}<td colspan="7">no place: {shown(stop.why)}</td></tr>'
    point = chart.points[stop.point]
    return f'<tr data-row="{stop.point}">{head}<td>{shown(point.cone)}</td>{_figures(point)}</tr>'


def _table(chart: Chart) -> Iterator[str]:
    first = chart.collection
    if first == len(chart.points):
        return
    yield '<div class="scroll" tabindex="0" role="region" aria-label="The glazes">'
    yield f"<table><caption>{'The collection' if chart.stops else 'The glazes of the chart'}</caption>"
    yield (
        '<thead><tr><th scope="col">Glaze</th><th scope="col">Cone</th><th scope="col">Atmosphere</th>'
        f'{_FIGURES}<th scope="col">File</th></tr></thead><tbody>'
    )
    for number, point in enumerate(chart.points[first:], first):
        yield (
            f'<tr data-row="{number}"><th scope="row">{shown(point.name)}</th><td>{shown(point.cone)}</td>'
            f"<td>{shown(point.atmosphere)}</td>{_figures(point)}<td>{shown(point.file)}</td></tr>"
        )
    yield "</tbody></table></div>"
