"""The text of one file, places in it, and edits to it."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from typing import NamedTuple

from glost.errors import FIRST, GlostError, Position, ValueRefusedError

LARGEST_FILE = 256 * 1024
"""Bytes. A recipe is a page; the limit bounds the time and the memory of an answer, which grow with the page and no
faster, whatever is handed in."""

MOST_LINES = 10_000


class Span(NamedTuple):
    """A stretch of a text, as character offsets: from ``start`` up to, not including, ``end``."""

    start: int
    end: int


class Edit(NamedTuple):
    """Put ``text`` in the place of ``span``. All edits of a set speak of the same, unedited text."""

    span: Span
    text: str


class DecodeError(GlostError):
    """The file as a whole cannot be taken as text. ``position`` is the first place where that shows."""

    position: Position

    def __init__(self, message: str, hint: str, position: Position = FIRST) -> None:
        super().__init__(message, hint, position)


class Source:
    """A text under the name it is reported by. Lines end at LF and nowhere else."""

    __slots__ = ("_lines", "_starts", "path", "text")

    def __init__(self, path: str, text: str) -> None:
        self.path = path
        self.text = text
        self._starts: list[int] | None = None
        self._lines: dict[int, str] = {}
        """Those that were asked for, so that all that is said of one line shares one text."""

    @property
    def _line_starts(self) -> list[int]:
        if self._starts is None:
            starts = [0]
            at = self.text.find("\n")
            while at >= 0:
                starts.append(at + 1)
                at = self.text.find("\n", at + 1)
            self._starts = starts
        return self._starts

    def position(self, offset: int) -> Position:
        """Line and column of a character offset."""
        line = bisect_right(self._line_starts, offset)
        return Position(line, offset - self._line_starts[line - 1] + 1)

    def line(self, number: int) -> str:
        """The text of a line (from 1), without its line break."""
        if number not in self._lines:
            self._lines[number] = self._cut(number)
        return self._lines[number]

    def _cut(self, number: int) -> str:
        starts = self._line_starts
        if not 1 <= number <= len(starts):
            return ""
        end = starts[number] - 1 if number < len(starts) else len(self.text)
        return self.text[starts[number - 1] : end].removesuffix("\r")

    def line_span(self, number: int) -> Span:
        """The span of a line (from 1), without its line break."""
        start = self._line_starts[number - 1]
        return Span(start, start + len(self.line(number)))


ONE_RECIPE = "check that it is a recipe; keep one recipe in a file"


def decode(data: bytes, most: int = LARGEST_FILE, check: str = "") -> str:
    """The text in the bytes of a recipe file. A byte order mark stays in the text, to be reported there. ``check``:
    what to do where it is not a file of its kind, for a file that is to be something else than a recipe.

    Raises DecodeError where the bytes are too many, or are not UTF-8.
    """
    if len(data) > most:
        raise DecodeError(
            f"this file holds more than {most:,} bytes, and no more are read",
            check or ONE_RECIPE,
        )
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise DecodeError(
            "this file is written in UTF-16, not in UTF-8",
            "save it again with the encoding UTF-8 (the editor's 'save as' usually offers it)",
        )
    zero = data.find(b"\x00")
    if zero >= 0:
        raise DecodeError(
            "this file holds a zero byte, so it is no plain text",
            check or "check that it is a recipe, and save it as plain text in UTF-8",
            _position(data, zero),
        )
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise DecodeError(
            f"the byte 0x{data[error.start]:02x} here is not UTF-8",
            "save the file again with the encoding UTF-8 (the editor's 'save as' usually offers it)",
            _position(data, error.start),
        ) from None
    if most == LARGEST_FILE and text.count("\n") > MOST_LINES:
        raise DecodeError(
            f"this file holds more than {MOST_LINES:,} lines; a recipe is a page",
            check or ONE_RECIPE,
        )
    return text


def _position(data: bytes, at: int) -> Position:
    before = data[:at].decode("utf-8", "replace")
    return Position(before.count("\n") + 1, len(before) - before.rfind("\n"))


class OverlapError(GlostError, ValueError):
    """Two edits want the same place."""


def apply(text: str, edits: Iterable[Edit]) -> str:
    """``text`` with all ``edits`` made; every other character stays. Raises OverlapError where two collide,
    ValueError where one lies outside the text."""
    parts: list[str] = []
    at = 0
    for edit in sorted(set(edits)):
        if not 0 <= edit.span.start <= edit.span.end <= len(text):
            raise ValueRefusedError(f"an edit at {edit.span} lies outside a text of {len(text)} characters")
        if edit.span.start < at:
            raise OverlapError(f"two edits meet at {edit.span}")
        parts += (text[at : edit.span.start], edit.text)
        at = edit.span.end
    parts.append(text[at:])
    return "".join(parts)
