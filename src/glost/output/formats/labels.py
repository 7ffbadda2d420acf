"""Labels for cups and tiles: a page to print on plain paper and cut along the lines.

Each test has two: one for the cup or bucket that it is mixed in, and a small one for its tile. Both print what is in
it, what a step sets, the firing, the mass of the base and the revision in letters, and leave room for the number that
the tile gets in the kiln. The QR code holds recipe, test and revision as plain text, one a line, so that a phone shows
what was fired without any network.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from glost.errors import ValueRefusedError
from glost.output.batch_sheet import BatchSheet, batch_sheets
from glost.output.format import Format, Job
from glost.output.parts_bar import listed, parts_bar
from glost.output.web import GENERATED, document, shown
from glost.recipe.safety.statements import classes_of
from glost.weighing.units import show_mass

HAZARD_WORDS = {
    "acute": "poisonous or harmful if swallowed, breathed in or on the skin",
    "chronic": "damages organs, dust above all",
    "sensitising": "may cause allergy of skin or lungs",
    "carcinogenic": "known or suspected to cause cancer",
    "mutagenic": "known or suspected to cause genetic defects",
    "reproductive": "may harm fertility or the unborn child",
    "corrosive": "burns skin and eyes",
    "eyes": "damages the eyes for good",
    "fire": "feeds fire: keep it from all that burns",
}
"""What a cup says of each class of statements, in plain words; the wording follows that of the statements."""

QUARTZ = "quartz dust scars the lungs and causes cancer"
DUST = "Dry dust harms the lungs: P100 or P3 respirator, gloves, clean up wet."
FIRST = "The supplier's safety data sheet comes first."
NOT_FOR_FOOD = "Not for food or drink."
"""On every cup and every tile: what stands in a cup is no food, and a test tile is not ware."""

_MOST_QR = 400
"""Characters in a QR code; more would print finer than a phone reads at this size."""


def write(jobs: Sequence[Job]) -> str:
    """The labels of all tests. Raises ValueError where segno, which draws the QR codes, is not installed."""
    rows = [(job, sheet) for job in jobs for sheet in batch_sheets(job)]
    return document("Labels for cups and tiles", _body(rows), styles=("common.css", "labels.css"), feet={})


def _body(rows: Sequence[tuple[Job, BatchSheet]]) -> Iterator[str]:
    yield '<header class="how"><h1>Labels for cups and tiles</h1>'
    yield "<p>Print at full size on plain paper, A4 or Letter, and cut along the dashed lines.</p></header>"
    yield "<main>"
    for job, sheet in rows:
        code = _qr(code_text(job, sheet))
        yield f'<section class="row" aria-label="{shown(sheet.name)}">'
        yield from _cup(job, sheet, code)
        yield from _tile(sheet, code)
        yield "</section>"
    yield "</main>"


def _cup(job: Job, sheet: BatchSheet, code: str) -> Iterator[str]:
    yield f'<article class="cup"><div class="says">{code}'
    yield from _names(sheet)
    if job.attention:
        yield f'<p class="errors">! {shown(errors_in_short(job))}</p>'
    made = sheet.plan
    batch = f"{show_mass(made.base_mass_g)} base, {sheet.total:f} g in all" if made else "nothing to weigh"
    yield f'<p class="facts">{shown("; ".join([*_firing(sheet), batch]))}</p>'
    yield _revision(sheet)
    for added in sheet.additions:
        if added.on_top:
            yield f'<p class="facts">{shown(added.name)} {shown(added.on_top)}</p>'
    yield from _made_of(sheet)
    yield '<ul class="hazards">'
    for line in hazard_words(sheet):
        yield f"<li>{shown(line)}</li>"
    yield "</ul></div>"
    yield f'<p class="blanks">{_blank("tile")}{_blank("date")}{_blank("by")}</p>'
    yield "</article>"


def errors_in_short(job: Job) -> str:
    """The errors of the page, as short as a cup has room for: the lines and the rules, whose words stand on the
    sheet."""
    named = ", ".join(dict.fromkeys(f"line {one.line} {one.rule}" for one in job.attention))
    return f"errors on the page: {named}"


def _tile(sheet: BatchSheet, code: str) -> Iterator[str]:
    yield f'<article class="tile"><div class="says">{code}'
    yield from _names(sheet)
    base = [f"{show_mass(sheet.plan.base_mass_g)} base"] if sheet.plan else []
    yield f'<p class="facts">{shown("; ".join([*_firing(sheet), *base]))}</p>'
    yield _revision(sheet)
    yield from _made_of(sheet)
    yield f'</div><p class="hazards">{NOT_FOR_FOOD}</p>'
    yield f'<p class="blanks">{_blank("tile")}{_blank("cone")}{_blank("date")}</p>'
    yield "</article>"


def _names(sheet: BatchSheet) -> Iterator[str]:
    yield f"<h2>{shown(sheet.recipe)}</h2>"
    if sheet.label:
        sets = f': <span class="sets">{shown(sheet.sets)}</span>' if sheet.sets else ""
        # The number is its place on the board.
        number = f"<b>{sheet.point.number}</b>: " if sheet.point is not None else ""
        yield f'<p class="test">{number}{shown(sheet.label)}{sets}</p>'


def _made_of(sheet: BatchSheet) -> Iterator[str]:
    """What is in it, on a base of 100: as a bar, and in words."""
    base, added = listed(sheet.bar)
    if base:
        yield f'<div class="bar">{parts_bar(sheet.bar)}</div>'
        yield f'<p class="made">{shown(base)}{f"; + {shown(added)}" if added else ""}</p>'


def _revision(sheet: BatchSheet) -> str:
    return f'<p class="revision">{shown(sheet.revision)}</p>'


def _firing(sheet: BatchSheet) -> Iterator[str]:
    fields = dict(sheet.fields)
    if "cone" in fields:
        yield f"cone {fields['cone']}"
    if "atmosphere" in fields:
        yield fields["atmosphere"]


def _blank(word: str) -> str:
    return f'<span class="blank"><span>{word}</span><i></i></span>'


def hazard_words(sheet: BatchSheet) -> Iterator[str]:
    """The hazards of a test in plain words, a line each: what is restricted or unknown, then the materials with
    what is on record of them, those with the same together. The dust line stands on every cup, since nothing on
    record does not mean no hazard."""
    hazards = sheet.hazards
    for name, what in hazards.restricted:
        yield f"{name}: restricted ({what})."
    if hazards.unknown:
        yield f"{', '.join(hazards.unknown)}: hazards not known."
    said: dict[tuple[str, ...], list[str]] = {}
    for name, words in HAZARD_WORDS.items():
        materials = dict.fromkeys(
            listed.material
            for listed in hazards.listed
            if not listed.carried and any(name in classes_of(code) for code in listed.codes)
        )
        if materials:
            said.setdefault(tuple(materials), []).append(words)
    if quartz := tuple(dict.fromkeys(listed.material for listed in hazards.listed if listed.carried)):
        said.setdefault(quartz, []).append(QUARTZ)
    for named, every in said.items():
        yield f"{', '.join(named)}: {'; '.join(every)}."
    yield DUST
    yield f"{NOT_FOR_FOOD} {FIRST}"


def code_text(job: Job, sheet: BatchSheet) -> str:
    """What the QR code says: recipe, test and revision, a line each. A recipe as it stands has no test line,
    a file that is under no version control no revision line."""
    revision = job.revision
    lines = [sheet.recipe]
    if sheet.label:
        lines.append(sheet.label)
    if revision is not None:
        lines.append(revision.told)
    return "\n".join(lines)


def _qr(text: str) -> str:
    """The code as an SVG that stands in the page itself. Raises ValueError where segno is not installed."""
    # Imported here: it is wanted for labels alone, and not everybody prints those.
    try:
        import segno
    except ImportError:
        raise ValueRefusedError(
            "labels need segno for their QR codes", "install it with: pip install 'glost[labels]'"
        ) from None
    if len(text) > _MOST_QR:
        return '<p class="code none">too long for a QR code</p>'
    # Text from data files may hold halves of a character, which no code can carry.
    made = segno.make(
        text.encode("utf-8", "replace").decode("utf-8"), micro=False, error="m", encoding="utf-8"
    )
    drawn = made.svg_inline(omitsize=True, border=2, svgclass=None, lineclass=None)
    return f'<div class="code" role="img" aria-label="QR code: recipe, test and revision">{drawn}</div>'


FORMAT = Format(
    name="labels",
    ending=".labels.html",
    summary="labels for cups and tiles with QR codes, as a page to print and cut",
    write=write,
    mark=GENERATED,
    together=True,
    by_test=True,
)
