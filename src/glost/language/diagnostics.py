"""What is wrong at a place of a page."""

from __future__ import annotations

from typing import NamedTuple

from glost.language.source import Edit, Span


class Diagnostic(NamedTuple):
    """What cannot be taken as written: where, what is wrong, how to put it right, and the edits that do so where one
    way is certain. ``takes_nothing``: it takes nothing from what the page says."""

    span: Span
    message: str
    hint: str
    edits: tuple[Edit, ...] = ()
    takes_nothing: bool = False
