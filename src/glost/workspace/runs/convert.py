"""Converts many recipes, on every core where that pays; it writes no file."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Generic, NamedTuple, TypeVar

from glost.linter.finding import Finding
from glost.output.format import Attention, Format, Job, Output
from glost.recipe.points import Points
from glost.recipe.recipe import Recipe
from glost.workspace.collection import Collections
from glost.workspace.git.asked_revisions import Revisions
from glost.workspace.load import Usable, Withheld, errors_of, usable, usable_bytes
from glost.workspace.manifest import digest
from glost.workspace.page_cache import CollectionCache, PageCache, content_of
from glost.workspace.paths import STANDARD_INPUT, display
from glost.workspace.runs.processes import each

Product = TypeVar("Product")

_WORTH_SHARING = 40
"""Recipes from which on more processes pay: a sheet takes several times as long as a check."""


class Made(NamedTuple, Generic[Product]):
    """What became of one file, by its name as it is shown. ``product`` None: nothing, since it cannot be read whole,
    which ``findings`` tells, or cannot be written in that form, for which ``failed`` says why."""

    file: str
    product: Product | None = None
    findings: tuple[Finding, ...] = ()
    failed: str = ""
    content: str = ""
    """A digest of the page that it was made from, and of what else it depends on that others do not share."""


class Whole(NamedTuple):
    """A recipe that may be converted, its file as it is shown, and the errors that its forms for the bench have to
    say."""

    file: str
    recipe: Recipe
    attention: tuple[Attention, ...]


class Converter:
    """Converts recipes one by one to one form, with the collections and the revisions of all of them."""

    def __init__(
        self,
        form: Format,
        batch_g: Decimal | None,
        paths: Sequence[Path],
        collections: Collections,
        given: bytes | None = None,
        labels: tuple[str, ...] = (),
        points: Points | None = None,
    ) -> None:
        """``batch_g``, ``labels`` and ``points`` as for a Job. ``given``: what standard input held, where
        that is the recipe and its path only says which collection is meant. Raises ConfigError."""
        self.form = form
        self.paths = paths
        self.collections = collections
        self._batch_g = batch_g
        self._given = given
        self._labels = labels
        self._points = points
        for path in paths:  # read here once, so that all are known to hold before anything is written
            collections.of(path)
        self._kept = CollectionCache(
            "converted", form.name, str(batch_g), points.text if points else "", *labels
        )
        asked = paths if given is None and form.tells_revision else ()
        self._revisions = Revisions(asked, collections.root_of)

    @property
    def from_files(self) -> bool:
        """Whether the recipes are files, and not what standard input held."""
        return self._given is None

    def not_known(self) -> dict[str, int]:
        """Why git does not say which revision a recipe is, and of how many."""
        return self._revisions.not_known()

    def recipes(self, workers: int | None = None) -> Iterator[Made[Whole]]:
        """The recipe of every file, in order; ``workers`` as for ``cores.each``. Raises WorkerLostError."""
        return each(self.read, self.paths, workers, _WORTH_SHARING)

    def texts(self, paths: Sequence[Path], workers: int | None = None) -> Iterator[Made[Output]]:
        """Each of those recipes in the form by itself, in order; ``workers`` as for ``cores.each``. Raises
        WorkerLostError."""
        return each(self.convert, paths, workers, _WORTH_SHARING)

    def stands(self, path: Path, target: Path) -> bool:
        """Whether a file holds what the recipe would be written to, as is known from an earlier run."""
        try:
            written = self._known(path).find(path, *self._besides(path, self._shown(path)))
            # Reading a pipe would wait for somebody to write into it.
            return written is not None and target.is_file() and written == digest(target.read_bytes())
        except OSError:
            return False

    def keep(self, path: Path, content: str, written: str) -> None:
        """Lets later runs know the digest of what the recipe with that content was written to."""
        if self._given is None and content:
            self._known(path).keep(path, content, written)

    def save(self) -> None:
        """Puts what keep() was told where later runs find it."""
        self._kept.save()

    def _known(self, path: Path) -> PageCache:
        root, _, _, says = self.collections.of(path)
        return self._kept.of(root, says)

    def _besides(self, path: Path, shown: str) -> tuple[str, str]:
        return shown, str(self._revisions.found(path))

    def read(self, path: Path) -> Made[Whole]:
        """The recipe of one file."""
        return self._made(path, lambda whole: whole)

    def convert(self, path: Path) -> Made[Output]:
        """The recipe of one file, in the form."""
        return self._made(path, lambda whole: self.form.write([self.job(path, whole)]))

    def job(self, path: Path, whole: Whole) -> Job:
        """A recipe with all that writing it needs."""
        collection = self.collections.of(path)
        return Job(
            file=whole.file,
            recipe=whole.recipe,
            settings=collection.settings,
            catalogue=collection.catalogue,
            collection=self.collections.called(collection),
            batch_g=self._batch_g,
            revision=self._revisions.of(path),
            used=self._revisions.used(whole.recipe) if self.form.tells_revision else {},
            attention=whole.attention,
            labels=self._labels,
            points=self._points,
        )

    def _made(self, path: Path, make: Callable[[Whole], Product]) -> Made[Product]:
        found = self._found(path)
        if isinstance(found, Withheld):
            return Made(found.file, findings=found.findings)
        errors = errors_of(found, self._batch_g) if self.form.tells_errors else ()
        whole = Whole(found.file, found.recipe, errors)
        # What comes of a page that uses others may change while the page does not.
        besides = self._besides(path, found.file)
        content = "" if found.recipe.uses else content_of(found.page.source.text, *besides)
        try:
            return Made(found.file, make(whole), content=content)
        except ValueError as error:
            return Made(found.file, failed=str(error))

    def _found(self, path: Path) -> Usable | Withheld:
        if self._given is not None:
            return usable_bytes(STANDARD_INPUT, self._given, path, self.collections)
        return usable(path, self.collections)

    def _shown(self, path: Path) -> str:
        return STANDARD_INPUT if self._given is not None else display(path)
