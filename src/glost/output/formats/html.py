"""Batch sheets as one page for a browser: to weigh from on a phone beside the balance, and to print.

What is printed is what the plain sheet says. On the screen the page's own script takes the place of the table:
it leads from line to line and keeps what was weighed. Without the script the page reads and prints all the same.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction

from glost.output import care
from glost.output.batch_sheet import READ_FIRST, BatchSheet, SheetLine, batch_sheets, hazards_of_all
from glost.output.escape import visible
from glost.output.format import Format, Job
from glost.output.model import Heading, Paragraph, Section, Terms
from glost.output.model.html import as_html
from glost.output.parts_bar import parts_bar
from glost.output.sheet_content import (
    AS_IT_STANDS,
    ELSEWHERE,
    by_hand,
    fields,
    handling,
    kind,
    notes,
    slurry,
    step,
    table,
    told,
)
from glost.output.web import GENERATED, css_string, document, shown
from glost.weighing.balance import Balance
from glost.weighing.batch import Weighing

TILE = "tile: fix it here, or draw what you see"
_MOST_FOOT = 60
"""Characters of a name at the foot of a page."""


def write(jobs: Sequence[Job]) -> str:
    """All tests of all recipes on one page; with several, a list at the top to choose from."""
    sheets = [(job, sheet) for job in jobs for sheet in batch_sheets(job)]
    names = dict.fromkeys(sheet.recipe for _, sheet in sheets)
    every = [sheet for _, sheet in sheets]
    return document(
        f"{', '.join(names)}: batch sheets" if len(names) < 4 else f"{len(names)} recipes: batch sheets",
        _body(jobs, every),
        styles=("common.css", "sheet.css", "paper.css"),
        scripts=("rescue.js", "sheet.js"),
        held=[_held(job, sheet) for job, sheet in sheets],
        own_style=_feet(every),
    )


def _body(jobs: Sequence[Job], sheets: Sequence[BatchSheet]) -> Iterator[str]:
    if len(sheets) != 1:
        yield from _choice(sheets)
    yield "<main>"
    for number, sheet in enumerate(sheets, 1):
        yield from _sheet(sheet, number, len(sheets) == 1)
    if len(sheets) > 1:
        yield from _run(jobs)
    yield "</main>"


def _choice(sheets: Sequence[BatchSheet]) -> Iterator[str]:
    """The list to choose from, in the order of the sheets: a recipe of several tests has a list of its own."""
    yield '<nav id="choice" class="screen" aria-labelledby="choose">'
    yield f'<h1 id="choose">{"What do you weigh?" if sheets else "No recipe to weigh"}</h1>'
    yield "<ul>"
    for number, sheet in enumerate(sheets, 1):
        href = f'<a href="#sheet-{number}">'
        name, state = shown(sheet.recipe), '<span class="state"></span></a></li>'
        if sheet.count == 1:
            yield f"<li>{href}<b>{name}</b> {state}"
            continue
        if sheet.number == 1:
            yield f"<li><h2>{name}</h2><ul>"
        yield f"<li>{href}<span>{_hidden(f'{name}, ')}{shown(sheet.step) or AS_IT_STANDS}</span> {state}"
        if sheet.number == sheet.count:
            yield "</ul></li>"
    yield from ("</ul>", "</nav>")


# ---- what stands on the page ---------------------------------------------------------------------------


def _sheet(sheet: BatchSheet, number: int, alone: bool) -> Iterator[str]:
    """``alone``: it is the only one of the page, so that nothing of it stands behind several."""
    yield f'<article class="sheet" id="sheet-{number}" aria-labelledby="name-{number}">'
    yield from _head(sheet, number)
    yield from as_html(Paragraph(error, "attention") for error in sheet.attention)
    if sheet.base or sheet.additions:
        yield f'<p class="mass">{shown(sheet.mass)}</p>'
        yield f'<p class="first"><a href="#care-{number}">{shown(READ_FIRST)}</a></p>'
        if sheet.plan is not None and sheet.plan.carried:
            yield '<div class="bench screen"></div>'
        yield from as_html([table(sheet)])
    if sheet.balance_note:
        yield f'<p class="remark">{shown(sheet.balance_note)}</p>'
    yield from as_html(Paragraph(warning, "attention") for warning in sheet.warnings)
    yield from as_html([slurry(sheet)])
    yield f'<section class="care" id="care-{number}" tabindex="-1">'
    yield from as_html([Heading("Handling and cautions", 3), *handling(sheet, 4)])
    if not alone and told(sheet.hazards):
        yield f'<p class="elsewhere">{shown(ELSEWHERE)}</p>'
    yield from as_html([Section("notes", list(notes(sheet, 3)))] if sheet.notes else [])
    yield "</section>"
    yield '<section class="hand paper"><div>'
    yield from as_html(by_hand(3))
    yield f'</div><p class="room">{TILE}</p></section>'
    yield '<div class="record screen"></div>'
    if told(sheet.hazards):
        yield from as_html([Section("statements", list(care.statements(sheet.hazards, 3)))])
    yield "</article>"


def _head(sheet: BatchSheet, number: int) -> Iterator[str]:
    yield "<header>"
    yield f'<p class="kind">{shown(kind(sheet))}</p>'
    yield f'<h2 id="name-{number}">{shown(sheet.recipe)}'
    if step(sheet):
        yield f' <span class="test">{shown(step(sheet))}</span>'
    yield from ("</h2>", parts_bar(sheet.bar), "</header>")
    yield from as_html([Terms(list(fields(sheet)), "fields")])


def _run(jobs: Sequence[Job]) -> Iterator[str]:
    """What is to be looked up of all sheets, once behind them where all are printed."""
    hazards = hazards_of_all(jobs)
    if told(hazards):
        yield '<section class="run statements"><h2>Hazard statements for these sheets</h2>'
        yield from as_html(care.statements(hazards, 3))
        yield "</section>"


def _feet(sheets: Sequence[BatchSheet]) -> str:
    """What stands at the foot of every page: whose sheet it is. A page that lies on the floor is somebody's."""
    return "\n".join(
        f"#sheet-{number} {{ page: sheet-{number}; }}\n"
        f"@page sheet-{number} {{ @bottom-left {{ content: {css_string(_foot(sheet))}; }} }}"
        for number, sheet in enumerate(sheets, 1)
    )


