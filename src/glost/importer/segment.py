"""Where each recipe of a text begins, and whether each of its lines belongs to the base or to the additions."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final, NamedTuple

from glost.importer.classify import BASE_AT_LEAST, Line, headed
from glost.importer.firing import firing_in_title
from glost.importer.marks import Block, is_additions_head, is_base_head

_AHEAD: Final = 8
"""Lines below a title within which its first item stands."""
_MOST_TITLE: Final = 60
_MOST_WORDS: Final = 8
_MOST_GAPS: Final = 2
_MOST_TEXTS: Final = 2
_LOOK_AHEAD: Final = 30
_FULL: Final = Decimal(100)
_NOTES: Final = ("fired", "fire ", "fires", "glaze fired", "tested", "bisque", "bisqued")
"""How a line that names a cone begins where it is no title."""
_CONE_IN_SENTENCE: Final = re.compile(
    r"(?:.*\b)?(?:at|to|for|in|from|about|around|above|below|past|between)\W+"
    r"(?:cone|con\.|c[/.]?[0-9]|[\\^\u0394\u25b3\u2206\u25b2] ?[0-9])",
    re.IGNORECASE,
)
"""A line that speaks of a cone in passing."""


class Placed(NamedTuple):
    """A line of a recipe, its index, and what was guessed to place it. ``gap``: an empty line or a rule stands before
    it."""

    line: Line
    at: int
    block: Block
    gap: bool
    guess: str = ""


@dataclass(slots=True)
class Segment:
    """A recipe of the text: the lines that head it, and those from its first item on. Where ``body`` is empty, the
    lines belong to no recipe."""

    head: list[Line] = field(default_factory=list)
    body: list[Placed] = field(default_factory=list)


def segments(lines: Sequence[Line]) -> list[Segment]:
    """The recipes of a text, in order. What stands behind the last of them, under a title without items, is a segment
    without a body."""
    walk = _Walk(lines)
    for at in range(len(lines)):
        walk.take(at)
    return walk.done


class _Walk:
    """Goes through the lines once, and knows how far the base of the recipe has come."""

    def __init__(self, lines: Sequence[Line]) -> None:
        self._lines = lines
        self.done: list[Segment] = []
        self._base = Decimal(0)
        self._has_base = False
        self._block: Block = "base"
        self._by_sign = False
        self._stated = False
        self._gap = False

    def take(self, at: int) -> None:
        line = self._lines[at]
        if line.kind in ("blank", "rule"):
            self._gap = True
            return
        if not self.done or self._opens(at):
            self._open()
        segment = self.done[-1]
        if line.kind == "item":
            block, guess = self._block_of(at)
            segment.body.append(Placed(line, at, block, self._gap, guess))
            self._count(line, block)
        elif not segment.body:
            self._take_head_of_block(line, in_title=True)
            segment.head.append(line)
        else:
            self._take_head_of_block(line, in_title=False)
            self._stated |= line.kind == "total" and is_total(self._lines, at)
            segment.body.append(Placed(line, at, self._block, self._gap))
        self._gap = False

    def _open(self) -> None:
        self.done.append(Segment())
        self._base, self._has_base = Decimal(0), False
        self._block, self._by_sign, self._stated = "base", False, False

    def _count(self, line: Line, block: Block) -> None:
        if block == "base":
            self._base += line.value
            self._has_base = True

    def _take_head_of_block(self, line: Line, in_title: bool) -> None:
        """A line that says what follows. Above the first item 'Plus White' may be the title."""
        if line.kind == "add" and (not in_title or is_additions_head(line.text)):
            self._block, self._by_sign = "additions", False
        elif line.kind == "base" and is_base_head(line.text):
            self._block, self._by_sign = "base", False

    # ---- additions -------------------------------------------------------------------------------------

    def _block_of(self, at: int) -> tuple[Block, str]:
        """The block of an item. One that is marked is never in the base."""
        line = self._lines[at]
        if line.read is not None and line.read.plus:
            if self._block == "base":
                self._block, self._by_sign = "additions", True
            return "additions", ""
        if self._block == "additions":
            return self._block_behind_sign(at) if self._by_sign else ("additions", "")
        if self._has_base and self._base == _FULL and (self._gap or self._stated or self._little_follows(at)):
            self._block = "additions"
            return "additions", "what stands behind a base of 100 is taken for additions"
        return "base", ""

    def _block_behind_sign(self, at: int) -> tuple[Block, str]:
        """The block of an item without a sign behind one with it: the base goes on where it is not there yet."""
        come = sum((line.value for line in self._unmarked(at)), Decimal(0))
        goes_on = self._base < _FULL and (self._base + come == _FULL or come >= BASE_AT_LEAST)
        if not self._has_base or goes_on:
            self._block = "base"
            return "base", "a line without a sign behind one with it is taken for the base"
        self._by_sign = False
        return "additions", "a line without a sign behind one with it is taken for an addition too"

    def _unmarked(self, at: int) -> list[Line]:
        """The items from there on that carry no mark, down to the next line that is no item."""
        out = []
        for line in self._lines[at : at + _LOOK_AHEAD]:
            if line.read is None:
                break
            if not line.read.plus:
                out.append(line)
        return out

    def _little_follows(self, at: int) -> bool:
        """Whether this item and those right below it are little enough for additions, and none is marked as one: where
        some are marked, the others belong to the base."""
        come = Decimal(0)
        for line in self._lines[at : at + _LOOK_AHEAD]:
            if line.read is None:
                return line.kind != "add" and come < BASE_AT_LEAST
            if line.read.plus or come >= BASE_AT_LEAST:
                return False
            come += line.value
        return come < BASE_AT_LEAST

    # ---- titles ----------------------------------------------------------------------------------------

    def _opens(self, at: int) -> bool:
        """Whether a line behind items is the title of the next recipe."""
        line, segment = self._lines[at], self.done[-1]
        if not segment.body:
            return False
        if line.kind == "numbered":
            return True
        if line.kind != "text":
            return False
        ahead = self._lines[at + 1 : at + 1 + _AHEAD]
        if headed(line.text) and any(other.kind == "item" for other in ahead):
            return True
        full = self._stated or abs(self._base - _FULL) <= 1
        return (self._gap or full) and may_be_title(line.text) and _items_follow(ahead)


def is_total(lines: Sequence[Line], at: int) -> bool:
    """Whether a number that stands alone is a total: below items, or below a line drawn under them."""
    before = next((lines[back] for back in range(at - 1, -1, -1) if lines[back].kind != "blank"), None)
    said = any(character.isalpha() for character in lines[at].text)
    return said or (before is not None and before.kind in ("item", "rule", "total"))


def may_be_title(text: str) -> bool:
    """Whether a line is short enough, and no sentence."""
    if len(text) > _MOST_TITLE or len(text.split()) > _MOST_WORDS or _CONE_IN_SENTENCE.match(text):
        return False
    if text.endswith("."):  # 'Butter Matt, cone 6 ox.'
        found = firing_in_title(text)
        return bool(found.cone and found.rest) and not text.lower().startswith(_NOTES)
    return not text.endswith(("!", "?", ","))


def _items_follow(ahead: Sequence[Line]) -> bool:
    texts, gaps = 0, 0
    for other in ahead:
        if other.kind == "item":
            return True
        if other.kind in ("add", "total", "numbered"):
            return False
        if other.kind == "text" and gaps and may_be_title(other.text):
            return False
        gaps += other.kind in ("blank", "rule")
        texts += other.kind == "text"
        if gaps > _MOST_GAPS or texts > _MOST_TEXTS:
            return False
    return False
