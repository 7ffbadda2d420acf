"""Many cups as a page for a browser: the bench page of the batch sheets with an order of its own, a map of the cups,
and what is printed. Without the script it reads and prints all the same."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from glost.output.board import Cup, maps_of
from glost.output.escape import visible
from glost.output.formats.html import SCRIPTS, held_sheet
from glost.output.model import Terms
from glost.output.model.html import as_html
from glost.output.session import content, words
from glost.output.session.session import BenchSession, Jar, Numbered
from glost.output.web import document, in_short, shown, some_of

_STYLES = ("common.css", "sheet.css", "paper.css", "cups.css", "board.css")


def page(made: BenchSession) -> str:
    """The whole page."""
    return document(
        words.title(made),
        _body(made),
        styles=_STYLES,
        scripts=(*SCRIPTS[:-1], "cups.js", SCRIPTS[-1]),
        held={
            "jars": [_held_jar(jar) for jar in made.jars],
            "sheets": list(_held_cups(made)),
            "margin": f"{made.margin:f}",
        },
        feet={"": _foot(made)},
    )


def _foot(made: BenchSession) -> str:
    """What stands at the foot of every page: a page that lies on the floor is somebody's."""
    revisions = dict.fromkeys(cup.sheet.revision for cup in made.cups)
    of_one = [in_short(one) for one in revisions if len(revisions) == 1]
    whose = ", ".join([some_of(cup.test.recipe.name for cup in made.cups), *of_one])
    return f"{words.title(made)}: {whose}"


def _body(made: BenchSession) -> Iterator[str]:
    yield "<main>"
    yield '<section id="choice" aria-labelledby="session">'
    yield f'<h1 id="session">{shown(words.title(made))}</h1>'
    yield from as_html(content.errors(made))
    yield '<p class="notice grown" hidden></p>'
    yield from _map(made)
    yield '<div class="set-out">'
    yield from as_html(content.beforehand(made))
    yield from _set_out(made)
    yield from as_html(content.before_the_jars(made))
    yield "</div>"
    yield from _papers(made)
    yield from as_html([content.statements(made)])
    yield "</section>"
    for cup in made.cups:
        yield from _cup(cup)
    yield "</main>"


def _cup(cup: Numbered) -> Iterator[str]:
    """The place of one cup on the screen; the script fills it."""
    sheet = cup.sheet
    yield f'<article class="sheet screen" id="{_anchor(cup)}" aria-labelledby="name-{cup.number}">'
    yield f'<header><h2 id="name-{cup.number}"><b class="number">{cup.number}</b> {shown(cup.said)}</h2></header>'
    yield f'<p class="mass">{shown(sheet.mass)}</p>'
    if cup.vessels:
        yield '<div class="bench screen"></div>'
    for warning in sheet.warnings:
        yield f'<p class="warning"><b>Attention:</b> {shown(warning)}</p>'
    if cup.vessels:
        yield '<div class="record screen"></div>'
    yield "</article>"


def _anchor(cup: Numbered) -> str:
    return f"cup-{cup.number}"


# ---- the map -------------------------------------------------------------------------------------------


def _map(made: BenchSession) -> Iterator[str]:
    """The cups as they are set out: a row for each recipe, in it a place for each cup."""
    yield '<section class="map"><h2>Map of the cups</h2>'
    for (recipe, file), cups in groupby(made.cups, lambda cup: (cup.test.recipe.name, cup.file)):
        yield f'<h3>{shown(recipe)} <small class="file">{shown(file)}</small></h3>'
        those = list(cups)
        for mapped in maps_of(Cup(cup.test, cup.number, _anchor(cup)) for cup in those):
            yield f"<h4>{shown(mapped.title)}: {shown(mapped.shape)}</h4>"
            yield from as_html([Terms(list(mapped.corners), "corners"), mapped.map])
        yield '<ol class="places">'
        for cup in those:
            find = visible(f"{cup.number} {cup.said} {cup.file}".lower())
            yield (
                f'<li data-find="{shown(find)}"><a href="#{_anchor(cup)}"><b class="number">{cup.number}</b>'
                f' <span class="who">{shown(cup.sheet.step) or "as it stands"}</span>'
                f' <span class="amount"{_now("mass", cup.number)}>{_dry(cup)}</span>'
                f' <span class="water">{_water(cup)}</span>'
                ' <span class="state"></span></a></li>'
            )
        yield "</ol>"
    yield "</section>"


def _now(what: str, number: int) -> str:
    """Marks a figure that the script puts anew where a cup was made larger. ``number``: of the cup, or of the jar."""
    return f' data-now="{what}" data-of="{number}"'


def _dry(cup: Numbered) -> str:
    return f"{cup.planned.plan.total_target_g:f}\u00a0g"


def _water(cup: Numbered) -> str:
    return f"water <span{_now('water', cup.number)}>{shown(words.water_of(cup))}</span>"


def _set_out(made: BenchSession) -> Iterator[str]:
    """What to set out, with a place for what a cup made larger needs: further vessels, more water."""
    yield '<section><h2>Set out</h2><dl class="terms">'
    of_cup = {words.vessels_said(cup): cup.number for cup in made.cups if cup.vessels != 1}
    for word, said in words.set_out(made):
        text = shown(said)
        if said in of_cup:
            text = f"<span{_now('vessels', of_cup[said])}>{shown(said)}</span>"
        elif word == "cups":
            fullest = f"{made.largest_g:f}\u00a0g"
            before, after = said.split(f"{made.largest_g:f} g", 1)
            text = f"{shown(before)}<span{_now('fullest', 0)}>{fullest}</span>{shown(after)}"
        elif word == "water" and made.water_g is not None:
            before, after = said.split(" g ", 1)
            text = f"<span{_now('all-water', 0)}>{shown(before)}\u00a0g</span> {shown(after)}"
        yield f"<div><dt>{shown(word)}</dt> <dd>{text}</dd></div>"
        if word == "cups":
            yield from (
                f"<div hidden><dt></dt> <dd><span{_now('vessels', cup.number)}></span></dd></div>"
                for cup in made.cups
                if cup.vessels == 1
            )
    yield "</dl></section>"


