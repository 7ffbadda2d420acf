"""What came of the tiles as one page for a browser: whole without its script, and narrowed down with it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Final, NamedTuple

from glost.changes.results import FiredTile, Result, by_recipe, terms_of, title_of
from glost.output.model import Heading, Terms
from glost.output.model.html import as_html
from glost.output.web import document, shown, some_of
from glost.recipe.names import folded

_CHOICES: Final = ("fault", "cone", "kiln", "person", "body", "lot")
"""What the tiles can be narrowed down by, as by the options of the command."""


class Picture(NamedTuple):
    """The photo of a tile: the way to it as an address, and a small one as the address of an image, "" for none."""

    address: str
    small: str


def html(results: Sequence[Result], pictures: Mapping[tuple[str, str], Picture] | None = None) -> str:
    """One page that needs nothing else. ``pictures``: of the tiles by the file of their firing and their name; small
    ones stand on the page, and lead to the large ones."""
    body = ["<main>", f"<h1>{shown('Results')}</h1>"]
    if not results:
        body += [f"<p>{shown('No fired tile is known here.')}</p>", "</main>"]
        return document("Results", body, ["common.css", "history.css"], feet={"": "Results"})
    groups = by_recipe(results)
    in_order = [one for group in groups.values() for one in group]
    body += _form(in_order)
    for recipe, group in groups.items():
        body += ['<section class="recipe">', *as_html([Heading(recipe)])]
        for one in group:
            body += [
                '<section class="tile">',
                *as_html([Heading(title_of(one.fired), 3), Terms(list(terms_of(one)))]),
            ]
            picture = (pictures or {}).get((one.fired.file, one.fired.tile.name))
            if picture is not None:
                body.append(_linked(picture, one.fired.tile.name))
            body.append("</section>")
        body.append("</section>")
    body.append("</main>")
    return document(
        "Results",
        body,
        ["common.css", "history.css", "results.css"],
        ["results.js"],
        _held(in_order),
        pictures=True,
        feet={"": f"Results: {some_of(one.fired.recipe for one in in_order)}"},
    )


def _linked(picture: Picture, tile: str) -> str:
    words = shown(f"photo of tile {tile}")
    inside = f'<img src="{shown(picture.small)}" alt="{words}">' if picture.small else words
    return f'<p><a href="{shown(picture.address)}">{inside}</a></p>'


def _form(results: Iterable[Result]) -> Iterator[str]:
    """A field for words and a choice for each thing that the tiles differ in or may lack."""
    yield '<div id="narrow" role="search" hidden>'
    yield '<label>Words <input type="search" id="words" autocomplete="off" spellcheck="false"></label>'
    values: dict[str, dict[str, str]] = {what: {} for what in _CHOICES}
    for one in results:
        for what, there in _values(one.fired).items():
            for value in there:
                values[what].setdefault(folded(value), value)
    for what in _CHOICES:
        if values[what]:
            options = "".join(
                f'<option value="{shown(key)}">{shown(value)}</option>'
                for key, value in sorted(values[what].items())
            )
            label = shown(what.capitalize())
            yield f'<label>{label} <select data-what="{what}"><option value="">all</option>{options}</select></label>'
    yield '<button type="button" id="all">Show all</button>'
    yield "</div>"
    yield '<p id="count" role="status"></p>'


def _values(fired: FiredTile) -> dict[str, tuple[str, ...]]:
    firing, tile = fired.firing, fired.tile
    cones = (str(cone) for cone in (firing.reached, firing.cone) if cone)
    return {
        "fault": tile.faults,
        "cone": tuple(dict.fromkeys(cones)),
        "kiln": (firing.kiln,) if firing.kiln else (),
        "person": (fired.person,) if fired.person else (),
        "body": (tile.body,) if tile.body else (),
        "lot": tuple(dict.fromkeys(fired.lots)),
    }


def _held(results: Sequence[Result]) -> list[dict[str, Any]]:
    """What each tile of the page is found by, in its order; what it has nothing of is left out."""
    return [
        {what: [folded(value) for value in there] for what, there in _values(one.fired).items() if there}
        for one in results
    ]
