"""A firing that was lit before a batch on it was weighed."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import CheckedFiring, Expected, Rule


def check(checked: CheckedFiring) -> Iterator[Diagnostic]:
    firing = checked.resolved.firing
    for (_, said), tile in zip(checked.resolved.entries, firing.tiles, strict=True):
        day = tile.batch[:10]  # the name of a record begins with the day of weighing
        if firing.date and day and day > firing.date:
            yield Diagnostic(
                said["batch"].value.span,
                f"this batch was weighed on {day}, after the firing of {firing.date}",
                "look at the date of the firing, and at the batch",
            )


RULE = Rule(
    name="fired-before-weighed",
    level="error",
    summary="A firing that was lit before a batch on it was weighed.",
    why="""\
Results stand in the order of firing, and what was changed is told against the tile before. One wrong date turns the
order round, and then the change seems to have come after what came of it.""",
    how_to_fix="""\
Correct the date of the firing, which is the day on which it was lit, or name the batch that was fired.""",
    bad="""\
firing "Small kiln 41"
date: 2026-03-04

tile "14-C":
    batch: 2026-03-14T10-22-05-harbour-mist-2b29422a
""",
    expected=(Expected(5, 12, "this batch was weighed on 2026-03-14, after the firing of 2026-03-04"),),
    good="""\
firing "Small kiln 41"
date: 2026-03-24

tile "14-C":
    batch: 2026-03-14T10-22-05-harbour-mist-2b29422a
""",
    firing=check,
)
