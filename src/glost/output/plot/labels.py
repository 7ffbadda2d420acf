"""Which names are written beside their marks, and where.

The method is greedy placement over a fixed choice of places: each name has eight places around its mark, liked in the
order that map makers like them, and takes the first at which nothing stands; where none is free, it is not written.
Names with the most room around them come first, so that many are written. A grid of cells says what stands where, so
that the work for one name does not grow with the number of all.

Sources: E. Imhof, "Positioning Names on Maps", The American Cartographer 2 (1975), for the order of the places; J.
Christensen, J. Marks and S. Shieber, "An Empirical Study of Algorithms for Point-Feature Label Placement", ACM
Transactions on Graphics 14 (1995), for the greedy method. Both from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

from glost.output.escape import visible

_CELL: Final = 24.0
_CLOSE: Final = 2.0
"""Between a mark and its name."""
_CROWD: Final = 36.0
"""What lies this near a mark takes room from its name."""


class Box(NamedTuple):
    """A rectangle, from its least corner to its greatest."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box) -> bool:
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def holds(self, other: Box) -> bool:
        return (
            self.left <= other.left
            and self.top <= other.top
            and other.right <= self.right
            and other.bottom <= self.bottom
        )

    def wider(self, by: float) -> Box:
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)


class Label(NamedTuple):
    """A name to be written, beside the box of its mark; "" for none."""

    text: str
    mark: Box


def place(
    labels: Sequence[Label], size: float, area: Box, taken: Sequence[Box] = (), first: int = 0
) -> list[Box | None]:
    """A place within ``area`` for each name, None for one that is not written. No two meet, and none meets a mark or
    what is ``taken``. The ``first`` of them are placed before all others, in their order."""
    grid = Grid()
    for box in taken:
        grid.add(box)
    for label in labels:
        grid.add(label.mark)
    crowds = [grid.count(label.mark.wider(_CROWD)) for label in labels]
    rest = sorted(range(first, len(labels)), key=lambda at: (crowds[at], at))
    out: list[Box | None] = [None] * len(labels)
    for at in (*range(first), *rest):
        if not labels[at].text:
            continue
        width = text_width(labels[at].text, size)
        for box in _places(labels[at].mark, width, size):
            if area.holds(box) and not grid.meets(box):
                out[at] = box
                grid.add(box)
                break
    return out


def _places(mark: Box, width: float, size: float) -> Iterator[Box]:
    """Right, above right, below right, left, above left, below left, above, below."""
    height = size * 1.2
    middle = (mark.top + mark.bottom - height) / 2
    right, left = mark.right + _CLOSE, mark.left - _CLOSE - width
    above, below = mark.top - height, mark.bottom
    centre = (mark.left + mark.right - width) / 2
    for x, y in (
        (right, middle),
        (right, above + 3),
        (right, below - 3),
        (left, middle),
        (left, above + 3),
        (left, below - 3),
        (centre, above - 1),
        (centre, below + 1),
    ):
        yield Box(x, y, x + width, y + height)


class Grid:
    """Boxes by the cells that they touch."""

    def __init__(self) -> None:
        self._cells: dict[tuple[int, int], list[Box]] = {}

    def add(self, box: Box) -> None:
        for cell in _cells(box):
            self._cells.setdefault(cell, []).append(box)

    def meets(self, box: Box) -> bool:
        return any(box.meets(other) for cell in _cells(box) for other in self._cells.get(cell, ()))

    def meeting(self, box: Box) -> set[Box]:
        """What a box lies over, itself among it where it was added."""
        return {other for cell in _cells(box) for other in self._cells.get(cell, ()) if box.meets(other)}

    def count(self, box: Box) -> int:
        """How much stands in the cells that a box touches."""
        return sum(len(self._cells.get(cell, ())) for cell in _cells(box))


def _cells(box: Box) -> Iterator[tuple[int, int]]:
    for column in range(int(box.left // _CELL), int(box.right // _CELL) + 1):
        for row in range(int(box.top // _CELL), int(box.bottom // _CELL) + 1):
            yield column, row


_NARROW: Final = frozenset("ijlI.,:;'|!()[] ")
_SLIM: Final = frozenset('ftr-"/1')
_WIDE: Final = frozenset("mwMW@%&")


def text_width(text: str, size: float) -> float:
    """How wide a text is at most in a usual sans serif, in pixels; whatever is not Latin counts as a full square."""
    ems = 0.0
    for character in text:
        if character in _NARROW:
            ems += 0.36
        elif character in _SLIM:
            ems += 0.48
        elif character in _WIDE:
            ems += 0.98
        elif ord(character) > 0x24F:
            ems += 1.05
        else:
            ems += 0.72 if character.isupper() else 0.63
    return ems * size


def shortened(text: str, longest: int) -> str:
    """A text that can be shown, cut where it is longer."""
    text = visible(text)
    return text if len(text) <= longest else text[: longest - 1].rstrip() + "\u2026"
