"""A line of materials that cannot be read, taken apart, so that one accident after the other can be looked for."""

from __future__ import annotations

import re
from collections.abc import Iterator

from glost.language.diagnostics import Diagnostic
from glost.language.errors.lines import SERIES_ROLES, Accepts, code_part
from glost.language.source import Edit, Span
from glost.language.tables import lexicon
from glost.language.units import unit_meant

WORDS = lexicon()
FIGURE = WORDS.number
UNIT = WORDS.unit
AMOUNT = rf"{FIGURE} *{UNIT}?"
QUOTED, NOTE = "\x01", "\x02"


class ItemLine:
    """A line of materials that cannot be read, taken apart. ``code`` is the line up to its comment; ``open``
    is that with quoted names and notes blotted out, so that what stands inside them misleads no search."""

    def __init__(self, line: str, start: int, role: str, accepts: Accepts) -> None:
        self.line = line
        self.role = role
        self.code = code_part(line).rstrip(" ")
        self.at = len(line) - len(line.lstrip(" "))
        self.end = len(self.code)
        blotted = re.sub(r'"[^"]*"', lambda m: QUOTED * len(m[0]), self.code)
        self.open = re.sub(r"\([^()]*\)", lambda m: NOTE * len(m[0]), blotted)
        self.blotted = blotted
        self._start = start
        self._accepts = accepts

    def diagnostic(
        self, at: int, end: int, message: str, hint: str, becomes: str | None = None
    ) -> Diagnostic:
        """``becomes`` is what to put there; it is offered where the line then reads, if need be with the unit behind it
        in its own spelling."""
        edits: tuple[Edit, ...] = ()
        for last, put in self._with_unit(end, becomes) if becomes is not None else ():
            if self.reads(at, last, put):
                edits = (Edit(Span(self._start + at, self._start + last), put),)
                if not self.line.startswith(" "):
                    edits = (Edit(Span(self._start, self._start), "    "), *edits)
                break
        return Diagnostic(Span(self._start + at, self._start + end), message, hint, edits)

    def _with_unit(self, end: int, becomes: str) -> Iterator[tuple[int, str]]:
        """Where a text ends that is put in up to ``end``, and the text: by itself, and with the unit that follows."""
        yield end, becomes
        unit = re.match(r" *(?P<unit>[A-Za-z]+)\.?(?![^\s,])", self.open[end:])
        right = unit_meant(unit["unit"]) if unit else None
        if unit and right is not None:
            yield end + unit.end(), f"{becomes} {right}".rstrip()

    def reads(self, at: int, end: int, becomes: str) -> bool:
        line = self.line[:at] + becomes + self.line[end:]
        return self._accepts(line if line.startswith(" ") else "    " + line, self.role) is not None

    @property
    def series(self) -> bool:
        return self.role in SERIES_ROLES


BEFORE = r"(?<!\S)"
