"""A value of a field that is meant plainly and only spelled otherwise."""

from __future__ import annotations

import re
from collections.abc import Callable

from glost.language.errors.characters import plain
from glost.language.tables import lexicon
from glost.language.units import spellings
from glost.recipe.cone import plain_cone
from glost.recipe.fields import Value


def certain_spelling(text: str, read: Callable[[str], Value], field: str = "") -> str | None:
    """The value of a ``field`` written as it should be, where only its spelling is wrong: characters that look like
    others, large letters, a decimal comma, the full name of a unit, the signs of a cone, a comment without its blank.
    None where that is not certain."""
    small = " ".join(plain(text).lower().split())
    words = lexicon()
    whole, behind = f"[0-9]{{1,{words.figures}}}", f"[0-9]{{1,2}}|[0-9]{{4,{words.decimals}}}"
    pointed = re.sub(rf"(?<![0-9,.])({whole}),({behind})(?![0-9,.])", r"\1.\2", small)
    for spelling, unit in spellings().items():
        pointed = re.sub(rf"(?<=[0-9 ]){re.escape(spelling)}$", unit, pointed)
    for candidate in (plain(text), small, pointed, re.sub(r" #(?=[^ ])", " # ", text, count=1)):
        if candidate == text:
            continue
        try:
            read(candidate.partition(" # ")[0])
        except ValueError:
            continue
        return candidate
    return plain_cone(plain(text)) if field == "cone" else None
