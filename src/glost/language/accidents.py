"""What went wrong on a line that the grammar does not know, in a potter's words, and how to mend it.

Each everyday accident has its own message. A mend is offered as an edit only where one reading of the line
is certain; nothing is guessed.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterator
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple, TypeAlias

from glost.language.nearest import nearest
from glost.language.source import Edit, Fault, Source, Span, apply

Accepts: TypeAlias = Callable[[str, str], str | None]
"""``accepts(line, role)``: the grammar's token for a line in a block of that role, or None."""

KINDS = ("glaze", "engobe", "slip", "wash", "body")
HEADS = ("base", "additions", "handling", "variation", "series", "notes")
FIELD_WORDS = ("cone", "atmosphere", "surface", "colour", "origin", "date", "body", "application", "firing",
               "use",
               "tags", "batch", "water", "gravity", "sieve")
"""The words that may stand before a colon, as far as a missing colon is told by them. A test holds them to
the fields of a recipe."""
_ITEM_ROLES = ("base", "additions", "variation", "series")
_LONGEST = 200
"""Characters. A longer line is no slip of the pen; it is told as one that cannot be read, and no search is
made, so that the searches below need not be linear."""

_ODD = re.compile(
    "[\x00-\x09\x0b-\x1f\x7f-\xa0\xad\u1680\u180e\u2000-\u200b\u200e\u200f\u2028-\u202f"
    "\u205f-\u2064\u2066-\u206f\u3000\ufeff\ufff9-\ufffc]"
)
_LOOKALIKE_OF = {
    **dict.fromkeys("\u201c\u201d\u201e\u201f\u00ab\u00bb\u2033", '"'),
    **dict.fromkeys("\u2018\u2019\u2032", "'"),
    **dict.fromkeys("\u2010\u2011\u2212\u2013\u2014", "-"),
    "\u066b": ".",
    "\u066c": ",",
    "\u3001": ",",
}

_UNIT_SPELLINGS = {
    **dict.fromkeys(("gr", "gm", "gms", "grs", "gram", "grams", "gramme", "grammes", "G"), "g"),
    **dict.fromkeys(("kilo", "kilos", "kgs", "Kg", "KG", "kilogram", "kilograms"), "kg"),
    **dict.fromkeys(("ounce", "ounces", "ozs", "Oz", "OZ"), "oz"),
    **dict.fromkeys(("lbs", "pound", "pounds", "Lb", "LB"), "lb"),
    **dict.fromkeys(("percent", "pct", "pc"), "%"),
    **dict.fromkeys(("part", "parts", "pts", "pt", "pbw"), ""),
}
_OTHER_UNITS = frozenset(
    ("mg", "ml", "cl", "dl", "l", "cc", "mol", "ppm", "tsp", "tbsp", "teaspoon", "teaspoons", "tablespoon",
     "tablespoons", "cup", "cups", "scoop", "scoops", "drop", "drops", "pinch", "t", "ton", "tons", "stone")
)


def empty() -> Fault:
    """The fault of a page that says nothing."""
    return Fault(
        Span(0, 0),
        "this file is empty",
        'begin with the kind and the name, such as  glaze "Harbour Mist"  '
        "and write base: and its materials below",
    )


def of_the_whole(source: Source) -> Iterator[Fault]:
    """Faults of the file rather than of a line: a byte order mark, Windows line breaks."""
    text = source.text
    if text.startswith("\ufeff"):
        yield Fault(
            Span(0, 1),
            "the file begins with an invisible byte order mark",
            "save it as UTF-8 without BOM; glost lint --fix takes the mark away",
            (Edit(Span(0, 1), ""),),
        )
    at = text.find("\r\n")
    if at >= 0:
        breaks = tuple(Edit(Span(m.start(), m.start() + 1), "") for m in re.finditer("\r(?=\n)", text))
        yield Fault(
            Span(at, at + 1),
            f"{len(breaks)} lines end in CR LF, as Windows editors write them" if len(breaks) > 1
            else "a line ends in CR LF, as Windows editors write it",
            "let the editor write LF line breaks; glost lint --fix changes them",
            breaks,
        )


def of_a_line(source: Source, span: Span, role: str, accepts: Accepts) -> Fault:
    """The one fault that explains why this line cannot stand in a block of that role."""
    line = source.text[span.start : span.end]
    if "\r" in line and "\n" not in source.text:
        return _old_breaks(line, span.start)
    found = _odd_character(line, span.start, role, accepts) or _lookalike(line, span.start, role, accepts)
    if found is not None:
        return found
    # What only looks like a plain character is read as one, so that the other mistake of the line is told.
    plain = _plain(line)
    fault = _structure(plain, span.start, role, accepts)
    return fault if plain == line else _kept_where_sure(fault, line, span.start, role, accepts)


def _kept_where_sure(fault: Fault, line: str, start: int, role: str, accepts: Accepts) -> Fault:
    edits = [Edit(Span(e.span.start - start, e.span.end - start), e.text) for e in fault.edits]
    sure = bool(edits) and accepts(apply(line, edits), role) is not None
    return fault if sure else fault._replace(edits=())


def _old_breaks(line: str, start: int) -> Fault:
    """A file without one LF, its lines parted by CR: the reader saw a single line."""
    at = [m.start() for m in re.finditer("\r", line)]
    return Fault(Span(start + at[0], start + at[0] + 1),
                 "the lines of this file end in a lone carriage return (CR)",
                 "let the editor write LF line breaks; glost lint --fix changes them",
                 tuple(Edit(Span(start + a, start + a + 1), "\n") for a in at))


# ---- characters ---------------------------------------------------------------------------------------


