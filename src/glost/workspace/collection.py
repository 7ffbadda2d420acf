"""The collections that recipes belong to, and the recipe files that a path means. The nearest glost.yaml above a file
says what holds for it.

What a collection says is read late. Which folders it skips, and whether it still says what it said, is known from its
texts alone, so that a run over pages that are known already reads no settings and no catalogue.
"""

from __future__ import annotations

import functools
import os
import re
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final, NamedTuple

from glost.errors import GlostError
from glost.language.source import DecodeError
from glost.language.yaml_tree import ConfigError, every, together
from glost.workspace import cache
from glost.workspace.paths import ENDING, SETTINGS, display, seen_from_here, whole, whole_text
from glost.workspace.reading import DISK, Files, text_in

if TYPE_CHECKING:
    from glost.recipe.library import Library
    from glost.recipe.materials.catalogue import Catalogue
    from glost.recipe.settings import Settings


class Outline(NamedTuple):
    """A collection seen from outside: its folder, the folders in it that a walk passes over, and a digest of the
    texts that it consists of ("" where no glost.yaml holds)."""

    root: Path | None
    skip: tuple[str, ...] = ()
    says: str = ""


class Collection(NamedTuple):
    """The settings and materials that hold for the recipes below a folder; ``says`` as in its outline."""

    root: Path | None
    settings: Settings
    catalogue: Catalogue
    says: str = ""

    @property
    def outline(self) -> Outline:
        return Outline(self.root, self.settings.skip, self.says)

    @property
    def called(self) -> str:
        """What rows of data say of it: its name, else its folder as seen from the working folder; "" for recipes that
        belong to no collection."""
        if self.settings.name or self.root is None:
            return self.settings.name
        return seen_from_here(self.root)


