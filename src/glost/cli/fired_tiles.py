"""Fired tiles with what was in them: out of the log, else out of the recipe's page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from math import lcm
from pathlib import Path

from glost.changes.meaning import told
from glost.changes.results import FiredTile, Source
from glost.changes.tile_formula import Made
from glost.recipe.fields import Quantity
from glost.recipe.firing import TestName, Tile
from glost.recipe.library import UseError, folded
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.recipe import Ingredient, Part, Recipe, Test, tests
from glost.records.record import Record
from glost.workspace.collection import Collections
from glost.workspace.firings import Read, batch_called
from glost.workspace.git.folders import Places
from glost.workspace.git.revisions import Commit
from glost.workspace.git.run import GitError
from glost.workspace.load import Usable, usable
from glost.workspace.runs.revisions import CHANGED_THAT_DAY, PastPages, used_files

_TOLD_FIELDS = ("cone", "atmosphere")


class FiredTiles:
    """Finds what was in each tile. Recipes and their revisions are read once."""

    def __init__(self, collections: Collections) -> None:
        self._collections = collections
        self._files: dict[tuple[Path | None, str], Path | None] = {}
        self._commits: dict[Path, tuple[PastPages | None, list[tuple[Commit, bool]]]] = {}
        self._pasts: dict[Path, PastPages] = {}
        self._recipes: dict[tuple[Path, str], Recipe | None] = {}
        self._earlier: dict[tuple[str, str], tuple[Path, str]] = {}

    def learn_earlier_names(self, path: Path) -> list[tuple[str, str]]:
        """The kinds and folded names that a page had in earlier commits. From now on a tile of such a name is one of
        this page, as long as no page has that name now."""
        recipe = self._recipe(path)
        if recipe is None:
            return []
        past, commits = self._history(path, recipe)
        found = []
        for commit, own in commits:
            then = self._then(past, path, commit) if own and past is not None else None
            key = (then.kind, folded(then.name)) if then is not None else None
            if key is not None and key != (recipe.kind, folded(recipe.name)) and key not in found:
                found.append(key)
        for key in found:
            self._earlier.setdefault(key, (path, recipe.name))
        return found

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
        record = batch_called(tile.batch, read.path, self._collections) if tile.batch else None
        catalogue = self._collections.of(read.path).catalogue
        kind = tile.test.kind if tile.test else "glaze"
        whole = tile.test.name if tile.test else ""
        if record is not None and not whole:
            whole = f"{record.recipe}, {record.test}" if record.test else record.recipe
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
        past, commits = self._history(path, now)
        until = [(commit, own) for commit, own in commits if commit.day <= day]
        if until and past is not None:
            recipe = self._then(past, path, until[-1][0])
            if recipe is not None:
                test = _test_labelled(recipe, label)
                revision = next(one.short for one, own in reversed(until) if own)
                if any(one.day == day for one, own in until if own):
                    revision += CHANGED_THAT_DAY
                uses = past.used_by(test, day) if test is not None else ()
                return "page then", revision, _of_test(test, catalogue) if test else None, uses
        test = _test_labelled(now, label) if now else None
        return "page now", "", _of_test(test, catalogue) if test else None, ()

    def _then(self, past: PastPages, path: Path, commit: Commit) -> Recipe | None:
        key = (path, commit.name)
        if key not in self._recipes:
            version = past.at(path, commit)
            found = version.found if version else None
            self._recipes[key] = found.recipe if isinstance(found, Usable) else None
        return self._recipes[key]

    def _recipe(self, path: Path) -> Recipe | None:
        key = (path, "")
        if key not in self._recipes:
            found = usable(path, self._collections)
            self._recipes[key] = found.recipe if isinstance(found, Usable) else None
        return self._recipes[key]

    def _history(
        self, path: Path, recipe: Recipe | None
    ) -> tuple[PastPages | None, list[tuple[Commit, bool]]]:
        """The commits of a page and of those that it uses now, the oldest first, and whether each touched the page."""
        if path not in self._commits:
            top, own = Places(self._collections.root_of).of(path)
            past, found = None, []
            if top is not None and own is None:
                past = self._pasts.setdefault(top, PastPages(top, self._collections))
                try:
                    found = past.commits(path, used_files(recipe))
                except GitError:
                    past = None
            self._commits[path] = (past, found)
        return self._commits[path]


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
