"""A value of a field that is meant plainly and only spelled otherwise."""

from __future__ import annotations

import re
from collections.abc import Callable

from glost.language.errors.characters import plain
from glost.recipe.cone import plain_cone
from glost.recipe.fields import Value

_SPELLED_OUT = {
    "grams?": "g",
    "grammes?": "g",
    "gr": "g",
    "kilos?": "kg",
    "kilograms?": "kg",
    "ounces?": "oz",
    "pounds?": "lb",
    "lbs": "lb",
    "percent": "%",
    "per cent": "%",
}


def plainly_meant(text: str, read: Callable[[str], Value], field: str = "") -> str | None:
    """The value of a ``field`` written as it should be, where only its spelling is wrong: characters that look like
    others, large letters, a decimal comma, the full name of a unit, the signs of a cone, a comment without its blank.
    None where that is not certain."""
    small = " ".join(plain(text).lower().split())
    pointed = re.sub(r"(?<![0-9,.])([0-9]{1,9}),([0-9]{1,2}|[0-9]{4,6})(?![0-9,.])", r"\1.\2", small)
    for spelling, unit in _SPELLED_OUT.items():
        pointed = re.sub(rf"(?<=[0-9 ]){spelling}$", unit, pointed)
    for candidate in (plain(text), small, pointed, re.sub(r" #(?=[^ ])", " # ", text, count=1)):
        if candidate == text:
            continue
        try:
            read(candidate.partition(" # ")[0])
        except ValueError:
            continue
        return candidate
    return plain_cone(plain(text)) if field == "cone" else None
