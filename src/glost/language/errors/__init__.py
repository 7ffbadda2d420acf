"""What went wrong on a line that the grammar does not know, in a potter's words, and how to fix it.

Each everyday accident has its own message. A fix is offered as an edit only where one reading of the line
is certain; nothing is guessed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from glost.language.diagnostics import Diagnostic
from glost.language.errors.characters import lookalike, odd_character, plain, plain_line
from glost.language.errors.conflict import unfinished_merges
from glost.language.errors.heads import structure
from glost.language.errors.lines import Accepts
from glost.language.source import Edit, Source, Span, apply

__all__ = ["empty", "of_a_line", "of_the_whole", "plain", "unfinished_merges"]


def empty() -> Diagnostic:
    """The diagnostic of a page that says nothing."""
    return Diagnostic(
        Span(0, 0),
        "this file is empty",
        'begin with the kind and the name, such as  glaze "Harbour Mist"  '
        "and write base: and its materials below",
    )


CR_LF: Final = "CR LF, as Windows editors write"
"""What every message on Windows line breaks says."""


def of_the_whole(source: Source) -> Iterator[Diagnostic]:
    """Faults of the file rather than of a line: a byte order mark, Windows line breaks."""
    text = source.text
    if text.startswith("\ufeff"):
        yield Diagnostic(
            Span(0, 1),
            "the file begins with an invisible byte order mark",
            "save it as UTF-8 without BOM; glost lint --fix takes the mark away",
            (Edit(Span(0, 1), ""),),
            takes_nothing=True,
        )
    at = text.find("\r\n")
    if at >= 0:
        breaks = tuple(Edit(Span(m.start(), m.start() + 1), "") for m in re.finditer("\r(?=\n)", text))
        yield Diagnostic(
            Span(at, at + 1),
            f"{len(breaks)} lines end in {CR_LF} them" if len(breaks) > 1 else f"a line ends in {CR_LF} it",
            "let the editor write LF line breaks; glost lint --fix changes them",
            breaks,
            takes_nothing=True,
        )


def of_a_line(source: Source, span: Span, role: str, accepts: Accepts, in_firing: bool = False) -> Diagnostic:
    """The one diagnostic that explains why this line cannot stand in a block of that role."""
    line = source.text[span.start : span.end]
    if "\r" in line and "\n" not in source.text:
        return _old_breaks(line, span.start)
    found = odd_character(line, span.start, role, accepts) or lookalike(line, span.start, role, accepts)
    if found is not None:
        return found
    # What only looks like a plain character is read as one, so that the other mistake of the line is told.
    plain = plain_line(line)
    if in_firing:
        from glost.language.errors.firing import of_a_firing

        diagnostic = of_a_firing(plain, span.start, role, accepts)
    else:
        diagnostic = structure(plain, span.start, role, accepts)
    return diagnostic if plain == line else _kept_where_sure(diagnostic, line, span.start, role, accepts)


def _kept_where_sure(
    diagnostic: Diagnostic, line: str, start: int, role: str, accepts: Accepts
) -> Diagnostic:
    edits = [Edit(Span(e.span.start - start, e.span.end - start), e.text) for e in diagnostic.edits]
    sure = bool(edits) and accepts(apply(line, edits), role) is not None
    return diagnostic if sure else diagnostic._replace(edits=(), choices=())


def _old_breaks(line: str, start: int) -> Diagnostic:
    """A file without one LF, its lines separated by CR: the reader saw a single line."""
    at = [m.start() for m in re.finditer("\r", line)]
    return Diagnostic(
        Span(start + at[0], start + at[0] + 1),
        "the lines of this file end in a lone carriage return (CR)",
        "let the editor write LF line breaks; glost lint --fix changes them",
        tuple(Edit(Span(start + a, start + a + 1), "\n") for a in at),
    )
