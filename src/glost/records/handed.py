"""Records in what was handed over: one, several in one file, or a text that somebody pasted with words around it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, Final, NamedTuple

from glost.errors import ValueRefusedError, refused_at
from glost.language.exact_json import JsonError, check_against, loaded
from glost.records.record import KIND, Record, record_from

SEVERAL: Final = "glost records"
"""The kind of a text that holds several."""
_SCHEMA: Final = "records.schema.json"
_MARK: Final = f'"{KIND}'


class Handed(NamedTuple):
    """One record, or why it is none. ``where``: which of several, "" where there is one only."""

    where: str
    record: Record | None
    error: ValueError | None


def is_handed(text: str) -> bool:
    """Whether a text of a folder with all kinds of files is meant to be read as records."""
    return _MARK in text


def handed_in(text: str) -> list[Handed]:
    """Every record in a text. Raises ValueError where it holds none that could be told from the rest."""
    try:
        values = [loaded(text)]
    except JsonError as error:
        values = list(_pieces(text))
        if not values:
            raise error from None
    found = [one for value in values for one in _parts(value)]
    several = len(found) > 1
    return [
        _read(f"record {number} of {len(found)}" if several else "", one)
        for number, one in enumerate(found, 1)
    ]


def _parts(value: Any) -> list[Any]:
    if isinstance(value, dict) and value.get("kind") == SEVERAL:
        check_against(_SCHEMA, value)
        parts: list[Any] = value["records"]
        return parts
    return value if isinstance(value, list) and value else [value]


def _read(where: str, value: Any) -> Handed:
    try:
        return Handed(where, record_from(value), None)
    except ValueError as error:
        return Handed(where, None, refused_at(where, error) if where else error)


# ---- a pasted text ---------------------------------------------------------------------------------------

_QUOTED = re.compile(r"^(?:>[ \xa0]?)+", re.MULTILINE)
"""What mail puts before the lines of an answer."""
_EDGE = re.compile(r"^[ \t\xa0]+", re.MULTILINE)
_BEGIN = re.compile(r'\{\s*"')
# Always matches from a quote on, and never goes back, so that no text makes it slow.
_SIGNS = re.compile(r'"(?:[^"\\]|\\.)*+(?:"|\\?\Z)|[{}]', re.DOTALL)


def _pieces(text: str) -> Iterator[Any]:
    """The objects in a text that hold a record, without the words around them, the signs of quoted mail and the blanks
    that are none. Raises ValueError for one that is broken off."""
    text = _EDGE.sub(" ", _QUOTED.sub("", text))
    at = 0
    while begin := _BEGIN.search(text, at):
        end = _end_of(text, begin.start())
        if end is None:
            if _MARK in text[begin.start() :]:
                raise ValueRefusedError(
                    f"a record begins on line {text.count(chr(10), 0, begin.start()) + 1} and is broken off",
                    "copy the whole text anew, from its first { to its last }",
                )
            return
        piece = text[begin.start() : end]
        if _MARK in piece:
            yield loaded(piece)
        at = end


def _end_of(text: str, start: int) -> int | None:
    """Where the object that begins there is closed."""
    depth = 0
    for found in _SIGNS.finditer(text, start):
        if found[0] == "{":
            depth += 1
        elif found[0] == "}":
            depth -= 1
            if not depth:
                return found.end()
    return None
