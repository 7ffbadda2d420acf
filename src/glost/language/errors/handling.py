"""Handling lines that cannot be read."""

from __future__ import annotations

import re

from glost.language.diagnostics import Diagnostic
from glost.language.errors.lines import Accepts, code_part
from glost.language.source import Edit, Span


def bad_instruction(line: str, start: int, whole: Span, accepts: Accepts) -> Diagnostic:
    at = whole.start - start
    code = code_part(line).rstrip(" ")

    def diagnostic(begin: int, end: int, message: str, hint: str, becomes: str | None = None) -> Diagnostic:
        sure = becomes is not None and accepts(line[:begin] + becomes + line[end:], "handling")
        edits = (Edit(Span(start + begin, start + end), becomes),) if becomes is not None and sure else ()
        return Diagnostic(Span(start + begin, start + end), message, hint, edits)

    colon = re.sub(r'"[^"]*"', lambda m: "x" * len(m[0]), line).find(":")
    if (line[:colon] if colon >= 0 else code).count('"') % 2:
        quote = line.index('"')
        return diagnostic(
            quote,
            quote + 1,
            "this quotation mark has no partner on the line",
            'write  "name": and then how it is handled',
        )
    if colon < 0 or colon >= len(code):
        equals = re.search(r"(?<! ) *= *(?=\S)", code)
        if equals:
            return diagnostic(*equals.span(), "'=' stands in the place of the colon", "write a colon", ": ")
        return Diagnostic(
            Span(whole.start, start + len(code)),
            "the colon between the material and its handling is missing",
            "write  cobalt carbonate: respirator and gloves  (or all: for every material)",
        )
    said = code[colon + 1 :].strip(" ")
    names = line[at:colon]
    if not said or re.match(r"#(?: |$)", said):
        return diagnostic(
            colon,
            colon + 1,
            "nothing is said behind the colon",
            "say how the material is handled, such as  respirator and gloves",
        )
    if not names.strip(" "):
        return diagnostic(
            at, at + 1, "no material stands before the colon", "write its name, or all: for every material"
        )
    if names.endswith(" ") and not names.rstrip(" ").endswith(","):
        return diagnostic(
            at + len(names.rstrip(" ")), colon, "a blank stands before the colon", "take it away", ""
        )
    parts = names.split(",")
    if any(not part.strip(" ") for part in parts):
        comma = at + (0 if not parts[0].strip(" ") else names.rindex(","))
        return diagnostic(
            comma, comma + 1, "a name is missing beside this comma", "write it, or take the comma away"
        )
    mark = re.search(r" *(?P<n>[;/&+]) *", names)
    if mark:
        return diagnostic(
            at + mark.start("n"),
            at + mark.end("n"),
            f"'{mark['n']}' stands between two names",
            "part the names with commas",
            None if mark["n"] != ";" else ",",
        )
    return Diagnostic(
        Span(whole.start, start + colon),
        "the names before the colon cannot be read",
        'write one name, or several with commas; a name with a sign in it is quoted: "frit (fine)": gloves',
    )
