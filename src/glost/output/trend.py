"""A figure through its revisions as a small line, with a dot where it changed. The looks are those of trend.css."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from glost.output.model import Trend
from glost.output.web import shown

_WIDTH: Final = 112.0
_HEIGHT: Final = 24.0
_EDGE: Final = 4.0


def drawn(trend: Trend) -> str:
    """The line as markup, from the oldest at the left; a reader that cannot see it is told the same in words."""
    there = [one.value for one in trend.moments if one.value is not None]
    low, high = min(there, default=Fraction(0)), max(there, default=Fraction(0))
    step = (_WIDTH - 2 * _EDGE) / max(len(trend.moments) - 1, 1)

    def x(at: int) -> float:
        return round(_EDGE + at * step, 1)

    def y(value: Fraction) -> float:
        share = float((value - low) / (high - low)) if high != low else 0.5
        return round(_HEIGHT - _EDGE - share * (_HEIGHT - 2 * _EDGE), 1)

    # An amount holds until the revision that changes it, so that the line goes in steps and not aslant.
    path, dots = [], []
    values = [None, *(one.value for one in trend.moments), None]
    for at, (_, value, changed) in enumerate(trend.moments):
        before, after = values[at], values[at + 2]
        if value is None:
            continue
        path.append(f"M{x(at):g} {y(value):g}" if before is None else f"H{x(at):g}V{y(value):g}")
        # What stands alone has no line to be seen by.
        if changed or before is after is None:
            dots.append(f'<circle cx="{x(at):g}" cy="{y(value):g}" r="2.6"/>')
    return (
        f'<svg class="trend" viewBox="0 0 {_WIDTH:g} {_HEIGHT:g}" width="{_WIDTH:g}" height="{_HEIGHT:g}" '
        f'role="img" aria-label="{shown(trend.text)}"><path d="{"".join(path)}"/>{"".join(dots)}</svg>'
    )
