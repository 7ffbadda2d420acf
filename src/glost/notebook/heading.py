"""What a title or a line of its own says beside the name: the cone, the atmosphere, a date, a source."""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from contextlib import suppress
from typing import Final

from glost.recipe.cone import read_cone
from glost.recipe.fields import FIELDS
from glost.recipe.spelling import plainly_meant

KEYS: Final[Mapping[str, str]] = {
    **{key: key for key in FIELDS},
    "cones": "cone", "fired to": "cone", "atm": "atmosphere", "kiln atmosphere": "atmosphere",
    "finish": "surface", "color": "colour", "source": "origin", "from": "origin", "where from": "origin",
    "clay": "body", "clay body": "body", "schedule": "firing", "specific gravity": "gravity", "sg": "gravity",
    "mesh": "sieve", "applied": "application", "batch size": "batch", "tested": "date",
}  # fmt: skip
"""The words that head a field in notes, and the field."""

# 'cone 6', 'c/6', '^6', a triangle. A bare 'C6' or 'R' may be anything, and 'red' may be the colour: they stay text.
_CONE = re.compile(
    r"(?<![\w/])(?:(?:cones?|c/)[ .:]*|[\^\u0394\u25b3\u2206] ?)(?P<low>0?[0-9]{1,2})(?P<half> 1/2| ?½)?"
    r"(?: ?(?:-|\u2013|to|/) ?(?P<high>0?[0-9]{1,2}))?(?![\w./])",
    re.IGNORECASE,
)
_AFTER_CONE = re.compile(
    r"[ ,;/()-]*\b(?P<word>ox|oxid|oxidation|oxidising|oxidizing|reduction|neutral|raku|salt|soda|wood)\b\.?\)?",
    re.IGNORECASE,
)
_ALONE = re.compile(
    r"[ ,;(]*\b(?P<word>oxidation|reduction|oxidising|oxidizing)\b(?: (?:firing|atmosphere|fired))?[.)]*\s*$",
    re.IGNORECASE,
)
_ATMOSPHERES: Final = {
    "ox": "oxidation",
    "oxid": "oxidation",
    "oxidising": "oxidation",
    "oxidizing": "oxidation",
}
_MONTHS: Final = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
_ISO = re.compile(r"([0-9]{4})[-/.]([0-9]{1,2})[-/.]([0-9]{1,2})")
_FIGURES = re.compile(r"([0-9]{1,2})[./-]([0-9]{1,2})[./-]([0-9]{4})")
_WORDS = re.compile(r"([0-9]{1,2})(?:st|nd|rd|th)?\.? ([a-z]{3,9})\.?,? ([0-9]{4})", re.IGNORECASE)
_KEYED = re.compile(r"(?P<key>[A-Za-z][A-Za-z ]{0,20}?) ?[:=] ?(?P<value>\S.*)")
_LONGEST = 300
"""Characters. No title is longer."""
_EDGE = " ,;:-\u2013\u2014/|"


def taken_out(text: str) -> tuple[str, dict[str, str], list[str]]:
    """The text without its cone and atmosphere, those as fields, and what was guessed."""
    fields: dict[str, str] = {}
    guesses: list[str] = []
    if len(text) > _LONGEST:
        return text, fields, guesses
    found = _CONE.search(text)
    if found:
        low, high = found["low"], found["high"]
        written = f"{low}-{high}" if high else low + (" 1/2" if found["half"] else "")
        with suppress(ValueError):
            cone = read_cone(written)
            if cone.known and not (high and found["half"]):
                fields["cone"] = written
                if not found[0].lower().startswith("cone"):
                    guesses.append(f"'{found[0].strip()}' is taken for cone {written}")
                after = _AFTER_CONE.match(text, found.end())
                end = found.end()
                if after:
                    word = after["word"].lower()
                    fields["atmosphere"] = _ATMOSPHERES.get(word, word)
                    if word != fields["atmosphere"] or word in ("salt", "soda", "wood", "raku", "neutral"):
                        guesses.append(
                            f"'{after['word']}' is taken for the atmosphere {fields['atmosphere']}"
                        )
                    end = after.end()
                text = f"{text[: found.start()].rstrip(_EDGE + '(')} {text[end:].lstrip(_EDGE)}".strip(_EDGE)
    if "atmosphere" not in fields and (alone := _ALONE.search(text)):
        word = alone["word"].lower()
        fields["atmosphere"] = _ATMOSPHERES.get(word, word)
        text = text[: alone.start()].rstrip(_EDGE)
    return text, fields, guesses


def date_in(text: str) -> tuple[str, str]:
    """The date that a text is, as the language writes it, and a question where it can be read two ways."""
    bare = text.strip(" .()")
    try:
        if found := _ISO.fullmatch(bare):
            return datetime.date(*map(int, found.groups())).isoformat(), ""
        if found := _FIGURES.fullmatch(bare):
            first, second, year = map(int, found.groups())
            if first == second or first > 12:
                return datetime.date(year, second, first).isoformat(), ""
            if second > 12:
                return datetime.date(year, first, second).isoformat(), ""
            return "", f"'{bare}' may be two dates; write date: year-month-day"
        if (found := _WORDS.fullmatch(bare)) and found[2][:3].lower() in _MONTHS:
            month = _MONTHS.index(found[2][:3].lower()) + 1
            return datetime.date(int(found[3]), month, int(found[1])).isoformat(), ""
    except ValueError:
        pass
    return "", ""


def field_in(text: str) -> tuple[str, str, str] | None:
    """The key and the value of a line such as 'Color: blue', and a question about it; None where it is none.
    The key is "" where the line names a field and its value cannot be taken."""
    found = _KEYED.fullmatch(text) if len(text) <= 10 * _LONGEST else None
    key = KEYS.get(" ".join(found["key"].lower().split())) if found else None
    if found is None or key is None:
        return None
    value = found["value"].strip(" ")
    if key == "date":
        date, question = date_in(value)
        return ("date", date, "") if date else ("", value, question)
    if key == "cone":
        rest, fields, _ = taken_out(f"cone {re.sub('^cone ', '', value, flags=re.IGNORECASE)}")
        return ("cone", fields["cone"], "") if set(fields) == {"cone"} and not rest else ("", value, "")
    if " #" in value or value.startswith("#"):
        return "", value, ""
    if key == "atmosphere":
        value = _ATMOSPHERES.get(value.lower(), value.lower())
        return (key, value, "") if value in _known_atmospheres() else ("", value, "")
    try:
        FIELDS[key].read(value)
    except ValueError:
        meant = plainly_meant(value, FIELDS[key].read)
        return (key, meant, "") if meant and " #" not in meant else ("", value, "")
    return key, value, ""


def _known_atmospheres() -> tuple[str, ...]:
    from glost.recipe.fields import ATMOSPHERES

    return ATMOSPHERES
