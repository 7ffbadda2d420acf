"""What a test is made of, as one bar: the parts of the base side by side, then the additions, lower and set off.

A part is toned by what it is in a glaze (its role in the catalogue), so that one material looks alike on every page.
Nobody has to tell tones apart: the bar says in words what it shows, and stands where the parts are named. Its style is
in web/common.css.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType
from typing import Final, NamedTuple

from glost.output.web import shown
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.recipe import Part
from glost.weighing.rounding import plain, round_to

WIDTH: Final = 1000
HEIGHT: Final = 10
GAP: Final = 8
"""Between base and additions, in units of the bar's width."""
SEAM: Final = 2
"""Between two parts."""
_ADDED_Y: Final = 4
UNKNOWN: Final = "unknown"
"""The tone of a material that nobody knows."""
TONES: Final = MappingProxyType(
    {
        "clay": "clay",
        "feldspar": "feldspar",
        "silica": "silica",
        "flux": "flux",
        "ash": "flux",
        "boron": "frit",
        "frit": "frit",
        "opacifier": "opacifier",
        "colourant": "colourant",
        "": UNKNOWN,
    }
)
"""The tone of each role; any other role has that of a mineral. "" stands for a material without an entry."""


class Slice(NamedTuple):
    """One part of the bar. ``parts`` are of the recipe, in what it is written in; ``tone`` is one of TONES."""

    name: str
    parts: Fraction
    tone: str
    base: bool


def slices_of(base: Iterable[Part], additions: Iterable[Part], catalogue: Catalogue) -> tuple[Slice, ...]:
    """The parts of a test, as its recipe has them; those of nothing are left out."""
    return tuple(
        Slice(part.called, Fraction(part.parts), tone_of(part.called, catalogue), in_base)
        for parts, in_base in ((base, True), (additions, False))
        for part in parts
        if part.parts
    )


def tone_of(name: str, catalogue: Catalogue) -> str:
    """The tone of a material by its name."""
    found = catalogue.find(name)
    return TONES.get(found.role if found else "", "mineral")


def whole_of(slices: Iterable[Slice]) -> Fraction:
    """What the full width stands for: the sum of all parts, the base taken as 100. Of several bars that are compared,
    each is drawn for the largest of them."""
    slices = list(slices)
    base = sum((one.parts for one in slices if one.base), Fraction(0))
    return sum((one.parts for one in slices), Fraction(0)) * 100 / base if base else Fraction(0)


def parts_bar(slices: Sequence[Slice], whole: Fraction | None = None) -> str:
    """The bar as SVG that stands in a page; "" where there is no base. ``whole``: what its full width stands for, as of
    whole_of; None for the test itself."""
    own = whole_of(slices)
    if not own:
        return ""
    drawn = "".join(
        f'<rect class="{tone}" x="{x}" y="{y}" width="{wide}" height="{HEIGHT - y}"/>'
        for tone, x, y, wide in _places(slices, max(own, whole or own))
    )
    return (
        f'<svg class="parts-bar" role="img" aria-label="{shown(told(slices))}" viewBox="0 0 {WIDTH} {HEIGHT}"'
        f' preserveAspectRatio="none">{drawn}</svg>'
    )


def _places(slices: Sequence[Slice], whole: Fraction) -> Iterator[tuple[str, int, int, int]]:
    """Tone, left edge, upper edge and width of each part, in whole units. Edges are rounded, not widths: what follows
    stays where it belongs."""
    base = sum((one.parts for one in slices if one.base), Fraction(0))
    room = WIDTH - (GAP if any(not one.base for one in slices) else 0)
    at = Fraction(0)
    for one in slices:
        wide = one.parts * 100 / base * room / whole
        push = 0 if one.base else GAP
        left, right = round(at) + push, round(at + wide) + push
        # A trace is still to be seen.
        yield one.tone, left, 0 if one.base else _ADDED_Y, max(right - left - SEAM, SEAM)
        at += wide


def told(slices: Sequence[Slice]) -> str:
    """What the bar shows, in words, on a base of 100."""
    base, added = listed(slices)
    return f"made of {base}{f'; added {added}' if added else ''}"


def listed(slices: Sequence[Slice]) -> tuple[str, str]:
    """The materials with their amounts on a base of 100: those of the base, and the additions."""
    base = sum((one.parts for one in slices if one.base), Fraction(0))

    def one_by_one(of_base: bool) -> str:
        return ", ".join(
            f"{one.name} {plain(round_to(one.parts * 100 / base, _step(one.parts * 100 / base))):f}"
            for one in slices
            if one.base is of_base
        )

    return (one_by_one(True), one_by_one(False)) if base else ("", "")


def _step(share: Fraction) -> Decimal:
    """Two decimals; of a trace three figures, wherever they begin."""
    return Decimal(1).scaleb(-2 if share >= 1 else min(-2, Decimal(float(share)).adjusted() - 2))