def _odd_character(line: str, start: int, role: str, accepts: Accepts) -> Fault | None:
    found = _ODD.search(line)
    if found is None:
        return None
    odd = found[0]
    edits = () if _TURNS.search(line) or "\x1b" in line else _odd_edits(line, start, role, accepts)
    span = Span(start + found.start(), start + found.end())
    if odd == "\t":
        return Fault(span, "a tab stands here; its width differs from editor to editor", "write blanks",
                     edits)
    if odd in "\xa0\u202f\u2007":
        return Fault(span, "a non-breaking space stands here; it looks like a blank and is none",
                     "write a plain blank", edits)
    if odd in _BREAKS:
        return Fault(span, f"an invisible line separator ({_code(odd)}) stands here; "
                     "some programs break the line at it", "write a blank in its place", edits)
    if odd == "\r":
        return Fault(span, "a lone carriage return (CR) stands here; some programs break the line at it",
                     "write a blank in its place, or break the line there", edits)
    if unicodedata.category(odd) == "Zs":
        return Fault(span, f"an odd kind of blank ({_code(odd)}) stands here", "write a plain blank", edits)
    if _TURNS.match(odd) or odd in "\u200e\u200f":
        return Fault(span,
                     f"an invisible sign that turns the direction of writing ({_code(odd)}) stands here; "
                     "what is shown is not what is written", "take it out", edits)
    if unicodedata.category(odd) == "Cc":
        return Fault(span, f"a control character ({_code(odd)}) stands here", "take it out", edits)
    return Fault(span, f"an invisible character ({_code(odd)}) stands here", "take it out", edits)


_BREAKS = "\u2028\u2029\x85\x0b\x0c"
_TURNS = re.compile("[\u202a-\u202e\u2066-\u2069]")
"""What is shown between these is not what is written: 40 may be shown for 04. Nor is an escape sequence
simply taken out, since its plain letters would stay behind. So no mend is sure where one stands."""


def _code(character: str) -> str:
    return f"U+{ord(character):04X}"


def _blank_for(character: str) -> str:
    if character == "\t":
        return "    "
    return " " if unicodedata.category(character) == "Zs" or character in _BREAKS or character == "\r" else ""


def _odd_edits(line: str, start: int, role: str, accepts: Accepts) -> tuple[Edit, ...]:
    """The edits that take every odd character out, where the line then reads; if need be with plain
    characters in the place of those that only look like them."""
    odd = [Edit(Span(start + m.start(), start + m.end()), _blank_for(m[0])) for m in _ODD.finditer(line)]
    if accepts(_ODD.sub(lambda m: _blank_for(m[0]), line), role):
        return tuple(odd)
    if accepts(_plain(line), role):
        return tuple(sorted([*odd, *_lookalike_edits(_ODD.sub(" ", line), start)]))
    return ()


def _lookalike(line: str, start: int, role: str, accepts: Accepts) -> Fault | None:
    """Told only where plain characters in their place make the line one that reads."""
    if line.isascii() or accepts(_plain(line), role) is None:
        return None
    edits = _needed(line, start, role, accepts)
    if not edits:
        return None
    span = edits[0].span
    character, other = line[span.start - start], edits[0].text
    if other == '"':
        message, mend = f"a typographic quotation mark ({character}) stands here", 'write the plain mark "'
    elif "\uff10" <= character <= "\uff19":
        message, mend = f"a full-width figure ({character}) stands here", f"write {other}"
    elif other.isdigit():
        message, mend = f"a figure of another script ({character}) stands here", f"write {other}"
    elif "\uff01" <= character <= "\uff5e":
        message, mend = f"a full-width sign ({character}) stands here", f"write {other}"
    else:
        message = f"{character} ({_code(character)}) stands here, which only looks like {other}"
        mend = f"write {other}"
    return Fault(span, message, mend, edits)


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


def _plain(line: str) -> str:
    """The line with plain characters in the place of those that only look like them."""
    if line.isascii() and _ODD.search(line) is None:
        return line
    return plain(_ODD.sub(lambda m: _blank_for(m[0]), line))


def plain(text: str) -> str:
    """``text`` with a plain character for each that only looks like one: as many characters as before."""
    return "".join(map(_plain_character, text))


def _lookalike_edits(line: str, start: int) -> tuple[Edit, ...]:
    return tuple(
        Edit(Span(start + at, start + at + 1), _plain_character(c))
        for at, c in enumerate(line)
        if _plain_character(c) != c
    )


# ---- what a line is meant to be -----------------------------------------------------------------------


def _structure(line: str, start: int, role: str, accepts: Accepts) -> Fault:
    bare = line.strip(" ")
    at = len(line) - len(line.lstrip(" "))
    whole = Span(start + at, start + at + len(bare))
    if len(line) > _LONGEST:
        return Fault(whole, "this long line cannot be read here",
                     "write one thing on a line; free text stands below notes:")
    if role == "page":
        return _bad_head(line, start, whole, accepts)
    if at:
        return _bad_indented(line, start, whole, role, accepts)
    if role in (*_ITEM_ROLES, "handling", "notes", "field_below") and accepts("    " + line, role):
        others = {"handling": "a handling line", "notes": "text", "field_below": "text"}
        what = others.get(role, "a material line")
        return Fault(whole, f"{what} stands in column one, where only fields and heads stand",
                     "put blanks before it", (Edit(Span(start, start), "    "),))
    return _bad_first_column(line, start, whole, role, accepts)


def _bad_indented(line: str, start: int, whole: Span, role: str, accepts: Accepts) -> Fault:
    bare = line.strip(" ")
    blanks = Edit(Span(start, whole.start), "")
    word = _word_of(bare)
    reads_as = accepts(bare, role)
    if reads_as == "TITLE" and role == "lead":
        return Fault(whole, "the first line is indented", "begin it in column one", (blanks,))
    if reads_as in ("FIELD", "HEAD") and word in FIELD_WORDS:
        return Fault(whole, f"the field '{word}' is indented", "begin it in column one", (blanks,))
    if reads_as in _HEAD_TOKENS:
        return Fault(whole, f"the head '{bare}' is indented, as if it belonged to the block above",
                     "begin it in column one", (blanks,))
    if role in _ITEM_ROLES:
        return _bad_item(line, start, role, accepts)
    if role == "handling":
        return _bad_instruction(line, start, whole, accepts)
    above = {
        "lead": "there is no head above it",
        "title": "the title above it is complete",
        "field": "the field above it is complete on its line",
    }.get(role, "nothing above it takes lines below")
    return Fault(whole, f"this line is indented, but {above}",
                 "begin it in column one, or write its head (such as base:) above it")


