"""Unity formulas as bars: fluxes stacked to 1, alumina and boric oxide on one scale of mol, and silica, of which there
is several times as much, at a quarter of it. One glaze by itself, or several, the bars of an oxide below each other.
The looks are those of unity.css."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal, localcontext
from typing import Final, NamedTuple

from glost.chemistry.unity import ALKALIS, FLUXES, Term, Unity
from glost.output import figures
from glost.output.web import shown
from glost.recipe.materials.elements import exact_enough

LANES: Final = (("Al2O3", "alumina"), ("B2O3", "boron"), ("SiO2", "silica"))
_UNITS: Final = 1000
"""Across a bar."""
_SILICA: Final = Decimal("0.25")
"""How long a bar of silica is for its mol, when that of another oxide is 1."""


class Glaze(NamedTuple):
    """A unity formula, and what its bars are called; "" where what stands above them says it."""

    name: str
    unity: Unity


def longest(formulas: Iterable[Unity]) -> Decimal:
    """The longest bar of these formulas, in mol: what makes bars of several drawings comparable."""
    return max(
        (max(Decimal(1), _sum(one), *(_length(one, oxide) for oxide, _ in LANES)) for one in formulas),
        default=Decimal(1),
    )


def lanes(glazes: Sequence[Glaze], most: Decimal) -> Iterator[str]:
    """A lane an oxide, in it a bar for each glaze with its words, which stay as large as the page's text however narrow
    it is. ``most``: as of ``longest``, for all that are drawn to the same scale."""
    a_mol = _UNITS / float(most)
    yield '<dl class="lanes">'
    yield "<div><dt>fluxes</dt>"
    for one in glazes:
        fluxes = _fluxes(one.unity)
        told = ", ".join(f"{term.oxide} {_figure(term.equivalents)}" for term in fluxes)
        said = f"{_figure(_sum(one.unity))}{f' = {told}' if told else ''}"
        yield _bar(one.name, _side_by_side(fluxes, a_mol), said)
    yield "</div>"
    for oxide, look in LANES:
        if not any(one.unity.of(oxide) for one in glazes):
            continue
        drawn_at = ", drawn at a quarter" if oxide == "SiO2" else ""
        yield f"<div><dt>{oxide}</dt>"
        for one in glazes:
            wide = float(_length(one.unity, oxide)) * a_mol
            said = f"{_figure(one.unity.of(oxide))}{drawn_at}" if one.unity.of(oxide) else "none"
            yield _bar(one.name, _rect(look, 0, wide) if wide else "", said)
        yield "</div>"
    yield "</dl>"


def _bar(name: str, drawn: str, told: str) -> str:
    bar = f'<svg class="unity" aria-hidden="true" viewBox="0 0 {_UNITS} 10" preserveAspectRatio="none">{drawn}</svg>'
    whose = f"{name}: " if name else ""
    return f"<dd>{bar}<small>{shown(whose + told)}</small></dd>"


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


def _length(unity: Unity, oxide: str) -> Decimal:
    return unity.of(oxide) * (_SILICA if oxide == "SiO2" else 1)


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
