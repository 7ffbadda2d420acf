"""Colour, on a terminal that can show it and whose owner has not refused it: levels of findings, headings of help,
lines of a difference. What is painted was made harmless before, and streams lets no other colours through."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable
from typing import TYPE_CHECKING, Final, TextIO

from glost.cli.streams import note, say, shown

if TYPE_CHECKING:
    from glost.linter.finding import Finding

_RED, _GREEN, _YELLOW, _CYAN = 31, 32, 33, 36
_LEVELS: Final = {"error": _RED, "warning": _YELLOW}
_DIFFERENCE: Final = {"+": _GREEN, "-": _RED, "@": _CYAN}
"""By the first sign of a line."""


def are_wanted(stream: TextIO | None) -> bool:
    """Whether what goes to ``stream`` is shown in colour."""
    refused = os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb"
    return stream is not None and not refused and stream.isatty()


def level(word: str) -> str:
    """The level of a finding."""
    return f"\x1b[{_LEVELS.get(word, _CYAN)}m\x1b[1m{word}\x1b[0m"


def heading(text: str) -> str:
    """The heading of a part of the help."""
    return f"\x1b[1m{text}\x1b[0m"


def note_findings(findings: Iterable[Finding]) -> None:
    """Writes findings for a person to standard error."""
    from glost.cli.line_breaks import told_once_a_run
    from glost.linter.reporters import plain  # help, which is painted too, tells no findings

    in_colour = are_wanted(sys.stderr)
    told = told_once_a_run(list(findings))
    note(plain.text(told, level if in_colour else str), in_colour)


def say_difference(text: str) -> None:
    """Writes a unified difference for a person to standard output."""
    if are_wanted(sys.stdout):
        say("".join(map(_painted, text.splitlines(keepends=True))), in_colour=True)
    else:
        say(text)


def _painted(line: str) -> str:
    """A line of a difference: the two lines that name the page stand out, what goes and what comes has its colour."""
    said, end = (line[:-1], "\n") if line.endswith("\n") else (line, "")
    said = shown(said).replace("\x1b", "")
    if said.startswith(("--- ", "+++ ")):
        return f"{heading(said)}{end}"
    colour = _DIFFERENCE.get(said[:1])
    return f"\x1b[{colour}m{said}\x1b[0m{end}" if colour else f"{said}{end}"