_HEAD_TOKENS = ("BASE", "ADDITIONS", "HANDLING", "NOTES", "VARIATION", "SERIES")
_HEAD_IN_COLUMN_ONE = (*_HEAD_TOKENS, "TITLE", "HEAD", "FIELD")
_MARKS = " :;=-\"'\u2018\u2019`"


def _word_of(bare: str) -> str:
    found = re.match(r"[^\W\d_]+", bare)
    return found[0] if found else ""


def _bad_head(line: str, start: int, whole: Span, accepts: Accepts) -> Fault:
    """Why a line that looks as if it opened a block is no head and no field."""
    code = _code_part(line).rstrip(" ")
    word = _word_of(code)
    lower = word.lower()
    if lower in KINDS:
        title = _bad_title(line, start, "page", accepts)
        if title is not None:
            return title
    fault = _head_without_colon(line, code, start, accepts) if lower in (*HEADS, *FIELD_WORDS) else None
    if fault is not None:
        return fault
    if lower in ("variation", "series"):
        return _bad_named_head(line, code, start, lower, accepts)
    if lower in HEADS:
        return _bad_plain_head(line, code, start, lower, accepts)
    meant = nearest(lower, ("variation", "series"), 1)
    if meant and code[len(word) :].lstrip(" ").startswith('"'):
        return Fault(Span(start, start + len(word)), f"'{word}' opens no block",
                     f"write  {meant[0]}{code[len(word):]}  if that is meant")
    return Fault(whole, "this line cannot be read: it is neither a field nor a head",
                 "write a field as  cone: 6  or a head as  base:")


def _head_without_colon(line: str, code: str, start: int, accepts: Accepts) -> Fault | None:
    """A head or a field that is right but for its colon or its letters."""
    behind = line[len(code) :]
    word = _word_of(code)
    end = start + len(code)

    def reads(mended: str) -> bool:
        return accepts(mended + behind, "page") in _HEAD_IN_COLUMN_ONE

    gap = re.search(r"(?<! ) +(?=:)", code)
    if gap and reads(code[: gap.start()] + code[gap.end() :]):
        return Fault(Span(start + gap.start(), start + gap.end()), "a blank stands before the colon",
                     f"write  {code[: gap.start()]}{code[gap.end() :]}",
                     (Edit(Span(start + gap.start(), start + gap.end()), ""),))
    if word.lower() in FIELD_WORDS:
        return None
    if reads(code + ":"):
        return Fault(Span(end - 1, end), "the colon is missing at the end of this head", f"write  {code}:",
                     (Edit(Span(end, end), ":"),))
    small = word.lower() + code[len(word) :]
    for mended in (small, small + ":"):
        if small != code and reads(mended):
            return Fault(Span(start, start + len(word)), f"'{word}' is written in lower case",
                         f"write  {mended}", (Edit(Span(start, end), mended),))
    mark = re.search(r"(?<![ .;,=-])[ .;,=-]+$", code)
    if mark and reads(code[: mark.start()] + ":"):
        return Fault(Span(start + mark.start(), end), f"a head ends in a colon, not in {mark[0].strip(' ')}",
                     f"write  {code[: mark.start()]}:", (Edit(Span(start + mark.start(), end), ":"),))
    fused = code.find(":#")
    if fused >= 0 and reads(code[: fused + 1] + " " + code[fused + 1 :]):
        at = start + fused + 1
        return Fault(Span(at, at + 1), "a comment begins with a blank before its #", "put a blank there",
                     (Edit(Span(at, at), " "),))
    return None


def _bad_named_head(line: str, code: str, start: int, word: str, accepts: Accepts) -> Fault:
    behind = code[len(word) :]
    span = Span(start, start + len(code))
    quoted = re.match(r'[ :=-]*"([^"]*)"', behind)
    if quoted and not quoted[1].strip(" "):
        at = start + len(word) + quoted.start(1) - 1
        return Fault(Span(at, at + len(quoted[1]) + 2), f"the name of this {word} is empty",
                     f'give it one, such as  {word} "storm":')
    name = quoted[1].strip(" ") if quoted else behind.strip(_MARKS)
    shown = f'{word} "{name}":'
    if quoted and behind[quoted.end() :].strip(" :;.,"):
        rest = behind[quoted.end() :].strip(" :;.,")
        at = start + code.rindex(rest)
        return Fault(Span(at, at + len(rest)), f"nothing but a colon may stand behind the name of a {word}",
                     f"write  {shown}  and what belongs to it on indented lines below")
    if not name or '"' in name:
        shown = f'{word} "storm":'
    sure = name and '"' not in name and accepts(shown + line[len(code) :], "page")
    edits = (Edit(span, shown),) if sure else ()
    message = f"the name of a {word} stands in double quotes, with a colon behind it"
    if quoted and not behind.startswith(" "):
        message = f"only blanks stand between '{word}' and its name"
    return Fault(span, message, f"write  {shown}", edits)


def _bad_plain_head(line: str, code: str, start: int, word: str, accepts: Accepts) -> Fault:
    colon = re.match(r"[A-Za-z]+:", code)
    rest = code[colon.end() :].strip(" ") if colon else ""
    if not rest:
        return Fault(Span(start, start + len(code)), f"nothing but a colon may stand behind '{word}'",
                     f"write  {word}:  and what belongs to it on indented lines below")
    at = len(code) - len(rest)
    edits: tuple[Edit, ...] = ()
    if accepts("    " + line[at:], word):
        edits = (Edit(Span(start, start + at), f"{word}:\n    "),)
    return Fault(Span(start + at, start + len(code)),
                 f"what belongs to '{word}' stands on lines of its own below it",
                 f"write  {word}:  and this on an indented line below", edits)


