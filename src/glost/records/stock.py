"""The stock out of the log: what is on hand, how fast it goes, when it runs out, and what to order.

A count is a fact of its day, and holds at the end of it: what was delivered or weighed on that day is in it already,
and what comes on later days moves it. On hand is the last count, plus what was delivered since, less what was weighed
since. Nothing hangs on the order in which files are read, so that two branches of a log that were merged give one
figure.

What was never counted has no figure at all: a delivery says what came, and not what stood there before.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Final, NamedTuple

from glost.recipe.materials.catalogue import Catalogue
from glost.records.record import Record
from glost.records.stock_entry import StockEntry, total_of
from glost.weighing.rounding import exact_sum, plain, round_up_to

MONTH_DAYS: Final = 30
WINDOW_DAYS: Final = 90
"""How many days back what was weighed counts for a month's use."""
MONTHS: Final = Decimal(2)
"""For how long an order is to last, where nobody says otherwise."""
_LONGEST_DAYS: Final = 3650
"""Beyond so many days no day is told on which a material runs out."""


class Count(NamedTuple):
    """The last count of a material. ``differs_g``: by how much it lies above what the log made of the count before it;
    None for a first count."""

    day: date
    mass_g: Decimal
    differs_g: Decimal | None


class Disagreement(NamedTuple):
    """Counts of one day that do not agree on a material."""

    day: date
    masses_g: tuple[Decimal, ...]


@dataclass(frozen=True, slots=True)
class Held:
    """One material. ``on_hand_g`` None where no count says, or where counts of one day do not agree; below 0 where more
    was weighed than there was. ``delivered_g`` and ``used_g``: since the count, or ever where there is none; of what
    was used, ``planned_g`` are targets of lines without a weighed mass. ``month_g``: what a month uses, exact.
    ``order_g``: whole grams that are missing for the months asked for, or to the least to be kept; 0 for none."""

    material: str
    known: bool
    count: Count | None
    disagreement: Disagreement | None
    delivered_g: Decimal
    used_g: Decimal
    planned_g: Decimal
    on_hand_g: Decimal | None
    month_g: Fraction
    order_below_g: Decimal | None
    runs_out: date | None
    order_g: Decimal | None


@dataclass(frozen=True, slots=True)
class Stock:
    """The stock at the end of ``day``. ``by_log``: nobody asked for that day, it is the last that the log speaks of.
    ``since`` to ``day``: the days that a month's use is taken from, ``days`` of them; None where nothing was weighed.
    ``left_out``: how many records are of later days."""

    day: date
    by_log: bool
    months: Decimal
    since: date | None
    days: int
    records: int
    left_out: int
    held: tuple[Held, ...]

    def of(self, material: str) -> Held | None:
        return next((one for one in self.held if one.material == material), None)


@dataclass(slots=True)
class _Days:
    """What happened to one material, by day."""

    counts: dict[date, list[Decimal]]
    delivered: dict[date, list[Decimal]]
    used: dict[date, list[Decimal]]
    planned: dict[date, list[Decimal]]


def stock(
    batches: Iterable[Record],
    entries: Iterable[StockEntry],
    catalogue: Catalogue,
    on: date | None = None,
    months: Decimal = MONTHS,
) -> Stock | None:
    """What the log says of the stock on a day, by default the last that it speaks of; None for an empty log."""
    all_batches, all_entries = list(batches), list(entries)
    every = [*(one.day for one in all_batches), *(one.day for one in all_entries)]
    if not every:
        return None
    day = max(every) if on is None else on
    name_of = _names(all_batches, all_entries, catalogue)
    days = _by_material(
        [one for one in all_batches if one.day <= day],
        [one for one in all_entries if one.day <= day],
        name_of,
    )
    for material in catalogue:
        if material.order_below_g is not None:
            days.setdefault(material.name, _Days({}, {}, {}, {}))
    first = min((one.day for one in all_batches if one.day <= day), default=None)
    since = None if first is None else max(first, _before(day, WINDOW_DAYS - 1))
    length = 0 if since is None else (day - since).days + 1
    held = []
    for name in sorted(days, key=lambda name: (name.casefold(), name)):
        held.append(_held(name, days[name], catalogue, day, since, length, months))
    return Stock(
        day, on is None, months, since, length, len(every), sum(1 for one in every if one > day), tuple(held)
    )


