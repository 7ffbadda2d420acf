"""How far an estimate moves with what the materials may be, whatever model makes it.

Each line in turn takes each analysis of its bracket, the others staying typical; those that move the estimate most,
down and up, are then taken together. For a model that is a share of sums this is the whole span but for a hair; for one
with products it is near it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from functools import cached_property, lru_cache
from typing import Generic, NamedTuple, TypeVar

from glost.chemistry import expansion, softening
from glost.chemistry.additive import (
    Composition,
    CompositionError,
    Estimate,
    Estimated,
    Fit,
    Glass,
    counted,
)
from glost.chemistry.analysis import Analysis
from glost.chemistry.bare_fit import Change, Counted, FitOf, bare, row_of
from glost.chemistry.melt import Line, Melt
from glost.chemistry.ranges import Choice, choices

Make = Callable[[Glass], Estimated]
"""An estimate from grams of oxides."""

Changed = TypeVar("Changed")
"""What another analysis of a line does to a melt: to the grams of its oxides, or to the mol that a fit counts."""


class Span(NamedTuple):
    """The least and the greatest value of an estimate."""

    low: float
    high: float

    def decimals(self) -> tuple[Decimal, Decimal]:
        """Both ends as exact as they are, to be rounded outwards."""
        return Decimal(repr(self.low)), Decimal(repr(self.high))


class Moves:
    """How far the estimates of one melt move with what its lines may be; None where nothing is open, or where there is
    no figure as the melt stands."""

    def __init__(self, melt: Melt, glass: Composition | None = None) -> None:
        """``glass``: the same melt as the project's own fits take it, where that is at hand."""
        self._melt = melt
        self._glass = glass
        self._known: dict[tuple[str, expansion.Span], Span | None] = {}

    def expansion(self, model: str = expansion.OWN, span: expansion.Span = "20-300 °C") -> Span | None:
        """How far ``expansion.estimate`` moves."""
        # A body asks for the same span of temperature again.
        key = (model, span if model == expansion.OWN else "20-300 °C")
        if key not in self._known:
            self._known[key] = (
                self._of_fit(expansion.fit_of_span(span))
                if model == expansion.OWN
                else self._of_model(lambda oxides: expansion.estimate(oxides, model))
            )
        return self._known[key]

    def softening(self) -> Span | None:
        """How far ``softening.estimate`` moves."""
        return self._of_fit(softening.fit())

    def widened(self, typical: Estimate, make: Make) -> Estimate:
        """The estimate with an interval that also holds what lines without an analysis may do to it."""
        unknown = [line for line in self._melt.lines if line.analysis is None]
        found = self._estimates(make, unknown) if unknown else None
        if found is None:
            return typical
        return replace(
            typical,
            low=min(typical.low, found[0].low),
            high=max(typical.high, found[1].high),
            note=f"{typical.note}; the interval is wider by what is unknown",
        )

    def _of_fit(self, fit: Fit) -> Span | None:
        """How far the value of a fit moves, which takes a tenth of the time of whole estimates."""
        melted, changes = self._counted
        if not changes:
            return None
        of = FitOf(bare(fit), melted)
        if of.typical is None:
            return None
        lowest, highest = _ends(of.typical, changes, of.changed)
        return Span(lowest.value, highest.value)

    def _of_model(self, make: Make) -> Span | None:
        found = self._estimates(make, self._melt.lines)
        return None if found is None else Span(found[0].value, found[1].value)

    @cached_property
    def _counted(self) -> tuple[Counted, list[list[tuple[float, Change]]]]:
        """What fits count of the melt, and, for each line that is open, what its other analyses change. All fits ask
        for it."""
        melt = self._melt
        whole = float(melt.total_parts)
        changes = []
        for line in melt.lines:
            if line.parts and (line.corners or line.analysis is None):
                share = float(line.parts) / whole
                changes.append([(share, change) for change in _changes_of(line, melt)])
        return row_of(counted(melt.oxides) if self._glass is None else self._glass.counted), changes

    def _estimates(self, make: Make, lines: Iterable[Line]) -> tuple[Estimate, Estimate] | None:
        """The least and the greatest that come of what some lines may be."""
        melt = self._melt
        changes = [held for line in lines if line.parts for held in [_changes(line, melt)] if held]
        if not changes:
            return None
        grams = {oxide: float(mass) for oxide, mass in melt.oxides.items()}

        def made(chosen: Sequence[Mapping[str, float]]) -> Estimate | None:
            oxides = dict(grams)
            for change in chosen:
                for oxide, mass in change.items():
                    oxides[oxide] = oxides.get(oxide, 0.0) + mass
            try:
                found = make({oxide: max(mass, 0.0) for oxide, mass in oxides.items()})
            except CompositionError:
                return None
            return found if isinstance(found, Estimate) else None

        def value(chosen: Sequence[Mapping[str, float]]) -> float | None:
            found = made(chosen)
            return None if found is None else found.value

        typical = made(())
        if typical is None:
            return None
        ends = _ends(typical.value, changes, value)
        lowest, highest = (made(end.chosen) or typical for end in ends)
        return lowest, highest


class _End(NamedTuple, Generic[Changed]):
    """A figure, and the changes that it comes of: none where it is the typical."""

    value: float
    chosen: Sequence[Changed]


def _ends(
    typical: float,
    changes: Iterable[Sequence[Changed]],
    value: Callable[[Sequence[Changed]], float | None],
) -> tuple[_End[Changed], _End[Changed]]:
    """The least and the greatest that come of the changes of each line. ``value`` gives what comes of some changes
    together; None where there is nothing to tell."""
    least = most = typical
    least_by: Sequence[Changed] = ()
    most_by: Sequence[Changed] = ()
    lowest: list[Changed] = []
    highest: list[Changed] = []
    for held in changes:
        found = [value((change,)) for change in held]
        known = [one for one in found if one is not None]
        if not known:
            continue
        low, high = min(known), max(known)
        if low < typical:
            lowest.append(held[found.index(low)])
            if low < least:
                least, least_by = low, lowest[-1:]
        if high > typical:
            highest.append(held[found.index(high)])
            if high > most:
                most, most_by = high, highest[-1:]
    # What one line alone brings has been tried.
    for chosen in (lowest, highest):
        one = value(chosen) if len(chosen) > 1 else None
        if one is not None and one < least:
            least, least_by = one, chosen
        if one is not None and one > most:
            most, most_by = one, chosen
    return _End(least, least_by), _End(most, most_by)


def _changes_of(line: Line, melt: Melt) -> Sequence[Change]:
    if line.analysis is None:
        return _changes_to_others(choices(None, (), melt))
    return _changes_of_material(line.analysis, line.corners)


@lru_cache(maxsize=1024)
def _changes_of_material(analysis: Analysis, corners: tuple[Analysis, ...]) -> Sequence[Change]:
    """Kept, since the same few materials stand in every recipe of a collection."""
    return _changes_to_others((analysis, *corners))


def _changes_to_others(known: Iterable[Analysis | Choice]) -> Sequence[Change]:
    """From the first, which is the typical."""
    typical, *others = (row_of(counted(one.oxides)) for one in known)
    return [Change(typical, other) for other in others]


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
