"""Recipes, tests and collections, read whole."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from pathlib import Path
from typing import NamedTuple, TypeAlias

from glost.api import pages
from glost.errors import GlostError
from glost.language.nearest import nearest
from glost.language.parse import parse as tree_of
from glost.language.source import Source
from glost.linter.finding import Finding
from glost.recipe import recipe as inner
from glost.recipe.fields import Value
from glost.recipe.labels import labels_of
from glost.recipe.materials.catalogue import Material, key, shipped_catalogue
from glost.recipe.resolve import resolve
from glost.workspace.collection import Collection as Alone
from glost.workspace.collection import Collections, PathNotFoundError, find
from glost.workspace.config import without_own
from glost.workspace.load import Entry, Gated, Usable, gate, usable, usable_text
from glost.workspace.paths import ENDING, SETTINGS, whole

PathLike: TypeAlias = "str | os.PathLike[str]"

__all__ = ["Amount", "Collection", "Material", "NotFoundError", "Recipe", "RecipeError", "Test"]


class RecipeError(GlostError):
    """A page that cannot be read whole, so that no recipe is made of it: nothing of a page is left out in silence.
    ``findings``: what is wrong, with file, line and column."""

    def __init__(self, file: str, findings: tuple[Finding, ...]) -> None:
        first = findings[0]
        super().__init__(f"{file}:{first.line}:{first.column}: {first.message}", first.hint)
        self.file = file
        self.findings = findings

    def __reduce__(self) -> tuple[object, ...]:
        return type(self), (self.file, self.findings)


class NotFoundError(GlostError, LookupError):
    """A file, folder, recipe, test or material of that name is not there."""


class Amount(NamedTuple):
    """One line of a recipe. ``name``: as the page writes it. ``material``: its name in the catalogue, None where it is
    not known there. ``parts``: exact, in the same parts as the base, which need not come to 100. ``note``: what
    stands behind it."""

    name: str
    material: str | None
    parts: Decimal
    note: str


@dataclass(frozen=True)
class Test:
    """One thing to weigh, mix and fire: the recipe as it stands, a variation, or a step of a series. ``label`` is ""
    for the recipe as it stands."""

    __test__ = False  # a name that pytest would otherwise collect

    recipe: Recipe = field(repr=False)
    name: str
    label: str
    base: tuple[Amount, ...]
    additions: tuple[Amount, ...]
    inner: inner.Test = field(repr=False, compare=False)
    """For glost alone."""

    def _repr_html_(self) -> str:
        return pages.test_page(self.inner)


@dataclass(frozen=True)
class Recipe:
    """One recipe of a page that was read whole. ``file``: the page as it is shown in messages. ``fields``: what the
    page says under its head, by key: texts, or values whose ``str`` is as the page writes them. ``handling``: pairs of
    the materials (as written) and what is to be done. ``tests``: the recipe as it stands first, then its variations and
    the steps of its series."""

    file: str
    kind: str
    name: str
    fields: Mapping[str, Value] = field(repr=False)
    handling: tuple[tuple[tuple[str, ...], str], ...] = field(repr=False)
    notes: str = field(repr=False)
    usable: Usable = field(repr=False, compare=False)
    """For glost alone: the page, and the collection that it belongs to."""

    @property
    def text(self) -> str:
        """The page as it is written."""
        return self.usable.page.source.text

    @cached_property
    def tests(self) -> tuple[Test, ...]:
        return tuple(_test(self, one) for one in inner.tests(self.usable.recipe))

    @property
    def base(self) -> tuple[Amount, ...]:
        """The base of the recipe as it stands."""
        return self.tests[0].base

    @property
    def additions(self) -> tuple[Amount, ...]:
        """The additions of the recipe as it stands."""
        return self.tests[0].additions

    def test(self, label: str) -> Test:
        """The test of that label, as ``glost batch --test`` takes it. Raises NotFoundError."""
        for one in self.tests:
            if labels_of(one.inner, [label]):
                return one
        names = [one.label or one.name for one in self.tests]
        raise NotFoundError(f"{self.name} has no test '{label}'", _meant(label, names))

    def _repr_html_(self) -> str:
        return pages.recipe_page(self.usable.recipe)


@dataclass(frozen=True)
class Collection:
    """The recipes below a folder. ``recipes``: those that can be read whole, by file. ``withheld``: the findings on
    those that cannot, by file. Iterates over the recipes; ``collection["Harbour Mist"]`` is the one of that name."""

    folder: Path
    recipes: tuple[Recipe, ...] = field(repr=False)
    withheld: Mapping[str, tuple[Finding, ...]] = field(repr=False)
    collections: Collections = field(repr=False, compare=False)
    """For glost alone."""

    def __iter__(self) -> Iterator[Recipe]:
        return iter(self.recipes)

    def __len__(self) -> int:
        return len(self.recipes)

    def __getitem__(self, name: str) -> Recipe:
        """The first recipe of that name; letter case does not matter. Raises NotFoundError, which is a LookupError."""
        for one in self.recipes:
            if key(one.name) == key(name):
                return one
        names = [one.name for one in self.recipes]
        raise NotFoundError(f"no recipe of this collection is called '{name}'", _meant(name, names))

    @property
    def materials(self) -> tuple[Material, ...]:
        """All materials that are known here: the catalogue of glost, and the collection's own."""
        return tuple(self.collections.of(self.folder / SETTINGS).catalogue)


