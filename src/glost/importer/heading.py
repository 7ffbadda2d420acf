"""What a line or a cell says under the head of a field: the cone, the atmosphere, a date, a source."""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from typing import Final, NamedTuple

from glost.importer.firing import atmospheres_in, firing_in_cell, may_be_dated
from glost.recipe.fields import FIELDS
from glost.recipe.spelling import certain_spelling

KEYS: Final[Mapping[str, str]] = {
    **{key: key for key in FIELDS},
    "cones": "cone", "fired to": "cone", "fires to": "cone", "cone range": "cone", "firing range": "cone",
    "temp": "firing", "temperature": "firing", "firing temp": "firing", "firing temperature": "firing",
    "fired at": "firing", "maturity": "firing", "atm": "atmosphere", "kiln atmosphere": "atmosphere",
    "finish": "surface", "color": "colour", "source": "origin", "from": "origin", "where from": "origin",
    "clay": "body", "clay body": "body", "schedule": "firing", "specific gravity": "gravity", "sg": "gravity",
    "mesh": "sieve", "applied": "application", "batch size": "batch", "tested": "date",
}  # fmt: skip
"""The words that head a field in notes, and the field."""

_MONTHS: Final = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
_ISO = re.compile(r"([0-9]{4})[-/.]([0-9]{1,2})[-/.]([0-9]{1,2})")
_FIGURES = re.compile(r"([0-9]{1,2})[./-]([0-9]{1,2})[./-]([0-9]{4})")
_WORDS = re.compile(r"([0-9]{1,2})(?:st|nd|rd|th)?\.? ([a-z]{3,9})\.?,? ([0-9]{4})", re.IGNORECASE)
_KEYED = re.compile(r"(?P<key>[A-Za-z][A-Za-z ]{0,20}?) ?[:=] ?(?P<value>\S.*)")
_LONGEST: Final = 3000
"""Characters. No value of a field is longer."""
NO_FIELD: Final = "this cannot be taken as a field; it stands in the notes"
_MONTHS_A_YEAR: Final = 12
_FIRED: Final = frozenset({"cone", "firing", "atmosphere"})
_CONE_SAID: Final = re.compile(r"(?:cones?|con\.|c/|c ?[0-9]|[\^\u0394\u25b3\u2206\u25b2])", re.IGNORECASE)


def date_in(text: str) -> tuple[str, str]:
    """The date that a text is, as the language writes it, and a question where it can be read two ways."""
    bare = text.strip(" .()")
    try:
        if found := _ISO.fullmatch(bare):
            return datetime.date(*map(int, found.groups())).isoformat(), ""
        if found := _FIGURES.fullmatch(bare):
            first, second, year = map(int, found.groups())
            if first == second or first > _MONTHS_A_YEAR:
                return datetime.date(year, second, first).isoformat(), ""
            if second > _MONTHS_A_YEAR:
                return datetime.date(year, first, second).isoformat(), ""
            return "", f"'{bare}' may be two dates; write date: year-month-day"
        if (found := _WORDS.fullmatch(bare)) and found[2][:3].lower() in _MONTHS:
            month = _MONTHS.index(found[2][:3].lower()) + 1
            return datetime.date(int(found[3]), month, int(found[1])).isoformat(), ""
    except ValueError:
        pass
    return "", ""


class Values(NamedTuple):
    """What a cell or a line says, as fields. ``left`` is what no field takes: it stands in the notes. ``bare``: see
    Firing."""

    fields: Mapping[str, str]
    guesses: tuple[str, ...] = ()
    left: str = ""
    bare: str = ""


def field_in(text: str) -> Values | None:
    """What a line such as 'Color: blue' says; None where it is none."""
    found = _KEYED.fullmatch(text) if len(text) <= _LONGEST else None
    key = KEYS.get(" ".join(found["key"].lower().split())) if found else None
    return values_of(key, found["value"].strip(" ")) if found and key else None


def values_of(key: str, value: str) -> Values:
    """What a value says under the head of a field, as the language writes it."""
    if key == "date":
        date, question = date_in(value)
        return Values({"date": date}) if date else _left(value, question)
    if key in _FIRED:
        return _fired(key, value)
    if " #" in value or value.startswith("#"):
        return _left(value)
    try:
        FIELDS[key].read(value)
    except ValueError:
        meant = certain_spelling(value, FIELDS[key].read)
        return Values({key: meant}) if meant and " #" not in meant else _left(value)
    return Values({key: value})


def _left(value: str, question: str = "") -> Values:
    return Values({}, (question or NO_FIELD,), value)


def _fired(key: str, value: str) -> Values:
    """Cone and atmosphere may stand in one cell, under the head of either, or under that of the firing."""
    found = firing_in_cell(value)
    if found and key != "cone" and found.rest and not _CONE_SAID.match(value):
        found = None  # 'Firing: 10 minutes at the top'
    if found is None and key == "cone":
        question = f"'{value}' is no cone; a spreadsheet makes a date of a range such as 5-6"
        return _left(value, question if may_be_dated(value) else "")
    found = found or atmospheres_in(value)
    if key == "firing" and not found.cone:
        return Values({key: value}) if " #" not in value and not value.startswith("#") else _left(value)
    if key == "atmosphere" and not found.cone and (found.rest or not found.fields):
        return _left(value)
    fields, guesses = found.fields, found.guesses
    if found.rest and ("firing" in fields or "#" in found.rest):
        return _left(value)
    if found.rest:
        fields["firing"] = found.rest
        guesses += (f"'{found.rest}' behind the cone is taken for the firing",)
    return Values(fields, guesses, bare=found.bare)
