"""What the errors of an estimate are counted over: corners of the field, and the table of each.

The fit writes the tables of docs/models.md with this, and the tests count the same over the extracts that they hold.
"""

from __future__ import annotations

import statistics
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import NamedTuple

from glost.chemistry.additive import FLUXES

MOST_IN_ERRORS = 20
"""No author counts for more than so many glasses in a figure "by author"."""


class Tried(NamedTuple):
    """A glass that was estimated without its author: estimate - measured; whether it lay in the interval, and half the
    width of that; author, year, and mass %."""

    error: float
    within: bool
    half: float
    author: str
    year: int
    mass: Mapping[str, float]
    mol: Mapping[str, float]


def _at_least(oxide: str, least: float) -> Callable[[Tried], bool]:
    return lambda glass: glass.mass.get(oxide, 0.0) >= least


def studio(glass: Tried) -> bool:
    """Lime-alkali-alumina glasses such as studios fire, by their unity formula; no lead."""
    mol = glass.mol
    flux = sum(mol.get(oxide, 0.0) for oxide in FLUXES) or 1.0
    unity = {oxide: mol.get(oxide, 0.0) / flux for oxide in mol}
    alkali = sum(unity.get(oxide, 0.0) for oxide in ("Na2O", "K2O", "Li2O"))
    return (
        0.25 <= unity.get("CaO", 0.0) <= 0.85
        and 0.1 <= alkali <= 0.5
        and 0.15 <= unity.get("Al2O3", 0.0) <= 0.8
        and 1.8 <= unity.get("SiO2", 0.0) <= 6
        and unity.get("B2O3", 0.0) <= 0.6
        and mol.get("K2O", 0.0) > 0.5
        and not mol.get("PbO", 0.0)
    )


CORNERS: Mapping[str, Callable[[Tried], bool]] = {
    "all": lambda glass: True,
    "as studios fire": studio,
    "no Li2O": lambda glass: not glass.mass.get("Li2O", 0.0),
    "Li2O from 1 %": _at_least("Li2O", 1),
    "Li2O from 3 %": _at_least("Li2O", 3),
    "B2O3 from 3 %": _at_least("B2O3", 3),
    "B2O3 from 15 %": _at_least("B2O3", 15),
    "ZnO from 2 %": _at_least("ZnO", 2),
    "BaO from 3 %": _at_least("BaO", 3),
    "MgO from 3 %": _at_least("MgO", 3),
    "Fe2O3 from 2 %": _at_least("Fe2O3", 2),
    "PbO from 2 %": _at_least("PbO", 2),
    "TiO2 from 2 %": _at_least("TiO2", 2),
    "P2O5 from 2 %": _at_least("P2O5", 2),
}


class Row(NamedTuple):
    """One line of a table; shares in %."""

    glasses: int
    authors: int
    median: float
    ninetieth: float
    bias: float
    median_by_author: float
    ninetieth_by_author: float
    held: float
    held_by_author: float
    half: float


def capped(groups: Sequence[str], most: int = MOST_IN_ERRORS) -> list[float]:
    """A weight for each glass, so that no author counts for more than ``most`` of them."""
    count = Counter(groups)
    return [min(1.0, most / count[group]) for group in groups]


def quantile(values: Sequence[float], weight: Sequence[float], part: float) -> float:
    """The least value with at least that part of the weight at or below it."""
    reached, whole = 0.0, sum(weight) * part - 1e-9
    for value, more in sorted(zip(values, weight, strict=True)):
        reached += more
        if reached >= whole:
            return value
    raise ValueError("no values")


def row(glasses: Iterable[Tried]) -> Row:
    found = list(glasses)
    size = [abs(glass.error) for glass in found]
    authors = [glass.author for glass in found]
    weight, even = capped(authors), [1.0] * len(found)
    within = [100.0 * glass.within for glass in found]
    return Row(
        len(found),
        len(set(authors)),
        round(quantile(size, even, 0.5), 1),
        round(quantile(size, even, 0.9), 1),
        round(statistics.median(glass.error for glass in found), 1),
        round(quantile(size, weight, 0.5), 1),
        round(quantile(size, weight, 0.9), 1),
        round(statistics.fmean(within), 1),
        round(statistics.fmean(within, weight), 1),
        round(statistics.median(glass.half for glass in found), 1),
    )


def table(glasses: Sequence[Tried], least: int = 15) -> dict[str, Row]:
    """A row for each corner of which at least so many glasses were tried."""
    out = {}
    for name, lies_in in CORNERS.items():
        those = [glass for glass in glasses if lies_in(glass)]
        if len(those) >= least:
            out[name] = row(those)
    return out
