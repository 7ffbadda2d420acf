"""Fired tiles with what was in them: out of the log, else out of the recipe's page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from math import lcm
from pathlib import Path
from typing import Final

from glost.changes.meaning import Told, told
from glost.changes.results import FiredTile, Source
from glost.changes.tile_formula import Made
from glost.cli.lineage import MEANINGS, Version
from glost.recipe.fields import Quantity
from glost.recipe.firing import TestName, Tile
from glost.recipe.library import UseError
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.names import folded
from glost.recipe.recipe import Ingredient, Part, Recipe, Test, tests
from glost.records.record import Record
from glost.workspace.collection import Collections
from glost.workspace.firings import Read, batch_called
from glost.workspace.git.folders import Places
from glost.workspace.git.lineage import once_said
from glost.workspace.git.run import HEAD, GitError, commit_of
from glost.workspace.load import Usable, usable
from glost.workspace.paths import ENDING
from glost.workspace.runs.lineage import Lineage

_TOLD_FIELDS = ("cone", "atmosphere")


class FiredTiles:
    """Finds what was in each tile. Recipes and their revisions are read once."""

    def __init__(self, collections: Collections) -> None:
        self._collections = collections
        self._files: dict[tuple[Path | None, str], Path | None] = {}
        self._walks: dict[Path, tuple[Lineage[Told], str | None]] = {}
        self._pasts: dict[Path, list[Version]] = {}
        self._recipes: dict[Path, Recipe | None] = {}
        self._earlier: dict[tuple[str, str], tuple[Path, str]] = {}

    def learn_earlier_names(self, path: Path) -> list[tuple[str, str]]:
        """The kinds and folded names that a page had in earlier commits. From now on a tile of such a name is one of
        this page, as long as no page has that name now."""
        recipe = self._recipe(path)
        if recipe is None:
            return []
        found = []
        for version in self._history(path):
            then = _recipe_of(version) if not version.around else None
            key = (then.kind, folded(then.name)) if then is not None else None
            if key is not None and key != (recipe.kind, folded(recipe.name)) and key not in found:
                found.append(key)
        for key in found:
            self._earlier.setdefault(key, (path, recipe.name))
        return found

    def learn_names_of(self, firings: Iterable[Read]) -> None:
        """The same for every page that once had a name which stands in these firings and which no page has now. git is
        asked once for all of them. Raises ConfigError."""
        unknown: dict[Path, dict[str, None]] = {}
        places = Places(self._collections.root_of)
        for read in firings:
            for tile in read.firing.tiles:
                kind, whole, _ = self._named(read, tile)
                if whole and self._page_of(read, kind, whole) is None:
                    top, own = places.of(read.path)
                    if top is not None and own is None:
                        unknown.setdefault(top, {})[whole.partition(",")[0].strip()] = None
        for top, names in unknown.items():
            for path in self._pages_once_called(top, list(filter(None, names))):
                self.learn_earlier_names(path)

    def _pages_once_called(self, top: Path, names: Sequence[str]) -> list[Path]:
        try:
            walk, start = self._walk(top)
            if start is None:
                return []
            once = dict.fromkeys(path for _, path in once_said(top, start, names, ENDING))
            now = dict.fromkeys(filter(None, (walk.ended_as(start, path) for path in once)))
        except GitError:
            return []
        return [top / path for path in now if (top / path).is_file()]

    def of(
        self, firings: Iterable[Read], names: Sequence[tuple[str, str]] | None = None
    ) -> Iterator[FiredTile]:
        """The tiles of these firings, in their order; with ``names``, kinds and folded names of recipes, at least those
        of their tests. Raises ConfigError."""
        for read in firings:
            for tile in read.firing.tiles:
                if names is None or tile.test is None or _may_be_of(tile.test, names):
                    yield self._fired(read, tile)

    def _fired(self, read: Read, tile: Tile) -> FiredTile:
        kind, whole, record = self._named(read, tile)
        catalogue = self._collections.of(read.path).catalogue
        path = self._page_of(read, kind, whole) if whole else None
        if path is None:
            path, whole = self._renamed(kind, whole)
        recipe = self._recipe(path) if path is not None else None
        name, label = _parted(whole, recipe, record)
        source: Source = "not known"
        revision = ""
        uses: tuple[str, ...] = ()
        made: Made | None = None
        if record is not None:
            tolerance = self._collections.of(read.path).settings.weighing_tolerance
            source, made = "weighed", _of_record(record, kind, name, catalogue, tolerance)
            uses = tuple(one.told for one in record.uses)
            if record.revision is not None:
                revision = record.revision.text + (", changed since" if record.revision.changed else "")
        elif path is not None:
            source, revision, made, uses = self._of_page(path, read.firing.date, label, catalogue)
        return FiredTile(
            read.file,
            read.firing,
            tile,
            kind,
            name or tile.batch,
            label,
            revision,
            source,
            record.person if record else "",
            tuple(line.lot for line in record.lines if line.lot) if record else (),
            told(made.recipe, made.catalogue) if made is not None else None,
            uses,
            made,
        )

    def _named(self, read: Read, tile: Tile) -> tuple[str, str, Record | None]:
        """The kind and the name of what a tile is of, and the record of its batch."""
        record = batch_called(tile.batch, read.path, self._collections) if tile.batch else None
        whole = tile.test.name if tile.test else ""
        if record is not None and not whole:
            whole = f"{record.recipe}, {record.test}" if record.test else record.recipe
        return tile.test.kind if tile.test else "glaze", whole, record

    def _page_of(self, read: Read, kind: str, name: str) -> Path | None:
        key = (self._collections.root_of(read.path), f"{kind} {folded(name)}")
        if key not in self._files:
            try:
                used = self._collections.library(read.path).find(kind, name, read.page)
                self._files[key] = Path(used.file)
            except UseError:
                self._files[key] = None
        return self._files[key]

    def _renamed(self, kind: str, whole: str) -> tuple[Path | None, str]:
        """The page that had this name earlier, and the test by its name now."""
        for (of_kind, old), (path, new) in self._earlier.items():
            if kind == of_kind and _is_called(whole, old):
                return path, new + folded(whole)[len(old) :]
        return None, whole

    def _of_page(
        self, path: Path, day: str, label: str, catalogue: Catalogue
    ) -> tuple[Source, str, Made | None, tuple[str, ...]]:
        """What the page said by that day, and the recipes that it uses."""
        now = self._recipe(path)
        until = [version for version in self._history(path) if version.commit and version.commit.day <= day]
        recipe = _recipe_of(until[-1]) if until else None
        if recipe is not None:
            test = _test_labelled(recipe, label)
            own = [version.commit for version in until if version.commit and not version.around]
            revision = own[-1].short
            if any(commit.day == day for commit in own):
                revision += CHANGED_THAT_DAY
            uses = self._used_by(path, test, day) if test is not None else ()
            return "page then", revision, _of_test(test, catalogue) if test else None, uses
        test = _test_labelled(now, label) if now else None
        return "page now", "", _of_test(test, catalogue) if test else None, ()

    def _used_by(self, path: Path, test: Test, day: str) -> tuple[str, ...]:
        """The recipes that a test of a commit was made of, each with its revision by that day."""
        top, _ = Places(self._collections.root_of).of(path)
        told = []
        for written, shown in test.pages:
            _, _, inner = shown.partition(":")
            try:
                walk, start = self._walk(top) if top is not None else (None, None)
                versions = walk.of(start, inner) if walk is not None and start is not None else []
            except GitError:
                versions = []
            days = [one.commit for one in versions if one.commit is not None and one.commit.day <= day]
            at = f" at {days[0].short}" if days else ""
            told.append(f"{written}{at}{CHANGED_THAT_DAY if days and days[0].day == day else ''}")
        return tuple(told)

    def _recipe(self, path: Path) -> Recipe | None:
        if path not in self._recipes:
            found = usable(path, self._collections)
            self._recipes[path] = found.recipe if isinstance(found, Usable) else None
        return self._recipes[path]

    def _walk(self, top: Path) -> tuple[Lineage[Told], str | None]:
        """Raises GitError."""
        if top not in self._walks:
            self._walks[top] = Lineage(top, MEANINGS, mainline=True), commit_of(top, HEAD)
        return self._walks[top]

    def _history(self, path: Path) -> list[Version]:
        """The versions of a page on the main line, the oldest first, and where it has recipes among its ingredients the
        commits of these."""
        if path not in self._pasts:
            top, own = Places(self._collections.root_of).of(path)
            found: list[Version] = []
            if top is not None and own is None:
                recipe = self._recipe(path)
                try:
                    walk, start = self._walk(top)
                    if start is not None:
                        found = walk.of_file(path, start, self._collections)
                        if recipe is not None and recipe.uses:
                            found = walk.with_around(start, found, settings=False)
                except GitError:
                    found = []
            self._pasts[path] = found[::-1]
        return self._pasts[path]


def _recipe_of(version: Version) -> Recipe | None:
    try:
        return version.found.recipe if isinstance(version.found, Usable) else None
    except GitError:
        return None


CHANGED_THAT_DAY: Final = ", changed that very day"


def _may_be_of(test: TestName, names: Sequence[tuple[str, str]]) -> bool:
    return any(test.kind == kind and _is_called(test.name, name) for kind, name in names)


def _is_called(test: str, name: str) -> bool:
    """Whether a test may be one of the recipe of that folded name."""
    called = folded(test)
    return called == name or called.startswith(f"{name},")


def _parted(whole: str, recipe: Recipe | None, record: Record | None) -> tuple[str, str]:
    """The recipe's name and the label of its test; a name is never cut at a comma that is its own."""
    if recipe is not None:
        test = _test_called(recipe, whole)
        return recipe.name, test.label if test is not None else whole[len(recipe.name) :].lstrip(", ")
    if record is not None:
        return record.recipe, record.test
    return whole, ""


