"""What may be written on the page of a firing: fields and heads, steps of a schedule, what is said of a tile."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Final

from glost.editor.offer import Offer, cones, in_line
from glost.editor.page import Page, stand
from glost.language import tree
from glost.language.firing_words import FIRING_FIELDS, TILE_KEYS
from glost.language.source import Span
from glost.recipe.fields import ATMOSPHERES, FIELDS
from glost.recipe.firing import FAULTS
from glost.recipe.recipe import labels

_SAYS: Final = {
    "date": "the day on which the kiln was lit",
    "kiln": "which kiln",
    "reached": "the cone that the witness cones show",
    "test": "what the tile is a test of",
    "batch": "the record in the log that it was dipped in",
    "place": "where it stood",
    "flow": "how far it ran",
    "faults": "with commas",
    "photo": "where the picture lies, seen from this page",
    "remarks": "anything else",
}
_HEADS: Final = (("schedule", "schedule:"), ("tile", 'tile "1":'), ("notes", "notes:"))
_STEPS: Final = (
    ("from", "from 20 C", "where the kiln begins; the first line alone"),
    ("to ... at", "to 600 C at 100 C/h", "at a rate"),
    ("to ... in", "to 600 C in 3 h", "in a time"),
    ("to ... freely", "to 100 C freely", "power off, or full on"),
    ("hold", "to 1222 C at 150 C/h, hold 15 min", "and stay there"),
)
_WORD: Final = re.compile(r" *(?P<word>[A-Za-z-]*(?: [A-Za-z-]+)*)$")
_VALUE: Final = re.compile(r" *(?P<key>[A-Za-z]+): *(?P<word>[^#]*)$")


def offers(page: Page, before: str, start: int, pages: Iterable[Page]) -> list[Offer]:
    """What may be written behind ``before``, the beginning of the line that begins at ``start``."""
    block = stand(page.tree, max(start - 1, 0)).block if start else None
    inside = before.startswith(" ")
    value = _VALUE.fullmatch(before)
    if value is not None and (not inside or (block is not None and block.role == "tile")):
        return list(_values(value["key"], value["word"], in_line(value, start), pages))
    word = _WORD.fullmatch(before)
    if word is None:
        return []
    span = in_line(word, start)
    if not inside:
        return list(_openings(page, span))
    if block is None:
        return []
    if block.role == "schedule":
        return [Offer(label, text, span, "value", says, text) for label, text, says in _STEPS]
    if block.role == "tile":
        there = {line.key.text for line in block.lines if isinstance(line, tree.Own) and not _on(line, span)}
        return [_word_of(key, span) for key in TILE_KEYS if key not in there]
    return []


def _on(line: tree.Own, span: Span) -> bool:
    return line.span.start <= span.start <= line.span.end


def _word_of(key: str, span: Span) -> Offer:
    says = _SAYS.get(key) or (FIELDS[key].says if key in FIELDS else "")
    return Offer(key, f"{key}: ", span, "field", says)


def _openings(page: Page, span: Span) -> Iterator[Offer]:
    heads = [block.head for block in page.tree.blocks]
    here = [head for head in heads if not head.span.start <= span.start <= head.span.end]
    there = {head.key.text for head in here if isinstance(head, tree.Field)}
    there |= {head.word.text for head in here if isinstance(head, tree.Head)}
    if not any(isinstance(head, tree.Title) for head in heads):
        yield Offer("firing", 'firing "Name"', span, "head", "the name of the firing")
    yield from (_word_of(key, span) for key in FIRING_FIELDS if key not in there)
    for word, text in _HEADS:
        if '"' in text or word not in there:
            yield Offer(word, text, span, "head", "opens a block of indented lines")


def _values(key: str, typed: str, span: Span, pages: Iterable[Page]) -> Iterator[Offer]:
    if key in ("cone", "reached"):
        yield from cones(span)
    elif key == "atmosphere":
        yield from (Offer(word, word, span, "value") for word in ATMOSPHERES)
    elif key == "body":
        for one in pages:
            if one.recipe.kind == "body" and one.recipe.name:
                yield Offer(one.recipe.name, one.recipe.name, span, "recipe", one.file)
    elif key == "faults":
        last = typed.rpartition(",")[2].lstrip()
        span = Span(span.end - len(last), span.end)
        yield from (Offer(word, word, span, "value", "a fault") for word in FAULTS)
    elif key == "test":
        for one in pages:
            for label in labels(one.recipe) if one.recipe.name else ():
                name = f"{one.recipe.name}, {label}" if label else one.recipe.name
                text = f'{one.recipe.kind} "{name}"'
                yield Offer(name, text, span, "recipe", one.file, text)
