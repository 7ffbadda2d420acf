"""Titles, heads and fields that are not written as they should be, and lines in the wrong place."""

from __future__ import annotations

import re

from glost.language.diagnostics import Choice, Diagnostic
from glost.language.errors.blocks import bad_block_head
from glost.language.errors.handling import bad_instruction
from glost.language.errors.items import bad_item
from glost.language.errors.lines import ITEM_ROLES, Accepts, code_part
from glost.language.nearest import nearest
from glost.language.source import Edit, Span
from glost.language.tables import field_words, lexicon

_LONGEST = 200
"""Characters. A longer line is no slip of the pen; it is told as one that cannot be read, and no search is
made, so that the searches below need not be linear."""


def structure(line: str, start: int, role: str, accepts: Accepts) -> Diagnostic:
    bare = line.strip(" ")
    at = len(line) - len(line.lstrip(" "))
    whole = Span(start + at, start + at + len(bare))
    if len(line) > _LONGEST:
        return Diagnostic(
            whole,
            "this long line cannot be read here",
            "write one thing on a line; free text stands below notes:",
        )
    if role == "page":
        return _bad_head(line, start, whole, accepts)
    if at:
        return _bad_indented(line, start, whole, role, accepts)
    if role in (*ITEM_ROLES, "handling", "notes", "field_below") and accepts("    " + line, role):
        others = {"handling": "a handling line", "notes": "text", "field_below": "text"}
        what = others.get(role, "a material line")
        return Diagnostic(
            whole,
            f"{what} stands in column one, where only fields and heads stand",
            "put blanks before it",
            (Edit(Span(start, start), "    "),),
        )
    return _bad_first_column(line, start, whole, role, accepts)


def _bad_indented(line: str, start: int, whole: Span, role: str, accepts: Accepts) -> Diagnostic:
    bare = line.strip(" ")
    blanks = Edit(Span(start, whole.start), "")
    word = _word_of(bare)
    reads_as = accepts(bare, role)
    if reads_as == "TITLE" and role == "lead":
        return Diagnostic(whole, "the first line is indented", "begin it in column one", (blanks,))
    if reads_as == "FIELD" and word in field_words() and role in ("variation", "base_variation"):
        return Diagnostic(
            whole,
            f"a variation may say its own surface and colour, and no {word}",
            f"what is fired or mixed otherwise is a recipe of its own; the recipe's own {word} begins in column one",
        )
    if reads_as in ("FIELD", "HEAD") and word in field_words():
        return Diagnostic(whole, f"the field '{word}' is indented", "begin it in column one", (blanks,))
    if reads_as in _HEAD_TOKENS:
        return Diagnostic(
            whole,
            f"the head '{bare}' is indented, as if it belonged to the block above",
            "begin it in column one",
            (blanks,),
        )
    own = _bad_own_field(line, start, role, accepts)
    if own is not None:
        return own
    if role in ITEM_ROLES:
        return bad_item(line, start, role, accepts)
    if role == "handling":
        return bad_instruction(line, start, whole, accepts)
    above = {
        "lead": "there is no head above it",
        "title": "the title above it is complete",
        "field": "the field above it is complete on its line",
    }.get(role, "nothing above it takes lines below")
    return Diagnostic(
        whole,
        f"this line is indented, but {above}",
        "begin it in column one, or write its head (such as base:) above it",
    )


_OWN_KEYS = {
    "color": "colour",
    "colors": "colour",
    "colours": "colour",
    "colour": "colour",
    "surface": "surface",
}