def _bad_title(line: str, start: int, role: str, accepts: Accepts) -> Fault | None:
    """Why a line that begins with a kind of recipe, or with a word in the place of one, is no first line."""
    code = _code_part(line).rstrip(" ")
    word = _word_of(code)
    rest = code[len(word) :].lstrip(" :=-")
    lower = word.lower()
    near = nearest(lower, KINDS, 1)
    kind = lower if lower in KINDS else near[0] if near else ""
    if not word or not (lower in KINDS or rest.startswith('"')) or (role != "lead" and '"' not in rest):
        return None
    quoted = re.match(r'"([^"]*)"', rest)
    name = quoted[1].strip(" ") if quoted else rest.strip(_MARKS)
    shown = f"""{kind or "glaze"} "{name.replace('"', '')}\""""
    if not rest or not name:
        return Fault(Span(start, start + len(code)), "the recipe's name is missing",
                     f'write it in double quotes, such as  {kind or "glaze"} "Harbour Mist"')
    if lower not in KINDS:
        return Fault(Span(start, start + len(word)), f"'{word}' is not a kind of recipe",
                     f"write  {shown}  (the kinds are {', '.join(KINDS)})")
    sure = '"' not in name and accepts(shown + line[len(code) :], "page") is not None
    edits = (Edit(Span(start, start + len(code)), shown),) if sure else ()
    if word != lower:
        return Fault(Span(start, start + len(word)), f"'{word}' is written in lower case", f"write  {shown}",
                     edits if not quoted or not rest[quoted.end() :].strip(" :") else ())
    behind = rest[quoted.end() :] if quoted else ""
    if behind:
        at = len(code) - len(behind.lstrip(" "))
        span = Span(start + at, start + len(code))
        if behind.strip(" ") == ":":
            return Fault(span, "the first line carries no colon", f"write  {shown}", edits)
        if behind.startswith("#"):
            return Fault(Span(span.start, span.start + 1), "a comment begins with a blank before its #",
                         "put a blank there", (Edit(Span(span.start, span.start), " "),))
        return Fault(span, f"'{behind.strip(' ')}' stands behind the name of the recipe",
                     "take it away, or write it behind # as a comment")
    message = "the recipe's name stands in double quotes"
    if quoted:
        message = "only blanks stand between the kind of recipe and its name"
    elif rest.startswith('"'):
        message = "the quotation mark that opens here is not closed"
    return Fault(Span(start + len(code) - len(rest), start + len(code)), message, f"write  {shown}", edits)


def _bad_first_column(line: str, start: int, whole: Span, role: str, accepts: Accepts) -> Fault:
    bare = line.rstrip(" ")
    word = _word_of(bare)
    title = _bad_title(line, start, role, accepts)
    if title is not None:
        return title
    if bare.startswith('"') and role == "lead":
        return Fault(whole, "the first line says the kind of recipe before its name",
                     f"write  glaze {bare}  (the kinds are {', '.join(KINDS)})")
    if role == "lead":
        return Fault(whole, "the first line says the kind of recipe and its name in double quotes",
                     'write such as  glaze "Harbour Mist"')
    if bare in KINDS:
        return Fault(whole, "the recipe's name is missing", f'write  {bare} "its name"')
    field = re.match(r"(?P<key>[A-Za-z]+)(?P<gap> *= *| +- +| +)(?=[^\s:=-])", bare)
    if field and field["key"].lower() in FIELD_WORDS and ":" not in bare:
        key = field["key"].lower()
        span = Span(start + field.start("gap"), start + field.end("gap"))
        mended = f"{key}: {bare[field.end() :]}"
        edits = (Edit(Span(start, span.end), f"{key}: "),) if accepts(mended, role) == "FIELD" else ()
        return Fault(span, f"the colon is missing behind '{key}'", f"write  {mended}", edits)
    bullet = re.match(r"[-*+\u2022\u00b7] *", bare)
    if bullet and accepts(bare[bullet.end() :], role) in _HEAD_IN_COLUMN_ONE:
        return Fault(Span(start, start + 1), f"'{bare[0]}' stands before this line", "take it away",
                     (Edit(Span(start, start + bullet.end()), ""),))
    meant = nearest(word.lower(), HEADS, 1)
    if bare == word and meant:
        return Fault(whole, f"'{word}' opens no block", f"write  {meant[0]}:  if that is meant")
    if role in _ITEM_ROLES:
        return _bad_item(line, start, role, accepts)
    return Fault(whole, "this line cannot be read: it is neither a field nor a head",
                 "write a field as  cone: 6  or a head as  base:  or indent the line to put it below a head")


# ---- lines of materials -------------------------------------------------------------------------------

_FIGURE = r"(?:[0-9]{1,9}(?:\.[0-9]{1,6})?|\.[0-9]{1,6})"
_UNIT = r"(?:%|kg|g|oz|lb)"
_AMOUNT = rf"{_FIGURE} *{_UNIT}?"
_QUOTED, _NOTE = "\x01", "\x02"