class Collections:
    """The collections met in one run, each read once, where ``files`` are. Raises ConfigError for a settings or
    materials file that cannot be taken as it stands."""

    def __init__(self, files: Files = DISK) -> None:
        self.files = files
        self._roots: dict[Path, Path | None] = {}
        self._roots_by_text: dict[str, Path | None] = {}
        self._outlines: dict[Path | None, Outline] = {}
        self._read: dict[Path | None, Collection] = {}
        self._called: dict[Path | None, str] = {}
        self._libraries: dict[Path, Library] = {}
        self._ignored: dict[Path, frozenset[str]] = {}
        self._met: list[Path] = []

    def root_of(self, path: Path) -> Path | None:
        """The nearest folder above a file that holds a glost.yaml. It is asked some ten times for each file, and a
        folder holds many."""
        folder, _, name = str(path).rpartition(os.sep)
        if not folder or name == "..":  # right below the root of the disk, or here
            return self._root_above(path)
        if folder not in self._roots_by_text:
            self._roots_by_text[folder] = self._root_above(path)
        return self._roots_by_text[folder]

    def _root_above(self, path: Path) -> Path | None:
        folder = whole(path).parent
        met = []
        while folder not in self._roots:
            met.append(folder)
            if self.files.has(folder / SETTINGS):  # a link that leads nowhere is reported, not passed over
                self._roots[folder] = folder
            elif folder.parent == folder:
                self._roots[folder] = None
            else:
                folder = folder.parent
        for below in met:
            self._roots[below] = self._roots[folder]
        return self._roots[folder]

    def of(self, path: Path) -> Collection:
        """The collection that a file belongs to."""
        root = self.root_of(path)
        if root not in self._read:
            try:
                self._read[root] = _read(root, self.files)
            except ConfigError as error:
                raise self._with_others(error, root) from None
        return self._read[root]

    def called(self, collection: Collection) -> str:
        """What rows of data say of a collection, worked out once: to do it for each page takes a fiftieth of the time
        of a formula."""
        root = collection.root
        if root not in self._called:
            self._called[root] = collection.called
        return self._called[root]

    def meet(self, files: Iterable[Path]) -> None:
        """The files that a run is about: where the settings of one cannot be taken, those of the others are looked at
        too, so that whoever named several collections is told of all in one run."""
        self._met += files

    def _with_others(self, error: ConfigError, root: Path | None) -> ConfigError:
        """What is wrong in the settings of one collection, and in those of all others that the run is about."""
        roots = {one for one in map(self.root_of, self._met) if one is not None}
        return together([error, *self.refused(roots - {root})]) if root in roots else error

    def refused(self, roots: Iterable[Path]) -> list[ConfigError]:
        """What is wrong in the settings of some collections."""
        found = []
        for root in sorted(roots):
            try:
                self._read[root] = self._read.get(root) or _read(root, self.files)
            except ConfigError as error:
                found.append(error)
        return found

    def library(self, path: Path) -> Library:
        """The recipes that a page may use: those of its collection, else those in its folder and below."""
        folder = self.root_of(path) or whole(path).parent
        if folder not in self._libraries:
            from glost.workspace.library import library_of

            self._libraries[folder] = library_of(folder, self.of(path).catalogue, self)
        return self._libraries[folder]

    def outline(self, path: Path) -> Outline:
        """The outline of the collection that a file belongs to."""
        root = self.root_of(path)
        if root not in self._outlines:
            known = _known_outline(root, self.files) if root is not None else Outline(None)
            self._outlines[root] = self.of(path).outline if known is None else known
        return self._outlines[root]

    def skipped(self, folder: Path) -> bool:
        """Whether the collection that this folder, or file, lies in leaves it out of a walk that began above it."""
        root, skip, _ = self.outline(folder)
        return root is not None and bool(skip) and skips(skip, root, whole(folder))

    def skips_in(self, folder: Path) -> bool:
        """Whether the collection that the files of a folder belong to skips anything. One that cannot be read is told
        of where a page of it is looked at, so that it hides no other."""
        try:
            return bool(self.outline(folder / SETTINGS).skip)
        except ConfigError:
            return False

    def ignored(self, folder: Path) -> frozenset[str]:
        """What a walk through a folder passes over since git is told to; a folder itself where all of it is."""
        if self.files is not DISK:  # what a revision holds, git does not pass over
            return frozenset()
        if folder not in self._ignored:
            from glost.workspace.git.ignored import ignored_below

            self._ignored[folder] = ignored_below(folder)
        return self._ignored[folder]

    def left_out(self, path: Path) -> str:
        """What would leave a file or folder out of a walk that began above it, in a few words; "" for nothing. git is
        not asked about a single file: an editor and a hook name many, and asking costs as much as the look at it."""
        root = self.root_of(path)
        at = whole(path)
        while root is not None and at != root:
            if self.skipped(at):
                return f"skip in {display((self.root_of(at) or root) / SETTINGS)}"
            at = at.parent
        ignored = self.ignored(path) if self.files.kind(path) == "folder" else frozenset()
        return "what git is told to ignore" if str(path) in ignored else ""


def _read(root: Path | None, files: Files) -> Collection:
    from glost.workspace.config import read_own, without_own

    return Collection(root, *(read_own(root, files) if root is not None else without_own()))


def _known_outline(root: Path, files: Files) -> Outline | None:
    """The outline of a collection whose settings were read and found good before, None for any other."""
    if files.leads_out(root, SETTINGS):
        return None
    try:
        text = text_in(files, root / SETTINGS)
        kept = cache.find("outline", text)
        if kept is None:
            return None
        named, skip = kept["materials"], tuple(map(str, kept["skip"]))
        if named is None:
            return Outline(root, skip, cache.digest(text))
        if not files.lies_within(root, named):
            return None
        materials = text_in(files, root / named)
        if cache.digest(materials) != kept["own"]:  # another text is first to be found good
            return None
        return Outline(root, skip, cache.digest(text, materials))
    except (DecodeError, KeyError, TypeError):
        return None


