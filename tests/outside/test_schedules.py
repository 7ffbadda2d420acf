"""The arithmetic of schedules against worked examples and an independent integration.

The two examples are worked out by hand, line by line, in the comments. The integration steps through the schedule a
second at a time, as a controller does, and never divides a difference by a rate. That 180 F are 100 C, and that a
difference knows no 32, follows from the definition of the degree Fahrenheit (NIST SP 811, B.8; from memory).
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from glost.language.parse import parse
from glost.language.source import Source
from glost.recipe.firing import resolve_firing
from glost.recipe.schedule import Schedule, Step, duration, in_celsius, rate_in_celsius


def schedule_of(*lines: str) -> Schedule:
    text = 'firing "Test kiln"\ndate: 2026-05-14\nschedule:\n' + "".join(f"    {line}\n" for line in lines)
    resolved = resolve_firing(parse(Source("a.firing", text)))
    assert resolved.complete, (resolved.page.diagnostics, resolved.diagnostics)
    assert resolved.firing.schedule is not None
    return resolved.firing.schedule


def test_example_in_celsius() -> None:
    schedule = schedule_of(
        "from 20 C",
        "to 600 C at 100 C/h",  # 580 / 100 h = 348 min
        "to 1222 C at 150 C/h, hold 15 min",  # 622 / 150 h = 248.8 min, and 15
        "to 950 C at 80 C/h, hold 1 h",  # 272 / 80 h = 204 min, and 60
        "to 100 C freely",
    )
    assert schedule.minutes == Fraction("875.8")
    assert schedule.said == "14 h 36 min, then freely to 100 C"


def test_example_in_fahrenheit() -> None:
    schedule = schedule_of(
        "to 200 F at 100 F/h, hold 1 h",  # from 68: 132 / 100 h = 79.2 min, and 60
        "to 1100 F at 400 F/h",  # 900 / 400 h = 135 min
        "to 2230 F at 270 F/h, hold 10 min",  # 1130 / 270 h = 251.11 min, and 10
        "to 1900 F at 500 F/h",  # 330 / 500 h = 39.6 min
        "to 1750 F in 3 h, hold 30 min",  # 180 and 30 min
    )
    assert not schedule.start_said
    assert (
        schedule.minutes
        == Fraction(79.2).limit_denominator(10) + 60 + 135 + Fraction(2260, 9) + 10 + Fraction("39.6") + 210
    )
    assert schedule.said == "13 h 5 min"
    targets = [round(float(in_celsius(Fraction(step.target), "F")), 2) for step in schedule.steps]
    assert targets == [93.33, 593.33, 1221.11, 1037.78, 954.44]
    last = list(schedule.timed())[-1].rate
    assert last == 50
    assert round(float(rate_in_celsius(last, "F")), 2) == 27.78
    assert rate_in_celsius(Fraction(270), "F") == 150


def seconds_of(schedule: Schedule) -> int:
    """How long it takes by counting seconds, in integers: the temperature in units of 1/3600 degree."""
    here = int(schedule.start) * 3600
    passed = 0
    for step in schedule.steps:
        goal = int(step.target) * 3600
        if step.minutes is not None:
            passed += step.minutes * 60
        else:
            assert step.rate is not None
            rate = int(step.rate)  # degrees an hour are units a second
            while abs(goal - here) > 0:
                here += min(rate, abs(goal - here)) * (1 if goal > here else -1)
                passed += 1
        here = goal
        passed += step.hold * 60
    return passed


@given(
    st.lists(
        st.tuples(st.integers(0, 1300), st.integers(40, 600), st.booleans(), st.integers(0, 90)),
        min_size=1,
        max_size=5,
    )
)
def test_the_sum_is_that_of_a_controller_that_counts_seconds(lines: list[tuple[int, int, bool, int]]) -> None:
    steps = tuple(
        Step(Decimal(to), None if timed else Decimal(rate), rate if timed else None, hold)
        for to, rate, timed, hold in lines
    )
    schedule = Schedule("C", Decimal(20), True, steps)
    # Each ramp's last second may be a part of one.
    assert 0 <= seconds_of(schedule) - schedule.minutes * 60 < len(steps)
    points = list(schedule.points())
    assert [minutes for minutes, _ in points] == sorted(minutes for minutes, _ in points)
    assert points[-1] == (schedule.minutes, Fraction(steps[-1].target))


@pytest.mark.parametrize(
    ("minutes", "said"),
    [("0.4", "0 min"), ("59.5", "1 h"), ("60", "1 h"), ("89.5", "1 h 30 min"), ("875.8", "14 h 36 min")],
)
def test_a_time_is_rounded_once(minutes: str, said: str) -> None:
    assert duration(Fraction(minutes)) == said


def test_a_way_that_nobody_knows_makes_the_sum_one_at_least() -> None:
    schedule = schedule_of("to 600 C at 100 C/h", "to 300 C freely", "to 400 C at 100 C/h")
    assert schedule.said == "6 h 48 min at least; how long it goes freely is not known"
