"""The schedule of a firing, worked out: when the kiln is at which temperature, and how long it all takes.

Everything is exact; what is shown is rounded once, to a minute. A kiln that goes somewhere freely (with the power off,
or full on) takes a time that nobody knows beforehand, so that the sum is then what is known at least.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Final, NamedTuple

USUAL_START: Final = {"C": Decimal(20), "F": Decimal(68)}
"""Where a kiln begins that does not say it: a room, 20 C."""
HOTTEST: Final = {"C": Decimal(1500), "F": Decimal(2732)}
"""Beyond this no potter's kiln goes; 1500 C are 2732 F."""


class Step(NamedTuple):
    """One line: where it goes; at so many degrees an hour, or in so many minutes, or, with neither, freely; how many
    minutes it stays."""

    target: Decimal
    rate: Decimal | None
    minutes: int | None
    hold: int

    @property
    def freely(self) -> bool:
        return self.rate is None and self.minutes is None


class Timed(NamedTuple):
    """A step with where it comes from, how long it takes (None: nobody knows), and the sum up to the end of its hold;
    ``rate`` is worked out where a time was given. ``at_least``: something before or in it is not known."""

    step: Step
    start: Decimal
    way: Fraction | None
    rate: Fraction | None
    end: Fraction
    at_least: bool


class Schedule(NamedTuple):
    """``unit`` is C or F; ``start_said``: the page says where the kiln begins."""

    unit: str
    start: Decimal
    start_said: bool
    steps: tuple[Step, ...]

    def timed(self) -> Iterator[Timed]:
        """Every step with its times."""
        here, now, open_end = self.start, Fraction(0), False
        for step in self.steps:
            way: Fraction | None = None
            rate: Fraction | None = None
            difference = abs(Fraction(step.target) - Fraction(here))
            if step.rate is not None:
                rate = Fraction(step.rate)
                way = difference / rate * 60
            elif step.minutes is not None:
                way = Fraction(step.minutes)
                rate = difference / way * 60
            open_end = open_end or way is None
            now += (way or 0) + step.hold
            yield Timed(step, here, way, rate, now, open_end)
            here = step.target

    @property
    def minutes(self) -> Fraction:
        """All that is known of how long it takes."""
        return next((timed.end for timed in reversed(list(self.timed()))), Fraction(0))

    @property
    def top(self) -> Decimal:
        """The hottest it is set to."""
        return max((step.target for step in self.steps), default=self.start)

    def points(self) -> Iterator[tuple[Fraction, Fraction]]:
        """Minutes and temperatures at which the curve bends, up to where the kiln is left to itself for good."""
        yield Fraction(0), Fraction(self.start)
        before = Fraction(0)
        for timed in self.timed():
            if timed.way is None and not timed.step.hold and timed.end == self.minutes:
                return
            yield before + (timed.way or 0), Fraction(timed.step.target)
            if timed.step.hold:
                yield timed.end, Fraction(timed.step.target)
            before = timed.end

    @property
    def said(self) -> str:
        """How long it takes, in words."""
        steps = list(self.timed())
        total = duration(self.minutes)
        free = [timed for timed in steps if timed.step.freely]
        if not free:
            return total
        last = steps[-1].step
        if len(free) == 1 and last.freely and not last.hold:
            goes = f"freely to {last.target:f} {self.unit}"
            return f"{total}, then {goes}" if self.minutes else goes
        return f"{total} at least; how long it goes freely is not known"


def duration(minutes: Fraction) -> str:
    """Such as 14 h 36 min, rounded to a minute, a half upwards."""
    whole = int(minutes + Fraction(1, 2))
    hours, rest = divmod(whole, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def in_celsius(value: Fraction, unit: str) -> Fraction:
    """A temperature in degrees Celsius."""
    return (value - 32) * 5 / 9 if unit == "F" else value


def rate_in_celsius(value: Fraction, unit: str) -> Fraction:
    """A rate in degrees Celsius an hour; between rates there are no 32 degrees."""
    return value * 5 / 9 if unit == "F" else value
