"""Sharing a batch out over vessels where no balance carries it at once.

Every vessel stands on the main balance and has a running total of its own, tared when it is empty. The lines fill
one vessel after the other, in their order; a line is begun in a new vessel where it would overload the one before.
Only a line that is itself more than the balance carries is parted, into portions that are equal to the division and
add up to the line exactly. In the end all vessels are tipped together.

A line that another balance is surer of is weighed apart there, in a cup of its own, and tipped in; it stands in no
running total.
"""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from glost.weighing.balance import Balance
from glost.weighing.rounding import exact_sum, largest_remainder
from glost.weighing.weighable import portions_of


class ToFill(NamedTuple):
    """One line to be filled in. balance: the one it is weighed on. target_g: on its division."""

    target_g: Decimal
    balance: Balance | None
    division_g: Decimal


class Fill(NamedTuple):
    """One line, or one portion of it, that goes into one vessel. Masses in grams.

    at: the place of the line in the plan. number, of: which portion of how many. vessel: its number, from 1; 0 for a
    line weighed apart in a cup of its own. running_g: what the vessel holds then, itself for one weighed apart: what
    the display shows where nothing but the empty vessel was tared. None where nothing carries it.
    """

    at: int
    number: int
    of: int
    target_g: Decimal
    vessel: int
    running_g: Decimal | None


class Vessel(NamedTuple):
    """One vessel on the main balance, None where none is known. total_g: the sum of what goes into it."""

    number: int
    balance: Balance | None
    total_g: Decimal


def pour(
    lines: Sequence[ToFill], main: Balance | None, first: int = 0, before: Sequence[Decimal] = ()
) -> tuple[list[Fill], list[Decimal]]:
    """What goes where, in the order of the lines, and the totals of the vessels. ``first``: how many lines stand before
    these, which have filled vessels up to the totals ``before``. A line that nothing carries goes into none."""
    fills: list[Fill] = []
    totals = list(before)
    room = None if main is None else main.room_g
    for at, line in enumerate(lines, first):
        count = portions_of(line.target_g, line.balance)
        if not count:
            fills.append(Fill(at, 1, 1, line.target_g, 0, None))
            continue
        portions: tuple[Decimal, ...] = (line.target_g,)
        if count > 1:
            portions = largest_remainder([Fraction(1)] * count, line.target_g, line.division_g)
        apart = line.balance is not main and line.balance != main
        for number, target in enumerate(portions, 1):
            if apart:
                fills.append(Fill(at, number, count, target, 0, target))
                continue
            holds = exact_sum((totals[-1], target)) if totals else target
            if not totals or (room is not None and holds > room):
                totals.append(target)
            else:
                totals[-1] = holds
            fills.append(Fill(at, number, count, target, len(totals), totals[-1]))
    return fills, totals


def vessels_of(totals: Sequence[Decimal], main: Balance | None) -> tuple[Vessel, ...]:
    """The vessels that hold so much in the end."""
    return tuple(Vessel(number, main, total) for number, total in enumerate(totals, 1))


def carried_by_none(targets: Sequence[Decimal]) -> tuple[Fill, ...]:
    """The fills where the main balance carries so little that more than MOST_PORTIONS vessels would be needed: no
    running total is stated, and there are no vessels."""
    return tuple(Fill(at, 1, 1, target, 0, None) for at, target in enumerate(targets))
