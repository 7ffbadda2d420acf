"""What may be written at a place: heads and fields in column one, their values, materials, recipes, rules."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Final

from glost.editor import complete_firing
from glost.editor.offer import Offer, cones, in_line
from glost.editor.page import Page, stand
from glost.language import tree
from glost.language.source import Span
from glost.language.tables import lexicon
from glost.linter.rule import all_rules
from glost.recipe.fields import ATMOSPHERES, FIELDS, Quantity
from glost.recipe.heads import written
from glost.recipe.materials.catalogue import Catalogue, key

_OWN_KEYS: Final = ("surface", "colour")
_ALLOW: Final = re.compile(r"#+ *(?i:allow) +(?P<word>[a-z-]*)$")
_WORD: Final = re.compile(r"(?P<word>[A-Za-z-]*(?: [A-Za-z-]+)*)$")
_VALUE: Final = re.compile(r"(?P<key>[A-Za-z][A-Za-z -]*): *(?P<word>[^#]*)$")
_ITEM: Final = re.compile(r' +(?P<word>"?[^"#%(),:;=|]*)$')
_INGREDIENT: Final = re.compile(rf' +(?P<word>(?P<kind>{"|".join(lexicon().kinds)}) +(?:"[^"]*)?)$')
_NAMES: Final = re.compile(r' +(?:[^:#]*, *)?(?P<word>"?[^"#%(),:;=|]*)$')
_IN_QUOTES: Final = re.compile(r'^[^"]*(?:"[^"]*"[^"]*)*"(?P<word>[^"]*)$')
_AMOUNT_BEHIND: Final = re.compile(r"\S +[0-9.]")


def offers(page: Page, offset: int, pages: Iterable[Page]) -> list[Offer]:
    """What may be written at an offset. ``pages``: those of the collection, asked only where a recipe may be meant."""
    start = page.text.rfind("\n", 0, offset) + 1
    before = page.text[start:offset]
    comment = _ALLOW.search(before)
    if comment is not None:
        return list(_rules(in_line(comment, start)))
    if re.search(r"(?:^| )#(?: |$)", before):
        return []
    if page.tree.is_firing:
        return complete_firing.offers(page, before, start, pages)
    if not before.startswith(" "):
        field = _VALUE.fullmatch(before)
        if field is not None:
            return list(_values(page, field, start, pages))
        word = _WORD.fullmatch(before)
        return list(_openings(page, in_line(word, start))) if word is not None else []
    return _indented_offers(page, before, start, pages)


def _indented_offers(page: Page, before: str, start: int, pages: Iterable[Page]) -> list[Offer]:
    """What may be written in a line of a block."""
    role = _role_at(page, start)
    free = role in ("notes", "field_below") or (role == "handling" and ":" in before)
    if free and (quoted := _IN_QUOTES.fullmatch(before)):
        return list(_recipes(in_line(quoted, start), pages, page))
    if role == "handling":
        names = _NAMES.fullmatch(before)
        if names is None:
            return []
        span = in_line(names, start)
        every = Offer("all", "all", span, "value", "every material of the recipe")
        return [every, *_materials(page.catalogue, names["word"], span)]
    if role in ("", "notes", "field_below", "title", "field"):
        return []
    recipe = _INGREDIENT.fullmatch(before)
    if recipe is not None:
        return list(_ingredients(in_line(recipe, start), pages, page, recipe["kind"]))
    item = _ITEM.fullmatch(before)
    if item is None or _AMOUNT_BEHIND.search(before):
        return []
    span = in_line(item, start)
    found = [*_own_fields(page, start, span), *_materials(page.catalogue, item["word"], span)]
    return found if item["word"].startswith('"') else [*found, *_ingredients(span, pages, page)]


def _role_at(page: Page, start: int) -> str:
    """The role of the block that a line belongs to; of a head that cannot be read, that of a list of materials, which
    is what most heads open."""
    block = stand(page.tree, max(start - 1, 0)).block if start else None
    if block is None:
        return ""
    return "base" if block.role == "bad_block" else block.role


def _rules(span: Span) -> Iterator[Offer]:
    for rule in all_rules():
        yield Offer(rule.name, rule.name, span, "rule", rule.summary)


def _openings(page: Page, span: Span) -> Iterator[Offer]:
    there = {
        block.head.key.text if isinstance(block.head, tree.Field) else block.head.word.text
        for block in page.tree.blocks
        if isinstance(block.head, (tree.Field, tree.Head))
        and not block.head.span.start <= span.start <= block.head.span.end
    }
    if not any(isinstance(block.head, tree.Title) for block in page.tree.blocks):
        for kind in lexicon().kinds:
            yield Offer(kind, f'{kind} "Name"', span, "head", "the kind of recipe and its name")
    for field in FIELDS.values():
        if field.key not in there:
            yield Offer(field.key, f"{field.key}: ", span, "field", f"{field.says}; such as {field.example}")
    for head in lexicon().heads:
        text = written(head)
        if '"' in text or head not in there:  # those with a name may stand more than once
            yield Offer(head, text, span, "head", "opens a block of indented lines")


def _values(page: Page, found: re.Match[str], start: int, pages: Iterable[Page]) -> Iterator[Offer]:
    name, span = found["key"], in_line(found, start)
    field = FIELDS.get(name)
    if field is None:
        return
    words: list[tuple[str, str]] = [(word, "") for word in field.type.words]
    if name == "cone":
        yield from cones(span)
        return
    if name == "atmosphere":
        words = [(word, "") for word in ATMOSPHERES]
    elif name == "body":
        for one in pages:
            if one.recipe.kind == "body" and one.recipe.name and one.path != page.path:
                yield Offer(one.recipe.name, one.recipe.name, span, "recipe", one.file)
    elif name == "tags":
        last = found["word"].rpartition(",")[2].lstrip()
        span = Span(span.end - len(last), span.end)
        used = {tag for one in pages for tag in _tags(one)}
        words = [(tag, "used in this collection") for tag in sorted(used)]
    elif field.prose and (quoted := _IN_QUOTES.fullmatch(found.string)):
        yield from _recipes(in_line(quoted, start), pages, page)
        return
    if not words:
        words = [(field.example, f"for example; {field.says}")]
    for word, detail in words:
        yield Offer(word, word, span, "value", detail or field.says)


def _tags(page: Page) -> tuple[str, ...]:
    tags = page.recipe.fields.get("tags")
    return tags if isinstance(tags, tuple) and not isinstance(tags, Quantity) else ()


def _recipes(span: Span, pages: Iterable[Page], own: Page) -> Iterator[Offer]:
    """Names of recipes inside quotes, in a text."""
    for page in pages:
        if page.recipe.name and page.path != own.path:
            yield Offer(
                page.recipe.name, page.recipe.name, span, "recipe", f"{page.recipe.kind}, {page.file}"
            )


def _own_fields(page: Page, start: int, span: Span) -> Iterator[Offer]:
    """What a variation says of itself, as far as the test does not say it yet."""
    block = stand(page.tree, max(start - 1, 0)).block
    if (
        block is None
        or block.role not in ("variation", "base_variation")
        or not isinstance(block.head, tree.Head)
    ):
        return
    name = key(block.head.name.text) if block.head.name else ""
    there = {
        line.key.text
        for one in page.tree.blocks
        if isinstance(one.head, tree.Head) and one.head.name and key(one.head.name.text) == name
        if one.role in ("variation", "base_variation")
        for line in one.lines
        if isinstance(line, tree.Own)
    }
    for word in _OWN_KEYS:
        if word not in there:
            yield Offer(word, f"{word}: ", span, "field", f"{FIELDS[word].says}, of this test alone")


def _ingredients(span: Span, pages: Iterable[Page], own: Page, kind: str = "") -> Iterator[Offer]:
    """Recipes, as an ingredient has them. ``kind``: only those of one kind."""
    for page in pages:
        recipe = page.recipe
        if recipe.name and page.path != own.path and kind in ("", recipe.kind):
            text = f'{recipe.kind} "{recipe.name}"'
            yield Offer(
                recipe.name, text, span, "recipe", f"{recipe.kind}, {page.file}", text if kind else ""
            )


def _materials(catalogue: Catalogue, typed: str, span: Span) -> Iterator[Offer]:
    """Materials by their names; by another name once it is typed, and then under the name that a page should have."""
    quote = '"' if typed.startswith('"') else ""
    begun = typed.lstrip('"').casefold()
    for material in catalogue:
        text = f"{quote}{material.name}{quote}"
        marks = [material.role]
        if material.restricted:
            marks.append("restricted")
        if material.statements:
            marks.append(" ".join(material.statements))
        yield Offer(material.name, text, span, "material", ", ".join(marks), quote + material.name)
        if not begun:
            continue
        for alias in material.aliases:
            if alias.casefold().startswith(begun):
                detail = f"another name of {material.name}"
                yield Offer(alias, text, span, "material", detail, quote + alias)
