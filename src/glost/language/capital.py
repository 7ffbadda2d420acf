"""A text as a sentence begins with it."""

from __future__ import annotations


def with_capital(text: str) -> str:
    """With a capital first; what stands behind keeps its letters, as names of files must."""
    return text[:1].upper() + text[1:]
