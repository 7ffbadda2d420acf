"""The table as one page for a browser: filtered, sorted and printed there, and nothing is sent or fetched.

A collection may hold ten thousand tests. So the page carries them once, every text once, and its script shows only the
rows that fit on the screen. Without the script it says how to get the same rows for a spreadsheet: a part of them in a
plain table would look like all of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, NamedTuple

from glost.output.batch_sheet import LISTED, RESTRICTED, SILENT, UNKNOWN
from glost.output.catalog.hazard_groups import ALL
from glost.output.catalog.page.held import held
from glost.output.catalog.rows import Row
from glost.output.web import document, shown
from glost.recipe.cone import KNOWN, read_cone
from glost.recipe.safety.cautions import PRECEDENCE

_FOLDER: Final = Path(__file__).parent
_COLUMNS: Final = (
    ("name", "Recipe and test"),
    ("cone", "Cone"),
    ("atmosphere", "Atmosphere"),
    ("surface", "Surface"),
    ("colour", "Colour"),
    ("use", "Use"),
    ("fired", "Newest tile"),
    ("materials", "Materials, base 100"),
    ("hazards", "Hazards"),
    ("findings", "Findings"),
    ("revision", "Revision"),
)
"""Key and heading of each column; all but the materials can be sorted by."""
BY_RECORD: Final = (
    "'Free of' goes by what is on record here. No statement on record does not mean no hazard, and nothing here says"
    " that a glaze or a material is free of danger."
)
_NO_SCRIPT: Final = (
    "This page needs JavaScript to find and show rows; it is switched off, or this viewer has none. The same rows for a"
    " spreadsheet: glost catalog --to csv --out catalog.csv"
)


class Links(NamedTuple):
    """Where a row leads. ``sheets``: file and test to the address of the batch sheet, from where the page lies.
    ``folder``: the address of the folder that the files of the rows are named from; None where it is not known."""

    sheets: Mapping[tuple[str, str], str] = MappingProxyType({})
    folder: str | None = None


NO_LINKS: Final = Links()


def page(
    rows: Sequence[Row],
    aliases: Mapping[str, tuple[str, ...]],
    title: str,
    made: str,
    tones: Mapping[str, str] = MappingProxyType({}),
    links: Links = NO_LINKS,
    small: Mapping[str, str] = MappingProxyType({}),
) -> str:
    """The whole file. ``aliases`` are the other names of materials, ``tones`` how each is drawn in the bar of a test;
    ``title`` says whose recipes these are, and ``made`` is the day of the table. ``small``: small pictures of photos,
    as addresses of images."""
    carried = held(rows, aliases, tones, links.sheets, small) | {
        "title": title,
        "made": made,
        "words": _words(),
        "columns": _COLUMNS,
        "folder": links.folder,
    }
    return document(
        title,
        _body(rows, title, made),
        styles=("common.css", "overview.css"),
        scripts=("filter.js", "overview.js"),
        held=carried,
        folder=_FOLDER,
        pictures=True,
    )


def _words() -> dict[str, Any]:
    return {
        "precedence": PRECEDENCE,
        "record": BY_RECORD,
        "listed": LISTED,
        "silent": SILENT,
        "unknown": UNKNOWN,
        "restricted": RESTRICTED,
    }


def _body(rows: Sequence[Row], title: str, made: str) -> Iterator[str]:
    recipes = len({row.about.file for row in rows})
    yield f"<noscript><p>{shown(_NO_SCRIPT)}</p></noscript>"
    yield '<div id="whole">'
    yield '<button type="button" class="skip" id="skip">To the table</button>'
    yield "<header>"
    yield f"<h1>{shown(title)}</h1>"
    yield f"<p>{_counted(recipes, 'recipe')}, {_counted(len(rows), 'row')}; table of {shown(made)}"
    yield '<span id="one-revision"></span></p>'
    yield "</header>"
    yield from _filters()
    yield '<main id="main">'
    yield '<div id="bar"><p id="told" role="status" aria-live="polite"></p>'
    yield '<label id="order-label">Sort by <select id="order"></select></label>'
    yield '<button type="button" id="print">Print these rows</button></div>'
    yield '<p id="left-out" role="status" aria-live="polite"></p>'
    yield '<div id="scroller">'
    yield (
        '<table id="table" role="grid" tabindex="0" aria-label="Recipes and their tests" aria-describedby="keys">'
    )
    yield '<thead role="rowgroup"><tr role="row" aria-rowindex="1">'
    for key, heading in _COLUMNS:
        inside = (
            shown(heading)
            if key == "materials"
            else f'<button type="button" data-sort="{key}">{shown(heading)}</button>'
        )
        yield f'<th role="columnheader" scope="col" class="{key}">{inside}</th>'
    yield '</tr></thead><tbody role="rowgroup" id="rows"></tbody></table>'
    yield '<p id="none" hidden>No row fits what is asked for.</p>'
    yield "</div>"
    yield (
        '<p id="keys" class="unseen">Arrow keys go from row to row, Page Up, Page Down, Home and End further; Enter'
        " opens a row, Escape closes it; Ctrl and C copy it.</p>"
    )
    yield f'<p id="first">{shown(PRECEDENCE)}</p>'
    yield "</main></div>"
    yield '<dialog id="detail" aria-labelledby="detail-name"></dialog>'
    yield '<section id="paper"></section>'
    yield '<svg id="drawing" aria-hidden="true"></svg>'


def _filters() -> Iterator[str]:
    yield '<form id="form" role="search" aria-label="Which rows are shown">'
    yield '<label id="find">Words <input type="search" id="q" autocomplete="off" spellcheck="false"></label>'
    yield '<details id="filters" open><summary>Filters <span id="count-filters"></span></summary><div id="more">'
    for key, label in (("with", "With material"), ("without", "Without material")):
        yield f'<div class="wide"><label>{label} <input id="{key}" list="names" autocomplete="off"'
        yield f' spellcheck="false" aria-describedby="{key}-told"></label>'
        yield f'<p id="{key}-told" class="told" role="status"></p><ul id="{key}-chosen" class="chosen"></ul></div>'
    yield '<datalist id="names"></datalist>'
    for key, label in (("from", "Cone from"), ("to", "to cone")):
        yield f'<label>{label} <select id="{key}"><option value="">any</option>'
        for cone in KNOWN:
            numbers = read_cone(cone).numbers
            assert numbers is not None
            yield f'<option value="{numbers[0]}">{cone}</option>'
        yield "</select></label>"
    for key, label in (("kind", "Kind"), ("atmosphere", "Atmosphere"), ("use", "Use")):
        yield f'<label>{label} <select id="{key}"><option value="">any</option></select></label>'
    yield '<label>Surface <input id="surface" autocomplete="off" spellcheck="false"></label>'
    yield '<label class="wide">Findings <select id="findings">'
    for value, label in (
        ("", "any"),
        ("none", "none"),
        ("hint", "hint or worse"),
        ("warning", "warning or worse"),
        ("error", "error"),
        ("unread", "cannot be read whole"),
    ):
        yield f'<option value="{value}">{label}</option>'
    yield "</select></label>"
    yield '<label class="wide">Fired <select id="fired">'
    for value, label in (("", "any"), ("yes", "fired"), ("faults", "with faults"), ("clean", "without faults"),
                         ("never", "never fired")):  # fmt: skip
        yield f'<option value="{value}">{label}</option>'
    yield "</select></label>"
    yield '<fieldset class="wide" id="free"><legend>Free of, as far as is on record</legend>'
    for group in ALL:
        codes = f" <small>{shown(', '.join(group.numbers))}</small>" if group.numbers else ""
        yield (
            f'<label><input type="checkbox" name="free" value="{group.key}"> <span>{shown(group.words)}{codes}'
            "</span></label>"
        )
    yield f'<p class="note">{shown(BY_RECORD)} A row with a material that is not known here, or with a line that'
    yield "cannot be read, is never counted as free.</p></fieldset>"
    yield '<button type="reset" class="wide">Show all rows</button>'
    yield "</div></details></form>"


def _counted(number: int, word: str) -> str:
    return f"{number:,} {word}{'s' if number != 1 else ''}"
