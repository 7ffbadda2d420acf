"""Batch sheets as one page for a browser: to weigh from on a phone beside the balance, and to print.

What is printed is what the plain sheet says. On the screen the page's own script takes the place of the table:
it leads from line to line and keeps what was weighed. Without the script the page reads and prints all the same.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction

from glost.output import care
from glost.output.batch_sheet import (
    READ_FIRST,
    RESTRICTED,
    UNKNOWN,
    BatchSheet,
    SheetLine,
    batch_sheets,
    hazards_of_all,
)
from glost.output.board import MAP, Cup, Mapped, maps_of
from glost.output.catalog.hazard_groups import ALL, groups_of
from glost.output.escape import visible
from glost.output.format import Format, Job, Revision
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
    map_page,
    notes,
    place,
    slurry,
    step,
    table,
    told,
)
from glost.output.web import GENERATED, document, in_short, shown
from glost.weighing.balance import Balance
from glost.weighing.batch import Weighing

SCRIPTS = (
    "rescue.js",
    "slips.js",
    "ways.js",
    "places.js",
    "keeping.js",
    "plans.js",
    "handing.js",
    "board.js",
    "sheet.js",
)
"""What leads through a batch, each after those that it needs."""
TILE = "tile: fix it here, or draw what you see"


def write(jobs: Sequence[Job]) -> str:
    """All tests of all recipes on one page; with several, a list at the top to choose from."""
    sheets = [(job, sheet) for job in jobs for sheet in batch_sheets(job)]
    anchors = _anchors([sheet for _, sheet in sheets])
    names = dict.fromkeys(sheet.recipe for _, sheet in sheets)
    every = [sheet for _, sheet in sheets]
    return document(
        f"{', '.join(names)}: batch sheets" if len(names) < 4 else f"{len(names)} recipes: batch sheets",
        _body(jobs, every, anchors),
        styles=("common.css", "sheet.css", "paper.css", "board.css"),
        scripts=SCRIPTS,
        held=[held_sheet(job, sheet, anchor) for (job, sheet), anchor in zip(sheets, anchors, strict=True)],
        own_style="\n".join(_pages(len(every))),
        feet={f"sheet-{number}": _foot(sheet) for number, sheet in enumerate(every, 1)}
        | {"run": "Hazard statements for these sheets"},
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


def _body(jobs: Sequence[Job], sheets: Sequence[BatchSheet], anchors: Sequence[str]) -> Iterator[str]:
    maps = _maps(jobs, anchors)
    if len(sheets) != 1:
        yield from _choice(sheets, anchors, maps)
    yield "<main>"
    for job, mapped in maps:
        yield '<section class="board-page paper">'
        yield from as_html(map_page(mapped, job, 2))
        yield "</section>"
    for number, (sheet, anchor) in enumerate(zip(sheets, anchors, strict=True), 1):
        yield from _sheet(sheet, number, anchor, len(sheets) == 1)
    if len(sheets) > 1:
        yield from _run(jobs)
    yield "</main>"


def _maps(jobs: Sequence[Job], anchors: Sequence[str]) -> list[tuple[Job, Mapped]]:
    """The maps of all blends. Each cup is known by the address of its sheet."""
    left = iter(anchors)
    found: list[tuple[Job, Mapped]] = []
    if not any(job.recipe.blends for job in jobs):
        return found
    for job in jobs:
        cups = [Cup(test, name=next(left)) for test in job.asked]
        found += [(job, mapped) for mapped in maps_of(cups)]
    return found


def _choice(
    sheets: Sequence[BatchSheet], anchors: Sequence[str], maps: Sequence[tuple[Job, Mapped]]
) -> Iterator[str]:
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
            yield f'<li class="several"><h2>{name}</h2>{small}'
            for job, mapped in maps:
                if (job.file, mapped.recipe.name) == (sheet.file, sheet.recipe):
                    yield f"<h3>{shown(MAP)}: {shown(mapped.shape)}</h3>"
                    yield from as_html([Terms(list(mapped.corners), "corners"), mapped.map])
            yield "<ul>"
        test = f"{_number(sheet)}{shown(sheet.step) or AS_IT_STANDS}"
        yield f"<li{find}>{href}<span>{_hidden(f'{name}, ')}{test}</span> {state}"
        if sheet.number == sheet.count:
            yield "</ul></li>"
    yield from ("</ul>", "</nav>")


def _number(sheet: BatchSheet) -> str:
    """The number of a point, as the map has it."""
    return f"<b>{sheet.point.number}</b> " if sheet.point is not None else ""


def _about(sheet: BatchSheet) -> str:
    """What tells a recipe from others in a long list: its cone and its folder."""
    folder = sheet.file.rpartition("/")[0]
    cone = dict(sheet.fields).get("cone", "")
    return ", ".join(text for text in (f"cone {cone}" if cone else "", folder) if text)


# ---- what stands on the page ---------------------------------------------------------------------------


def _sheet(sheet: BatchSheet, number: int, anchor: str, alone: bool) -> Iterator[str]:
    """``alone``: it is the only one of the page, so that nothing of it stands behind several."""
    yield f'<article class="sheet" id="{shown(anchor)}" aria-labelledby="name-{number}">'
    yield from _head(sheet, number)
    yield from as_html(Paragraph(error, "attention") for error in sheet.attention)
    if sheet.base or sheet.additions:
        yield f'<p class="mass">{shown(sheet.mass)}</p>'
        yield f'<p class="first"><a href="#{shown(anchor)}/care">{shown(READ_FIRST)}</a></p>'
        if sheet.plan is not None and sheet.plan.carried:
            yield '<div class="bench screen"></div>'
        yield from as_html([table(sheet)])
    if sheet.balance_note:
        yield f'<p class="remark">{shown(sheet.balance_note)}</p>'
    planned = [Paragraph(warning, "attention") for warning in sheet.warnings]
    yield from as_html([Section("planned", planned)] if planned else [])
    yield from as_html([slurry(sheet)])
    yield f'<section class="care" id="{shown(anchor)}/care" tabindex="-1">'
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
    yield from as_html([Terms([*place(sheet), *fields(sheet)], "fields")])


def _run(jobs: Sequence[Job]) -> Iterator[str]:
    """What is to be looked up of all sheets, once behind them where all are printed."""
    hazards = hazards_of_all(jobs)
    if told(hazards):
        yield '<section class="run statements"><h2>Hazard statements for these sheets</h2>'
        yield from as_html(care.statements(hazards, 3))
        yield "</section>"


def _pages(sheets: int) -> Iterator[str]:
    """Each sheet has pages of paper of its own."""
    for number in range(1, sheets + 1):
        yield f'article[aria-labelledby="name-{number}"] {{ page: sheet-{number}; }}'


def _foot(sheet: BatchSheet) -> str:
    """Whose sheet it is: a page that lies on the floor is somebody's."""
    return ", ".join(in_short(text) for text in (sheet.recipe, step(sheet), sheet.revision) if text)


def _hidden(text: str) -> str:
    return f'<span class="unseen">{text}</span>'


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
        "revision": _held_revision(job.revision),
        "uses": [{**one._asdict(), "revision": _held_revision(one.revision)} for one in sheet.uses],
        "base": f"{base:f}",
        "total": f"{sheet.total:f}",
        "tolerance": f"{job.settings.weighing_tolerance:f}",
        "water": None if sheet.water_percent is None else f"{sheet.water_percent:f}",
        "water_said": sheet.water_said,
        "water_by": sheet.water_by,
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


def _held_revision(revision: Revision | None) -> dict[str, object] | None:
    return {"text": revision.text, "changed": revision.changed} if revision and revision.known else None


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
