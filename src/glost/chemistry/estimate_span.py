"""How far an estimate moves with what the materials may be, whatever model makes it.

Each line in turn takes each analysis of its bracket, the others staying typical; those that move the estimate most,
down and up, are then taken together. For a model that is a share of sums this is the whole span but for a hair; for one
with products it is near it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import NamedTuple

from glost.chemistry.additive import CompositionError, Estimate, Estimated
from glost.chemistry.melt import Line, Melt
from glost.chemistry.ranges import choices

Make = Callable[[Mapping[str, float]], Estimated]
"""An estimate from grams of oxides."""


class Span(NamedTuple):
    """The least and the greatest value of an estimate."""

    low: float
    high: float

    def decimals(self) -> tuple[Decimal, Decimal]:
        """Both ends as exact as they are, to be rounded outwards."""
        return Decimal(repr(self.low)), Decimal(repr(self.high))


def span(melt: Melt, make: Make) -> Span | None:
    """How far the value moves with all that is open; None where nothing is. ``make`` must work for the typical melt."""
    found = _ends(melt, make, melt.lines)
    return None if found is None else Span(found[0].value, found[1].value)


def widened(typical: Estimate, melt: Melt, make: Make) -> Estimate:
    """The estimate with an interval that also holds what lines without an analysis may do to it."""
    found = _ends(melt, make, [line for line in melt.lines if line.analysis is None])
    if found is None:
        return typical
    return replace(
        typical,
        low=min(typical.low, found[0].low),
        high=max(typical.high, found[1].high),
        note=f"{typical.note}; the interval is wider by what is unknown",
    )


def _ends(melt: Melt, make: Make, lines: Sequence[Line]) -> tuple[Estimate, Estimate] | None:
    typical = {oxide: float(grams) for oxide, grams in melt.oxides.items()}
    changes = [held for line in lines if line.parts for held in [_changes(line, melt)] if held]
    if not changes:
        return None

    def made(chosen: Sequence[Mapping[str, float]]) -> Estimate | None:
        oxides = dict(typical)
        for change in chosen:
            for oxide, grams in change.items():
                oxides[oxide] = oxides.get(oxide, 0.0) + grams
        try:
            found = make({oxide: max(grams, 0.0) for oxide, grams in oxides.items()})
        except CompositionError:
            return None
        return found if isinstance(found, Estimate) else None

    alone = make(typical)
    if not isinstance(alone, Estimate):
        return None
    lowest: list[Mapping[str, float]] = []
    highest: list[Mapping[str, float]] = []
    tried = [alone]
    for held in changes:
        known = [(one, change) for change in held if (one := made([change])) is not None]
        tried += (one for one, _ in known)
        low, lower = min(known, key=lambda pair: pair[0].value, default=(alone, {}))
        high, higher = max(known, key=lambda pair: pair[0].value, default=(alone, {}))
        lowest += [lower] if low.value < alone.value else []
        highest += [higher] if high.value > alone.value else []
    tried += [one for one in (made(lowest), made(highest)) if one is not None]
    return min(tried, key=lambda one: one.value), max(tried, key=lambda one: one.value)


def _changes(line: Line, melt: Melt) -> list[dict[str, float]]:
    """What each analysis that a line may have does to the grams of oxides of 100 g of batch."""
    typical, *others = choices(line.analysis, line.corners, melt)
    share = float(line.parts) / float(melt.total_parts)
    return [
        {
            oxide: share * (float(other.oxides.get(oxide, 0)) - float(typical.oxides.get(oxide, 0)))
            for oxide in {**typical.oxides, **other.oxides}
        }
        for other in others
    ]
