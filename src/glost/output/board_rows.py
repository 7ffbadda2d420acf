"""The map of a board in plain text: rows of numbers, each where its cup stands."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import groupby
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from glost.output.model import Map, Spot

COLUMNS: Final = 80
_EMPTY: Final = "."
"""A place whose cup is not asked for."""
_BETWEEN: Final = 3
"""Blanks between two entries of the list."""


def rows_of(node: Map, columns: int = COLUMNS) -> list[str]:
    """A line for each row of the board. Where the widest row is too long for the page, each line says its numbers from
    the first to the last instead."""
    digits = max((len(spot.number) for spot in node.spots), default=1)
    # Rows of a triangle lie half a step beside each other, so that a step is an even number of columns.
    wide = digits + 2 + digits % 2
    rows = {down: list(spots) for down, spots in groupby(node.spots, lambda spot: spot.down)}
    if node.across * wide <= columns:
        return [_row(row, wide, digits) for row in rows.values()]
    return [f"row {down + 1}: {_span(row)}" for down, row in rows.items()]


def _row(row: list[Spot], wide: int, digits: int) -> str:
    line = ""
    for spot in row:
        end = int(spot.across * wide + Fraction(digits))
        line = line.ljust(end - digits) + (spot.number or _EMPTY).rjust(digits)
    return f"  {line}".rstrip()


def _span(row: list[Spot]) -> str:
    """Numbers that follow each other, as from and to; of places that stay empty nothing."""
    found: list[list[int]] = []
    for number in (int(spot.number) for spot in row if spot.number):
        if found and number == found[-1][-1] + 1:
            found[-1].append(number)
        else:
            found.append([number])
    spans = (str(one[0]) if len(one) == 1 else f"{one[0]}-{one[-1]}" for one in found)
    return ", ".join(spans) or _EMPTY


def listed(node: Map) -> Iterator[tuple[str, str]]:
    """The number and the shares of every cup."""
    for spot in node.spots:
        if spot.number:
            words = "".join(spot.words)
            yield spot.number, f"{words} ({spot.aside})" if spot.aside else words


def in_columns(node: Map, columns: int = COLUMNS) -> list[str]:
    """Every cup with a box to tick, as many beside each other as find room, read downwards."""
    entries = list(listed(node))
    digits = max((len(number) for number, _ in entries), default=1)
    said = [f"[ ] {number:>{digits}}  {words}" for number, words in entries]
    wide = max(map(len, said), default=1) + _BETWEEN
    count = max(1, (columns + _BETWEEN) // wide)
    high = -(-len(said) // count)
    return ["".join(one.ljust(wide) for one in said[at::high]).rstrip() for at in range(high)]
