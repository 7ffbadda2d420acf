"""One page as an editor has it: read once for each change, and asked many times."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Final, NamedTuple, TypeAlias

from glost.language import tree
from glost.language.parse import parse
from glost.language.source import DecodeError, Source, decode
from glost.linter.engine import LintContext, batch_of, examine_resolved
from glost.linter.finding import unreadable
from glost.linter.firings import examine_firing
from glost.linter.report import Report
from glost.linter.rule import Rule, Surroundings
from glost.recipe.analysed import AnalysedRecipe
from glost.recipe.library import Library
from glost.recipe.materials.catalogue import Catalogue, key
from glost.recipe.recipe import Recipe
from glost.recipe.resolve import resolve
from glost.recipe.settings import Settings
from glost.workspace.collection import Collection

Node: TypeAlias = "tree.Title | tree.Field | tree.Head | tree.Line"
QUOTED: Final = re.compile(r'"([^"\n]+)"')
"""A name in quotes within a text."""


class Page(NamedTuple):
    """A page, what it means, and what the rules say of it by itself. ``file``: as it is shown, from the folder of its
    collection on. A text that is no page at all (too long, a zero byte) is read as an empty one, and the report says
    why."""

    path: Path
    file: str
    text: str
    collection: Collection
    context: LintContext
    resolved: AnalysedRecipe
    report: Report

    @property
    def recipe(self) -> Recipe:
        return self.resolved.recipe

    @property
    def tree(self) -> tree.Page:
        return self.resolved.page

    @property
    def catalogue(self) -> Catalogue:
        return self.collection.catalogue

    @property
    def settings(self) -> Settings:
        return self.collection.settings

    @property
    def name(self) -> str:
        """The name of the recipe by which others are compared with it; "" where it has none, and of a firing."""
        return "" if self.tree.is_firing else key(self.recipe.name)

    @property
    def batch_g(self) -> Decimal:
        """The usual mass of its base, in grams."""
        return batch_of(self.recipe, self.context)


def read_page(
    path: Path,
    file: str,
    text: str,
    collection: Collection,
    finder: Library,
    around: Surroundings,
    rules: tuple[Rule, ...] | None = None,
    lies_in: str = "",
) -> Page:
    """The page in a text. ``finder`` knows the recipes that it may use, ``around`` what a firing names. ``rules``: only
    these are asked. ``lies_in``: see LintContext.file."""
    context = LintContext(
        collection.catalogue, collection.settings, rules=rules, finder=finder, around=around, file=lies_in
    )
    try:
        decode(text.encode("utf-8", "surrogatepass"))
    except DecodeError as error:
        nothing = resolve(parse(Source(file, "")), collection.catalogue)
        return Page(path, file, text, collection, context, nothing, Report([unreadable(file, error)], []))
    page = parse(Source(file, text))
    resolved = resolve(page, collection.catalogue, finder)
    report = examine_firing(page, context) if page.is_firing else examine_resolved(resolved, context)
    return Page(path, file, text, collection, context, resolved, report)


class Stand(NamedTuple):
    """What stands at a place: the block, and the line of it (its head among them). None above the first block."""

    block: tree.Block | None
    node: Node | None


def stand(page: tree.Page, offset: int) -> Stand:
    """What stands at an offset."""
    block = None
    for one in page.blocks:
        if one.head.span.start > offset:
            break
        block = one
    if block is None:
        return Stand(None, next((line for line in page.lead if _holds(line, offset)), None))
    nodes = (block.head, *block.lines)
    return Stand(block, next((node for node in nodes if _holds(node, offset)), None))


def _holds(node: Node, offset: int) -> bool:
    return node.span.start <= offset <= node.span.end


def comments(page: tree.Page) -> Iterator[tree.Text]:
    """Every comment, with the span of its text."""
    for line in page.lead:
        yield from _comment_of(line)
    for block in page.blocks:
        yield from _comment_of(block.head)
        for line in block.lines:
            yield from _comment_of(line)


def _comment_of(node: Node) -> Iterator[tree.Text]:
    if isinstance(node, tree.Remark):
        yield tree.Text(node.text, node.span)
    elif (comment := getattr(node, "comment", None)) is not None:
        yield comment
