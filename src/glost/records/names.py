"""Names of files, made of what somebody calls a thing."""

from __future__ import annotations

import hashlib
import unicodedata
from typing import Final

_LONGEST: Final = 60
_APART: Final = str.maketrans(
    {"æ": "ae", "œ": "oe", "ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i"}
)
"""Letters that Unicode does not take apart into one of the 26 and a mark."""
_MARK_LENGTH: Final = 8


def slug(name: str, otherwise: str) -> str:
    """The letters and figures of a name that every disk can hold, words joined by hyphens; ``otherwise`` where it has
    none. Where other letters stand in it, a mark of the whole name follows: two names that differ in those alone are
    two files."""
    plain = unicodedata.normalize("NFKD", name).casefold().translate(_APART)
    kept = "".join(one if one.isascii() and one.isalnum() else " " for one in plain if not _is_mark(one))
    stem = "-".join(kept.split())[:_LONGEST].strip("-") or otherwise
    if all(one.isascii() or not one.isalnum() for one in plain):
        return stem
    whole = hashlib.sha256(unicodedata.normalize("NFC", name).encode()).hexdigest()
    return f"{stem}-{whole[:_MARK_LENGTH]}"


def _is_mark(character: str) -> bool:
    """Whether it stands upon another, such as the dots of an umlaut."""
    return unicodedata.category(character).startswith("M")
