"""The list at the kiln door, as one page for a phone: what waits for the kiln, and for each tile its place, what came
of it, and a picture. It needs no network; what is filled in goes out as one file, which `glost record` takes in.

Without the script, and on paper, it is a list to write on.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final, NamedTuple

from glost.output.escape import visible
from glost.output.web import document, shown
from glost.recipe.firing import FAULTS
from glost.records import fired

_FOLDER: Final = Path(__file__).parent
_SCRIPTS: Final = ("ways.js", "places.js", "pictures.js", "door.js")
_FIELDS: Final = ("place", "surface", "colour", "flow, mm", "faults", "remarks")
_NO_SCRIPT: Final = (
    "This page needs JavaScript to be filled in; it is switched off, or this viewer has none. Open it with a browser,"
    " or print it and write on it."
)


class Waiting(NamedTuple):
    """A batch that waits for the kiln: the name of its record, its test as a page names it, when and by whom it was
    weighed ("" where nobody knows)."""

    batch: str
    test: str
    day: str = ""
    person: str = ""


class Coming(NamedTuple):
    """The firing that is to come, as far as it is known; ``collection`` is what the collection is called."""

    collection: str
    name: str
    date: str
    kiln: str
    waiting: Sequence[Waiting]


def page(coming: Coming) -> str:
    """The whole file."""
    return document(
        f"{coming.name}: at the kiln door",
        _body(coming),
        styles=("common.css", "door.css"),
        scripts=_SCRIPTS,
        held=_held(coming),
        folder=_FOLDER,
    )


def _body(coming: Coming) -> Iterator[str]:
    count = len(coming.waiting)
    yield "<main>"
    yield f'<header><h1 id="title">{shown(coming.name)}</h1>'
    yield f"<p>{count} tile{'s' if count != 1 else ''} weighed and not yet fired</p></header>"
    yield f"<noscript><p>{shown(_NO_SCRIPT)}</p></noscript>"
    yield '<p id="told" role="status" aria-live="polite"></p>'
    yield '<div id="door"></div>'
    yield '<section class="paper" id="list"><table><thead><tr><th scope="col">tile</th>'
    yield '<th scope="col">test</th>'
    yield "".join(f'<th scope="col">{shown(one)}</th>' for one in _FIELDS)
    yield "</tr></thead><tbody>"
    for number, one in enumerate(coming.waiting, 1):
        about = ", ".join(filter(None, (one.day, one.person)))
        yield f'<tr><th scope="row">{number}</th><td>{shown(one.test)}<small>{shown(about)}</small></td>'
        yield "<td></td>" * len(_FIELDS) + "</tr>"
    yield "</tbody></table></section>"
    yield "</main>"


def _held(coming: Coming) -> dict[str, object]:
    """What the script works with: texts as they go into the file, and ``shown`` for the eye."""
    return {
        "kind": fired.KIND,
        "version": fired.VERSION,
        "collection": coming.collection,
        "name": coming.name,
        "date": coming.date,
        "kiln": coming.kiln,
        "faults": list(FAULTS),
        "longest_side": fired.PAGE_SIDE,
        "most_bytes": fired.PAGE_BYTES,
        "most_tiles": fired.MOST_TILES,
        "longest": fired.LONGEST,
        "longest_line": fired.LONGEST_LINE,
        "tiles": [
            {
                "batch": one.batch,
                "test": one.test,
                "shown": visible(one.test),
                "about": visible(", ".join(filter(None, (one.day, one.person)))),
            }
            for one in coming.waiting
        ],
    }
