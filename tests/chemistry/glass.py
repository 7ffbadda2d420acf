"""Compositions that are given as oxides already."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from glost.chemistry.analysis import analyse
from glost.chemistry.melt import Line, Melt, melt


def fired_glass(weight_percent: Mapping[str, Decimal]) -> Melt:
    """The melt of oxides in % by mass, of which nothing is lost."""
    return melt(
        Line(oxide, figure, analyse({"kind": "formula", "formula": oxide}))
        for oxide, figure in weight_percent.items()
    )
