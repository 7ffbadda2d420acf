"""Ranges of the unity formula that books give for glazes, by cone: what is usual, not what is right.

Few are held, and from memory: see data/usual-ranges.json. Two books seldom agree, and good glazes lie outside of
all of them.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from decimal import Decimal, localcontext
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Final, NamedTuple

from glost.chemistry.unity import Unity
from glost.recipe.materials.elements import exact_enough

_DATA = Path(__file__).parent / "data" / "usual-ranges.json"

KNAO: Final = "KNaO"
"""Soda and potash together, as the books write them; lithia is not counted with them."""


class Range(NamedTuple):
    """From and to, in equivalents where the fluxes are taken as 1."""

    low: Decimal
    high: Decimal


class UsualRanges(NamedTuple):
    """The ranges of one kind of glaze. ``cones``: from the cooler to the hotter, as written. ``holds``: an oxide
    without which a glaze is not of the kind, or None. ``absent``: oxides of which a glaze may well hold less, or
    none. ``oxides``: ranges by oxide, or KNAO."""

    kind: str
    cones: tuple[str, str]
    holds: str | None
    absent: frozenset[str]
    oxides: Mapping[str, Range]
    source: str
    standing: str

    def describes(self, formula: Unity) -> bool:
        """Whether a glaze is of this kind, as far as its oxides tell. Lead and boron make kinds of their own."""
        return formula.of(self.holds) > 0 if self.holds else not formula.of("PbO")


@cache
def usual_ranges() -> tuple[UsualRanges, ...]:
    """The ranges of the data file. Raises OSError where it is missing."""
    return tuple(
        UsualRanges(
            row["for"],
            (row["cones"][0], row["cones"][1]),
            row["holds"],
            frozenset(row["absent"]),
            MappingProxyType(
                {oxide: Range(Decimal(low), Decimal(high)) for oxide, (low, high) in row["oxides"].items()}
            ),
            row["source"],
            row["standing"],
        )
        for row in json.loads(_DATA.read_text("utf-8"))["ranges"]
    )


def amount_of(formula: Unity, oxide: str) -> Decimal:
    """The equivalents of an oxide, or of KNAO."""
    if oxide != KNAO:
        return formula.of(oxide)
    with localcontext(exact_enough()):
        return formula.of("Na2O") + formula.of("K2O")
