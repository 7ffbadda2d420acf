"""What is wrong at a place of a page."""

from __future__ import annotations

from typing import NamedTuple

from glost.language.source import Edit, Span


class Choice(NamedTuple):
    """One of the names that a hint offers: as it is said there, and the edit that writes it."""

    said: str
    edit: Edit


class Diagnostic(NamedTuple):
    """What cannot be taken as written: where, what is wrong, how to put it right, and the edits that do so where one
    way is certain. ``takes_nothing``: it takes nothing from what the page says. ``choices``: what a person may choose
    among, in the order of the hint; which of them is meant nobody else can tell, be there only one."""

    span: Span
    message: str
    hint: str
    edits: tuple[Edit, ...] = ()
    takes_nothing: bool = False
    choices: tuple[Choice, ...] = ()
