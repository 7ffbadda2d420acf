"""Units as people write them, for messages, fixes and old notes. Which units there are, the grammar says."""

from __future__ import annotations

import functools
from typing import Final

from glost.language.tables import lexicon

_SPELLINGS: Final = {
    "g": "gr gm gms grs gram grams gramme grammes",
    "kg": "kgs kilo kilos kilogram kilograms kilogramme kilogrammes",
    "oz": "ozs ounce ounces",
    "lb": "lbs pound pounds",
    "%": "percent per_cent pct pc",
    "": "part parts pt pts pbw",
}
"""Other spellings of each unit, in small letters (common practice); "" is parts."""


@functools.cache
def spellings() -> dict[str, str]:
    """What each unit is written as, in small letters: its own spelling too."""
    units = lexicon().units
    others = {
        word.replace("_", " "): unit
        for unit, words in _SPELLINGS.items()
        if unit in ("", *units)
        for word in words.split()
    }
    return {**{unit.lower(): unit for unit in units}, **others}


def unit_meant(word: str) -> str | None:
    """The unit that is written in another way; None for one that is written as it should be, and for any other word."""
    return None if word in lexicon().units else spellings().get(word.lower())
