"""The chart as a page: the same drawing, with a filter by cone and atmosphere and a table. One file, no network."""

from __future__ import annotations

from collections.abc import Iterator

from glost.output.plot.chart import Chart
from glost.output.plot.points import ratio
from glost.output.plot.svg import OTHER, SHAPES, beyond, convention, drawing, shape_of
from glost.output.web import document, shown
from glost.recipe.cone import cone_at


def page(chart: Chart) -> str:
    """The whole file."""
    return document(chart.title, _body(chart), ["plot.css"], ["plot.js"], {"glazes": len(chart.marks)})


def _body(chart: Chart) -> Iterator[str]:
    yield "<main>"
    yield from _filter(chart)
    yield '<p id="told" role="status" aria-live="polite"></p>'
    yield '<div id="chart">'
    yield from drawing(chart, False)
    yield "</div>"
    yield f'<p class="note">{shown(convention())}</p>'
    if told := beyond(chart):
        yield f'<p class="note">{shown(told)}</p>'
    if chart.left_out:
        yield '<section class="note"><h2>Not on the chart</h2>\n<ul>'
        for one in chart.left_out:
            yield f"<li>{shown(one.name)}: {shown(one.why)}</li>"
        yield "</ul></section>"
    yield from _table(chart)
    yield "</main>"


def _filter(chart: Chart) -> Iterator[str]:
    ranks = sorted({rank for mark in chart.marks for rank in (mark.point.low, mark.point.high) if rank >= 0})
    shapes = {shape_of(mark.point.atmosphere) for mark in chart.marks}
    yield '<form id="filter" aria-label="What is shown">'
    for name, label, chosen in (("from", "Cone from", ranks[:1]), ("to", "to", ranks[-1:])):
        yield f'<label>{label} <select id="{name}">'
        for rank in ranks:
            selected = " selected" if rank in chosen else ""
            yield f'<option value="{rank}"{selected}>{cone_at(rank)}</option>'
        yield "</select></label>"
    if any(mark.point.high < 0 for mark in chart.marks):
        yield '<label><input type="checkbox" id="coneless" checked> without a cone</label>'
    yield "<fieldset><legend>Atmosphere</legend>"
    for shape in (*SHAPES, OTHER):
        if shape in shapes:
            yield f'<label><input type="checkbox" name="atmosphere" value="{shape}" checked> {shape}</label>'
    yield "</fieldset>"
    yield '<button type="reset">Show all</button>'
    yield '<span class="keys">On the chart: arrow keys go from glaze to glaze, Home and End to the ends.</span>'
    yield "</form>"


def _table(chart: Chart) -> Iterator[str]:
    yield '<table id="table">'
    yield f"<caption>The glazes of the chart{', by their numbers' if chart.numbered else ''}</caption>"
    yield (
        "<thead><tr>"
        + ('<th scope="col">No.</th>' if chart.numbered else "")
        + '<th scope="col">Glaze</th><th scope="col">Cone</th><th scope="col">Atmosphere</th>'
        '<th scope="col">SiO\u2082</th><th scope="col">Al\u2082O\u2083</th>'
        '<th scope="col">SiO\u2082 : Al\u2082O\u2083</th>'
        '<th scope="col">File</th></tr></thead>'
    )
    yield "<tbody>"
    for at, mark in enumerate(chart.marks, 1):
        point = mark.point
        of_both = ratio(point)
        yield (
            f'<tr id="r{at}">'
            + (f"<td>{at}</td>" if chart.numbered else "")
            + f'<th scope="row">{shown(point.name)}</th><td>{shown(point.cone)}</td><td>{shown(point.atmosphere)}</td>'
            f"<td>{point.silica:.2f}</td><td>{point.alumina:.2f}</td>"
            f"<td>{f'{of_both:.1f}' if of_both else ''}</td><td>{shown(point.file)}</td></tr>"
        )
    yield "</tbody></table>"
