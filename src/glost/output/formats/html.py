"""Batch sheets as one page for a browser: to weigh from on a phone beside the balance, and to print.

What is printed is what the plain sheet says. On the screen the page's own script takes the place of the table:
it leads from line to line and keeps what was weighed. Without the script the page reads and prints all the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from fractions import Fraction

from glost.output.batch_sheet import (
    CHECKED,
    FIRED,
    LISTED,
    READ_FIRST,
    RESTRICTED,
    SILENT,
    UNKNOWN,
    WATER_HINT,
    BatchSheet,
    SheetLine,
    batch_sheets,
)
from glost.output.escape import visible, visible_lines
from glost.output.format import Format, Job
from glost.output.web import GENERATED, document, shown
from glost.weighing.balance import Balance
from glost.weighing.batch import Weighing

_PLAIN = "as it stands"
"""What the test of the recipe itself is called on a page."""


def write(jobs: Sequence[Job]) -> str:
    """All tests of all recipes on one page; with several, a list at the top to choose from."""
    sheets = [(job, sheet) for job in jobs for sheet in batch_sheets(job)]
    names = dict.fromkeys(sheet.recipe for _, sheet in sheets)
    return document(
        f"{', '.join(names)}: batch sheets" if len(names) < 4 else f"{len(names)} recipes: batch sheets",
        _body([sheet for _, sheet in sheets]),
        styles=("common.css", "sheet.css", "paper.css"),
        scripts=("rescue.js", "sheet.js"),
        held=[_held(job, sheet) for job, sheet in sheets],
    )


def _body(sheets: Sequence[BatchSheet]) -> Iterator[str]:
    if len(sheets) != 1:
        yield from _choice(sheets)
    yield "<main>"
    for number, sheet in enumerate(sheets, 1):
        yield from _sheet(sheet, number)
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
        yield f"<li>{href}<span>{_hidden(f'{name}, ')}{shown(sheet.step) or _PLAIN}</span> {state}"
        if sheet.number == sheet.count:
            yield "</ul></li>"
    yield from ("</ul>", "</nav>")


# ---- what stands on the page ---------------------------------------------------------------------------


def _sheet(sheet: BatchSheet, number: int) -> Iterator[str]:
    yield f'<article class="sheet" id="sheet-{number}" aria-labelledby="name-{number}">'
    yield from _head(sheet, number)
    for error in sheet.attention:
        yield f'<p class="warning"><b>Attention:</b> {shown(error)}</p>'
    if sheet.base or sheet.additions:
        yield f'<p class="mass">{shown(sheet.mass)}</p>'
        yield f'<p class="first"><a href="#care-{number}">{shown(READ_FIRST)}</a></p>'
        if sheet.plan is not None and sheet.plan.carried:
            yield '<div class="bench screen"></div>'
        yield from _table(sheet)
    if sheet.balance_note:
        yield f'<p class="remark">{shown(sheet.balance_note)}</p>'
    for warning in sheet.warnings:
        yield f'<p class="warning"><b>Attention:</b> {shown(warning)}</p>'
    yield from _slurry(sheet)
    yield from _handling(sheet, number)
    if sheet.notes:
        yield '<section class="notes"><h3>Notes</h3>'
        yield f"<p>{'<br>'.join(shown(line) for line in visible_lines(sheet.notes))}</p></section>"
    yield from _by_hand()
    yield '<div class="record screen"></div>'
    yield from _statements(sheet)
    yield "</article>"


def _head(sheet: BatchSheet, number: int) -> Iterator[str]:
    counted = f", sheet {sheet.number} of {sheet.count}" if sheet.count > 1 else ""
    yield "<header>"
    yield f'<p class="kind">{shown(sheet.kind)}{counted}</p>'
    yield f'<h2 id="name-{number}">{shown(sheet.recipe)}'
    if sheet.label or counted:
        yield f' <span class="test">{shown(sheet.step) or _PLAIN}</span>'
    yield from ("</h2>", "</header>", '<dl class="fields">')
    for key, text in (*sheet.fields, ("file", f"{sheet.file}, {sheet.revision}")):
        yield _pair(key, text.replace("\n", " "))
    yield "</dl>"


def _pair(key: str, text: str) -> str:
    return f"<div><dt>{shown(key)}</dt> <dd>{shown(text)}</dd></div>"


def _table(sheet: BatchSheet) -> Iterator[str]:
    on = len(sheet.balances) > 1
    heads = ("", "material", "parts", "grams", *(("on",) if on else ()), "total", "weighed", "lot")
    figures = ("parts", "grams", "total")
    yield '<table class="paper">'
    yield "<thead><tr>"
    for head in heads:
        yield f'<th scope="col"{_class("figure" if head in figures else "")}>{head or _hidden("done")}</th>'
    yield "</tr></thead>"
    vessel = 0
    for title, lines in (("", sheet.base), ("additions", sheet.additions)):
        if not lines:
            continue
        yield "<tbody>"
        if title:
            yield f'<tr><th class="group" scope="rowgroup" colspan="{len(heads)}">{title}</th></tr>'
        for line in lines:
            head = sheet.vessel_head(vessel, line)
            if head:
                yield f'<tr><th class="group vessel" scope="rowgroup" colspan="{len(heads)}">{shown(head)}</th></tr>'
            vessel = line.vessel or vessel
            yield from _row(line, on)
        yield "</tbody>"
    yield "<tfoot><tr>"
    yield f'<td></td><th scope="row" colspan="2">{sheet.total_word}</th><td class="figure">{sheet.total:f}</td>'
    yield f'<td colspan="{2 if on else 1}"></td><td class="blank" data-fill="total"></td><td></td>'
    yield from ("</tr></tfoot>", "</table>")


def _row(line: SheetLine, on: bool) -> Iterator[str]:
    mark = "" if line.within else ' <b class="mark">!</b>'
    parts = f"{line.parts:f}" if line.portion == 1 else ""
    yield f'<tr><td class="tick"><span class="box"></span>{mark}</td>'
    yield f'<th scope="row">{shown(line.name)}'
    if line.remark:
        yield f" <small>{shown(line.remark)}</small>"
    yield f'</th><td class="figure">{parts}</td><td class="figure grams">{line.grams:f}</td>'
    if on:
        yield f'<td class="on">{shown(line.balance)}</td>'
    yield f'<td class="figure">{"" if line.running is None else f"{line.running:f}"}</td>'
    yield '<td class="blank" data-fill="weighed"></td><td class="blank" data-fill="lot"></td></tr>'


def _slurry(sheet: BatchSheet) -> Iterator[str]:
    yield '<dl class="slurry">'
    yield f'<div class="water"><dt>water</dt> <dd>{shown(sheet.water) or f"{_BLANK} g ({WATER_HINT})"}</dd></div>'
    if sheet.gravity:
        yield f"<div><dt>gravity</dt> <dd>{shown(sheet.gravity)} asked for, measured {_BLANK}</dd></div>"
    yield f"<div><dt>sieve</dt> <dd>{shown(sheet.sieve) or f'{_BLANK} mesh'}</dd></div>"
    yield "</dl>"


def _handling(sheet: BatchSheet, number: int) -> Iterator[str]:
    yield f'<section class="care" id="care-{number}" tabindex="-1">'
    yield "<h3>Handling and cautions</h3>"
    yield "<ul>"
    hazards = sheet.hazards
    for name, what in hazards.restricted:
        yield f'<li class="grave"><b>{shown(name)}: restricted ({shown(what)}).</b> {shown(RESTRICTED)}</li>'
    if hazards.unknown:
        yield f'<li class="grave"><b>{shown(UNKNOWN)}:</b> {_list(hazards.unknown)}.</li>'
    for caution in sheet.cautions:
        yield f"<li>{_named(caution.materials)}{shown(caution.text)}</li>"
    yield "</ul>"
    for house in (False, True):
        notes = [note for note in sheet.handling if note.house == house]
        if notes:
            yield f"<h4>{'House handling notes' if house else 'Handling notes of this recipe'}</h4>"
            yield "<ul>"
            for note in notes:
                yield f"<li>{_named(note.names)}{shown(note.text)}</li>"
            yield "</ul>"
    yield "</section>"


def _statements(sheet: BatchSheet) -> Iterator[str]:
    hazards = sheet.hazards
    if not hazards.listed and not hazards.silent:
        return
    yield '<section class="statements">'
    if hazards.listed:
        sources: dict[str, int] = {}
        by_material: dict[str, list[str]] = {}
        for listed in hazards.listed:
            number = sources.setdefault(listed.cited, len(sources) + 1)
            by_material.setdefault(listed.material, []).append(f"{' '.join(listed.codes)} [{number}]")
        yield f"<h3>{shown(LISTED)}</h3>"
        yield '<dl class="codes">'
        for name, codes in by_material.items():
            yield _pair(name, ", ".join(codes))
        yield from ("</dl>", '<dl class="codes">')
        for code, text in hazards.texts:
            yield _pair(code, text)
        yield "</dl>"
        yield '<ul class="sources">'
        for cited, number in sources.items():
            yield f"<li>[{number}] {shown(cited)}</li>"
        yield "</ul>"
    if hazards.silent:
        yield f"<h3>{shown(SILENT)}</h3><p>{_list(hazards.silent)}</p>"
    yield "</section>"


def _by_hand() -> Iterator[str]:
    yield '<section class="hand paper">'
    for title, words in (("", CHECKED), ("Fired result", FIRED)):
        if title:
            yield f"<h3>{title}</h3>"
        yield "<dl>"
        for word in words:
            yield f'<div><dt>{word}</dt> <dd class="blank" data-fill="{word}"></dd></div>'
        yield "</dl>"
        fill = "" if title else ' data-fill="remarks"'
        yield f'<p class="remarks">remarks <span class="blank"{fill}></span><span class="blank"></span></p>'
    yield "</section>"


_BLANK = '<span class="gap"></span>'


def _hidden(text: str) -> str:
    return f'<span class="unseen">{text}</span>'


def _class(name: str) -> str:
    return f' class="{name}"' if name else ""


def _named(names: Sequence[str]) -> str:
    return f"<b>{_list(names)}:</b> " if names else ""


def _list(names: Iterable[str]) -> str:
    return ", ".join(map(shown, names))


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
