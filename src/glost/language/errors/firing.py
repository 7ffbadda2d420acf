"""Lines of the page of a firing that cannot be read: heads, the lines of a schedule, what is said of a tile."""

from __future__ import annotations

import re
from typing import Final

from glost.language.diagnostics import Choice, Diagnostic
from glost.language.errors.lines import Accepts, code_part
from glost.language.firing_words import FIRING_FIELDS, TILE_KEYS
from glost.language.nearest import nearest
from glost.language.source import Edit, Span

_OF_RECIPES: Final = ("base", "additions", "handling", "variation", "series", "blend")
_LONGEST: Final = 200
_RAMPS: Final = "to 600 C at 100 C/h  or  to 1222 C at 150 C/h, hold 15 min  or  to 100 C freely"
_SPELLINGS: Final = (
    (r"^(from|to)\b", lambda m: m[0].lower(), "a line of a schedule begins with a small letter"),
    (
        r"(?<=[0-9]) *(?:°|º|deg(?:rees?)?) *(?=[CFcf]\b)",
        lambda _: " ",
        "a temperature is written without a sign of degrees",
    ),
    (
        r"(?<=[0-9]) *(?:celsius|centigrade)\b|(?<=[0-9]) *c\b",
        lambda _: " C",
        "degrees are written C or F",
    ),
    (r"(?<=[0-9]) *(?:fahrenheit|f)\b", lambda _: " F", "degrees are written C or F"),
    (
        r"(?<=[CF]) *(?:/ *(?:hour|hr|h)\b\.?|per (?:hour|hr|h)\b|an hour\b|ph\b)",
        lambda _: "/h",
        "a rate is written such as 100 C/h",
    ),
    (r"(?<=[0-9]) *(?:hours?|hrs?)\b\.?", lambda _: " h", "a time is written such as 1 h 30 min"),
    (r"(?<=[0-9]) *(?:minutes?|mins|m)\b\.?", lambda _: " min", "a time is written such as 1 h 30 min"),
    (
        r"(?<=[0-9] h) +and +(?=[0-9])",
        lambda _: " ",
        "a time is written such as 1 h 30 min",
    ),
    (
        r" *[;,]? *(?:and +)?\b(?:hold|holding|soak)\b *:? *(?:for +)?(?=[0-9])",
        lambda _: ", hold ",
        "a comma stands before a hold",
    ),
    (r"(?<=[CFn]) *\. *$|(?<=freely) *\. *$", lambda _: "", "no point stands at the end"),
)
"""Ways to write a line of a schedule that mean one thing, each with what it should be and what is said of it."""


def of_a_firing(line: str, start: int, role: str, accepts: Accepts) -> Diagnostic:
    """Why this line cannot stand in a block of that role."""
    bare = line.strip(" ")
    at = len(line) - len(line.lstrip(" "))
    whole = Span(start + at, start + at + len(bare))
    if len(line) > _LONGEST:
        return Diagnostic(whole, "this line cannot be read", "write one thing in a line")
    code = code_part(line).rstrip(" ")
    said = Span(start + at, start + len(code))
    if at == 0:
        return _in_column_one(line, code, said, role, accepts)
    if role == "schedule":
        return _ramp(code[at:], said, accepts)
    if role == "tile":
        return _entry(code[at:], said)
    if role == "page" or role == "lead":
        return Diagnostic(
            said, "this line is indented, and no head stands above it", "take the blanks before it away"
        )
    return Diagnostic(
        said, "nothing is indented below this line", "write it in column one, or below schedule: or tile"
    )


