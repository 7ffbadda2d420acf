"""A schedule that goes far beyond the cone of a firing, or stays far below it."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from glost.language import tree
from glost.language.diagnostics import Diagnostic
from glost.language.source import Span
from glost.linter.rule import CheckedFiring, Expected, Rule
from glost.linter.tiles import cone_of
from glost.recipe.cone import Cone
from glost.recipe.cone_heat import Heat, heat_of
from glost.recipe.schedule import Schedule, in_celsius

ABOVE: Final = 50
"""Degrees C beyond the higher table: a fast end takes a cone so far up, and seldom further."""
BELOW: Final = 90
"""And below the lower one: a slow end brings a cone down so far under its usual heat."""
LONG_HOLD: Final = 60
"""Minutes at the top from which on time does what heat did not, so that nothing is said of too little heat."""


def check(checked: CheckedFiring) -> Iterator[Diagnostic]:
    firing = checked.resolved.firing
    if firing.schedule is None:
        return
    top = in_celsius(Fraction(firing.schedule.top), firing.schedule.unit)
    for cone, whose in _cones(checked):
        heat = heat_of(cone)
        if heat is None:
            continue
        said = _said(firing.schedule, top, cone, whose, heat)
        if said:
            yield Diagnostic(_where(checked, firing.schedule), said, _hint(heat))
            return


def _cones(checked: CheckedFiring) -> Iterator[tuple[Cone, str]]:
    """The cone that the firing was meant for; where it says none, those of its tiles' recipes."""
    firing = checked.resolved.firing
    if firing.cone is not None:
        yield firing.cone, ""
        return
    if firing.reached is not None or checked.library is None:
        return  # what it came to is known, whatever was set
    for tile in firing.tiles:
        cone = cone_of(tile, checked)
        if tile.test is not None and cone is not None:
            yield cone, f" of {tile.test.written}"


def _said(schedule: Schedule, top: Fraction, cone: Cone, whose: str, heat: Heat) -> str:
    falls = f"cone {cone}{whose} falls at about {_degrees(heat)}"
    shown = f"{schedule.top:f} {schedule.unit}" + ("" if schedule.unit == "C" else f" ({round(top)} C)")
    if top > heat.high + ABOVE:
        return f"this schedule goes up to {shown}, and {falls}"
    if top < heat.low - BELOW and _hold(schedule) < LONG_HOLD:
        return f"this schedule goes no hotter than {shown}, and {falls}"
    return ""


def _degrees(heat: Heat) -> str:
    return f"{heat.low} C" if heat.low == heat.high else f"{heat.low} to {heat.high} C"


def _hold(schedule: Schedule) -> int:
    """Minutes that it stays at the top."""
    return sum(step.hold for step in schedule.steps if step.target == schedule.top)


def _hint(heat: Heat) -> str:
    return (
        "look at the figure, at its unit, and at the cone. Old tables of cones differ, and the speed of the end moves a"
        f" cone too: from {heat.low - BELOW} to {heat.high + ABOVE} C nothing is said. Where it is meant, write behind"
        " the line  # allow schedule-misses-cone: why"
    )


def _where(checked: CheckedFiring, schedule: Schedule) -> Span:
    """The line that goes the hottest."""
    for block in checked.resolved.page.blocks:
        for line in block.lines if block.role == "schedule" else ():
            if isinstance(line, tree.Ramp) and not line.first and line.heat.value == schedule.top:
                return line.heat.span
    head = next(block.head for block in checked.resolved.page.blocks if block.role == "schedule")
    return head.span


RULE = Rule(
    name="schedule-misses-cone",
    level="warning",
    summary="A schedule that goes far beyond the cone of its firing, or cannot reach it.",
    why="""\
A figure that was typed wrong, or degrees F that were meant as C, is found when the shelves are glued together, or when
a whole load comes out dry. A cone shows work of heat and no temperature, so this looks for large slips alone: two old
tables of cones are held beside each other, and room is left around both for a slow or a fast end, 90 C below the lower
figure and 50 C above the higher one. A long hold is no overshoot; and with an hour or more at the top nothing is said
of too little heat. Where the firing says no cone, those of the recipes on its tiles count, unless it says what it
reached.""",
    how_to_fix="""\
Correct the figure, its unit, or the cone. Trust witness cones on the shelf more than any table. Where it is meant, say
why in an allowance.""",
    bad="""\
firing "Small kiln 41"
date: 2026-05-14
cone: 6

schedule:
    to 600 C at 100 C/h
    to 1322 C at 150 C/h, hold 15 min
""",
    expected=(Expected(7, 8, "this schedule goes up to 1322 C, and cone 6 falls at about 1200 to 1222 C"),),
    good="""\
firing "Small kiln 41"
date: 2026-05-14
cone: 6

schedule:
    to 600 C at 100 C/h
    to 1222 C at 150 C/h, hold 15 min
""",
    firing=check,
)