class PathNotFoundError(GlostError):
    """A path given on the command line is not there, or cannot be looked at; ``why`` is what the system says of
    it, where that is more than that it is not there."""

    def __init__(self, path: str, why: str = "") -> None:
        super().__init__(f"there is no file or folder '{path}'")
        self.path = path
        self.why = why


def find(
    paths: Sequence[str],
    collections: Collections,
    ending: str | tuple[str, ...] = ENDING,
    asked: bool = True,
) -> list[Path]:
    """The recipe files meant by ``paths``, or those of another ending, sorted, each once. A folder means every such
    file below it but for what is hidden, what its collection skips and what git is told to ignore; a file is taken
    whatever it is called. A link to a folder is not followed, so that no link leads out. ``asked``: the run is about
    them, so that what is wrong in the settings of any is told with that of the others. Raises PathNotFoundError, and
    ConfigError for a folder that cannot be looked into."""
    found: dict[str, Path] = {}
    for text in paths:
        path = Path(text)
        try:
            kind = collections.files.kind(path)
        except OSError as error:
            raise PathNotFoundError(text, error.strerror or "") from None
        if not kind:
            raise PathNotFoundError(text)
        try:
            for file in _below(path, collections, ending) if kind == "folder" else [path]:
                found.setdefault(whole_text(file), file)
        except ConfigError as error:
            raise _with_those_below(error, paths, collections) from None
    if asked:
        collections.meet(found.values())
    # In the order of their parts, which no path is taken apart for: it would hold its parts ever after.
    return sorted(found.values(), key=lambda file: os.path.normcase(str(file)).replace(os.sep, "\0"))


def _with_those_below(error: ConfigError, paths: Sequence[str], collections: Collections) -> ConfigError:
    """What is wrong in the settings of a collection that hinder a walk, and in all settings that it would meet."""
    roots: set[Path] = set()
    for path in map(Path, paths):
        if collections.files.kind(path) == "folder":
            for at, folders, files in collections.files.walk(path):
                folders[:] = [name for name in folders if not name.startswith(".")]
                roots |= {whole(at)} if SETTINGS in files else set()
    told = {one.source.path for one in every(error)}
    return together([error, *(one for one in collections.refused(roots) if one.source.path not in told)])


def _below(folder: Path, collections: Collections, ending: str | tuple[str, ...]) -> Iterator[Path]:
    # Of a folder that was named all the same, git says nothing more.
    ignored = collections.ignored(folder) - {str(folder)}
    for at, folders, files in collections.files.walk(folder):
        folders[:] = sorted(
            name
            for name in folders
            if not name.startswith(".")
            and not (ignored and str(at / name) in ignored)
            and not collections.skipped(at / name)
        )
        pages = sorted(name for name in files if name.endswith(ending) and not name.startswith("."))
        skips = bool(pages) and collections.skips_in(at)
        for name in pages:
            file = at / name
            if not (ignored and str(file) in ignored) and not (skips and collections.skipped(file)):
                yield file


def skips(skip: tuple[str, ...], root: Path, path: Path) -> bool:
    """Whether the key skip of a collection means this folder, or file, below its root."""
    inner = os.path.relpath(path, root).replace(os.sep, "/")
    return any(pattern.fullmatch(inner) for pattern in _patterns(skip))


@functools.cache
def _patterns(skip: tuple[str, ...]) -> tuple[re.Pattern[str], ...]:
    return tuple(re.compile(_SIGNS.sub(_meant, re.escape(word))) for word in skip)


_SIGNS: Final = re.compile(r"\\\*\\\*/|\\\*|\\\?")
"""What stands for something else in the name of a folder or file, as re.escape() has it."""


def _meant(sign: re.Match[str]) -> str:
    return {r"\*": "[^/]*", r"\?": "[^/]"}.get(sign[0], "(?:[^/]+/)*")
