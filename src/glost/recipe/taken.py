"""Whether all that a page says went into its recipe. What made of a line nothing is found here, whatever the cause, so
that no line is ever passed over in silence."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from glost.language import tree
from glost.language.diagnostics import Diagnostic
from glost.language.source import Span

if TYPE_CHECKING:
    from glost.recipe.analysed import AnalysedRecipe


def untaken(resolved: AnalysedRecipe) -> Iterator[Diagnostic]:
    """A diagnostic for every line of a page that is no part of its recipe. The page is one in which nothing else is
    wrong."""
    taken = set(_taken(resolved))
    for block in resolved.page.blocks:
        head = block.head
        if head.span not in taken:
            yield _diagnostic(resolved.page, head.span)
        prose = block.role == "notes" or head.span in taken
        for line in block.lines:
            if isinstance(line, (tree.Blank, tree.Remark)) or (prose and isinstance(line, tree.Prose)):
                continue
            if line.span not in taken:
                yield _diagnostic(resolved.page, line.span)


def _taken(resolved: AnalysedRecipe) -> Iterator[Span]:
    """Where the recipe was taken from."""
    if resolved.title is not None:
        yield resolved.title.span
    for key, place in resolved.fields.items():
        if key in resolved.recipe.fields:
            yield place.span
    for head in resolved.heads:
        yield head.span
    for item, _ in resolved.places():
        yield item.span
    for own in resolved.own:
        yield own.span
    for instruction in resolved.handling:
        yield instruction.span


def _diagnostic(page: tree.Page, span: Span) -> Diagnostic:
    text = page.source.text[span.start : span.end]
    start = span.start + len(text) - len(text.lstrip(" "))
    return Diagnostic(
        Span(start, max(start, span.start + len(text.rstrip(" ")))),
        "this line is no part of the recipe as it stands",
        "put it below the head that it belongs to, or below  notes:",
    )