def _bad_own_field(line: str, start: int, role: str, accepts: Accepts) -> Diagnostic | None:
    """A line below a variation that is meant to say what the test fired to be."""
    found = re.match(r" +(?P<key>[A-Za-z]+)(?P<mark> *[:=-] *| +)(?P<value>\S.*)$", line)
    if found is None or role not in ("variation", "base_variation"):
        return None
    key = _OWN_KEYS.get(found["key"].lower())
    if key is None or accepts(f"    {found['key']}  {found['value']}", role):
        return None
    span = Span(start + found.start("key"), start + found.end("mark"))
    fixed = f"    {key}: {found['value']}"
    edits = (Edit(span, f"{key}: "),) if accepts(fixed, role) else ()
    if ":" not in found["mark"]:
        message = f"the colon is missing behind '{found['key']}'"
    elif found["key"].lower() == key and found["key"] != key:
        message = f"'{found['key']}' is written in lower case"
    elif found["key"].lower() != key:
        message = f"'{found['key']}' is called {key} here"
    else:
        message = f"only a colon stands behind '{key}'"
    return Diagnostic(span._replace(end=start + found.end("key")), message, f"write  {fixed.strip()}", edits)


_HEAD_TOKENS = (
    "BASE",
    "ADDITIONS",
    "HANDLING",
    "NOTES",
    "VARIATION",
    "SERIES",
    "BLEND",
    "BASE_VARIATION",
    "BASE_SERIES",
    "BASE_BLEND",
)
_HEAD_IN_COLUMN_ONE = (*_HEAD_TOKENS, "TITLE", "HEAD", "FIELD")
_MARKS = " :;=-\"'\u2018\u2019`"


def _word_of(bare: str) -> str:
    found = re.match(r"[^\W\d_]+", bare)
    return found[0] if found else ""


def _bad_head(line: str, start: int, whole: Span, accepts: Accepts) -> Diagnostic:
    """Why a line that looks as if it opened a block is no head and no field."""
    code = code_part(line).rstrip(" ")
    word = _word_of(code)
    lower = word.lower()
    if lower in lexicon().kinds:
        title = _bad_title(line, start, "page", accepts)
        if title is not None:
            return title
    diagnostic = (
        _head_without_colon(line, code, start, accepts)
        if lower in (*lexicon().heads, *field_words())
        else None
    )
    if diagnostic is None and lower not in field_words():
        diagnostic = bad_block_head(line, code, start, accepts)
    if diagnostic is not None:
        return diagnostic
    if lower in ("variation", "series"):
        return _bad_named_head(line, code, start, lower, accepts)
    if lower in lexicon().heads:
        return _bad_plain_head(line, code, start, lower, accepts)
    meant = nearest(lower, ("variation", "series"), 1)
    if meant and code[len(word) :].lstrip(" ").startswith('"'):
        return Diagnostic(
            Span(start, start + len(word)),
            f"'{word}' opens no block",
            f"write  {meant[0]}{code[len(word) :]}  if that is meant",
            choices=(Choice(meant[0], Edit(Span(start, start + len(word)), meant[0])),),
        )
    return Diagnostic(
        whole,
        "this line cannot be read: it is neither a field nor a head",
        "write a field as  cone: 6  or a head as  base:",
    )


def _head_without_colon(line: str, code: str, start: int, accepts: Accepts) -> Diagnostic | None:
    """A head or a field that is right but for its colon or its letters."""
    behind = line[len(code) :]
    word = _word_of(code)
    end = start + len(code)

    def reads(fixed: str) -> bool:
        return accepts(fixed + behind, "page") in _HEAD_IN_COLUMN_ONE

    gap = re.search(r"(?<! ) +(?=:)", code)
    if gap and reads(code[: gap.start()] + code[gap.end() :]):
        return Diagnostic(
            Span(start + gap.start(), start + gap.end()),
            "a blank stands before the colon",
            f"write  {code[: gap.start()]}{code[gap.end() :]}",
            (Edit(Span(start + gap.start(), start + gap.end()), ""),),
        )
    if word.lower() in field_words():
        return None
    if reads(code + ":"):
        return Diagnostic(
            Span(end - 1, end),
            "the colon is missing at the end of this head",
            f"write  {code}:",
            (Edit(Span(end, end), ":"),),
        )
    small = word.lower() + code[len(word) :]
    for fixed in (small, small + ":"):
        if small != code and reads(fixed):
            return Diagnostic(
                Span(start, start + len(word)),
                f"'{word}' is written in lower case",
                f"write  {fixed}",
                (Edit(Span(start, end), fixed),),
            )
    mark = re.search(r"(?<![ .;,=-])[ .;,=-]+$", code)
    if mark and reads(code[: mark.start()] + ":"):
        return Diagnostic(
            Span(start + mark.start(), end),
            f"a head ends in a colon, not in {mark[0].strip(' ')}",
            f"write  {code[: mark.start()]}:",
            (Edit(Span(start + mark.start(), end), ":"),),
        )
    fused = code.find(":#")
    if fused >= 0 and reads(code[: fused + 1] + " " + code[fused + 1 :]):
        at = start + fused + 1
        return Diagnostic(
            Span(at, at + 1),
            "a comment begins with a blank before its #",
            "put a blank there",
            (Edit(Span(at, at), " "),),
        )
    return None


