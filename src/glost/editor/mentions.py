"""What the names on a page stand for: materials, recipes of the collection, and tests of the page.

From this come where something is defined, where it is mentioned, and what a new name changes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final, Literal, NamedTuple, TypeAlias

from glost.editor.page import QUOTED, Page, comments
from glost.errors import GlostError
from glost.language import tree
from glost.language.parse import accepts, parse
from glost.language.source import Edit, Source, Span, apply
from glost.language.tables import lexicon
from glost.recipe.materials.catalogue import key

Kind: TypeAlias = Literal["material", "recipe", "test"]
_RECIPE_FIELDS: Final = ("body",)
"""Fields whose value may be the name of another recipe of the collection."""


class Mention(NamedTuple):
    """A name on a page. ``name``: what is compared; of a material its name in the catalogue. ``span``: without quotes.
    ``defines``: it is the title of the recipe, or the head of the test. ``bare``: a name in a line of materials that
    stands without quotes."""

    kind: Kind
    name: str
    span: Span
    defines: bool = False
    bare: bool = False


class Meaning(NamedTuple):
    """What a name stands for. A test belongs to one page."""

    kind: Kind
    name: str


def mentions(page: Page, recipes: frozenset[str]) -> Iterator[Mention]:
    """All names on a page, in no certain order. ``recipes``: the names of the collection's recipes."""
    tests = frozenset(
        key(block.head.name.text)
        for block in page.tree.blocks
        if isinstance(block.head, tree.Head) and block.head.name is not None
    )
    for block in page.tree.blocks:
        head = block.head
        if isinstance(head, tree.Title):
            yield Mention("recipe", key(head.name.text), _inside(page, head.name), defines=True)
        elif isinstance(head, tree.Head) and head.name is not None:
            yield Mention("test", key(head.name.text), _inside(page, head.name), defines=True)
        elif isinstance(head, tree.Field):
            if head.key.text in _RECIPE_FIELDS and key(head.value.text) in recipes:
                yield Mention("recipe", key(head.value.text), head.value.span)
            else:
                yield from _quoted(head.value, recipes, tests)
        for line in block.lines:
            if isinstance(line, tree.Item):
                yield _named(page, line.name, recipes)
            elif isinstance(line, tree.Instruction):
                for name in line.names:
                    if key(name.text) != "all":
                        yield _named(page, name, recipes)
                yield from _quoted(line.text, recipes, tests)
            elif isinstance(line, tree.Prose):
                start = line.span.start + line.indent
                yield from _quoted(tree.Text(line.text, Span(start, line.span.end)), recipes, tests)
    for comment in comments(page.tree):
        yield from _quoted(comment, recipes, tests, page.text)


def _named(page: Page, name: tree.Name, recipes: frozenset[str]) -> Mention:
    known = page.catalogue.find(name.text)
    span = _inside(page, name)
    if known is None and key(name.text) in recipes:
        return Mention("recipe", key(name.text), span, bare=not name.quoted)
    return Mention("material", known.name if known else key(name.text), span, bare=not name.quoted)


def _inside(page: Page, name: tree.Name) -> Span:
    """A name without its quotes and the blanks inside them."""
    if not name.quoted:
        return name.span
    start = page.text.index(name.text, name.span.start) if name.text else name.span.start + 1
    return Span(start, start + len(name.text))


def _quoted(
    text: tree.Text, recipes: frozenset[str], tests: frozenset[str], whole: str | None = None
) -> Iterator[Mention]:
    """Names in quotes within free text: of a recipe, or of a test of the page. ``whole``: the text that the span of
    ``text`` is cut from, where that has blanks in front."""
    start = text.span.start if whole is None else whole.index(text.text, text.span.start)
    for found in QUOTED.finditer(text.text):
        name = key(found[1])
        kind: Kind | None = "recipe" if name in recipes else "test" if name in tests else None
        if kind is not None:
            yield Mention(kind, name, Span(start + found.start(1), start + found.end(1)))


def names_of(pages: Iterable[Page]) -> frozenset[str]:
    """The names of the recipes on some pages."""
    return frozenset(page.name for page in pages if page.name)


def meaning_at(page: Page, offset: int, recipes: frozenset[str]) -> tuple[Meaning, Mention] | None:
    """What the name at an offset stands for."""
    for one in mentions(page, recipes):
        if one.span.start <= offset <= one.span.end:
            return Meaning(one.kind, one.name), one
    return None


class Found(NamedTuple):
    """A mention and the page that it stands on."""

    page: Page
    mention: Mention


def found(meaning: Meaning, page: Page, pages: Iterable[Page]) -> Iterator[Found]:
    """Where something is mentioned. ``page``: the one that a test belongs to."""
    every = [page] if meaning.kind == "test" else list(pages)
    recipes = names_of(pages if meaning.kind != "test" else every)
    for one in every:
        here = [m for m in mentions(one, recipes) if (m.kind, m.name) == meaning]
        for mention in sorted(here, key=lambda mention: mention.span):
            yield Found(one, mention)


class RenameError(GlostError):
    """A name that cannot be given, or something that has none of its own."""


def rename(meaning: Meaning, new: str, page: Page, pages: Iterable[Page]) -> list[tuple[Page, list[Edit]]]:
    """The edits that give a recipe or a test another name wherever it is mentioned. Raises RenameError."""
    if meaning.kind == "material":
        raise RenameError(
            "a material is not renamed over a collection, since another name may mean another jar",
            "the studio's own name for it goes among the aliases in materials.yaml",
        )
    new = " ".join(new.split())
    title = f'{lexicon().kinds[0]} "{new}"'
    if accepts(title, "page") != "TITLE":
        raise RenameError(
            f"'{new}' cannot be the name of a recipe or a test", "leave out quotes and hidden characters"
        )
    every = list(pages)
    _check_free(meaning, new, page, every)
    changed: dict[int, tuple[Page, list[Edit]]] = {}
    for one, mention in found(meaning, page, every):
        text = new
        if mention.bare and accepts(f"    {new}  1", "base") is None:
            text = f'"{new}"'
        changed.setdefault(id(one), (one, []))[1].append(Edit(mention.span, text))
    for one, edits in changed.values():
        after = parse(Source(one.file, apply(one.text, edits)))
        if len(after.diagnostics) > len(one.tree.diagnostics):
            raise RenameError(
                f"with '{new}' a line of {one.file} could not be read any more", "choose a plainer name"
            )
    return list(changed.values())


def _check_free(meaning: Meaning, new: str, page: Page, pages: Iterable[Page]) -> None:
    """Raises RenameError where another has the new name already."""
    if key(new) == meaning.name:
        return
    if meaning.kind == "recipe":
        other = next((one for one in pages if one.name == key(new)), None)
        if other is not None:
            raise RenameError(f"another recipe is called '{new}' ({other.file})", "choose another name")
    elif any(m.kind == "test" and m.name == key(new) for m in mentions(page, frozenset()) if m.defines):
        raise RenameError(f"another test of this page is called '{new}'", "choose another name")
