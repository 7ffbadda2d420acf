"""A recipe of a collection, read whole; and the gate that every command goes through to make use of one."""

from __future__ import annotations

import functools
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from glost.language.parse import parse
from glost.language.source import DecodeError, Source, decode
from glost.language.tree import Page
from glost.linter.finding import ERROR, ORDER, Finding, mistakes, placed, unreadable
from glost.output.format import Attention, Job
from glost.recipe.analysed import AnalysedRecipe
from glost.recipe.recipe import Recipe
from glost.recipe.resolve import resolve
from glost.workspace.collection import Collection, Collections
from glost.workspace.files import read_bytes
from glost.workspace.paths import display

if TYPE_CHECKING:
    from glost.linter.rule import Rule


class Entry(NamedTuple):
    """A recipe of a collection as far as it could be read: its file as shown, what it means, and the collection's
    word. It is for what shows a page and tells what is missing there; to make use of a recipe, see Usable."""

    path: Path
    file: str
    resolved: AnalysedRecipe
    collection: Collection


class Usable(NamedTuple):
    """A recipe that may be converted, planned, calculated, compared or recorded: all that stands on its page went into
    it. Only the gate makes one."""

    path: Path
    file: str
    resolved: AnalysedRecipe
    collection: Collection

    @property
    def recipe(self) -> Recipe:
        """What is weighed, mixed and fired."""
        return self.resolved.recipe

    @property
    def page(self) -> Page:
        """How it is written."""
        return self.resolved.page


class Withheld(NamedTuple):
    """A page of which no use may be made, since something on it would be left out in silence, or since it cannot be
    read at all; the findings say what."""

    file: str
    findings: tuple[Finding, ...]


Gated: TypeAlias = "Usable | Withheld"


def load(path: Path, collections: Collections) -> Entry:
    """The recipe in a file, as far as it can be read. Raises DecodeError, ConfigError."""
    return load_text(display(path), decode(read_bytes(path)), path, collections)


def load_text(shown: str, text: str, path: Path, collections: Collections) -> Entry:
    """The recipe in a text that is shown under one name and belongs to the collection of ``path``."""
    collection = collections.of(path)
    resolved = resolve(parse(Source(shown, text)), collection.catalogue, collections.library(path))
    return Entry(path, shown, resolved, collection)


def usable(path: Path, collections: Collections) -> Gated:
    """The recipe in a file, where use may be made of it. Raises ConfigError."""
    shown = display(path)
    try:
        data = read_bytes(path)
    except DecodeError as error:
        return Withheld(shown, (unreadable(shown, error),))
    return usable_bytes(shown, data, path, collections)


def usable_text(shown: str, text: str, path: Path, collections: Collections) -> Gated:
    """The recipe in a text that is shown under one name and belongs to the collection of ``path``, where use may be
    made of it. Raises ConfigError."""
    return gate(load_text(shown, text, path, collections))


def usable_bytes(shown: str, data: bytes, path: Path, collections: Collections) -> Gated:
    """The recipe in the bytes of a page that is shown under one name and belongs to the collection of ``path``, where
    use may be made of it. Raises ConfigError."""
    try:
        text = decode(data)
    except DecodeError as error:
        return Withheld(shown, (unreadable(shown, error),))
    return usable_text(shown, text, path, collections)


def usable_alone(page: Page) -> Gated:
    """The recipe on a page, read as if it belonged to no collection, where use may be made of it."""
    from glost.workspace.config import without_own

    alone = Collection(None, *without_own())
    shown = page.source.path
    return gate(Entry(Path(shown), shown, resolve(page, alone.catalogue), alone))


def gate(entry: Entry) -> Gated:
    """The one place where it is decided whether use may be made of a recipe: nothing of its page is left out."""
    resolved = entry.resolved
    if resolved.complete:
        return Usable(*entry)
    return Withheld(entry.file, tuple(sorted(_left_out(entry), key=ORDER)))


def _left_out(entry: Entry) -> Iterator[Finding]:
    """What is not in the recipe, whatever the collection or a comment says of the rule that tells of it."""
    resolved = entry.resolved
    source = resolved.page.source
    yield from mistakes((*resolved.page.diagnostics, *resolved.diagnostics), source)
    if resolved.unknown_fields:
        from glost.linter.rule import Checked, find_rule

        rule = find_rule("unknown-field")
        assert rule.check is not None
        checked = Checked(resolved, entry.collection.catalogue, entry.collection.settings, Decimal(100))
        for diagnostic in rule.check(checked):
            yield placed(diagnostic, source, rule.name, ERROR)


def errors_of(usable: Usable, batch_g: Decimal | None = None) -> tuple[Attention, ...]:
    """What the rules find on a page at the level of an error, as the collection has the levels and as far as no comment
    allows it. ``batch_g``: the mass of the base that is asked for, in grams. What shows only where pages are held
    against each other is not among it."""
    from glost.linter.engine import LintContext, examine_resolved

    resolved, (_, settings, catalogue, _) = usable.resolved, usable.collection
    levels = tuple(settings.rules.items())
    context = LintContext(catalogue, settings, batch_g, _rules_that_err(levels))
    found = examine_resolved(resolved, context).findings
    return tuple(
        Attention(one.line, one.column, one.rule, one.message, one.hint)
        for one in found
        if one.level == ERROR
    )


@functools.lru_cache(maxsize=64)
def _rules_that_err(levels: tuple[tuple[str, str], ...]) -> tuple[Rule, ...]:
    """The rules that look at a page and find an error, where a collection has given some another level."""
    from glost.linter.rule import all_rules, level_of

    own = dict(levels)
    return tuple(rule for rule in all_rules() if rule.check and level_of(rule, own) == ERROR)


def job_of(usable: Usable, base_g: Decimal | None = None) -> Job:
    """The recipe with the settings and the catalogue that hold for it, and the errors on its page; its revision is not
    looked up. ``base_g``: the mass of the base that is asked for, which the errors are judged by."""
    return Job(
        file=usable.file,
        recipe=usable.recipe,
        settings=usable.collection.settings,
        catalogue=usable.collection.catalogue,
        collection=usable.collection.called,
        attention=errors_of(usable, base_g),
    )