def _bad_named_head(line: str, code: str, start: int, word: str, accepts: Accepts) -> Diagnostic:
    behind = code[len(word) :]
    span = Span(start, start + len(code))
    quoted = re.match(r'[ :=-]*"([^"]*)"', behind)
    if quoted and not quoted[1].strip(" "):
        at = start + len(word) + quoted.start(1) - 1
        return Diagnostic(
            Span(at, at + len(quoted[1]) + 2),
            f"the name of this {word} is empty",
            f'give it one, such as  {word} "storm":',
        )
    name = quoted[1].strip(" ") if quoted else behind.strip(_MARKS)
    shown = f'{word} "{name}":'
    if quoted and behind[quoted.end() :].strip(" :;.,"):
        rest = behind[quoted.end() :].strip(" :;.,")
        at = start + code.rindex(rest)
        return Diagnostic(
            Span(at, at + len(rest)),
            f"nothing but a colon may stand behind the name of a {word}",
            f"write  {shown}  and what belongs to it on indented lines below",
        )
    if not name or '"' in name:
        shown = f'{word} "storm":'
    sure = name and '"' not in name and accepts(shown + line[len(code) :], "page")
    edits = (Edit(span, shown),) if sure else ()
    message = f"the name of a {word} stands in double quotes, with a colon behind it"
    if quoted and not behind.startswith(" "):
        message = f"only blanks stand between '{word}' and its name"
    return Diagnostic(span, message, f"write  {shown}", edits)


def _bad_plain_head(line: str, code: str, start: int, word: str, accepts: Accepts) -> Diagnostic:
    colon = re.match(r"[A-Za-z]+:", code)
    rest = code[colon.end() :].strip(" ") if colon else ""
    if not rest:
        return Diagnostic(
            Span(start, start + len(code)),
            f"nothing but a colon may stand behind '{word}'",
            f"write  {word}:  and what belongs to it on indented lines below",
        )
    at = len(code) - len(rest)
    edits: tuple[Edit, ...] = ()
    if accepts("    " + line[at:], word):
        edits = (Edit(Span(start, start + at), f"{word}:\n    "),)
    return Diagnostic(
        Span(start + at, start + len(code)),
        f"what belongs to '{word}' stands on lines of its own below it",
        f"write  {word}:  and this on an indented line below",
        edits,
    )


