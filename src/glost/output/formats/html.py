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
    MATERIAL_NOTES,
    READ_FIRST,
    RESTRICTED,
    SILENT,
    UNKNOWN,
    WATER_HINT,
    BatchSheet,
    SheetLine,
    batch_sheets,
)
from glost.output.catalog.hazard_groups import ALL, groups_of
from glost.output.escape import visible, visible_lines
from glost.output.format import Format, Job
from glost.output.web import GENERATED, document, shown
from glost.weighing.balance import Balance
from glost.weighing.batch import Weighing

SCRIPTS = ("rescue.js", "slips.js", "keeping.js", "plans.js", "handing.js", "sheet.js")
"""What leads through a batch, each after those that it needs."""
_PLAIN = "as it stands"
"""What the test of the recipe itself is called on a page."""


def write(jobs: Sequence[Job]) -> str:
    """All tests of all recipes on one page; with several, a list at the top to choose from."""
    sheets = [(job, sheet) for job in jobs for sheet in batch_sheets(job)]
    anchors = _anchors([sheet for _, sheet in sheets])
    names = dict.fromkeys(sheet.recipe for _, sheet in sheets)
    return document(
        f"{', '.join(names)}: batch sheets" if len(names) < 4 else f"{len(names)} recipes: batch sheets",
        _body([sheet for _, sheet in sheets], anchors),
        styles=("sheet.css",),
        scripts=SCRIPTS,
        held=[held_sheet(job, sheet, anchor) for (job, sheet), anchor in zip(sheets, anchors, strict=True)],
    )


def _anchors(sheets: Sequence[BatchSheet]) -> list[str]:
    """The address of each test within the page: by recipe and test, so that a bookmark finds it again when others come
    before it. A recipe whose name another file has too is told by its file as well."""
    files: dict[str, set[str]] = {}
    for sheet in sheets:
        files.setdefault(_slug(sheet.recipe), set()).add(sheet.file)
    found: dict[str, None] = {}
    for sheet in sheets:
        name = _slug(sheet.recipe)
        where = f"@{_slug(sheet.file)}" if len(files[name]) > 1 else ""
        wanted = anchor = f"{name}{where}/{_slug(sheet.label)}" if sheet.label else f"{name}{where}"
        count = 1
        while anchor in found:
            count += 1
            anchor = f"{wanted}-{count}"
        found[anchor] = None
    return list(found)


def _slug(text: str) -> str:
    """The letters and figures of a text, words joined by hyphens."""
    return "-".join("".join(sign if sign.isalnum() else " " for sign in text.casefold()).split()) or "batch"


def _body(sheets: Sequence[BatchSheet], anchors: Sequence[str]) -> Iterator[str]:
    if len(sheets) != 1:
        yield from _choice(sheets, anchors)
    yield "<main>"
    for number, (sheet, anchor) in enumerate(zip(sheets, anchors, strict=True), 1):
        yield from _sheet(sheet, number, anchor)
    yield "</main>"


def _choice(sheets: Sequence[BatchSheet], anchors: Sequence[str]) -> Iterator[str]:
    """The list to choose from, in the order of the sheets: a recipe of several tests has a list of its own."""
    yield '<nav id="choice" class="screen" aria-labelledby="choose">'
    yield f'<h1 id="choose">{"What do you weigh?" if sheets else "No recipe to weigh"}</h1>'
    yield "<ul>"
    for sheet, anchor in zip(sheets, anchors, strict=True):
        href = f'<a href="#{shown(anchor)}">'
        name, state = shown(sheet.recipe), '<span class="state"></span></a></li>'
        about = _about(sheet)
        small = f" <small>{shown(about)}</small>"
        find = f' data-find="{shown(f"{sheet.name} {sheet.sets} {about}".lower())}"'
        if sheet.count == 1:
            yield f"<li{find}>{href}<span><b>{name}</b>{small}</span> {state}"
            continue
        if sheet.number == 1:
            yield f'<li class="several"><h2>{name}</h2>{small}<ul>'
        yield f"<li{find}>{href}<span>{_hidden(f'{name}, ')}{shown(sheet.step) or _PLAIN}</span> {state}"
        if sheet.number == sheet.count:
            yield "</ul></li>"
    yield from ("</ul>", "</nav>")


def _about(sheet: BatchSheet) -> str:
    """What tells a recipe from others in a long list: its cone and its folder."""
    folder = sheet.file.rpartition("/")[0]
    cone = dict(sheet.fields).get("cone", "")
    return ", ".join(text for text in (f"cone {cone}" if cone else "", folder) if text)


# ---- what stands on the page ---------------------------------------------------------------------------


