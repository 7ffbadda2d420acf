"""What a reader of a value says where it cannot take it: what is wrong, and how to write it, each by itself.

The two are never put into one text and parted again, since a text of the user's own may hold any sign.
"""

from __future__ import annotations


class Refusal(ValueError):
    """A value that cannot be taken. As one text it is ``said``, or both with a semicolon between."""

    def __init__(self, message: str, hint: str, said: str = "") -> None:
        super().__init__(said or f"{message}; {hint}")
        self.message = message
        self.hint = hint