# ---- on paper ------------------------------------------------------------------------------------------


def _papers(made: BenchSession) -> Iterator[str]:
    """Both orders as lists to tick off and to write on."""
    yield '<section class="paper orders"><div>'
    yield f"<h2>{words.JARS}</h2><p>{shown(words.JARS_SAID)}</p>"
    left = _lines(made)
    several = len(made.balances) > 1
    for number, jar in enumerate(made.jars, 1):
        material = jar.opening.material
        in_all = f"<span{_now('sum', number)}>{jar.opening.total_g:f}\u00a0g</span> in all"
        yield from _list(
            f"{shown(material)}, {in_all}", shown(words.jar_said(jar)), ("cup", "test"),
            (
                _row(
                    (cup.number, left[cup.number, material].pop(0)),
                    (f"{cup.number}", cup.said),
                    f"{pour.target_g:f}",
                    pour.balance.name if several and pour.balance else "",
                    words.into(made, pour.label, pour.vessel, pour.number, pour.of),
                    "" if pour.running_total_g is None else f"{pour.running_total_g:f}",
                    pour.within,
                )
                for pour in jar.opening.pours
                for cup in [made.cup_of(pour.label)]
            ),
        )  # fmt: skip
    yield "</div><div>"
    yield f"<h2>{words.CUPS}</h2><p>{shown(words.CUPS_SAID)}</p>"
    for cup in made.cups:
        plan = cup.planned.plan
        mass = f"<span{_now('mass', cup.number)}>{_dry(cup)}</span>"
        about = f"{mass}, {_water(cup)}, poured ________\u00a0g"
        yield from _list(
            f"Cup {cup.number}: {shown(cup.said)}", about, ("material",),
            (
                _row(
                    (cup.number, number),
                    (line.material,),
                    f"{one.target_g:f}",
                    line.balance.name if several and line.balance else "",
                    where,
                    words.running(one),
                    line.within,
                )
                for number, (line, one, where) in enumerate(words.pours_of(plan.lines))
                if line.exact_g
            ),
        )  # fmt: skip
    yield "</div></section>"


def _lines(made: BenchSession) -> dict[tuple[int, str], list[int]]:
    """The weighings of a material in a cup, by their place among all of that cup: as the script counts them."""
    found: dict[tuple[int, str], list[int]] = {}
    for cup in made.cups:
        for number, (line, _, _) in enumerate(words.pours_of(cup.planned.plan.lines)):
            if line.exact_g:
                found.setdefault((cup.number, line.material), []).append(number)
    return found


def _list(title: str, about: str, heads: Sequence[str], rows: Iterable[str]) -> Iterator[str]:
    """``title`` and ``about``: as they stand in the page."""
    aside = f' <small class="aside">{about}</small>' if about else ""
    columns = len(heads) + 6
    yield '<section class="of-one"><table><thead>'
    # In the head, so that it stands again where the list goes on on a further page.
    yield f'<tr><th colspan="{columns}"><h3>{title}{aside}</h3></th></tr>'
    yield '<tr><th scope="col"><span class="unseen">done</span></th>'
    for head in (*heads, "grams", "on", "into", "then", "weighed"):
        figure = ' class="figure"' if head in ("cup", "grams", "then") else ""
        yield f'<th scope="col"{figure}>{head}</th>'
    yield "</tr></thead><tbody>"
    yield from rows
    yield "</tbody></table></section>"


def _row(
    place: tuple[int, int], names: Sequence[str], grams: str, on: str, into: str, then: str, within: bool
) -> str:
    """``place``: number of the cup, and the weighing in it."""
    mark = "" if within else ' <b class="mark">!</b>'
    *before, name = names
    numbers = "".join(f'<td class="figure"><b>{shown(one)}</b></td>' for one in before)
    return (
        f'<tr data-cup="{place[0] - 1}" data-line="{place[1]}">'
        f'<td><span class="box" data-fill="done"></span>{mark}</td>'
        f"{numbers}"
        f'<th scope="row">{shown(name)}</th><td class="figure grams" data-fill="grams">{grams}</td>'
        f'<td>{shown(on)}</td><td data-fill="into">{shown(into)}</td><td class="figure" data-fill="then">{then}</td>'
        f'<td class="blank" data-fill="weighed"></td></tr>'
    )


# ---- what the script works with ------------------------------------------------------------------------


def _held_cups(made: BenchSession) -> Iterator[dict[str, object]]:
    """Each cup as the batch sheet of its test, so that both have one state; numbered as a cup of this session."""
    met: dict[tuple[str, str, str], int] = {}
    for cup in made.cups:
        who = (cup.file, cup.test.recipe.name, cup.test.label)
        met[who] = met.get(who, 0) + 1
        yield {
            **held_sheet(cup.job, cup.sheet, _anchor(cup)),
            "number": cup.number,
            "count": len(made.cups),
            **({"again": met[who]} if met[who] > 1 else {}),
        }


def _held_jar(jar: Jar) -> dict[str, str]:
    return {
        "material": jar.opening.material,
        "shown": visible(jar.opening.material),
        "total": f"{jar.opening.total_g:f}",
        "why": visible(words.jar_said(jar)),
    }
