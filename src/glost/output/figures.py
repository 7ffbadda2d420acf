"""How figures are written for a person: rounded half up, and never to a zero that is not one."""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal

LEAST_PERCENT = Decimal("0.005")
"""From here on a percentage is shown as something."""

_LEAST = {decimals: Decimal(1).scaleb(-decimals) for decimals in range(5)}


def shown(figure: Decimal, decimals: int) -> str:
    """``figure`` with at most four decimals, as many as asked for. What would round to 0 and is not 0 is written as
    less than the last decimal: "<0.001"."""
    least = _LEAST[decimals]
    rounded = figure.quantize(least, ROUND_HALF_UP)
    if not rounded and figure:
        return f"<{least}" if figure > 0 else f">-{least}"
    return str(rounded)


def unity(figure: Decimal) -> str:
    """Equivalents, three decimals."""
    return shown(figure, 3)


def percent(figure: Decimal) -> str:
    """A percentage, two decimals, without its sign."""
    return shown(figure, 2)


def between(low: Decimal, high: Decimal | None, decimals: int) -> str:
    """A range, rounded outwards, so that what lies within it lies within what is printed."""
    least = _LEAST[decimals]
    down = low.quantize(least, ROUND_FLOOR)
    return f"{down} or more" if high is None else f"{down} to {high.quantize(least, ROUND_CEILING)}"
