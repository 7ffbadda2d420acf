"""The outline of a page: its blocks and lines, and which stretches fold away."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal, NamedTuple, TypeAlias

from glost.language import tree
from glost.language.source import Source, Span

Sort: TypeAlias = Literal["recipe", "field", "block", "test", "material"]


class Entry(NamedTuple):
    """One entry of the outline: ``span`` all of it, ``name_span`` what is marked when it is chosen."""

    name: str
    detail: str
    sort: Sort
    span: Span
    name_span: Span
    inner: tuple[Entry, ...] = ()


def outline(page: tree.Page) -> list[Entry]:
    """The recipe, with its fields and blocks inside; without a title, these alone."""
    inner = [entry for block in page.blocks if (entry := _entry(page.source, block)) is not None]
    title = next((block.head for block in page.blocks if isinstance(block.head, tree.Title)), None)
    if title is None:
        return inner
    end = max((entry.span.end for entry in inner), default=title.span.end)
    whole = Span(title.span.start, max(title.span.end, end))
    mine = tuple(entry for entry in inner if entry.span.start >= whole.start)
    above = [entry for entry in inner if entry.span.start < whole.start]
    return [*above, Entry(title.name.text, title.kind.text, "recipe", whole, title.name.span, mine)]


def _entry(source: Source, block: tree.Block) -> Entry | None:
    head = block.head
    span = Span(head.span.start, max([head.span.end, *(_ends(block))]))
    match head:
        case tree.Field(key, value):
            return Entry(key.text, value.text, "field", span, key.span)
        case tree.Head(word, None):
            inner = tuple(_items(source, block))
            return Entry(
                word.text, "", "field" if block.role == "field_below" else "block", span, word.span, inner
            )
        case tree.Head(word, tree.Name() as name):
            return Entry(
                name.text or word.text, word.text, "test", span, name.span, tuple(_items(source, block))
            )
        case _:
            return None


def _ends(block: tree.Block) -> list[int]:
    return [line.span.end for line in block.lines if not isinstance(line, tree.Blank)]


def _items(source: Source, block: tree.Block) -> Iterator[Entry]:
    for line in block.lines:
        if isinstance(line, tree.Item):
            amounts = source.text[line.amounts[0].span.start : line.amounts[-1].span.end]
            yield Entry(line.name.text or "?", amounts, "material", line.span, line.name.span)


class Fold(NamedTuple):
    """Lines, from 1, that fold away below the first; ``comment``: they are comments."""

    first: int
    last: int
    comment: bool = False


def folds(page: tree.Page) -> list[Fold]:
    """The stretches of a page that fold away: blocks, and comments that follow each other in column one."""
    source = page.source
    found: list[Fold] = []
    for block in page.blocks:
        ends = [line.span.start for line in _own(block)]
        first = source.position(block.head.span.start).line
        if ends and (last := source.position(max(ends)).line) > first:
            found.append(Fold(first, last))
    run: list[int] = []
    remarks = [line for line in page.lead if isinstance(line, tree.Remark)]
    remarks += [line for block in page.blocks for line in block.lines if isinstance(line, tree.Remark)]
    for remark in [*remarks, None]:
        line = None if remark is None or remark.indented else source.position(remark.span.start).line
        if run and (line is None or line != run[-1] + 1):
            if len(run) > 1:
                found.append(Fold(run[0], run[-1], comment=True))
            run = []
        if line is not None:
            run.append(line)
    return sorted(found)


def _own(block: tree.Block) -> list[tree.Line]:
    """The lines of a block without the empty ones and the comments in column one behind its last line: those lead to
    the next block."""
    lines = list(block.lines)
    while lines and (
        isinstance(lines[-1], tree.Blank) or (isinstance(lines[-1], tree.Remark) and not lines[-1].indented)
    ):
        lines.pop()
    return lines