def read(path: PathLike) -> Recipe:
    """The recipe in a file. The nearest glost.yaml above it says what holds for it, as on the command line. Raises
    NotFoundError; RecipeError for a page that cannot be read whole; ConfigError for settings that cannot be taken."""
    file = Path(path)
    if not os.path.lexists(file):
        raise NotFoundError(f"there is no file '{file}'")
    return made(usable(file, Collections()))


def parse(text: str, file: str = "text", folder: PathLike | None = None) -> Recipe:
    """The recipe in a text. ``file``: the name it has in messages. ``folder``: with whose glost.yaml it is read;
    without one, no glost.yaml holds. Raises RecipeError, ConfigError."""
    if folder is not None:
        return made(usable_text(file, text, Path(folder) / "text.glost", Collections()))
    alone = Alone(None, *without_own())
    resolved = resolve(tree_of(Source(file, text)), alone.catalogue)
    return made(gate(Entry(Path(file), file, resolved, alone)))


def collection(folder: PathLike) -> Collection:
    """All recipes below a folder. Raises NotFoundError, ConfigError."""
    at = Path(folder)
    met = Collections()
    recipes: list[Recipe] = []
    withheld: dict[str, tuple[Finding, ...]] = {}
    for path in paths([at], met):
        found = usable(path, met)
        if isinstance(found, Usable):
            recipes.append(made(found))
        else:
            withheld[found.file] = found.findings
    return Collection(at, tuple(recipes), withheld, met)


def material(name: str) -> Material:
    """A material of glost's catalogue by any of its names. Raises NotFoundError."""
    catalogue = shipped_catalogue()
    found = catalogue.find(name)
    if found is None:
        near = catalogue.nearest(name, 1)
        hint = f"did you mean '{near[0]}'?" if near else ""
        raise NotFoundError(f"the catalogue has no material '{name}'", hint)
    return found


def paths(given: list[Path], met: Collections, ending: str | tuple[str, ...] = ENDING) -> list[Path]:
    """The recipe files that paths mean. Raises NotFoundError, ConfigError."""
    try:
        return find([str(path) for path in given], met, ending)
    except PathNotFoundError as error:
        raise NotFoundError(error.message, error.hint) from None


def parted(
    path: PathLike | Sequence[PathLike],
    beside: PathLike | Sequence[PathLike],
    met: Collections,
    ending: str | tuple[str, ...] = ENDING,
) -> tuple[list[Path], list[Path]]:
    """The files that are meant, and those beside them that are not among these. Raises NotFoundError, ConfigError."""
    sides = ([one] if isinstance(one, (str, os.PathLike)) else list(one) for one in (path, beside))
    chosen, others = (paths([Path(one) for one in side], met, ending) for side in sides)
    known = {whole(one) for one in chosen}
    return chosen, [one for one in others if whole(one) not in known]


def made(found: Gated) -> Recipe:
    """What the gate let through, as a recipe. Raises RecipeError."""
    if not isinstance(found, Usable):
        raise RecipeError(found.file, found.findings)
    recipe = found.recipe
    handling = tuple((one.names, one.text) for one in recipe.handling)
    return Recipe(found.file, recipe.kind, recipe.name, dict(recipe.fields), handling, recipe.notes, found)


def test_of(given: Recipe | Test, label: str | None) -> Test:
    """The test that is meant. Raises NotFoundError."""
    if label is not None:
        recipe = given.recipe if isinstance(given, Test) else given
        return recipe.test(label)
    return given if isinstance(given, Test) else given.tests[0]


def _test(recipe: Recipe, one: inner.Test) -> Test:
    return Test(recipe, one.name, one.label, _amounts(one.base), _amounts(one.additions), one)


def _amounts(lines: tuple[inner.Part, ...]) -> tuple[Amount, ...]:
    return tuple(Amount(part.name, part.material, part.parts, part.note) for part in lines)


def _meant(name: str, names: list[str]) -> str:
    near = nearest(name, names, 1)
    return f"did you mean '{near[0]}'?" if near else ""