class _ItemLine:
    """A line of materials that cannot be read, taken apart. ``code`` is the line up to its comment; ``open``
    is that with quoted names and notes blotted out, so that what stands inside them misleads no search."""

    def __init__(self, line: str, start: int, role: str, accepts: Accepts) -> None:
        self.line = line
        self.role = role
        self.code = _code_part(line).rstrip(" ")
        self.at = len(line) - len(line.lstrip(" "))
        self.end = len(self.code)
        blotted = re.sub(r'"[^"]*"', lambda m: _QUOTED * len(m[0]), self.code)
        self.open = re.sub(r"\([^()]*\)", lambda m: _NOTE * len(m[0]), blotted)
        self.blotted = blotted
        self._start = start
        self._accepts = accepts

    def fault(self, at: int, end: int, message: str, mend: str, becomes: str | None = None) -> Fault:
        """``becomes`` is what to put there; it is offered where the line then reads."""
        edits: tuple[Edit, ...] = ()
        if becomes is not None and self.reads(at, end, becomes):
            edits = (Edit(Span(self._start + at, self._start + end), becomes),)
            if not self.line.startswith(" "):
                edits = (Edit(Span(self._start, self._start), "    "), *edits)
        return Fault(Span(self._start + at, self._start + end), message, mend, edits)

    def reads(self, at: int, end: int, becomes: str) -> bool:
        line = self.line[:at] + becomes + self.line[end:]
        return self._accepts(line if line.startswith(" ") else "    " + line, self.role) is not None

    @property
    def series(self) -> bool:
        return self.role == "series"


def _bad_item(line: str, start: int, role: str, accepts: Accepts) -> Fault:
    """Why a line under base, additions, a variation or a series cannot be read."""
    item = _ItemLine(line, start, role, accepts)
    for told in (_bullet, _fused_comment, _unclosed, _single_quotes, _no_material, _bad_number, _commas,
                 _trailing_mark,
                 _unit_spelling, _several_amounts, _amount_first, _between, _bad_step, _behind_amount,
                 _no_amount, _no_figure, _needs_quotes):
        fault = told(item)
        if fault is not None:
            return fault
    return item.fault(item.at, item.end, "this line cannot be read",
                      "write the material, its amount, and if need be a unit and a (note):  "
                      "tin oxide  4 %  (sifted)")


def _bullet(item: _ItemLine) -> Fault | None:
    found = re.match(r" *(?P<n>[-*+\u2022\u00b7]|[0-9]{1,2}[.)]) +", item.code)
    if found and item.reads(found.start("n"), found.end(), ""):
        return item.fault(found.start("n"), found.end("n"), f"'{found['n']}' stands before the material",
                          "take it away; the line begins with the material", "")
    return None


def _fused_comment(item: _ItemLine) -> Fault | None:
    found = re.search(rf"(?:(?<!\S){_AMOUNT}|{_NOTE})(?P<n>#)", item.open)
    if found is None:
        return None
    return item.fault(found.start("n"), found.end("n"), "a comment begins with a blank before its #",
                      "put a blank there", " #")


def _unclosed(item: _ItemLine) -> Fault | None:
    code, blotted = item.code, item.blotted
    if code.count('"') % 2:
        quote = code.rindex('"')
        return item.fault(quote, quote + 1, "this quotation mark has no partner on the line",
                          'write  "name"  and then the amount')
    empty = re.search(r'" *"', code)
    if empty and not code[: empty.start()].count('"') % 2:
        return item.fault(*empty.span(), "nothing stands between these quotation marks",
                          'write the name of the material between them, such as  "frit 12"')
    opened, closed = blotted.count("("), blotted.count(")")
    if opened != closed:
        bracket = blotted.index("(") if opened > closed else blotted.rindex(")")
        return item.fault(bracket, bracket + 1, "this round bracket has no partner on the line",
                          "write a note as  (note)  behind the amount")
    if opened > 1:
        second = blotted.index("(", blotted.index("(") + 1)
        return item.fault(second, second + 1, "a line takes one note, without brackets inside it",
                          "write one  (note)")
    return None


def _single_quotes(item: _ItemLine) -> Fault | None:
    found = re.match(r" *(?P<n>['`](?P<name>[^'\"`]+)['`])(?= )", item.code)
    if found is None:
        return None
    return item.fault(*found.span("n"), "a name is quoted with the double mark", f'write  "{found["name"]}"',
                      f'"{found["name"]}"')


def _no_material(item: _ItemLine) -> Fault | None:
    if not re.search(rf"[^\W_]|{_QUOTED}", item.open):
        return item.fault(item.at, item.end, "no material and no amount stand here",
                          "write the material and its amount, such as  silica  22")
    if re.fullmatch(rf" *{_AMOUNT} *{_NOTE}*", item.open):
        return item.fault(item.at, item.end, "the material is missing before the amount",
                          "write the material and its amount, such as  silica  22")
    if re.fullmatch(rf" *{_AMOUNT}(?:[, ]+{_AMOUNT})+ *{_NOTE}*", item.open):
        return item.fault(item.at, item.end, "only amounts stand here, and no material",
                          "write the material before its amount; a name in figures stands in double quotes")
    return None


def _decimal_of(value: Fraction) -> str | None:
    """The fraction in at most six decimals, where that is exact."""
    text = f"{Decimal(value.numerator) / Decimal(value.denominator):f}"
    return text if len(text.partition(".")[2]) <= 6 and Fraction(text) == value else None


def _fraction(found: re.Match[str]) -> str | None:
    *whole, written = found["n"].split()
    above, below = map(int, written.split("/"))
    return _decimal_of(Fraction(above, below)) if below and not whole else None


def _vulgar_fraction(found: re.Match[str]) -> str | None:
    part = Fraction(unicodedata.numeric(found["n"][-1])).limit_denominator(10)
    return _decimal_of(int(found["n"][:-1].strip() or "0") + part)


def _in_full(found: re.Match[str]) -> str | None:
    power = int(re.split("[eE]", found["n"])[1])
    return f"{Decimal(found['n']):f}" if abs(power) <= 9 and found["n"].count(".") <= 1 else None


_BEFORE = r"(?<!\S)"
_AFTER = r"(?=[\s%,;\x02]|(?:kg|oz|lb|g)\b|$)"
_Becomes: TypeAlias = Callable[[re.Match[str]], str | None]


class _NumberAccident(NamedTuple):
    """A way to write a number that is none here. ``becomes`` gives the plain number; ``sure`` says whether
    that is the only reading of it."""

    pattern: re.Pattern[str]
    message: str
    mend: str
    becomes: _Becomes | None = None
    sure: bool = True


