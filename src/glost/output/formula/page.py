"""Accounts as one page for a browser and for paper, that needs nothing else: of each test its bars, its figures with
how far they may lie off, and every word of the table for a person."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import groupby
from typing import Final, NamedTuple

from glost.chemistry.ranges import Range
from glost.chemistry.unity import Unity, place
from glost.output import figures
from glost.output.formula.account import Account
from glost.output.formula.text import nodes_of
from glost.output.model import Heading, Leaf, Line, Paragraph, Row, Table, leaves
from glost.output.model.html import as_html
from glost.output.unity_bars import Glaze, lanes, longest
from glost.output.web import document, in_short, shown
from glost.recipe.safety.cautions import PRECEDENCE

_STYLES: Final = ("common.css", "history.css", "unity.css", "formula.css")
_HEADS: Final = ("unity", "fired wt %", "mol %")
_DECIMALS: Final = (3, 2, 2)
"""Of the three figures of an oxide, as the table for a person has them."""
_NONE: Final = "\u2013"
_READING: Final = (
    "Calculated from what stands in the recipes, and no test: what comes out of a kiln is told by firing it. Bars are "
    "mol, to one scale within a recipe; silica is drawn at a quarter of it. The small figures say how far one may lie "
    "off: each material as any of the analyses held of it, or any mixture of them, ends rounded outwards."
)


class Told(NamedTuple):
    """What is kept of a test. ``recipe``: what it is a test of, by its file and name. ``above``, ``figures`` and
    ``below`` are markup."""

    recipe: tuple[str, str]
    revision: str
    label: str
    name: str
    unity: Unity | None
    above: tuple[str, ...]
    figures: tuple[str, ...]
    below: tuple[str, ...]


def part(account: Account) -> Told:
    """What is kept of one test."""
    head, *rest = nodes_of(account)
    recipe = account.test.recipe
    revision = account.revision.told if account.revision else "in no commit"
    return Told(
        (account.file, recipe.name),
        revision,
        account.test.label,
        account.test.name,
        account.fired.unity,
        tuple(as_html(map(_warned, (one for one in leaves([head]) if not isinstance(one, (Heading, Line)))))),
        tuple(line for one in rest if isinstance(one, Table) for line in _table(one, account)),
        tuple(as_html(one for one in rest if not isinstance(one, Table))),
    )


def whole(parts: Iterable[Told]) -> Iterator[str]:
    """The page of all tests, a section a recipe, with a list of them where there are several."""
    recipes = [(recipe, list(those)) for recipe, those in groupby(parts, key=lambda one: one.recipe)]
    title = f"Unity formulas: {recipes[0][0][1]}" if len(recipes) == 1 else "Unity formulas"
    yield document(title, _body(recipes), _STYLES, own_style=_pages(len(recipes)), feet=_feet(recipes))


_Recipes = Sequence[tuple[tuple[str, str], Sequence[Told]]]


def _body(recipes: _Recipes) -> Iterator[str]:
    yield "<main>"
    yield "<h1>Unity formulas</h1>"
    yield f"<p>{shown(_READING)}</p>"
    yield f"<p>{shown(PRECEDENCE)}</p>"
    if not recipes:
        yield "<p>No recipe was calculated.</p>"
    if len(recipes) > 1:
        names = Counter(name for (_, name), _ in recipes)
        yield '<nav aria-label="Recipes"><ul>'
        for at, ((file, name), _) in enumerate(recipes, 1):
            which = f" <small>{shown(file)}</small>" if names[name] > 1 else ""
            yield f'<li><a href="#recipe-{at}">{shown(name)}</a>{which}</li>'
        yield "</ul></nav>"
    for at, ((file, name), those) in enumerate(recipes, 1):
        yield f'<section class="recipe" id="recipe-{at}"><h2>{shown(name)}</h2>'
        yield f'<p class="about">{shown(f"{file}, {those[0].revision}")}</p>'
        most = longest(one.unity for one in those if one.unity)
        for one in those:
            yield from _test(one, most, alone=len(those) == 1 and not one.label)
        yield "</section>"
    yield "</main>"


def _pages(recipes: int) -> str:
    """Each recipe has pages of paper of its own; what stands above the first goes on its page."""
    own = (f"#recipe-{at} {{ page: recipe-{at}; }}" for at in range(1, recipes + 1))
    return "\n".join(["main { page: recipe-1; }", *own])


def _feet(recipes: _Recipes) -> dict[str, str]:
    return {
        f"recipe-{at}": f"{in_short(name)}, {in_short(those[0].revision)}"
        for at, ((_, name), those) in enumerate(recipes, 1)
    }


def _test(told: Told, most: Decimal, alone: bool) -> Iterator[str]:
    yield '<section class="test">'
    if not alone:
        yield f"<h3>{shown(told.label or 'the recipe as it stands')}</h3>"
    yield from told.above
    yield '<div class="told"><div>'
    if told.unity is not None:
        yield from lanes([Glaze("", told.unity)], most)
    yield from told.figures
    yield "</div><div>"
    yield from told.below
    yield "</div></div></section>"


def _warned(node: Leaf) -> Leaf:
    """What keeps the figures below from being those of the whole must not be passed over."""
    return node._replace(kind="attention") if isinstance(node, Paragraph) else node


# ---- the table -----------------------------------------------------------------------------------------


def _table(table: Table, account: Account) -> Iterator[str]:
    """The figures of the table for a person, each with how far it may lie off."""
    ranges = account.ranges
    known: Sequence[Mapping[str, Range]] = (
        (ranges.unity if account.fired.unity else {}, ranges.weight_percent, ranges.mol_percent)
        if ranges
        else ({}, {}, {})
    )
    partial = "" if account.fired.nearly_known else "partial "
    yield '<table class="formula"><thead><tr>'
    yield "".join(f'<th scope="col">{head}</th>' for head in ("oxide", f"{partial}unity", *_HEADS[1:]))
    yield "</tr></thead><tbody>"
    for row in table.rows:
        if isinstance(row, Row):
            group, oxide, *told = map(str, row.cells)
            if group:
                yield _band(group)
            yield _row(oxide, told, known)
    others = sorted({oxide for one in known for oxide in one} - set(account.oxides), key=place)
    if others:
        yield _band("possible as well")
        yield from (_row(oxide, (_NONE,) * len(known), known) for oxide in others)
    yield "</tbody></table>"


def _band(text: str) -> str:
    return f'<tr><th class="band" scope="rowgroup" colspan="4">{shown(text)}</th></tr>'


def _row(oxide: str, told: Sequence[str], known: Sequence[Mapping[str, Range]]) -> str:
    cells = "".join(
        f'<td data-head="{head}">{shown(figure)}{_off(ranges.get(oxide.rstrip("*")), decimals)}</td>'
        for head, figure, ranges, decimals in zip(_HEADS, told, known, _DECIMALS, strict=True)
    )
    return f'<tr><th scope="row">{shown(oxide)}</th>{cells}</tr>'


def _off(one: Range | None, decimals: int) -> str:
    return "" if one is None else f" <small>{figures.between(one.low, one.high, decimals)}</small>"
