"""The lexer for Pygments, which finds it by the package's entry point. It colours what the reader of pages has read, so
that it knows each head and unit that the grammar knows, and marks exactly the lines that cannot be read."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pygments.lexer import Lexer
from pygments.token import Comment, Error, Keyword, Name, Number, String, Text, _TokenType

from glost.language import tree
from glost.language.parse import parse
from glost.language.source import Source, Span

_Mark = tuple[Span, _TokenType]


class GlostLexer(Lexer):
    """Recipes of ceramic glazes, and pages of their firings."""

    name = "glost"
    aliases = ("glost",)
    filenames = ("*.glost", "*.firing")
    mimetypes = ()
    url = ""

    def get_tokens_unprocessed(self, text: str) -> Iterator[tuple[int, _TokenType, str]]:
        at = 0
        for span, token in sorted(_marks(parse(Source("", text))), key=lambda mark: mark[0]):
            start, end = max(span.start, at), min(span.end, len(text))
            if start >= end:
                continue
            if at < start:
                yield at, Text, text[at:start]
            yield start, token, text[start:end]
            at = end
        if at < len(text):
            yield at, Text, text[at:]


def _marks(page: tree.Page) -> Iterator[_Mark]:
    for line in page.lead:
        yield from _of(line)
    for block in page.blocks:
        yield from _of(block.head)
        for line in block.lines:
            yield from _of(line)


def _of(node: Any) -> Iterator[_Mark]:  # noqa: C901, PLR0912 (a case for each kind of line)
    comment = getattr(node, "comment", None)
    if comment is not None:
        yield comment.span, Comment.Single
    match node:
        case tree.Title(kind, name):
            yield kind.span, Keyword.Declaration
            yield name.span, String.Double
        case tree.Head(word, name):
            yield word.span, Keyword
            if name is not None:
                yield name.span, String.Double
        case tree.Field(key, value) | tree.Own(key, value):
            yield key.span, Name.Attribute
            yield value.span, String
        case tree.Item(name, amounts, note):
            yield name.span, Name.Constant
            for amount in amounts:
                yield amount.span, Number
            if note is not None:
                yield note.span, String.Other
        case tree.Ramp(heat=heat, rate=rate, time=time, hold=hold):
            for said in (heat, rate, time, hold):
                if said is not None:
                    yield said.span, Number
        case tree.Instruction(names, text):
            for name in names:
                yield name.span, Name.Constant
            yield text.span, String
        case tree.Prose(_, indent, span):
            yield Span(span.start + indent, span.end), String.Doc
        case tree.Remark(_, _, span):
            yield span, Comment.Single
        case tree.Unread(span):
            yield span, Error