_NUMBERS = tuple(
    _NumberAccident(re.compile(_BEFORE + rf"(?P<n>{pattern})" + _AFTER), *rest)
    for pattern, *rest in (
        (r"[+-]?(?i:nan|infinity|inf)(?=\s*(?:$|[%,(\x02]))", "'{0}' is not an amount",
         "write a number of parts, such as 22"),
        (rf"{_FIGURE} ?-+ ?{_FIGURE}|{_FIGURE} ?\.\.+ ?{_FIGURE}",
         "'{0}' is a range, and a line takes one amount",
         "write one amount, or the amounts of a series with commas between"),
        (r"-[0-9.]+", "'{0}' is a negative amount", "write an amount of 0 or more"),
        (r"\+ ?[0-9.]+", "'{0}' carries a plus sign", "write {1}", lambda m: m["n"][1:].lstrip(" ")),
        (r"[0-9]+(?:\.[0-9]*)?[eE][+-]?[0-9]{1,4}", "'{0}' is written with an exponent",
         "write the number in full: {1}",
         _in_full, False),
        (r"[0-9]+(?:[_'][0-9]+)+(?:\.[0-9]+)?", "'{0}' has a sign between its figures", "write {1}",
         lambda m: m["n"].replace("_", "").replace("'", "")),
        (r"[0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+", "'{0}' has a comma between its thousands", "write {1}",
         lambda m: m["n"].replace(",", "")),
        (r"[0-9]{1,3}(?:\.[0-9]{3})+,[0-9]+", "'{0}' has a point between its thousands and a decimal comma",
         "write {1}",
         lambda m: m["n"].replace(".", "").replace(",", ".")),
        (r"(?:[0-9]+ +)?[0-9]+/[0-9]+", "'{0}' is a fraction", "write it as a decimal, such as 0.5",
         _fraction),
        (r"(?:[0-9]+ ?)?[\u00bc-\u00be\u2150-\u215e]", "'{0}' is a fraction",
         "write it as a decimal, such as 0.5",
         _vulgar_fraction),
        (r"[0-9]+(?:\.[0-9]*){2,}", "'{0}' has two decimal points", "write one number, such as 12.5"),
        (r"[0-9]+\.", "'{0}' ends in a decimal point", "write {1}", lambda m: m["n"][:-1]),
        (r"[0-9]{10,}(?:\.[0-9]*)?|[0-9]*\.[0-9]{7,}", "this number has too many figures",
         "write at most 9 figures before the point and 6 behind it"),
    )
)


def _bad_number(item: _ItemLine) -> Fault | None:
    """A number that is not written as a plain decimal."""
    for accident in _NUMBERS:
        found = accident.pattern.search(item.open)
        if found:
            plain = accident.becomes(found) if accident.becomes else None
            mend = accident.mend if plain is not None else accident.mend.partition(": {1}")[0]
            return item.fault(*found.span("n"), accident.message.format(found["n"]),
                              mend.format(found["n"], plain),
                              plain if accident.sure else None)
    return None


def _commas(item: _ItemLine) -> Fault | None:
    """A comma inside a number: a decimal comma, one between thousands, or one between two amounts."""
    found = re.search(rf"{_BEFORE}(?P<n>[0-9.]*(?:,[0-9.]+)+){_AFTER}", item.open)
    if found is None:
        return None
    written = found["n"]
    left, *others = written.split(",")
    if len(others) > 1:
        return item.fault(*found.span("n"), f"'{written}' may be one amount or several",
                          f"write {', '.join([left, *others])} for several amounts of a series" if item.series
                          else "write one amount, with a decimal point and no sign between thousands")
    right = others[0]
    if not left and item.series:
        return None
    if not left:
        return item.fault(*found.span("n"), f"'{written}' may be 0.{right}, or {right} behind a comma",
                          f"write 0.{right}, or {right} with only blanks before it")
    if item.series:
        return item.fault(*found.span("n"), f"'{written}' may be one amount or two",
                          f"write {left}.{right} for one amount, or {left}, {right} with a blank for two")
    if "." in left or "." in right:
        return item.fault(*found.span("n"), f"'{written}' is not an amount",
                          "write a number of parts, such as 22.5")
    if len(right) == 3 and left.strip("0"):
        return item.fault(*found.span("n"), f"'{written}' may be {left}.{right} or {left}{right}",
                          "write a decimal point, and no sign between thousands")
    return item.fault(*found.span("n"), f"'{written}' has a decimal comma", f"write {left}.{right}",
                      f"{left}.{right}")


def _trailing_mark(item: _ItemLine) -> Fault | None:
    found = re.search(rf"(?:[0-9%a-z]|{_NOTE}) *(?P<n>[,;.:]+)$", item.open)
    if found and item.reads(found.start("n"), found.end("n"), ""):
        return item.fault(*found.span("n"), f"'{found['n']}' stands at the end of this line", "take it away",
                          "")
    return None


def _unit_spelling(item: _ItemLine) -> Fault | None:
    found = re.search(rf"{_BEFORE}(?P<n>{_FIGURE}) *(?P<unit>[A-Za-z]+\.?)(?= *(?:,|{_NOTE}|$))", item.open)
    if found is None or not item.open[: found.start()].strip(" "):
        return None
    unit = found["unit"].rstrip(".")
    if unit in _UNIT_SPELLINGS:
        right = _UNIT_SPELLINGS[unit]
        at = found.start("unit") if right else found.end("n")
        behind = " (a bare number is parts)" if not right else ""
        fault = item.fault(at, found.end("unit"), f"'{found['unit']}' is not how a unit is written here",
                           f"write {found['n']} {right}".rstrip() + behind, right)
        # The blank before an idle word goes with it, but the word alone is what is wrong.
        return fault._replace(span=Span(fault.span.end - len(found["unit"]), fault.span.end))
    if unit.lower() in _OTHER_UNITS:
        return item.fault(*found.span("unit"), f"'{found['unit']}' is not a unit that is read here",
                          "write parts, a percentage, or a mass in g, kg, oz or lb")
    return None


