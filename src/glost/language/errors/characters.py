"""Characters that cannot be seen, or only look like the plain ones."""

from __future__ import annotations

import re
import unicodedata

from glost.language.diagnostics import Diagnostic
from glost.language.errors.lines import Accepts
from glost.language.source import Edit, Span, apply
from glost.language.tables import hidden

_LOOKALIKE_OF = {
    **dict.fromkeys("\u201c\u201d\u201e\u201f\u00ab\u00bb\u2033", '"'),
    **dict.fromkeys("\u2018\u2019\u2032", "'"),
    **dict.fromkeys("\u2010\u2011\u2212\u2013\u2014", "-"),
    "\u066b": ".",
    "\u066c": ",",
    "\u3001": ",",
}


def odd_character(line: str, start: int, role: str, accepts: Accepts) -> Diagnostic | None:
    found = hidden().search(line)
    if found is None:
        return None
    odd = found[0]
    edits = () if _TURNS.search(line) or "\x1b" in line else _odd_edits(line, start, role, accepts)
    span = Span(start + found.start(), start + found.end())
    if odd == "\t":
        return Diagnostic(
            span, "a tab stands here; its width differs from editor to editor", "write blanks", edits
        )
    if odd in "\xa0\u202f\u2007":
        return Diagnostic(
            span,
            "a non-breaking space stands here; it looks like a blank and is none",
            "write a plain blank",
            edits,
        )
    if odd in _BREAKS:
        return Diagnostic(
            span,
            f"an invisible line separator ({_code(odd)}) stands here; some programs break the line at it",
            "write a blank in its place",
            edits,
        )
    if odd == "\r":
        return Diagnostic(
            span,
            "a lone carriage return (CR) stands here; some programs break the line at it",
            "write a blank in its place, or break the line there",
            edits,
        )
    if unicodedata.category(odd) == "Zs":
        return Diagnostic(
            span, f"an odd kind of blank ({_code(odd)}) stands here", "write a plain blank", edits
        )
    if _TURNS.match(odd) or odd in "\u200e\u200f":
        return Diagnostic(
            span,
            f"an invisible sign that turns the direction of writing ({_code(odd)}) stands here; "
            "what is shown is not what is written",
            "take it out",
            edits,
        )
    if unicodedata.category(odd) == "Cc":
        return Diagnostic(span, f"a control character ({_code(odd)}) stands here", "take it out", edits)
    return Diagnostic(span, f"an invisible character ({_code(odd)}) stands here", "take it out", edits)


_BREAKS = "\u2028\u2029\x85\x0b\x0c"
_TURNS = re.compile("[\u202a-\u202e\u2066-\u2069]")
"""What is shown between these is not what is written: 40 may be shown for 04. Nor is an escape sequence
simply taken out, since its plain letters would stay behind. So no fix is sure where one stands."""


def _code(character: str) -> str:
    return f"U+{ord(character):04X}"


def _blank_for(character: str) -> str:
    if character == "\t":
        return "    "
    return " " if unicodedata.category(character) == "Zs" or character in _BREAKS or character == "\r" else ""


def _odd_edits(line: str, start: int, role: str, accepts: Accepts) -> tuple[Edit, ...]:
    """The edits that take every odd character out, where the line then reads; if need be with plain
    characters in the place of those that only look like them."""
    odd = [Edit(Span(start + m.start(), start + m.end()), _blank_for(m[0])) for m in hidden().finditer(line)]
    if accepts(hidden().sub(lambda m: _blank_for(m[0]), line), role):
        return tuple(odd)
    if accepts(plain_line(line), role):
        return tuple(sorted([*odd, *_lookalike_edits(hidden().sub(" ", line), start)]))
    return ()


def lookalike(line: str, start: int, role: str, accepts: Accepts) -> Diagnostic | None:
    """Told only where plain characters in their place make the line one that reads."""
    if line.isascii() or accepts(plain_line(line), role) is None:
        return None
    edits = _needed(line, start, role, accepts)
    if not edits:
        return None
    span = edits[0].span
    character, other = line[span.start - start], edits[0].text
    if other == '"':
        message, hint = f"a typographic quotation mark ({character}) stands here", 'write the plain mark "'
    elif "\uff10" <= character <= "\uff19":
        message, hint = f"a full-width figure ({character}) stands here", f"write {other}"
    elif other.isdigit():
        message, hint = f"a figure of another script ({character}) stands here", f"write {other}"
    elif "\uff01" <= character <= "\uff5e":
        message, hint = f"a full-width sign ({character}) stands here", f"write {other}"
    else:
        message = f"{character} ({_code(character)}) stands here, which only looks like {other}"
        hint = f"write {other}"
    return Diagnostic(span, message, hint, edits)


def _needed(line: str, start: int, role: str, accepts: Accepts) -> tuple[Edit, ...]:
    """The fewest plain characters that make the line read: an apostrophe in a name or a comment stays."""
    edits = list(_lookalike_edits(line, 0))
    if len(edits) <= _MOST_TRIED:
        for edit in tuple(edits):
            without = [other for other in edits if other != edit]
            if accepts(apply(line, without), role):
                edits = without
    return tuple(Edit(Span(start + e.span.start, start + e.span.end), e.text) for e in edits)


_MOST_TRIED = 24


def _plain_character(character: str) -> str:
    if character < "\x80":
        return character
    if character in _LOOKALIKE_OF:
        return _LOOKALIKE_OF[character]
    if "\uff01" <= character <= "\uff5e":
        return chr(ord(character) - 0xFEE0)
    value = unicodedata.decimal(character, None)
    return character if value is None else str(value)


def plain_line(line: str) -> str:
    """The line with plain characters in the place of those that only look like them."""
    if line.isascii() and hidden().search(line) is None:
        return line
    return plain(hidden().sub(lambda m: _blank_for(m[0]), line))


def plain(text: str) -> str:
    """``text`` with a plain character for each that only looks like one: as many characters as before."""
    return "".join(map(_plain_character, text))


def _lookalike_edits(line: str, start: int) -> tuple[Edit, ...]:
    return tuple(
        Edit(Span(start + at, start + at + 1), _plain_character(c))
        for at, c in enumerate(line)
        if _plain_character(c) != c
    )
