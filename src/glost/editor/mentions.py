"""What the names on a page stand for: materials, recipes of the collection, and tests of the page.

From this come where something is defined, where it is mentioned, and what a new name changes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
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


Names: TypeAlias = Mapping[str, frozenset[str]]
"""The recipes of a collection by their names, each with the names of the blocks that its tests come from."""


class Mention(NamedTuple):
    """A name on a page. ``name``: what is compared; of a material its name in the catalogue. ``of``: the recipe that a
    test belongs to. ``span``: without quotes. ``defines``: it is the title of the recipe, or the head of the test.
    ``bare``: a name in a line of materials that stands without quotes."""

    kind: Kind
    name: str
    span: Span
    of: str = ""
    defines: bool = False
    bare: bool = False


class Meaning(NamedTuple):
    """What a name stands for. ``of``: the recipe that a test belongs to; "" where its page has no name."""

    kind: Kind
    name: str
    of: str = ""


def mentions(page: Page, recipes: Names) -> Iterator[Mention]:
    """All names on a page, in no certain order."""
    own = frozenset() if page.tree.is_firing else _blocks_of(page)
    known = _Known(page.name, own, recipes)
    for block in page.tree.blocks:
        head = block.head
        if isinstance(head, tree.Title) and not page.tree.is_firing:
            yield Mention("recipe", key(head.name.text), _inside(page, head.name), defines=True)
        elif isinstance(head, tree.Head) and head.name is not None and not page.tree.is_firing:
            yield Mention("test", key(head.name.text), _inside(page, head.name), page.name, defines=True)
        elif isinstance(head, tree.Field):
            yield from _in_field(head, known)
        for line in block.lines:
            yield from _in_line(page, line, known)
    for comment in comments(page.tree):
        yield from _quoted(comment, known, page.text)


def _in_line(page: Page, line: tree.Line, known: _Known) -> Iterator[Mention]:
    if isinstance(line, tree.Item):
        yield from _named(page, line.name, known)
    elif isinstance(line, tree.Instruction):
        for name in line.names:
            if key(name.text) != "all":
                yield from _named(page, name, known)
        yield from _quoted(line.text, known)
    elif isinstance(line, tree.Own):
        yield from _in_field(line, known)
    elif isinstance(line, tree.Prose):
        start = line.span.start + line.indent
        yield from _quoted(tree.Text(line.text, Span(start, line.span.end)), known)


def _in_field(field: tree.Field | tree.Own, known: _Known) -> Iterator[Mention]:
    if field.key.text in _RECIPE_FIELDS and key(field.value.text) in known.recipes:
        yield Mention("recipe", key(field.value.text), field.value.span)
    else:
        yield from _quoted(field.value, known)


class _Known(NamedTuple):
    """The names that a page may mention: its own, its own tests, the recipes of the collection."""

    page: str
    tests: frozenset[str]
    recipes: Names


def _blocks_of(page: Page) -> frozenset[str]:
    return frozenset(
        key(block.head.name.text)
        for block in page.tree.blocks
        if isinstance(block.head, tree.Head) and block.head.name is not None
    )


def _named(page: Page, name: tree.Name, known: _Known) -> Iterator[Mention]:
    span = _inside(page, name)
    if name.kind:
        found = list(_of_recipe(name.text, span.start, known.recipes))
        yield from found or (Mention("recipe", key(name.text), span),)
        return
    material = page.catalogue.find(name.text)
    if material is None and key(name.text) in known.recipes:
        yield Mention("recipe", key(name.text), span, bare=not name.quoted)
    else:
        yield Mention("material", material.name if material else key(name.text), span, bare=not name.quoted)


def _of_recipe(text: str, start: int, recipes: Names) -> Iterator[Mention]:
    """The recipe of that name; or a recipe and, behind a comma, one of its tests: "Harbour Mist, storm". A name may
    hold commas itself, so that the longest that is known counts."""
    for end in (len(text), *(at for at in reversed(range(len(text))) if text[at] == ",")):
        name = key(text[:end])
        if name not in recipes:
            continue
        yield Mention("recipe", name, Span(start, start + len(text[:end].rstrip())))
        label = text[end + 1 :]
        at = start + end + 1 + len(label) - len(label.lstrip())
        label = label.strip()
        # A step or a point is called by its block, a blank, and its number or its shares.
        for block in (label, label.rpartition(" ")[0].rstrip()):
            if key(block) in recipes[name]:
                yield Mention("test", key(block), Span(at, at + len(block)), name)
                break
        return


def _inside(page: Page, name: tree.Name) -> Span:
    """A name without its kind, its quotes and the blanks inside them."""
    if not name.quoted:
        return name.span
    opened = page.text.index('"', name.span.start) + 1
    start = page.text.index(name.text, opened) if name.text else opened
    return Span(start, start + len(name.text))


def _quoted(text: tree.Text, known: _Known, whole: str | None = None) -> Iterator[Mention]:
    """Names in quotes within free text: of a recipe, of a test of one, or of a test of the page. ``whole``: the text
    that the span of ``text`` is cut from, where that has blanks in front."""
    start = text.span.start if whole is None else whole.index(text.text, text.span.start)
    for found in QUOTED.finditer(text.text):
        at = start + found.start(1)
        named = list(_of_recipe(found[1], at, known.recipes))
        yield from named
        if not named and key(found[1]) in known.tests:
            yield Mention("test", key(found[1]), Span(at, at + len(found[1])), known.page)


def names_of(pages: Iterable[Page]) -> Names:
    """The names of the recipes on some pages, with those of their tests."""
    found: dict[str, frozenset[str]] = {}
    for page in pages:
        if page.name:
            found[page.name] = found.get(page.name, frozenset()) | _blocks_of(page)
    return found


def meaning_at(page: Page, offset: int, recipes: Names) -> tuple[Meaning, Mention] | None:
    """What the name at an offset stands for."""
    for one in mentions(page, recipes):
        if one.span.start <= offset <= one.span.end:
            return Meaning(one.kind, one.name, one.of), one
    return None


class Found(NamedTuple):
    """A mention and the page that it stands on."""

    page: Page
    mention: Mention


def found(meaning: Meaning, page: Page, pages: Iterable[Page]) -> Iterator[Found]:
    """Where something is mentioned. ``page``: the one that asks; a test of a page without a name stands there alone."""
    every = [page] if meaning.kind == "test" and not meaning.of else list(pages)
    recipes = names_of(every)
    for one in every:
        here = [m for m in mentions(one, recipes) if (m.kind, m.name, m.of) == meaning]
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
        return
    own = [one for one in pages if meaning.of and one.name == meaning.of] or [page]
    if any(key(new) in _blocks_of(one) for one in own):
        raise RenameError(f"another test of this page is called '{new}'", "choose another name")
