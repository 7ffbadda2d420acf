"""Figures and lines as they are printed at the bench."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from glost.language.width import padded, width
from glost.weighing.rounding import Mass, plain, round_to, significant

COLUMNS = 80
"""What a page fills at most, as a batch sheet does."""


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


def wrapped(text: str, indent: int = 0, lead: str | None = None) -> list[str]:
    """``text`` on lines of at most COLUMNS, each ``indent`` in; the first begins with ``lead``, if there is one."""
    return textwrap.wrap(
        text,
        COLUMNS,
        initial_indent=" " * indent if lead is None else lead,
        subsequent_indent=" " * indent,
        break_long_words=False,
        break_on_hyphens=False,
    )


def aligned(figures: Sequence[str]) -> list[str]:
    """Figures one above the other, points aligned, all of one width. What is no figure stands where units do."""
    parts = [figure.partition(".") for figure in figures]
    before = max((len(whole) for whole, _, _ in parts), default=0)
    behind = max((len(point + rest) for _, point, rest in parts), default=0)
    return [whole.rjust(before) + (point + rest).ljust(behind) for whole, point, rest in parts]


def table(heads: Sequence[str], rows: Sequence[Sequence[str]], signs: str, indent: int = 0) -> list[str]:
    """Lines of a table: the heads, then the rows; see ``blocks``."""
    return [line for block in blocks(heads, rows, signs, indent) for line in block]


def blocks(
    heads: Sequence[str], rows: Sequence[Sequence[str]], signs: str, indent: int = 0
) -> list[list[str]]:
    """The heads and each row of a table, as lines. ``signs`` has one a column: ``>`` for figures, which are aligned on
    their point, ``<`` for text. A name that is longer than the page allows stands on a line of its own."""
    columns: list[list[str]] = []
    for at, sign in enumerate(signs):
        cells = [row[at] for row in rows]
        cells = aligned(cells) if sign == ">" else cells
        columns.append([heads[at], *cells])
    sizes = [max(map(width, column)) for column in columns]
    rest = sum(size + 2 for size, sign in list(zip(sizes, signs, strict=True))[1:])
    sizes[0] = min(sizes[0], max(12, COLUMNS - indent - rest))
    found: list[list[str]] = []
    for row in zip(*columns, strict=True):
        first = row[0]
        shown = [
            padded(cell, size) if sign == "<" else " " * (size - width(cell)) + cell
            for cell, size, sign in list(zip(row, sizes, signs, strict=True))[1:]
        ]
        block = []
        if width(first) > sizes[0]:
            block.append(" " * indent + first)
            first = ""
        found.append([*block, "  ".join((" " * indent + padded(first, sizes[0]), *shown)).rstrip()])
    return found
