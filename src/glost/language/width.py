"""How many columns of a terminal a text fills."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from functools import lru_cache


def width(text: str) -> int:
    """Columns: a wide East Asian character fills two, a combining mark none."""
    if text.isascii():
        return len(text)
    return sum(map(_columns, text))


@lru_cache(maxsize=1024)
def _columns(character: str) -> int:
    if unicodedata.combining(character) or unicodedata.category(character) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1


def widest(texts: Iterable[str]) -> int:
    """Columns of the widest; 0 where there is none."""
    texts = list(texts)
    return max(map(len if "".join(texts).isascii() else width, texts), default=0)


def padded(text: str, columns: int) -> str:
    """``text`` with blanks behind it, up to so many columns."""
    return text.ljust(columns) if text.isascii() else text + " " * (columns - width(text))


def pushed(text: str, columns: int) -> str:
    """``text`` with blanks before it, up to so many columns."""
    return text.rjust(columns) if text.isascii() else " " * (columns - width(text)) + text