def _bad_title(line: str, start: int, role: str, accepts: Accepts) -> Diagnostic | None:
    """Why a line that begins with a kind of recipe, or with a word in the place of one, is no first line."""
    code = code_part(line).rstrip(" ")
    word = _word_of(code)
    rest = code[len(word) :].lstrip(" :=-")
    lower = word.lower()
    near = nearest(lower, lexicon().kinds, 1)
    kind = lower if lower in lexicon().kinds else near[0] if near else ""
    if (
        not word
        or not (lower in lexicon().kinds or rest.startswith('"'))
        or (role != "lead" and '"' not in rest)
    ):
        return None
    quoted = re.match(r'"([^"]*)"', rest)
    name = quoted[1].strip(" ") if quoted else rest.strip(_MARKS)
    shown = f"""{kind or "glaze"} "{name.replace('"', "")}\""""
    if not rest or not name:
        return Diagnostic(
            Span(start, start + len(code)),
            "the recipe's name is missing",
            f'write it in double quotes, such as  {kind or "glaze"} "Harbour Mist"',
        )
    if lower not in lexicon().kinds:
        return Diagnostic(
            Span(start, start + len(word)),
            f"'{word}' is not a kind of recipe",
            f"write  {shown}  (the kinds are {', '.join(lexicon().kinds)})",
        )
    sure = '"' not in name and accepts(shown + line[len(code) :], "page") is not None
    edits = (Edit(Span(start, start + len(code)), shown),) if sure else ()
    if word != lower:
        return Diagnostic(
            Span(start, start + len(word)),
            f"'{word}' is written in lower case",
            f"write  {shown}",
            edits if not quoted or not rest[quoted.end() :].strip(" :") else (),
        )
    behind = rest[quoted.end() :] if quoted else ""
    if behind:
        at = len(code) - len(behind.lstrip(" "))
        span = Span(start + at, start + len(code))
        if behind.strip(" ") == ":":
            return Diagnostic(span, "the first line carries no colon", f"write  {shown}", edits)
        if behind.startswith("#"):
            return Diagnostic(
                Span(span.start, span.start + 1),
                "a comment begins with a blank before its #",
                "put a blank there",
                (Edit(Span(span.start, span.start), " "),),
            )
        return Diagnostic(
            span,
            f"'{behind.strip(' ')}' stands behind the name of the recipe",
            "take it away, or write it behind # as a comment",
        )
    message = "the recipe's name stands in double quotes"
    if quoted:
        message = "only blanks stand between the kind of recipe and its name"
    elif rest.startswith('"'):
        message = "the quotation mark that opens here is not closed"
    return Diagnostic(
        Span(start + len(code) - len(rest), start + len(code)), message, f"write  {shown}", edits
    )


def _bad_first_column(line: str, start: int, whole: Span, role: str, accepts: Accepts) -> Diagnostic:
    bare = line.rstrip(" ")
    word = _word_of(bare)
    title = _bad_title(line, start, role, accepts)
    if title is not None:
        return title
    if bare.startswith('"') and role == "lead":
        return Diagnostic(
            whole,
            "the first line says the kind of recipe before its name",
            f"write  glaze {bare}  (the kinds are {', '.join(lexicon().kinds)})",
        )
    if role == "lead":
        return Diagnostic(
            whole,
            "the first line says the kind of recipe and its name in double quotes",
            'write such as  glaze "Harbour Mist"',
        )
    if bare in lexicon().kinds:
        return Diagnostic(whole, "the recipe's name is missing", f'write  {bare} "its name"')
    field = re.match(r"(?P<key>[A-Za-z]+)(?P<gap> *= *| +- +| +)(?=[^\s:=-])", bare)
    if field and field["key"].lower() in field_words() and ":" not in bare:
        key = field["key"].lower()
        span = Span(start + field.start("gap"), start + field.end("gap"))
        fixed = f"{key}: {bare[field.end() :]}"
        edits = (Edit(Span(start, span.end), f"{key}: "),) if accepts(fixed, role) == "FIELD" else ()
        return Diagnostic(span, f"the colon is missing behind '{key}'", f"write  {fixed}", edits)
    bullet = re.match(r"[-*+\u2022\u00b7] *", bare)
    if bullet and accepts(bare[bullet.end() :], role) in _HEAD_IN_COLUMN_ONE:
        return Diagnostic(
            Span(start, start + 1),
            f"'{bare[0]}' stands before this line",
            "take it away",
            (Edit(Span(start, start + bullet.end()), ""),),
        )
    meant = nearest(word.lower(), lexicon().heads, 1)
    if bare == word and meant:
        becomes = f"{meant[0]}:"
        alone = accepts(becomes, role) is not None
        choices = (Choice(becomes, Edit(whole, becomes)),) if alone else ()
        return Diagnostic(
            whole, f"'{word}' opens no block", f"write  {becomes}  if that is meant", choices=choices
        )
    if role in ITEM_ROLES:
        return bad_item(line, start, role, accepts)
    return Diagnostic(
        whole,
        "this line cannot be read: it is neither a field nor a head",
        "write a field as  cone: 6  or a head as  base:  or indent the line to put it below a head",
    )