def _sheet(sheet: BatchSheet, number: int, anchor: str) -> Iterator[str]:
    yield f'<article class="sheet" id="{shown(anchor)}" aria-labelledby="name-{number}">'
    yield from _head(sheet, number)
    for error in sheet.attention:
        yield f'<p class="warning"><b>Attention:</b> {shown(error)}</p>'
    if sheet.base or sheet.additions:
        yield f'<p class="mass">{shown(sheet.mass)}</p>'
        yield f'<p class="first"><a href="#{shown(anchor)}/care">{shown(READ_FIRST)}</a></p>'
        if sheet.plan is not None and sheet.plan.carried:
            yield '<div class="bench screen"></div>'
        yield from _table(sheet)
    if sheet.balance_note:
        yield f'<p class="remark">{shown(sheet.balance_note)}</p>'
    for warning in sheet.warnings:
        yield f'<p class="warning"><b>Attention:</b> {shown(warning)}</p>'
    yield from _slurry(sheet)
    yield from _handling(sheet, anchor)
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
    yield f'<td></td><th scope="row" colspan="2">{sheet.total_word}</th>'
    yield f'<td class="figure" data-fill="target">{sheet.total:f}</td>'
    yield f'<td colspan="{2 if on else 1}"></td><td class="blank" data-fill="total"></td><td></td>'
    yield from ("</tr></tfoot>", "</table>")


def _row(line: SheetLine, on: bool) -> Iterator[str]:
    mark = "" if line.within else ' <b class="mark">!</b>'
    parts = f"{line.parts:f}" if line.portion == 1 else ""
    yield f'<tr><td class="tick"><span class="box" data-fill="done"></span>{mark}</td>'
    yield f'<th scope="row">{shown(line.name)}'
    if line.remark:
        yield f" <small>{shown(line.remark)}</small>"
    yield f'</th><td class="figure">{parts}</td><td class="figure grams" data-fill="grams">{line.grams:f}</td>'
    if on:
        yield f'<td class="on">{shown(line.balance)}</td>'
    running = "" if line.running is None else f"{line.running:f}"
    yield f'<td class="figure" data-fill="running">{running}</td>'
    yield '<td class="blank" data-fill="weighed"></td><td class="blank" data-fill="lot"></td></tr>'


def _slurry(sheet: BatchSheet) -> Iterator[str]:
    yield '<dl class="slurry">'
    yield f'<div class="water"><dt>water</dt> <dd>{shown(sheet.water) or f"{_BLANK} g ({WATER_HINT})"}</dd></div>'
    if sheet.gravity:
        yield f"<div><dt>gravity</dt> <dd>{shown(sheet.gravity)} asked for, measured {_BLANK}</dd></div>"
    yield f"<div><dt>sieve</dt> <dd>{shown(sheet.sieve) or f'{_BLANK} mesh'}</dd></div>"
    yield "</dl>"


def _handling(sheet: BatchSheet, anchor: str) -> Iterator[str]:
    yield f'<section class="care" id="{shown(anchor)}/care" tabindex="-1">'
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
    if not hazards.listed and not hazards.silent and not hazards.notes:
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
    if hazards.notes:
        yield f"<h3>{MATERIAL_NOTES}</h3><ul>"
        for name, text in hazards.notes:
            yield f"<li>{_named((name,))}{shown(text)}</li>"
        yield "</ul>"
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


def held_sheet(job: Job, sheet: BatchSheet, anchor: str) -> dict[str, object]:
    """One sheet for sheet.js. Masses in grams, as text: decimals, or n/d where they do not end. ``name`` and
    the like are as the recipe has them, for the record; ``shown`` is for the eye. All that the script needs to go on
    stands here: a batch that was begun is gone on with even where the page has no sheet of it any more."""
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
        "step": visible(sheet.step),
        "number": sheet.number,
        "count": sheet.count,
        "anchor": anchor,
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
        "balances": [
            {**_balance(balance, listed), "shown": visible(balance.name)} for balance in job.settings.balances
        ],
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
    care += [RESTRICTED for name, _ in sheet.hazards.restricted if name == material]
    care += [f"{UNKNOWN}." for name in sheet.hazards.unknown if name == material]
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
        "carries": f"{balance.capacity_g:f}" if balance and listed else None,
        "note": visible("; ".join(text for text in line.remarks if text != line.how)),
        "care": [visible(text) for text in dict.fromkeys(care)],
        "warns": _warns(sheet, material),
    }


def _warns(sheet: BatchSheet, material: str) -> list[str]:
    """What is on record against a material, a word or two each, the worst first."""
    codes = [code for listed in sheet.hazards.listed if listed.material == material for code in listed.codes]
    groups = groups_of(codes)
    return [group.short for group in ALL if group.key in groups]


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
