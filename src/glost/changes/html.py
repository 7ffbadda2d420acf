"""A comparison as one page that needs nothing else: of each recipe the old bars above the new, then the figures."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

from glost.changes.nodes import brief_nodes, collection_nodes, nodes_of, worth_telling
from glost.changes.pictures import Made, Picture
from glost.changes.report import Report, Reported, summary
from glost.output.model import Heading, Paragraph
from glost.output.model.html import as_html
from glost.output.parts_bar import listed, parts_bar, whole_of
from glost.output.unity_bars import Glaze, lanes, longest
from glost.output.web import document, shown, some_of

_ARROW = "\u2192"
_STYLES = ("common.css", "history.css", "unity.css", "compare.css")


def html(report: Report) -> str:
    """The whole page."""
    whose = some_of(one.title for one in report.recipes if worth_telling(one))
    foot = f"Comparison: {whose or summary(report)}"
    return document(f"Comparison: {summary(report)}", _body(report), _STYLES, feet={"": foot})


def _body(report: Report) -> Iterator[str]:
    yield "<main>"
    yield from as_html([Heading("What changed", 1), Paragraph(summary(report), "strong")])
    told = [one for one in report.recipes if worth_telling(one)]
    if len(told) > 1:
        yield from as_html(brief_nodes(report, _ARROW))
    for collection in report.collections:
        yield "<section>"
        yield from as_html(collection_nodes(collection, _ARROW))
        yield "</section>"
    for one in told:
        yield "<section>"
        yield from _recipe(one)
        yield "</section>"
    yield "</main>"


def _recipe(one: Reported) -> Iterator[str]:
    heading, files, *nodes = nodes_of(one, _ARROW, 2)
    yield from as_html([heading, files])
    for picture in one.pictures:
        yield from _picture(picture)
    yield from as_html(nodes)


def _picture(picture: Picture) -> Iterator[str]:
    sides = [(name, made) for name, made in (("old", picture.old), ("new", picture.new)) if made is not None]
    yield f"<figure><figcaption>{shown(picture.label or 'the recipe as it stands')}</figcaption>"
    yield '<dl class="made">'
    whole = max(whole_of(made.slices) for _, made in sides)
    for name, made in sides:
        yield f"<div><dt>{name}</dt><dd>{parts_bar(made.slices, whole)}<small>{shown(_listed(made))}</small></dd></div>"
    yield "</dl>"
    formulas = [Glaze(name, made.unity) for name, made in sides if made.unity is not None]
    if formulas and _fires_to_another(picture):
        yield from lanes(formulas, longest(one.unity for one in formulas))
    yield "</figure>"


def _listed(made: Made) -> str:
    base, added = listed(made.slices)
    return "; + ".join(filter(None, (base, added)))


def _fires_to_another(picture: Picture) -> bool:
    """A material may give way to another that brings the same."""
    terms = [
        {term.oxide: f"{term.equivalents:.3f}" for term in made.unity.terms}
        for made in (picture.old, picture.new)
        if made is not None and made.unity is not None
    ]
    return len(terms) < 2 or len(set(chain.from_iterable(one.items() for one in terms))) > len(terms[0])