def _in_column_one(line: str, code: str, said: Span, role: str, accepts: Accepts) -> Diagnostic:
    word = (re.match(r"[A-Za-z]*", code) or [""])[0]
    small = word.lower()
    behind = code[len(word) :]
    quoted = re.search(r'"([^"]*)"?|\'([^\']*)\'', behind)
    name = (quoted[1] or quoted[2] or "").strip(" ") if quoted else behind.strip(" :;.,=-")
    if small in ("firing", "tile"):
        colon = ":" if small == "tile" else ""
        shown = f'{small} "{name}"{colon}'
        if not name:
            example = 'tile "14-C":' if colon else 'firing "Small kiln 41"'
            return Diagnostic(said, f"the name of this {small} is missing", f"write such as  {example}")
        fixed = shown + line[len(code) :]
        sure = quoted is not None and code[len(word) + quoted.end() :].strip(" :;.,") == ""
        edits = (Edit(said, shown),) if sure and accepts(fixed, "page") else ()
        if quoted is None:
            message = f"the name of a {small} stands in double quotes"
        elif colon and not code.endswith(":"):
            message = "the colon is missing behind the name of the tile"
        elif not colon and code.endswith(":"):
            message = "the first line carries no colon"
        else:
            message = f"a {small} is not written so"
        return Diagnostic(said, message, f"write  {shown}", edits)
    if small == "schedule":
        sure = not name and accepts(f"schedule:{line[len(code) :]}", "page") is not None
        message = (
            "what belongs to the schedule stands on indented lines below"
            if name
            else "schedule: is written so"
        )
        edits = (Edit(said, "schedule:"),) if sure else ()
        return Diagnostic(said, message, "write  schedule:  and its lines below", edits)
    if small in _OF_RECIPES:
        return Diagnostic(
            said,
            f"'{word}' does not stand on the page of a firing",
            "it belongs to a recipe, which has a page of its own",
        )
    if small == "notes":
        return Diagnostic(said, "notes stand on indented lines below", "write  notes:  and the text below")
    if small in FIRING_FIELDS and re.match(r" +[^ :]", behind):
        shown = f"{small}: {behind.strip(' ')}"
        return Diagnostic(
            said, f"the colon is missing behind '{word}'", f"write  {shown}", (Edit(said, shown),)
        )
    near = nearest(small, ("firing", "tile", "schedule", "notes"), 1)
    if near:
        choices = (Choice(near[0], Edit(Span(said.start, said.start + len(word)), near[0])),)
        return Diagnostic(
            said, f"'{word}' opens no block", f"write  {near[0]}  if that is meant", choices=choices
        )
    if role == "lead":
        return Diagnostic(
            said,
            "the first line says firing and the name of it in double quotes",
            'write such as  firing "Small kiln 41"',
        )
    return Diagnostic(
        said,
        "this line cannot be read: it is neither a field nor a head",
        'write a field as  kiln: small electric  or a head as  schedule:  or  tile "14-C":',
    )


def _entry(code: str, said: Span) -> Diagnostic:
    word = (re.match(r"[A-Za-z]*", code) or [""])[0]
    behind = code[len(word) :]
    known = word.lower() in TILE_KEYS
    value = behind.strip(" :=")
    if known and value:
        shown = f"{word.lower()}: {value}"
        return Diagnostic(
            said, f"the colon is missing behind '{word}'", f"write  {shown}", (Edit(said, shown),)
        )
    if known or (word and not value):
        return Diagnostic(
            said, f"nothing is said behind '{word}'", "say it, or take the line away until it is known"
        )
    return Diagnostic(
        said,
        "a line below a tile says one thing, with a colon",
        f"write such as  colour: pale blue  (there are {', '.join(TILE_KEYS)})",
    )


def _ramp(code: str, said: Span, accepts: Accepts) -> Diagnostic:
    fixed, message = code, ""
    for pattern, becomes, why in _SPELLINGS:
        after = re.sub(pattern, becomes, fixed, flags=re.IGNORECASE if pattern.startswith("^") else 0)
        if after != fixed:
            fixed, message = after, message or why
    if message and accepts(f"    {fixed}", "schedule") == "RAMP":
        return Diagnostic(said, message, f"write  {fixed}", (Edit(said, fixed),))
    number = re.match(r"(from|to) +([0-9.]+) *(?=$|at\b|in\b|freely|,)", fixed)
    if number and "." not in number[2]:
        here = Span(said.start + number.start(2), said.start + number.end(2)) if fixed == code else said
        return Diagnostic(
            here,
            f"no unit stands behind {number[2]}",
            f"write  {number[2]} C  or  {number[2]} F",
        )
    hold = re.search(r"\bhold +([0-9]+)$", fixed)
    if hold:
        here = Span(said.start + hold.start(1), said.start + hold.end(1)) if fixed == code else said
        return Diagnostic(
            here,
            f"no unit stands behind the hold of {hold[1]}",
            f"write  hold {hold[1]} min  or  hold {hold[1]} h",
        )
    rate = re.search(r"\bat +([0-9.]+) *([CF]?)(?:/h)? *(?=$|,)", fixed)
    if rate and not fixed.endswith("/h"):
        unit = rate[2] or "C"
        return Diagnostic(
            said, "a rate says how many degrees an hour", f"write such as  at {rate[1]} {unit}/h"
        )
    if re.match(r",? *hold\b", fixed):
        return Diagnostic(
            said,
            "a hold stands behind the line that it belongs to",
            "write it there, such as  to 1222 C at 150 C/h, hold 15 min",
        )
    to = re.match(r"(?:from|to) +[0-9]{1,4} *[CF]$", fixed)
    if to and fixed.startswith("to"):
        return Diagnostic(
            said,
            "this line does not say how the kiln gets there",
            f"write  {fixed} at 100 C/h  or  {fixed} in 3 h  or  {fixed} freely",
        )
    return Diagnostic(said, "this line of the schedule cannot be read", f"write such as  {_RAMPS}")