def _several_amounts(item: _ItemLine) -> Fault | None:
    """Amounts side by side, with or without commas between."""
    bare = item.open.rstrip(_NOTE + " ,;")
    found = re.search(rf"{_BEFORE}(?P<n>{_AMOUNT}(?:(?: *[,;] *| +){_AMOUNT})+)$", bare)
    name = item.code[item.at : found.start()].strip(" ") if found else ""
    if found is None or not name or name[-1] in ":=|;,-/":
        return None
    amounts = [m.strip(" ") for m in re.findall(rf" *({_AMOUNT})", found["n"])]
    parted = re.sub(r" *[,;] *", ", ", found["n"])
    if item.series:
        if re.fullmatch(rf"{_AMOUNT}(?:, {_AMOUNT})+", parted):
            mark = ";" if ";" in found["n"] else ","
            message = "';' stands between the amounts" if mark == ";" else "a blank stands before the comma"
            return item.fault(*found.span("n"), message, f"write {parted}", parted)
        return item.fault(*found.span("n"), "amounts stand here without a comma between them",
                          f"write {', '.join(amounts)}; a name that ends in a figure stands in double quotes")
    if "," in found["n"] or ";" in found["n"]:
        return item.fault(*found.span("n"), "several amounts stand here; a line of this block takes one",
                          'write them in a block of their own, headed  series "name":')
    quoted = f'"{name} {" ".join(amounts[:-1])}"  {amounts[-1]}'
    if re.fullmatch(r"[1-9][0-9]{0,2}(?: [0-9]{3})+(?:\.[0-9]+)?", found["n"]):
        return item.fault(*found.span("n"), f"'{found['n']}' may be one number or two",
                          f"write {found['n'].replace(' ', '')} for one; a name that ends in a figure stands "
                          f"in double quotes, as  {quoted}")
    return item.fault(*found.span("n"), f"two amounts stand here: {amounts[0]} and {amounts[1]}",
                      "write one of them; a name that ends in a figure stands in double quotes, "
                      f"as  {quoted}")


def _amount_first(item: _ItemLine) -> Fault | None:
    amount = rf"(?P<n>{_FIGURE} *(?:{_UNIT}(?![^\W\d_]))?)"
    found = re.match(rf" *(?:[-*] +)?{amount}[ :=-]+(?P<name>[^\W\d_][^0-9\x01\x02]*)$", item.open)
    if found is None:
        return None
    mended = f"{found['name']}  {found['n'].strip(' ')}"
    return item.fault(item.at, item.end, "the amount stands before the material", f"write  {mended}", mended)


def _between(item: _ItemLine) -> Fault | None:
    """A sign between the material and its amount."""
    found = re.search(rf"(?P<n>[:=|;,]|(?<= )-+(?= )|\.\.+) *(?={_AMOUNT}(?:, +{_AMOUNT})*[ \x02]*$)",
                      item.open)
    if found is None or not re.search(r"[^\W_]|\x01", item.open[: found.start()]):
        return None
    if re.search(rf"{_BEFORE}{_FIGURE}", item.open[: found.start()]):
        return None
    if item.series and found["n"] == ",":
        return item.fault(*found.span("n"), "an amount is missing before this comma",
                          "write it, or take the comma away")
    blank = "" if item.open[found.end("n")] == " " else " "
    return item.fault(*found.span("n"), f"'{found['n']}' stands between the material and its amount",
                      "put only blanks there", blank)


def _bad_step(item: _ItemLine) -> Fault | None:
    """The first piece among the amounts of a series that is none."""
    first = re.search(rf"{_BEFORE}{_AMOUNT} *,", item.open)
    if first is None or not item.series:
        return None
    at = first.start()
    for piece in item.open[at:].rstrip(_NOTE + " ").split(","):
        bare = piece.strip(" ")
        begin = at + len(piece) - len(piece.lstrip(" "))
        if not bare:
            return item.fault(at - 1, at, "an amount is missing behind this comma",
                              "write it, or take the comma away")
        if not re.fullmatch(_AMOUNT, bare) and _NOTE not in bare:
            return item.fault(begin, begin + len(bare), f"'{bare}' is not an amount",
                              "write amounts with commas between")
        at += len(piece) + 1
    return None


def _behind_amount(item: _ItemLine) -> Fault | None:
    """What stands behind the amount, or behind the note, and is neither a unit nor a note."""
    note = re.search(rf"{_NOTE} *(?P<rest>[^\s{_NOTE}].*)$", item.open)
    amount = re.search(rf"{_BEFORE}{_AMOUNT}(?= +\S|[^\s\w.])", item.open[item.at + 1 :])
    if note and amount and amount.start() + item.at + 1 < note.start():
        rest = item.code[note.start("rest") : item.end]
        return item.fault(note.start("rest"), item.end, f"'{rest}' stands behind the note",
                          "write it inside the brackets, or behind # as a comment")
    if amount is None:
        return None
    at = amount.end() + item.at + 1
    at += len(item.code[at:]) - len(item.code[at:].lstrip(" "))
    rest = item.code[at:]
    if not rest or rest.startswith("(") or not re.match(r"[^\w.]|.*[^\W\d_]", rest):
        return None
    if re.fullmatch(_UNIT, rest):
        return item.fault(at, item.end, f"a second unit stands behind the amount: {rest}", "write one unit")
    marked = re.fullmatch(r'(?://|;|--|-|\||") *(?P<a>[^()"]*[^\W\d_][^()"]*?)"?|\[(?P<b>[^()\]]+)\]', rest)
    text = (marked["a"] or marked["b"]).strip(" ") if marked else rest
    note_there = f"({text})"
    if re.search(rf"{_NOTE}", item.open[at:]) or not re.search(r"[^\W\d_]", rest) or "(" in text:
        return item.fault(at, item.end, f"'{rest}' stands behind the amount", "take it away")
    return item.fault(at, item.end, f"'{rest}' stands behind the amount",
                      f"put it in round brackets if it is a note: {note_there}",
                      note_there if marked else None)


