"""How many columns of a terminal a text fills."""

from __future__ import annotations

import unicodedata


def width(text: str) -> int:
    """Columns: a wide East Asian character fills two, a combining mark none."""
    if text.isascii():
        return len(text)
    return sum(_columns(character) for character in text)


def _columns(character: str) -> int:
    if unicodedata.combining(character) or unicodedata.category(character) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1


def padded(text: str, columns: int) -> str:
    """``text`` with blanks behind it, up to so many columns."""
    return text + " " * (columns - width(text))
