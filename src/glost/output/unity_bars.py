"""Unity formulas as bars: fluxes stacked to 1, alumina and boric oxide on one scale of mol, and silica, of which there
is several times as much, at a quarter of it. One glaze above the other, or each by itself. The looks are those of
unity.css."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal, localcontext
from typing import Final, NamedTuple

from glost.chemistry.unity import ALKALIS, FLUXES, Term, Unity
from glost.output import figures
from glost.output.escape import visible
from glost.output.web import shown
from glost.recipe.materials.elements import exact_enough

_WIDTH: Final = 380.0
_LEFT: Final = 84.0
_ROOM: Final = 48.0
"""Right of the longest bar, for its figure."""
_BAR: Final = 13.0
_STEP: Final = 15.0
_LANE: Final = 16.0
"""The heading of a lane."""
_SIZE: Final = 11.0
_EM: Final = 0.68
"""A letter is at most so wide for its height, on the average of a name."""

LANES: Final = (("Al2O3", "alumina"), ("B2O3", "boron"), ("SiO2", "silica"))
_UNITS: Final = 1000
"""Across the bars of a glaze by itself."""
_SILICA: Final = Decimal("0.25")
"""How long a bar of silica is for its mol, when that of another oxide is 1."""


class Glaze(NamedTuple):
    """A unity formula, and what its bars are called."""

    name: str
    unity: Unity


def in_words(glaze: Glaze) -> str:
    """The text alternative: every figure that is drawn."""
    terms = [*_fluxes(glaze.unity)]
    told = [f"{term.oxide} {term.equivalents:.2f}" for term in terms]
    told += [f"{oxide} {glaze.unity.of(oxide):.2f}" for oxide, _ in LANES]
    return f"{visible(glaze.name)}: {', '.join(told)}"


def longest(formulas: Iterable[Unity]) -> Decimal:
    """The longest bar of these formulas, in mol: what makes bars of several drawings comparable."""
    return max(
        (max(Decimal(1), _sum(one), *(_length(one, oxide) for oxide, _ in LANES)) for one in formulas),
        default=Decimal(1),
    )


def lanes_of_one(glaze: Glaze, most: Decimal) -> Iterator[str]:
    """The bars of one glaze with their words beside them, which stay as large as the page's text however narrow it is.
    ``most``: as of ``longest``, for all that are drawn to the same scale."""
    unity = glaze.unity
    a_mol = _UNITS / float(most)
    fluxes = _fluxes(unity)
    yield '<dl class="lanes">'
    told = ", ".join(f"{term.oxide} {_figure(term.equivalents)}" for term in fluxes)
    yield _lane(
        "fluxes", _side_by_side(fluxes, a_mol), f"{_figure(_sum(unity))}{f' = {told}' if told else ''}"
    )
    for oxide, look in LANES:
        if unity.of(oxide):
            wide = float(_length(unity, oxide)) * a_mol
            drawn_at = ", drawn at a quarter" if oxide == "SiO2" else ""
            yield _lane(oxide, _rect(look, 0, wide), f"{_figure(unity.of(oxide))}{drawn_at}")
    yield "</dl>"


def _lane(what: str, drawn: str, told: str) -> str:
    bar = (
        f'<svg class="unity bar" aria-hidden="true" viewBox="0 0 {_UNITS} 10" preserveAspectRatio="none">'
        f"{drawn}</svg>"
    )
    return f"<div><dt>{what}</dt><dd>{bar}<small>{shown(told)}</small></dd></div>"


def _figure(equivalents: Decimal) -> str:
    return figures.shown(equivalents, 2)


def _side_by_side(fluxes: Iterable[Term], a_mol: float) -> str:
    x, out = 0.0, ""
    for term in fluxes:
        wide = float(term.equivalents) * a_mol
        out += _rect(f"{_look(term)} part", x, wide)
        x += wide
    return out


def _rect(look: str, x: float, wide: float) -> str:
    return f'<rect class="{look}" x="{x:.1f}" y="0" width="{wide:.1f}" height="10"/>'


def unity_bars(glazes: Sequence[Glaze]) -> Iterator[str]:
    """The drawing of one glaze or several, line by line."""
    a_mol = (_WIDTH - _LEFT - _ROOM) / float(longest(one.unity for one in glazes))
    lanes = [(oxide, look) for oxide, look in LANES if any(one.unity.of(oxide) for one in glazes)]
    height = (len(lanes) + 1) * (_LANE + len(glazes) * _STEP + 4)
    said = "; ".join(map(in_words, glazes))
    yield (
        f'<svg class="unity" viewBox="0 0 {_WIDTH:g} {height:g}" role="img" '
        f'aria-label="Unity formula, mol. {shown(said)}">'
    )
    y = 0.0
    for oxide, look in (("", ""), *lanes):
        heading = "SiO2, drawn at a quarter" if oxide == "SiO2" else oxide or "fluxes, together 1"
        yield f'<text class="lane" x="0" y="{y + 11:g}" font-size="{_SIZE:g}">{heading}</text>'
        y += _LANE
        for one in glazes:
            yield (
                f'<text class="glaze" x="0" y="{y + 10.5:g}" font-size="{_SIZE:g}">'
                f"{shown(_cut(one.name, _LEFT - 6))}</text>"
            )
            if oxide:
                yield from _bar(one.unity, oxide, look, y, a_mol)
            else:
                yield from _stacked(one.unity, y, a_mol)
            y += _STEP
        y += 4
    yield "</svg>"


def _length(unity: Unity, oxide: str) -> Decimal:
    return unity.of(oxide) * (_SILICA if oxide == "SiO2" else 1)


def _bar(unity: Unity, oxide: str, look: str, y: float, a_mol: float) -> Iterator[str]:
    wide = float(_length(unity, oxide)) * a_mol
    yield f'<rect class="{look}" x="{_LEFT:g}" y="{y:g}" width="{wide:.2f}" height="{_BAR:g}"/>'
    yield f'<text x="{_LEFT + wide + 4:.2f}" y="{y + 10.5:g}" font-size="{_SIZE:g}">{unity.of(oxide):.2f}</text>'


def _stacked(unity: Unity, y: float, a_mol: float) -> Iterator[str]:
    x = _LEFT
    for term in _fluxes(unity):
        wide = float(term.equivalents) * a_mol
        look = _look(term)
        yield f'<rect class="{look} part" x="{x:.2f}" y="{y:g}" width="{wide:.2f}" height="{_BAR:g}"/>'
        if wide >= _EM * _SIZE * len(term.oxide):
            yield (
                f'<text class="on-{look}" x="{x + wide / 2:.2f}" y="{y + 10.5:g}" font-size="{_SIZE - 1:g}" '
                f'text-anchor="middle">{term.oxide}</text>'
            )
        x += wide


def _look(term: Term) -> str:
    return "alkalis" if term.oxide in ALKALIS else "zinc" if term.oxide in ("ZnO", "PbO") else "earths"


def _fluxes(unity: Unity) -> list[Term]:
    """What is counted towards the 1: alkalis first, then earths, then zinc and lead, as the formula is printed. On
    alumina it is what would be."""
    if unity.on == "alumina":
        return [term for term in unity.terms if term.oxide in FLUXES]
    return [term for term in unity.terms if term.counted]


def _sum(unity: Unity) -> Decimal:
    with localcontext(exact_enough()):
        return sum((term.equivalents for term in _fluxes(unity)), Decimal(0))


def _cut(name: str, room: float) -> str:
    name = visible(name)
    longest = int(room / (_EM * _SIZE))
    return name if len(name) <= longest else name[: longest - 1].rstrip() + "\u2026"