def _foot(sheet: BatchSheet) -> str:
    """As much as goes on a line."""
    return ", ".join(
        (_short(sheet.recipe), *([_short(step(sheet))] if step(sheet) else []), _short(sheet.revision))
    )


def _short(text: str) -> str:
    text = visible(text)
    return text if len(text) <= _MOST_FOOT else f"{text[: _MOST_FOOT - 1]}\u2026"


def _hidden(text: str) -> str:
    return f'<span class="unseen">{text}</span>'


# ---- what the script works with ------------------------------------------------------------------------


def _held(job: Job, sheet: BatchSheet) -> dict[str, object]:
    """One sheet for sheet.js. Masses in grams, as text: decimals, or n/d where they do not end. ``name`` and
    the like are as the recipe has them, for the record; ``shown`` is for the eye."""
    made = sheet.plan
    main = made.main if made else None
    base = made.base_mass_g if made else Decimal(0)
    lines = (*sheet.base, *sheet.additions)
    weighings = [(each, at) for at, each in enumerate(made.lines) for _ in each.fills] if made else []
    listed = bool(job.settings.balances)
    revision = job.revision
    return {
        "recipe": sheet.recipe,
        "test": sheet.label,
        "sets": visible(sheet.sets),
        "shown": visible(sheet.name),
        "file": sheet.file,
        "revision": {"text": revision.text, "changed": revision.changed}
        if revision and revision.known
        else None,
        "base": f"{base:f}",
        "total": f"{sheet.total:f}",
        "tolerance": f"{job.settings.weighing_tolerance:f}",
        "water": None if sheet.water_percent is None else f"{sheet.water_percent:f}",
        "sieve": sheet.sieve,
        "main": None if main is None else {**_balance(main, listed), "shown": visible(main.name)},
        "vessels": len(made.vessels) if made else 0,
        "lines": [
            _line(job, sheet, line, weighing, at)
            for line, (weighing, at) in zip(lines, weighings, strict=True)
        ],
    }


def _balance(balance: Balance, listed: bool) -> dict[str, object]:
    """``listed``: the balance is the collection's; one that is only assumed has no name to record."""
    return {
        "name": balance.name if listed else "",
        "capacity": f"{balance.capacity_g:f}",
        "division": f"{balance.readability_g:f}",
        "cup": f"{balance.cup_g or Decimal(0):f}",
    }


def _line(job: Job, sheet: BatchSheet, line: SheetLine, weighing: Weighing, at: int) -> dict[str, object]:
    """One weighing: a line, or a portion of it. ``of``: the line of the record that it belongs to."""
    balance = weighing.balance
    share = Fraction(line.grams) / Fraction(weighing.target_g) if weighing.target_g else Fraction(1)
    listed = bool(job.settings.balances)
    material = weighing.material
    care = [
        note.text for note in sheet.handling if material in (_called(job, name) for name in note.names)
    ] + [caution.text for caution in sheet.cautions if material in caution.materials]
    return {
        "name": line.name,
        "shown": visible(line.name),
        "material": material,
        "base": weighing.base,
        "of": at,
        "exact": _exact(weighing.exact_g * share),
        "target": f"{line.grams:f}",
        "division": f"{weighing.division_g:f}",
        "minimum": f"{balance.minimum_g:f}" if balance and balance.minimum_g is not None else None,
        "within": weighing.within,
        "rounds": weighing.rounds_well,
        "portion": line.portion,
        "portions": line.portions,
        "vessel": line.vessel,
        "balance": balance.name if balance and listed else "",
        "on": visible(balance.name) if balance and listed else "",
        "apart": weighing.apart,
        "note": visible("; ".join(text for text in line.remarks if text != line.how)),
        "care": [visible(text) for text in dict.fromkeys(care)],
    }


def _called(job: Job, name: str) -> str:
    found = job.catalogue.find(name)
    return found.name if found else name


def _exact(mass: Fraction) -> str:
    return f"{mass.numerator}/{mass.denominator}"


FORMAT = Format(
    name="html",
    ending=".html",
    summary="batch sheets as one page for a browser, to weigh from on a phone and to print",
    write=write,
    mark=GENERATED,
    together=True,
    by_test=True,
)
