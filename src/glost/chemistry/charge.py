"""A frit that a studio melts itself: what is left of its raw charge, cooled in water, is what is weighed afterwards."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any, Final

from glost.chemistry.analysis import Analysis, analyse
from glost.chemistry.melt import Line, melt
from glost.recipe.materials.oxides import OxideTable

_DECIMALS: Final = Decimal("0.0001")
"""Percent of an oxide that a frit is told to, so that its working can be followed."""


def melted(lines: Sequence[Line], table: OxideTable, record: Mapping[str, Any]) -> Analysis:
    """The analysis of a frit whose charge is ``lines``, all of them with an analysis. What burns off is lost in the
    melting and not again; that nothing else is lost, in the fume or to the water, is taken for granted (common
    practice). Raises ValueError where nothing stays."""
    percent = melt(lines, table).weight_percent()
    if not percent:
        raise ValueError("nothing of it stays in the fire")
    charge = ", ".join(f"{name} {amount}" for name, amount in record["parts"].items())
    return analyse(
        {
            "kind": "analysis",
            "oxides": {oxide: f"{figure.quantize(_DECIMALS):f}" for oxide, figure in percent.items()},
            "loss": "0",
            "sum tolerance": "0.01",
            "source": f"{record['source']}; melted from {charge}",
        },
        table,
    )
