"""What is gathered from old notes before it is written as a page, and what there is to say about it."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final, Literal, NamedTuple, TypeAlias

from glost.language.tables import ODD_BLANKS
from glost.output.escape import visible

Kind: TypeAlias = Literal["understood", "guessed", "left", "wrong", "unknown", "unwritten"]
"""Of a remark. ``understood``: certain. ``guessed``: likely, to be looked at. ``left``: in no item of a recipe.
``wrong``: the notes contradict themselves. ``unknown``: a material. ``unwritten``: a recipe that became no file."""

TO_LOOK_AT: Final[frozenset[Kind]] = frozenset({"left", "wrong", "unknown", "unwritten"})

_BLANKS = re.compile(rf"[\t\x0b\x0c\x85{ODD_BLANKS}]")
_FIGURES = re.compile(r"[0-9]+")


class Remark(NamedTuple):
    """Something to tell. ``line`` is that of the notes, from 1, or 0 for the whole file; ``text`` is what stands
    there, word for word, where that is worth showing."""

    kind: Kind
    line: int
    said: str
    text: str = ""


class Item(NamedTuple):
    """A material and its amount. ``comment`` is the line as it was written, where the item does not say it all."""

    name: str
    amount: Decimal
    unit: str
    line: int
    note: str = ""
    comment: str = ""


class Said(NamedTuple):
    """A line that is kept as a comment where it stood."""

    text: str
    line: int


Row: TypeAlias = "Item | Said"


@dataclass(slots=True)
class Draft:
    """A recipe that is being gathered. ``fields`` are values as the language writes them, by key."""

    line: int
    name: str = ""
    kind: str = "glaze"
    fields: dict[str, str] = field(default_factory=dict)
    base: list[Row] = field(default_factory=list)
    additions: list[Row] = field(default_factory=list)
    variations: list[tuple[str, list[Row]]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    again: list[str] = field(default_factory=list)
    """Cells of a table that say again in every row what the page says once."""

    def items(self) -> list[Item]:
        """Every item, in the order of the page."""
        blocks = [self.base, self.additions, *(rows for _, rows in self.variations)]
        return [row for rows in blocks for row in rows if isinstance(row, Item)]

    def base_total(self) -> Decimal:
        return total(self.base)


def total(rows: list[Row]) -> Decimal:
    """The sum of the amounts, whatever their units."""
    return sum((row.amount for row in rows if isinstance(row, Item)), Decimal(0))


def plain_line(text: str) -> str:
    """A line that a page may hold: odd blanks are blanks, hidden signs are written out."""
    return visible(_BLANKS.sub(" ", text)).rstrip(" ")


def figures(text: str) -> Counter[int]:
    """The runs of figures in a text as numbers, each as often as it stands there; 0,50 has a 0 and a 50."""
    return Counter(int(run[:4000]) for run in _FIGURES.findall(text))
