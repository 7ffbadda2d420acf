"""Cones that may have lost their zero: a spreadsheet makes 4 of 04, which is fired far hotter."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from glost.importer.draft import Remark
from glost.importer.gather import Bare

_MOST_NAMED: Final = 3


def lost_zeros(cones: Sequence[Bare], whole: bool) -> list[Remark]:
    """A question for each cone of one figure, with the recipes that have it. ``whole``: another cell of the table has
    kept its zero, so that none was taken."""
    if whole:
        return []
    asked: dict[str, list[Bare]] = {}
    for one in cones:
        asked.setdefault(one.cone, []).append(one)
    return [_question(cone, found) for cone, found in sorted(asked.items())]


def _question(cone: str, found: Sequence[Bare]) -> Remark:
    shown = ", ".join(f"'{one.name}'" for one in found[:_MOST_NAMED])
    more = f" and {len(found) - _MOST_NAMED} more" if len(found) > _MOST_NAMED else ""
    said = f"cone {cone} of {shown}{more} may have been 0{cone}: a spreadsheet takes the zero away; look it up, as cone"
    said += f" 0{cone} is far cooler"
    return Remark("guessed", found[0].line, said, f"cone: {cone}")
