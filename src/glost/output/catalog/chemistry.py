"""What is known of a test's chemistry where a collection is asked for it: each figure with what it may be."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from glost.chemistry.estimate_span import Moves, Span
from glost.chemistry.firing import Calculator
from glost.chemistry.melt import Melt
from glost.chemistry.ranges import Range, unity_range
from glost.output.catalog.filters import Fired
from glost.output.formula.account import Account

NOTHING = Fired(lambda _: None, None)
"""Of a test that cannot be read."""


def known_of(made: Account, kiln: Calculator, typical: bool = False) -> Fired:
    """What is known of an account. ``typical``: a material that is held with several analyses is its typical one; what
    is unknown stays so, and a made-up composition stays as uncertain as it is. ``kiln`` made the account."""
    melt = made.fired.melt
    if melt is None:
        return NOTHING
    moved = made.spans.get("expansion")
    if typical:
        melt = _as_typical(melt, kiln)
        moved = Moves(melt).expansion(made.choice.model)
    return Fired(
        partial(unity_range, melt, convention=made.choice.convention, on=made.choice.on),
        _expansion(made, moved),
    )


def _as_typical(melt: Melt, kiln: Calculator) -> Melt:
    lines = (line if kiln.invented(line.material) else line._replace(corners=()) for line in melt.lines)
    return replace(melt, lines=tuple(lines))


def _expansion(made: Account, moved: Span | None) -> Range | None:
    if made.expansion is None:
        return None
    return Range(*(moved or Span(made.expansion.value, made.expansion.value)).decimals())
