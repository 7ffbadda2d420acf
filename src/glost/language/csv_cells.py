"""A row of a table as RFC 4180 has it, and cells that stay what they are wherever the table is opened.

A spreadsheet, and much that reads tables for a program, looks at what a cell says and not at what its column is for:
04 becomes 4, 5/6 a day, 24 % the number 0.24, and a text that begins with an equals sign is run. A cell of text that
could be taken so begins with an apostrophe here, which ``bare`` takes away; a cone stands behind its word. Cells of
numbers are never touched, nor are days written as 2026-03-14, which come back as they were.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from glost.language.tables import code_point, steering, steers_nothing

_FORMULA: Final = frozenset("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")
"""What a spreadsheet may take for the beginning of a formula, the wide forms of the signs among them (OWASP, CSV
Injection, from memory)."""
_BLANKS: Final = re.compile(r"\A[\s\ufeff\u200b-\u200f\u2060]+")
"""What many pass over in front of a cell's text."""
_MONTHS: Final = (
    "jan feb mar apr may jun jul aug sep sept oct nov dec january february march april june july august"
)
_WORDS: Final = frozenset(
    f"{_MONTHS} september october november december mon tue wed thu fri sat sun am pm e t z".split()
)
"""Letters that may stand between the figures of a number, a day or a time."""
_SIGNS: Final = re.compile(r"[\d\s.,:;/\\%+\-\u2010-\u2015\u2212_'\u2019()$\u00a2-\u00a5\u20a0-\u20cf]+")
_LETTERS: Final = re.compile(r"[^\W\d_]+")
_TAKEN: Final = frozenset(
    (
        "true",
        "false",
        "na",
        "n/a",
        "<na>",
        "nan",
        "null",
        "none",
        "nat",
        "inf",
        "infinity",
        "1.#ind",
        "1.#qnan",
    )
)
"""Words that are taken for a truth value, for no number, or for nothing at all (pandas, read_csv, "na_values")."""
_DAY: Final = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_CONE: Final = "cone "


def guarded(text: str) -> str:
    """A cell of text that nothing takes for a formula, a number, a day or a truth value."""
    return f"'{text}" if text.startswith("'") or _could_be_taken(text) else text


def bare(text: str) -> str:
    """A cell without the apostrophe of ``guarded``; one that somebody else began a text with stays."""
    return text[1:] if text.startswith("'") and guarded(text[1:]) == text else text


def cone_cell(cone: str) -> str:
    """A cell that says a cone: 04 by itself would become 4, which is another firing altogether."""
    return f"{_CONE}{cone}" if cone else ""


def bare_cone(cell: str) -> str:
    """The cone that a cell says, with the word or without."""
    word, rest = cell[: len(_CONE)], cell[len(_CONE) :]
    return rest.strip(" ") if word.lower() == _CONE else cell


def day_cell(text: str) -> str:
    """A cell that says a day, as 2026-03-14: spreadsheets and programs read that as a day or as text, and give it back
    as it was. Anything else is text."""
    return text if _DAY.fullmatch(text) else guarded(text)


def record_of(cells: Iterable[str]) -> str:
    """One row with its line end, CR LF. What would steer a terminal, as the name of a file can, is written out as its
    code point."""
    return exact_record_of(map(_steering_nothing, cells))


def exact_record_of(cells: Iterable[str]) -> str:
    """One row of texts that come back letter by letter."""
    return ",".join(map(_cell, cells)) + "\r\n"


def _steering_nothing(text: str) -> str:
    return text if steers_nothing(text) else steering().sub(code_point, text)


def _could_be_taken(text: str) -> bool:
    begins = _BLANKS.sub("", text)
    if text[:1] in _FORMULA or begins[:1] in _FORMULA:
        return True
    word = begins.rstrip().lower()
    if word.lstrip("+-") in _TAKEN or word.startswith("#"):
        return True
    if not any(map(str.isdecimal, word)):
        return False
    rest = _LETTERS.sub(lambda found: " " if found[0] in _WORDS else found[0], word)
    return _SIGNS.fullmatch(rest) is not None


def _cell(text: str) -> str:
    if '"' in text or "," in text or "\r" in text or "\n" in text:
        return '"' + text.replace('"', '""') + '"'
    return text
