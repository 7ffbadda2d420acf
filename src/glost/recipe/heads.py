"""Heads in other words: which head a word in column one was meant for. It is offered, never put into effect, since what
stands below would then be weighed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

from glost.language import tree
from glost.language.diagnostics import Choice
from glost.language.nearest import nearest
from glost.language.parse import accepts
from glost.language.source import Edit
from glost.language.tables import lexicon
from glost.recipe.fields import FIELDS

_MEANT: Final[dict[str, tuple[str, ...]]] = {
    "base": (
        "base",
        "bases",
        "batch",
        "composition",
        "formula",
        "formulation",
        "glaze",
        "ingredient",
        "ingredients",
        "main",
        "material",
        "materials",
        "mix",
        "mixture",
        "recipe",
    ),
    "additions": (
        "add",
        "added",
        "adding",
        "addition",
        "additional",
        "additions",
        "additive",
        "additives",
        "addon",
        "addons",
        "adds",
        "adjustments",
        "color",
        "colorant",
        "colorants",
        "colored",
        "coloring",
        "colors",
        "colour",
        "colourant",
        "colourants",
        "coloured",
        "colouring",
        "colours",
        "extra",
        "extras",
        "opacifier",
        "opacifiers",
        "oxide",
        "oxides",
        "pigment",
        "pigments",
        "plus",
        "stain",
        "stains",
        "with",
    ),
    "handling": (
        "care",
        "caution",
        "cautions",
        "danger",
        "dangers",
        "handle",
        "handling",
        "hazard",
        "hazards",
        "health",
        "ppe",
        "precaution",
        "precautions",
        "protection",
        "safety",
        "warning",
        "warnings",
    ),
    "notes": (
        "comment",
        "comments",
        "description",
        "directions",
        "history",
        "info",
        "information",
        "instructions",
        "memo",
        "method",
        "mixing",
        "note",
        "notes",
        "observation",
        "observations",
        "procedure",
        "remark",
        "remarks",
        "result",
        "results",
        "text",
    ),
    "variation": (
        "option",
        "options",
        "variant",
        "variants",
        "variation",
        "variations",
        "version",
        "versions",
    ),
    "series": (
        "blend",
        "line",
        "progression",
        "serie",
        "series",
        "step",
        "steps",
        "test",
        "tests",
        "tile",
        "tiles",
    ),
}
"""What people write for each head: words of the trade and of notebooks (common practice), each by itself or in a phrase
such as 'glaze base'."""

_HEAD_OF: Final = {word: head for head, words in _MEANT.items() for word in words}
_WRITTEN: Final = {"variation": 'variation "storm":', "series": 'series "steps":'}
_IF: Final = {
    "base": "if these are the materials of the base",
    "additions": "if these are weighed on top of the base",
    "handling": "if this says how materials are handled",
    "notes": "if this is free text",
    "variation": "if this sets the additions anew for one test",
    "series": "if this sets the additions anew for several tests",
}
_WEIGHED: Final = ("base", "additions")
_ON_ONE_LINE: Final = ("base", "additions", "handling", "notes")
"""Heads that somebody writes with what belongs to them on the same line."""


def heads_meant(word: str) -> tuple[str, ...]:
    """The heads that ``word``, a word or a phrase in column one, may have been meant for, the likeliest first. None
    where it is rather a field with a slip in it."""
    words = word.lower().replace("-", " ").split()
    found = [_HEAD_OF[one] for one in reversed(words) if one in _HEAD_OF]
    if not found:
        near = (near for one in words if len(one) > 2 for near in nearest(one, (*FIELDS, *_HEAD_OF), 1))
        found = [_HEAD_OF.get(one, "") for one in near]
    return tuple(dict.fromkeys(found)) if all(found) else ()


def written(head: str) -> str:
    """The head as a page has it."""
    return _WRITTEN.get(head, f"{head}:")


def every_head() -> str:
    """All heads, to be listed in a message."""
    return ", ".join(map(written, lexicon().heads))


class HeadOffer(NamedTuple):
    """Which head to write in the place of a word that is none: a hint, "" where no head is near, and the choices that
    are made by another word alone, with nothing to be named or moved to a line of its own."""

    hint: str
    choices: tuple[Choice, ...] = ()


def head_offer(page: tree.Page, key: tree.Text) -> HeadOffer:
    """What is offered for a word in column one."""
    block = next((block for block in page.blocks if block.head.span.start == key.span.start), None)
    if block is None:
        return HeadOffer("")
    meant: Sequence[str] = heads_meant(key.text)
    below = ""
    if isinstance(block.head, tree.Field):
        if key.text.lower() in _COLOURS:
            return HeadOffer("")
        amount = any(character.isdecimal() for character in block.head.value.text)
        meant = [head for head in meant if head in _ON_ONE_LINE and (amount or head not in _WEIGHED)]
        below = ", with this on an indented line below,"
    elif not meant:
        meant = list(dict.fromkeys(_could_be(page, block)))
    hint = "; ".join(f"write  {written(head)}{below or ' '} {_IF[head]}" for head in meant[:2])
    alone = isinstance(block.head, tree.Head) and block.head.name is None
    ready = [head for head in meant[:2] if alone and head not in _WRITTEN]
    return HeadOffer(hint, tuple(Choice(written(head), Edit(key.span, head)) for head in ready))


_COLOURS: Final = ("color", "colors", "colour", "colours")
"""With something behind them these say how the glaze looks."""


def _could_be(page: tree.Page, block: tree.Block) -> Iterator[str]:
    """The heads that the first line below one could stand under, where that is more than free text."""
    for line in block.lines:
        if isinstance(line, tree.Prose):
            text = page.source.text[line.span.start : line.span.end]
            if accepts(text, "series"):
                yield from ("base", "additions")
            elif accepts(text, "handling"):
                yield "handling"
            return
