"""What glost raises: one family of errors, each of which says what is wrong and how to put it right.

The two are never put into one text and parted again, since a text of the user's own may hold any sign. A text of both
is made where a person reads it, and nowhere else.
"""

from __future__ import annotations

from typing import NamedTuple


class Position(NamedTuple):
    """Line and column as people count them, from 1; a column is one character."""

    line: int
    column: int


FIRST = Position(1, 1)


class GlostError(Exception):
    """``message``: what is wrong. ``hint``: how to put it right; "" where nobody can say. ``position``: the place in
    the text that was read, where there is one. As one text it is both, with a semicolon between."""

    position: Position | None = None

    # The arguments stay what they were given as (BaseException.__new__ keeps them), so that every error of the family
    # can travel from one process to another.
    def __init__(self, message: str, hint: str = "", position: Position | None = None) -> None:
        self.message = message
        self.hint = hint
        if position is not None:
            self.position = position

    def __str__(self) -> str:
        return f"{self.message}; {self.hint}" if self.hint else self.message


class ValueRefusedError(GlostError, ValueError):
    """A value that cannot be taken."""


def message_and_hint(error: Exception) -> tuple[str, str]:
    """What is wrong, and how to put it right, as far as the error says so."""
    return (error.message, error.hint) if isinstance(error, GlostError) else (str(error), "")


def refused_at(place: str, error: ValueError) -> ValueRefusedError:
    """The same error, with the place of the value before it, such as a key or a material."""
    message, hint = message_and_hint(error)
    return ValueRefusedError(f"{place}: {message}", hint)
