"""A recipe, however badly it is written, told from a page that is something else: notes, or no text for glost at all.

A recipe has a first line, or a base. Where neither stands, nothing on the page is worth a message of its own, and
nothing there is ever changed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from glost.language import tree
from glost.language.diagnostics import Diagnostic
from glost.language.source import Source, Span
from glost.language.tables import field_words, lexicon

_FIRST_WORD = re.compile(r"[^\w#]*(?P<word>[^\W\d_]+)(?P<rest>.*)", re.DOTALL)
_TITLE = re.compile(r"[\s:=-]*[\"']")
_BASE = re.compile(r"[\s:;.,=-]*(?:#.*)?$|\s*:", re.DOTALL)


def is_recipe(source: Source, lead: tuple[tree.Line, ...], blocks: tuple[tree.Block, ...]) -> bool:
    """Whether a page has a first line that says a kind and a name, or a base; of badly written ones, whether one is
    meant."""
    if any(isinstance(block.head, tree.Title) or block.role == "base" for block in blocks):
        return True
    first = True
    for line in _lines(source, lead, blocks):
        found = _FIRST_WORD.match(line)
        if found is None:
            continue
        word, rest = found["word"].lower(), found["rest"]
        if word == "base" and _BASE.match(rest):
            return True
        if word in lexicon().kinds and (
            _TITLE.match(rest) or (word != "body" and rest.lstrip()[:1] in (":", "="))
        ):
            return True
        if first and (_TITLE.match(rest) or (word in lexicon().kinds and _has_fields(blocks))):
            return True
        first = False
    return False


def _lines(source: Source, lead: tuple[tree.Line, ...], blocks: tuple[tree.Block, ...]) -> Iterator[str]:
    """Lines that may be meant for a first line or the head of a base, with plain characters for those that only look
    like them."""
    from glost.language.errors import plain

    nodes = [*lead, *(node for block in blocks for node in (block.head, *block.lines))]
    for node in nodes:
        if not isinstance(node, (tree.Blank, tree.Remark)):
            yield plain(source.text[node.span.start : min(node.span.end, node.span.start + 200)])


def _has_fields(blocks: tuple[tree.Block, ...]) -> bool:
    words = field_words()
    return any(isinstance(block.head, tree.Field) and block.head.key.text in words for block in blocks)


def no_recipe(source: Source, lead: tuple[tree.Line, ...], blocks: tuple[tree.Block, ...]) -> Diagnostic:
    """The one diagnostic of such a page, on the first line that says something."""
    nodes = [*lead, *(block.head for block in blocks)]
    at = next(node.span.start for node in nodes if not isinstance(node, (tree.Blank, tree.Remark)))
    number = source.position(at).line
    line = source.line(number)
    start = source.line_span(number).start + len(line) - len(line.lstrip(" "))
    return Diagnostic(
        Span(start, start + len(line.strip(" "))),
        "this page is no recipe: no line says a kind and a name, and no base stands here",
        'a recipe begins with such as  glaze "Harbour Mist"  and has its materials below base: '
        "(glost import makes recipes of notes as they were written)",
    )
