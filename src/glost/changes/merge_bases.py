"""What both sides of a merge come from, where that is a conflict itself. Two branches that were merged into each other
come from two commits and not from one: git merges these first, and hands over what came out, marks and all."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final, TypeVar

from glost.changes.merge import MergeError

_MARKED: Final = re.compile(
    r"^(?P<signs><{7,})(?!<)[^\n]*\n"
    r"(?P<ours>(?:[^\n]*\n)*?)"
    r"(?:(?<=\n)\|{7,}(?!\|)[^\n]*\n(?:[^\n]*\n)*?)?"
    r"={7,}\n"
    r"(?P<theirs>(?:[^\n]*\n)*?)"
    r">{7,}(?!>)[^\n]*(?:\n|\Z)",
    re.MULTILINE,
)

_Result = TypeVar("_Result")


def choices(base: str) -> tuple[str, ...]:
    """A page with all that stands first between its marks, and with all that stands second; one without marks as it
    is."""
    if "<<<<<<<" not in base or not _MARKED.search(base):
        return (base,)
    return tuple(_MARKED.sub(rf"\g<{side}>", base) for side in ("ours", "theirs"))


def with_each(
    base: str, merge: Callable[[str], _Result], result: Callable[[_Result], object] = lambda one: one
) -> _Result:
    """What comes out whichever way the base is chosen; ``result``: what of it has to be the same. Raises MergeError
    where that is not, since then both sides have settled the conflict, each otherwise."""
    first, *others = [merge(one) for one in choices(base)]
    if any(result(other) != result(first) for other in others):
        raise MergeError("what both sides come from is a conflict, which they settled each otherwise")
    return first
