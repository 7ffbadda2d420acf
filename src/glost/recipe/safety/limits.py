"""Limits with their sources: of dust in the air of a workplace, and of lead and cadmium that ware gives off; and
the metals that a recipe for food is asked about.

None of these figures says that anything is free of danger, and no list here is complete: local codes, the
supplier's safety data sheet and licensed practice come first.
"""

from __future__ import annotations

import json
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any, Final, NamedTuple

from glost.errors import ValueRefusedError

_DATA = Path(__file__).parent / "data"

STANDINGS: Final = ("read", "second-hand", "from memory", "common practice")
"""How far a figure was checked: against the text itself, against a copy or a quotation of it, not at all, or a
habit of the trade that stands written nowhere."""


class ExposureLimit(NamedTuple):
    """A limit of a substance in the air. ``unit`` is µg/m³ or mg/m³, ``over`` the time that it is a mean of."""

    substance: str
    value: Decimal
    unit: str
    over: str
    authority: str
    rule: str
    source: str
    standing: str


class LeachingLimit(NamedTuple):
    """What ware of one kind may give off of lead or cadmium. ``unit``: mg/dm² of surface, or mg/l of the acid."""

    rule: str
    ware: str
    metal: str
    value: Decimal
    unit: str
    source: str
    standing: str


class FoodMetal(NamedTuple):
    """A metal that a recipe for food is asked about: from a share ``above`` which its ``oxide`` has in the fired
    mix, in per cent by mass, or where a material's name holds one of ``words``. None where no share is counted."""

    metal: str
    oxide: str | None
    above: Decimal | None
    words: tuple[str, ...]
    source: str
    standing: str


@cache
def exposure_limits() -> tuple[ExposureLimit, ...]:
    """The limits of data/exposure-limits.json. Raises OSError where the file is missing."""
    return tuple(ExposureLimit(**_valued(row)) for row in _read("exposure-limits")["limits"])


@cache
def leaching_limits() -> tuple[LeachingLimit, ...]:
    """The limits of data/leaching-limits.json. Raises OSError where the file is missing."""
    return tuple(LeachingLimit(**_valued(row)) for row in _read("leaching-limits")["limits"])


@cache
def food_metals() -> tuple[FoodMetal, ...]:
    """The metals of data/food-metals.json, the worst first. Raises OSError where the file is missing."""
    return tuple(
        FoodMetal(
            row["metal"],
            row["oxide"],
            None if row["above"] is None else Decimal(row["above"]),
            tuple(row["words"]),
            row["source"],
            row["standing"],
        )
        for row in _read("food-metals")["metals"]
    )


def leaching_caution(rule: str = "Directive 84/500/EEC") -> str:
    """The limits of one rule for lead and cadmium in one sentence, with how far they were checked."""
    rows = [row for row in leaching_limits() if row.rule.startswith(rule)]
    if not rows:
        raise ValueRefusedError(f"no limits of '{rule}' are held")
    by_ware: dict[str, list[str]] = {}
    for row in rows:
        by_ware.setdefault(row.ware, []).append(f"{row.value} {row.unit} of {row.metal}")
    said = "; ".join(f"{' and '.join(limits)} from {ware}" for ware, limits in by_ware.items())
    standing = ", ".join(dict.fromkeys(row.standing for row in rows))
    return (
        f"Limits of what ware may give off are for lead and cadmium. {rows[0].rule} ({standing}): {said}. Other"
        " countries set others; for other metals ask the laboratory which limits hold."
    )


def _valued(row: dict[str, Any]) -> dict[str, Any]:
    return {**row, "value": Decimal(row["value"])}


def _read(name: str) -> dict[str, Any]:
    data: dict[str, Any] = json.loads((_DATA / f"{name}.json").read_text("utf-8"))
    return data
