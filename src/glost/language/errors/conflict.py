"""The marks of an unfinished merge, with which git, and glost's own merge, leave both sides of a change on a page."""

from __future__ import annotations

import re
from collections.abc import Iterator

from glost.language.diagnostics import Diagnostic
from glost.language.source import Source, Span

_CONFLICT = re.compile(
    r"^(?P<signs><{7,})(?: [^\n]*)?\n"
    r"(?:(?!<{7})[^\n]*\n)*?"
    r"={7,}\r?\n"
    r"(?:(?!<{7}|={7,}\r?\n)[^\n]*\n)*?"
    r"(?P<end>>{7,}(?: [^\n]*)?)(?:\n|\Z)",
    re.MULTILINE,
)


def unfinished_merges(source: Source) -> Iterator[Diagnostic]:
    """A diagnostic for each pair of sides, over all lines that belong to it. Marks without their partners are none."""
    for found in _CONFLICT.finditer(source.text):
        first, last = (source.position(at).line for at in (found.start(), found.start("end")))
        yield Diagnostic(
            Span(found.start(), found.end("end")),
            f"a merge is not finished: lines {first} to {last} hold what both sides wrote",
            f"keep the lines that are meant, and delete the others and the marks ({_marks(found[0])})",
        )


def _marks(text: str) -> str:
    """The marks that stand there, as a person looks for them."""
    return "<<<, |||, === and >>>" if "\n|||||||" in text else "<<<, === and >>>"
