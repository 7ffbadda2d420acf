"""Figures as they are printed at the bench."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from glost.weighing.rounding import Mass, plain, round_to, significant


def percent(fraction: Mass, signed: bool = False) -> str:
    """A fraction in per cent, to two figures and no finer than a hundredth, without the sign for per cent: "0.38",
    "+0.38", "<0.01"."""
    exact = Fraction(fraction) * 100
    shown = significant(exact)
    if abs(exact) < Fraction(1, 10):
        shown = to_places(exact, 2)
    if exact and not shown:
        return "<0.01"
    return f"{shown:+f}" if signed and shown else f"{shown:f}"


def to_places(value: Mass, places: int) -> Decimal:
    """``value`` rounded to at most so many decimals, without trailing zeros."""
    return plain(round_to(Fraction(value), Decimal(1).scaleb(-places)))


def poured(grams: Mass) -> str:
    """Water, which is poured and not weighed to a hundredth: whole grams, tenths below 100 g."""
    return f"{round_to(Fraction(grams), Decimal(1) if grams >= 100 else Decimal('0.1')):f}"