def _test_called(recipe: Recipe, name: str) -> Test | None:
    return next((test for test in tests(recipe) if folded(test.name) == folded(name)), None)


def _test_labelled(recipe: Recipe, label: str) -> Test | None:
    """By its label alone: the recipe may have had another name then."""
    return next((test for test in tests(recipe) if folded(test.label) == folded(label)), None)


def _of_test(test: Test, catalogue: Catalogue) -> Made:
    """A test in raw materials, in whole numbers, since parts may not end in figures."""
    fields = {key: value for key, value in test.recipe.fields.items() if key in _TOLD_FIELDS}
    whole = lcm(*(part.exact.denominator for part in (*test.base, *test.additions)))

    def lines(parts: Iterable[Part]) -> tuple[Ingredient, ...]:
        return tuple(
            Ingredient(part.name, part.material, Quantity(Decimal(int(part.exact * whole)), ""))
            for part in parts
        )

    return Made(
        Recipe(test.recipe.kind, test.recipe.name, fields, lines(test.base), lines(test.additions)), catalogue
    )


def _of_record(record: Record, kind: str, name: str, catalogue: Catalogue, tolerance: Decimal) -> Made:
    """What was weighed: the targets, and where a mass lies off by more than the studio lets pass, that mass."""
    halves: dict[str, Decimal] = {}

    def lines(base: bool) -> tuple[Ingredient, ...]:
        found = []
        for line in record.lines:
            material = catalogue.find(line.material)
            if line.base == base:
                mass = line.target_g
                if line.actual_g is not None and abs(line.actual_g - mass) > mass * tolerance:
                    mass = line.actual_g
                called = line.name or line.material
                halves[called] = halves.get(called, Decimal(0)) + _half(mass)
                found.append(Ingredient(called, material.name if material else None, Quantity(mass, "g")))
        return tuple(found)

    return Made(Recipe(kind, name, {}, lines(True), lines(False)), catalogue, halves)


def _half(mass: Decimal) -> Decimal:
    """Half of the last figure that a mass was written with."""
    exponent = mass.as_tuple().exponent
    assert isinstance(exponent, int)
    return Decimal(5).scaleb(exponent - 1)
