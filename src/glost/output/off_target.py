"""What stands against a mass that was read off a balance, in words: those of the page at the bench (``plans.js``,
``slips.js``, ``sheet.js``), for what was written on paper."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Final

from glost.weighing.batch import Weighing
from glost.weighing.rounding import decimals_of, round_to
from glost.weighing.standing import standing

_LOOSE: Final = Fraction(1, 20)
"""How near a figure must be to what it is taken for: common practice."""
_FAR: Final = Fraction(3, 2)
"""More than so many times what was asked for is no careless spoon."""
_SHIFTS: Final = (10, 100, 1000)
_TIMES: Final = {10: "a tenth", 100: "a hundredth", 1000: "a thousandth"}


def off_target(line: Weighing, actual: Decimal, tolerance: Decimal) -> str:
    """What is to be said of a mass that lies out of tolerance, "" for any other. tolerance: a fraction."""
    kind = standing(line.exact_g, line.target_g, line.division_g, line.rounds_well, actual, tolerance)
    if kind not in ("over", "short"):
        return ""
    slip = _slip(line, actual, tolerance)
    off = f"{_grams(abs(actual - line.target_g), line)} g {'too much' if kind == 'over' else 'too little'}"
    if not line.exact_g:
        return f"{slip}{off}: none was asked for"
    share = _percent((Fraction(actual) - line.exact_g) / line.exact_g)
    return f"{slip}{off}, {share} {'over' if kind == 'over' else 'short'}: outside {_percent(Fraction(tolerance))}"


def _slip(line: Weighing, actual: Decimal, tolerance: Decimal) -> str:
    """What the figure more likely is than a mass, as a sentence with a blank behind it; "" where nothing speaks for
    that."""
    if not line.target_g:
        return ""
    target, loose = Fraction(line.target_g), max(_LOOSE, 2 * Fraction(tolerance))
    alone = f"{_grams(line.target_g, line)} g"
    whole = line.running_total_g
    if whole is not None and not line.apart and line.portions == 1 and whole > line.target_g:
        before = Fraction(whole) - target
        much = actual > target * _FAR and 2 * abs(Fraction(actual) - before - target) <= target
        if much or _near(Fraction(actual) - before, target, loose):
            return (
                f"{actual:f} is about what the whole cup shows then ({_grams(whole, line)} g); this line alone is"
                f" {alone}. "
            )
    for power in _SHIFTS:
        for figure, times in (
            (Fraction(actual) / power, f"{power} times"),
            (Fraction(actual) * power, f"{_TIMES[power]} of"),
        ):
            if _near(figure, target, loose):
                return f"{actual:f} is about {times} the {alone} asked for: is the point in the wrong place? "
    return f"{actual:f} is far from the {alone} asked for. " if actual > target * _FAR else ""


def _near(one: Fraction, other: Fraction, share: Fraction) -> bool:
    return abs(one - other) <= other * share


def _grams(mass: Decimal, line: Weighing) -> str:
    """With the decimals of the display, and more where there are more."""
    rounded = round_to(mass, Decimal(1).scaleb(-decimals_of(line.division_g)))
    return f"{rounded if rounded == mass else mass:f}"


def _percent(share: Fraction) -> str:
    hundredfold = abs(share) * 100
    text = f"{round_to(hundredfold, Decimal('0.1') if hundredfold < 10 else Decimal(1)):f}"
    return "under 0.1 %" if not Decimal(text) and share else f"{text.removesuffix('.0')} %"
