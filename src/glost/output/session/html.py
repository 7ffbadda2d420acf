"""Many cups as one page for a browser: nothing but markup and a style sheet, to tick off on a phone or to print."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from glost.output.batch_sheet import LISTED, RESTRICTED, SILENT, UNKNOWN
from glost.output.session import words as words
from glost.output.session.session import BenchSession
from glost.output.web import document, shown
from glost.weighing.batch import Weighing

_DONE = '<span class="unseen">done</span>'


def html(made: BenchSession) -> str:
    return document(words.title(made), _body(made), styles=("cups.css",))


def _body(made: BenchSession) -> Iterator[str]:
    yield f"<header><h1>{shown(words.title(made))}</h1></header>"
    yield "<main>"
    for error in words.errors(made):
        yield f'<p class="warning"><b>Attention:</b> {shown(error)}</p>'
    yield '<section><h2>Set out</h2><dl class="out">'
    for word, said in words.set_out(made):
        yield f"<div><dt>{shown(word)}</dt> <dd>{shown(said)}</dd></div>"
    yield "</dl></section><section><h2>Cups</h2>"
    yield from _table(
        ("cup", "test", "base g", "in all g", "water"),
        "><>><",
        (
            (
                f"{cup.number}",
                shown(cup.said),
                f"{cup.planned.plan.base_target_g:f}",
                f"{cup.planned.plan.total_target_g:f}",
                words.water_of(cup),
            )
            for cup in made.cups
        ),
    )
    for remark in (*words.twins(made), *words.on_top(made), *words.outside(made)):
        yield f'<p class="warning"><b>Attention:</b> {shown(remark)}</p>'
    yield "</section>"
    yield from _care(made)
    yield f"<section><h2>Fetch, with {words.margin(made)} % more than the sum of the sheets</h2>"
    yield from _table(
        ("", "material", "grams", "fetch", "cups"),
        "<<>>>",
        (
            (
                _tick(f"{jar.pull.material} fetched"),
                shown(jar.pull.material),
                f"{jar.pull.total_g:f}",
                f"<b>{jar.pull.with_margin_g:f}</b>",
                f"{jar.pull.cups}",
            )
            for jar in made.jars
        ),
    )
    yield "</section>"
    if made.shared:
        yield f"<section><h2>Bases to mix once</h2><p>{shown(words.SHARED_SAID)}</p>"
        for base in made.shared:
            yield f"<h3>{shown(words.shared_said(made, base))}</h3>"
            yield from _weighings(base.mix.lines, "the shared base")
            yield f"<p>Divide: {shown(words.divide(made, base))}</p>"
        yield "</section>"
    yield f'<div class="orders"><section><h2>{words.JARS}</h2><p>{shown(words.JARS_SAID)}</p>'
    for jar in made.jars:
        said = words.jar_said(jar)
        yield '<article class="jar">'
        yield f"<h3>{shown(jar.opening.material)}, {jar.opening.total_g:f} g</h3>"
        if said:
            yield f'<p class="why">{shown(said)}</p>'
        yield from _table(
            ("", "cup", "test", "grams", "on", "into", "then"),
            "<><><<>",
            (
                (
                    _tick(f"{jar.opening.material} into cup {made.number_of(pour.label)}", pour.within),
                    f"{made.number_of(pour.label)}",
                    shown(made.cup_of(pour.label).said),
                    f"<b>{pour.target_g:f}</b>",
                    shown(pour.balance.name) if pour.balance else "",
                    words.into(made, pour.label, pour.vessel, pour.number, pour.of),
                    "" if pour.running_total_g is None else f"{pour.running_total_g:f}",
                )
                for pour in jar.opening.pours
            ),
        )
        yield "</article>"
    yield f"</section><section><h2>Cup by cup</h2><p>{shown(words.CUPS_SAID)}</p>"
    for cup in made.cups:
        yield f'<article class="one"><h3>Cup {cup.number}: {shown(cup.said)}</h3>'
        yield f"<p>{cup.planned.plan.total_target_g:f} g, water {words.water_of(cup)}</p>"
        lines = [line for line in cup.planned.plan.lines if line.exact_g]
        yield from _weighings(lines, f"cup {cup.number}")
        yield "</article>"
    yield "</section></div>"
    yield from _statements(made)
    yield "</main>"


def _weighings(lines: Sequence[Weighing], where: str) -> Iterator[str]:
    return _table(
        ("", "material", "grams", "on", "into", "total"),
        "<<><<>",
        (
            (
                _tick(f"{line.material} into {where}", line.within),
                shown(line.material),
                f"<b>{one.target_g:f}</b>",
                shown(line.balance.name) if line.balance else "",
                where,
                words.running(one),
            )
            for line, one, where in words.pours_of(lines)
        ),
    )


def _tick(what: str, within: bool = True) -> str:
    """A box to tick, which a browser keeps without any script, and a mark where a line is out of tolerance."""
    mark = "" if within else ' <b class="mark">!</b>'
    return f'<input type="checkbox" autocomplete="off" aria-label="{shown(what)}">{mark}'


def _table(heads: Sequence[str], signs: str, rows: Iterable[Sequence[str]]) -> Iterator[str]:
    yield "<table><thead><tr>"
    for head, sign in zip(heads, signs, strict=True):
        yield f'<th scope="col"{_class(sign)}>{shown(head) or _DONE}</th>'
    yield "</tr></thead><tbody>"
    for row in rows:
        cells = "".join(f"<td{_class(sign)}>{cell}</td>" for cell, sign in zip(row, signs, strict=True))
        yield f"<tr>{cells}</tr>"
    yield "</tbody></table>"


def _class(sign: str) -> str:
    return ' class="figure"' if sign == ">" else ""


def _care(made: BenchSession) -> Iterator[str]:
    hazards = made.hazards
    yield '<section class="care"><h2>Handling and cautions, before a jar is opened</h2><ul>'
    for name, what in hazards.restricted:
        yield f"<li><b>{shown(name)}: restricted ({shown(what)}).</b> {shown(RESTRICTED)}</li>"
    if hazards.unknown:
        yield f"<li><b>{shown(UNKNOWN)}: {shown(', '.join(hazards.unknown))}.</b></li>"
    for caution in made.cautions:
        named = f"<b>{shown(', '.join(caution.materials))}:</b> " if caution.materials else ""
        yield f"<li>{named}{shown(caution.text)}</li>"
    yield "</ul>"
    for house in (False, True):
        those = [said for said in made.handling if said.note.house == house]
        if those:
            yield f"<h3>{'House handling notes' if house else 'Handling notes of the recipes'}</h3><ul>"
            for note, recipe in those:
                by = f" ({shown(recipe)})" if recipe else ""
                yield f"<li><b>{shown(', '.join(note.names))}:</b> {shown(note.text)}{by}</li>"
            yield "</ul>"
    yield "</section>"


def _statements(made: BenchSession) -> Iterator[str]:
    hazards = made.hazards
    yield '<section class="statements">'
    if hazards.listed:
        yield f"<h2>{shown(LISTED)}</h2><ul>"
        for listed in hazards.listed:
            yield f"<li>{shown(listed.material)}: {shown(' '.join(listed.codes))} ({shown(listed.cited)})</li>"
        yield "</ul><ul>"
        for code, said in hazards.texts:
            yield f"<li>{shown(code)}: {shown(said)}</li>"
        yield "</ul>"
    if hazards.silent:
        yield f"<p>{shown(SILENT)}: {shown(', '.join(hazards.silent))}</p>"
    yield "</section>"