def _names(
    batches: Iterable[Record], entries: Iterable[StockEntry], catalogue: Catalogue
) -> Mapping[str, str]:
    written = {line.material for one in batches for line in one.lines}
    written |= {line.material for one in entries for line in one.lines}
    found = {name: catalogue.find(name) for name in written}
    return {name: material.name if material else name for name, material in found.items()}


def _by_material(
    batches: Iterable[Record], entries: Iterable[StockEntry], name_of: Mapping[str, str]
) -> dict[str, _Days]:
    days: dict[str, _Days] = {}

    def of(name: str) -> _Days:
        return days.setdefault(name, _Days({}, {}, {}, {}))

    for entry in entries:
        for name, mass in total_of(entry, name_of).items():
            into = of(name).counts if entry.kind == "count" else of(name).delivered
            into.setdefault(entry.day, []).append(mass)
    for batch in batches:
        for line in batch.lines:
            mass = line.target_g if line.actual_g is None else line.actual_g
            if not mass:
                continue  # nothing was used of it
            at = of(name_of[line.material])
            at.used.setdefault(batch.day, []).append(mass)
            if line.actual_g is None:
                at.planned.setdefault(batch.day, []).append(mass)
    return days


def _held(
    name: str,
    days: _Days,
    catalogue: Catalogue,
    day: date,
    since: date | None,
    length: int,
    months: Decimal,
) -> Held:
    counted = sorted(days.counts)
    last = counted[-1] if counted else None
    masses = sorted(set(days.counts[last])) if last else []
    disagreement = Disagreement(last, tuple(masses)) if last and len(masses) > 1 else None
    delivered = _sum(days.delivered, last, day)
    used = _sum(days.used, last, day)
    count = on_hand = None
    if last is not None and disagreement is None:
        count = Count(last, masses[0], _differs(days, counted))
        on_hand = exact_sum((masses[0], delivered, -used))
    recent = _sum(days.used, _before(since, 1) if since > date.min else None, day) if since else Decimal(0)
    month = Fraction(recent) * MONTH_DAYS / length if length else Fraction(0)
    material = catalogue.find(name)
    least = material.order_below_g if material else None
    return Held(
        material=name,
        known=material is not None,
        count=count,
        disagreement=disagreement,
        delivered_g=delivered,
        used_g=used,
        planned_g=_sum(days.planned, last, day),
        on_hand_g=on_hand,
        month_g=month,
        order_below_g=least,
        runs_out=_runs_out(on_hand, month, day),
        order_g=None if on_hand is None else _order(on_hand, month * Fraction(months), least),
    )


def _sum(by_day: Mapping[date, list[Decimal]], after: date | None, until: date) -> Decimal:
    """What stands on the days behind ``after``, up to ``until``."""
    return plain(
        exact_sum(
            mass
            for day, masses in by_day.items()
            if (after is None or day > after) and day <= until
            for mass in masses
        )
    )


def _differs(days: _Days, counted: list[date]) -> Decimal | None:
    """By how much the last count lies above what the log made of the one before it: what was spilled, forgotten or
    misread."""
    if len(counted) < 2:
        return None
    before, last = counted[-2:]
    if len(set(days.counts[before])) > 1:
        return None
    made = exact_sum(
        (days.counts[before][0], _sum(days.delivered, before, last), -_sum(days.used, before, last))
    )
    return plain(exact_sum((days.counts[last][0], -made)))


def _before(day: date, days: int) -> date:
    """So many days earlier, but not before the first day that there is."""
    return date.fromordinal(max(date.min.toordinal(), day.toordinal() - days))


def _runs_out(on_hand: Decimal | None, month: Fraction, day: date) -> date | None:
    """The last day that what is on hand lasts to, at that use."""
    if on_hand is None or not month or on_hand < 0:
        return None
    lasts = Fraction(on_hand) * MONTH_DAYS / month
    if lasts > _LONGEST_DAYS:
        return None
    try:
        return day + timedelta(int(lasts))
    except OverflowError:
        return None


def _order(on_hand: Decimal, use: Fraction, least: Decimal | None) -> Decimal:
    wanted = max(use, Fraction(least or 0))
    missing = wanted - max(Fraction(on_hand), Fraction(0))  # less than nothing is a mistake of the log
    return round_up_to(missing, Decimal(1)) if missing > 0 else Decimal(0)
