"""A row of a table as RFC 4180 has it, and cells that no spreadsheet runs.

A spreadsheet runs a cell as a formula by its first character; such cells of text begin with an apostrophe
here, which ``bare`` takes away (OWASP, CSV Injection, from memory). Cells of numbers are never touched.
"""

from __future__ import annotations

from collections.abc import Iterable

_FORMULA = frozenset("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")
"""What a spreadsheet may take for the beginning of a formula, the wide forms of the signs among them."""


def guarded(text: str) -> str:
    """A cell of text that no spreadsheet takes for a formula."""
    return f"'{text}" if text[:1] in _FORMULA or text.startswith("'") else text


def bare(text: str) -> str:
    """A cell without the apostrophe of ``guarded``; one that somebody else began a text with stays."""
    return (
        text[1:] if text.startswith("'") and text[1:2] and (text[1] in _FORMULA or text[1] == "'") else text
    )


def record_of(cells: Iterable[str]) -> str:
    """One row with its line end, CR LF."""
    return ",".join(map(_cell, cells)) + "\r\n"


def _cell(text: str) -> str:
    if '"' in text or "," in text or "\r" in text or "\n" in text:
        return '"' + text.replace('"', '""') + '"'
    return text
