"""Names of files, made of what somebody calls a thing."""

from __future__ import annotations

import unicodedata
from typing import Final

_LONGEST: Final = 60


def slug(name: str, otherwise: str) -> str:
    """The letters and figures of a name that every disk can hold, words joined by hyphens; ``otherwise`` where it has
    none."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode("ascii").lower()
    words = "".join(character if character.isalnum() else " " for character in plain).split()
    return "-".join(words)[:_LONGEST].strip("-") or otherwise