def _no_amount(item: _ItemLine) -> Fault | None:
    """No figure stands apart on the line."""
    if re.search(r"(?<!\S)\S?[0-9]|(?<!\S)\.[0-9]", item.open[item.at :].lstrip("0123456789.")):
        return None
    held = re.search(rf"[(\"]\s*(?P<n>{_AMOUNT})\s*[)\"]$", item.code)
    if held and re.search(r"[^\W\d_]", item.open[: held.start()]):
        return item.fault(*held.span(), "the amount stands in brackets or quotation marks",
                          f"write {held['n'].strip(' ')} without them, if it is the amount")
    fused = re.search(rf"(?P<name>[^\W\d_]){_AMOUNT}$", item.open)
    mend = "write how many parts, such as  silica  22; a material that is not used is left out, or is 0"
    if fused:
        mend = "put blanks before the amount, as in  silica  22"
    if re.match(r" *# *[0-9]", item.line[item.end :]):
        name = item.code.strip(" ")
        mend = f'what stands behind # is a comment; a name with # in it is quoted: "{name} #1"  22'
    return item.fault(item.end - 1, item.end, "the amount is missing behind the material", mend)


def _no_figure(item: _ItemLine) -> Fault | None:
    """A last word that holds a figure, and is no amount."""
    bare = item.open.rstrip(_NOTE + " ")
    sign = re.search(rf"(?P<n>%) *{_FIGURE}$", bare)
    if sign:
        return item.fault(*sign.span("n"), "the sign % stands before the amount",
                          "write it behind, as in  tin oxide  4 %")
    found = re.search(r"(?<!\S)(?P<n>[^\s\w\x01]?[0-9][^\s\x01]*|[^\s\w\x01]+[0-9.]+)$", bare)
    if found and found.start() > item.at and not re.fullmatch(_FIGURE, found["n"]):
        return item.fault(*found.span("n"), f"'{found['n']}' is not an amount",
                          "write a plain number, such as 22 or 0.5")
    return None


def _needs_quotes(item: _ItemLine) -> Fault | None:
    found = re.match(rf" *(?P<name>[^\"]*?[^\s\"]) +{_AMOUNT} *(?:\([^()]*\))?$", item.code)
    if found is None or not item.reads(*found.span("name"), f'"{found["name"]}"'):
        return None
    name = found["name"]
    if "(" in name:
        bracket = item.code.index("(")
        return item.fault(bracket, found.end("name"), "the note stands before the amount",
                          f'write it behind the amount; a name with brackets in it is quoted: "{name}"')
    signs = re.findall(r"[^\w\s.'/&+-]", name)
    if not signs or re.search(rf"{_BEFORE}{_FIGURE}(?!\S)", name):
        return None
    return item.fault(*found.span("name"),
                      f"the name '{name}' holds '{signs[0]}', which has a meaning on this line",
                      f'put the name in double quotes: "{name}"', f'"{name}"')


def _code_part(line: str) -> str:
    """A line up to its comment; a # inside quotes opens none."""
    found = re.search(r"(?<! ) +#", re.sub(r'"[^"]*"', lambda m: "x" * len(m[0]), line))
    return line[: found.start()] if found else line


# ---- handling lines -----------------------------------------------------------------------------------


def _bad_instruction(line: str, start: int, whole: Span, accepts: Accepts) -> Fault:
    at = whole.start - start
    code = _code_part(line).rstrip(" ")

    def fault(begin: int, end: int, message: str, mend: str, becomes: str | None = None) -> Fault:
        sure = becomes is not None and accepts(line[:begin] + becomes + line[end:], "handling")
        edits = (Edit(Span(start + begin, start + end), becomes),) if becomes is not None and sure else ()
        return Fault(Span(start + begin, start + end), message, mend, edits)

    colon = re.sub(r'"[^"]*"', lambda m: "x" * len(m[0]), line).find(":")
    if (line[:colon] if colon >= 0 else code).count('"') % 2:
        quote = line.index('"')
        return fault(quote, quote + 1, "this quotation mark has no partner on the line",
                     'write  "name": and then how it is handled')
    if colon < 0 or colon >= len(code):
        equals = re.search(r"(?<! ) *= *(?=\S)", code)
        if equals:
            return fault(*equals.span(), "'=' stands in the place of the colon", "write a colon", ": ")
        return Fault(Span(whole.start, start + len(code)),
                     "the colon between the material and its handling is missing",
                     "write  cobalt carbonate: respirator and gloves  (or all: for every material)")
    said = code[colon + 1 :].strip(" ")
    names = line[at:colon]
    if not said or re.match(r"#(?: |$)", said):
        return fault(colon, colon + 1, "nothing is said behind the colon",
                     "say how the material is handled, such as  respirator and gloves")
    if not names.strip(" "):
        return fault(at, at + 1, "no material stands before the colon",
                     "write its name, or all: for every material")
    if names.endswith(" ") and not names.rstrip(" ").endswith(","):
        return fault(at + len(names.rstrip(" ")), colon, "a blank stands before the colon", "take it away",
                     "")
    parts = names.split(",")
    if any(not part.strip(" ") for part in parts):
        comma = at + (0 if not parts[0].strip(" ") else names.rindex(","))
        return fault(comma, comma + 1, "a name is missing beside this comma",
                     "write it, or take the comma away")
    mark = re.search(r" *(?P<n>[;/&+]) *", names)
    if mark:
        return fault(at + mark.start("n"), at + mark.end("n"), f"'{mark['n']}' stands between two names",
                     "part the names with commas", None if mark["n"] != ";" else ",")
    return Fault(Span(whole.start, start + colon), "the names before the colon cannot be read",
                 "write one name, or several with commas; a name with a sign in it is quoted: "
                 '"frit (fine)": gloves')
