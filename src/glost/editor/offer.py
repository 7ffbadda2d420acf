"""One thing that may be written at a place, and what several kinds of pages offer."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Literal, NamedTuple, TypeAlias

from glost.language.source import Span
from glost.recipe.cone import KNOWN

Sort: TypeAlias = Literal["field", "head", "value", "material", "recipe", "rule"]


class Offer(NamedTuple):
    """One thing to write: what is shown, what is written, in the place of which stretch; what it is; more of it."""

    label: str
    text: str
    span: Span
    sort: Sort
    detail: str = ""
    filter: str = ""
    """What is compared with what was typed, where that is not the label."""


def in_line(found: re.Match[str], start: int) -> Span:
    """Where the group ``word`` stands, in a line that begins at ``start``."""
    return Span(start + found.start("word"), start + found.end("word"))


def cones(span: Span) -> Iterator[Offer]:
    for cone in KNOWN:
        yield Offer(cone, cone, span, "value", "a cone, from the coolest to the hottest")
