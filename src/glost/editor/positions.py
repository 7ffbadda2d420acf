"""Places as editors count them: lines from 0, and in a line bytes, code units of UTF-16, or characters.

Lines end at LF, at CR LF and at CR alone, as the protocol has it (Language Server Protocol 3.17, "Text Documents"). To
glost a line ends at LF only, which is why these are not the lines of a Source.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

from glost.language.source import Span


class Place(NamedTuple):
    """A line, and how many units stand before the place in it."""

    line: int
    unit: int


def _bytes(text: str) -> int:
    return len(text.encode("utf-8", "surrogatepass"))


def _utf16_units(text: str) -> int:
    return len(text) + sum(character > "\uffff" for character in text)


UNITS: Final[Mapping[str, Callable[[str], int]]] = MappingProxyType(
    {"utf-8": _bytes, "utf-16": _utf16_units, "utf-32": len}
)
"""How many units a text has, by the name of the encoding."""

_LINE_END = re.compile(r"\r\n|\n|\r")


class Positions:
    """From offsets of one text to places in it, and back."""

    def __init__(self, text: str, encoding: str) -> None:
        self._text = text
        self._units = UNITS[encoding]
        self._starts = [0]
        self._ends = []
        for found in _LINE_END.finditer(text):
            self._ends.append(found.start())
            self._starts.append(found.end())
        self._ends.append(len(text))

    def place(self, offset: int) -> Place:
        """The place of a character; behind the last, the end of the text."""
        offset = min(max(offset, 0), len(self._text))
        line = bisect_right(self._starts, offset) - 1
        start, end = self._starts[line], self._ends[line]
        return Place(line, self._units(self._text[start : min(offset, end)]))

    def offset(self, place: Place) -> int:
        """The character at a place. Behind the end of a line that is its end, behind the last line the end of the
        text; inside a character it is its beginning."""
        if place.line < 0:
            return 0
        if place.line >= len(self._starts):
            return len(self._text)
        start, end = self._starts[place.line], self._ends[place.line]
        line = self._text[start:end]
        if line.isascii():
            return start + min(max(place.unit, 0), len(line))
        left = place.unit
        for at, character in enumerate(line):
            left -= self._units(character)
            if left < 0:
                return start + at
        return end

    def places(self, span: Span) -> tuple[Place, Place]:
        """Both ends of a span."""
        return self.place(span.start), self.place(span.end)

    def line_span(self, first: int, last: int) -> Span:
        """From the beginning of a line to the end of another, its line break left out."""
        most = len(self._starts) - 1
        return Span(self._starts[min(max(first, 0), most)], self._ends[min(max(last, 0), most)])
