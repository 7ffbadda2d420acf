"""A recipe as the revisions of its file have it, read with the materials of its collection as they are now, and the
recipes that it uses as they were then."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final, NamedTuple

from glost.language.parse import parse
from glost.language.source import DecodeError, Source, decode
from glost.recipe.library import Finder, uses_others
from glost.recipe.recipe import Recipe, Test
from glost.recipe.resolve import resolve
from glost.workspace.collection import Collections
from glost.workspace.files import read_text
from glost.workspace.git.revisions import Commit, commits_of, content_at, first_parents
from glost.workspace.git.snapshot import snapshot_of
from glost.workspace.library import library_of
from glost.workspace.load import Entry, Gated, gate, usable_bytes
from glost.workspace.paths import display, whole


class Version(NamedTuple):
    """What a file held: in a commit, or, where that is None, as it lies in its folder. ``called`` is what it is shown
    as, ``data`` its bytes, ``found`` the recipe, if use may be made of it."""

    commit: Commit | None
    called: str
    data: bytes
    found: Gated


class PastPages:
    """Pages as the commits of a repository have them. Contents that many commits share are read once."""

    def __init__(self, top: Path, collections: Collections) -> None:
        self._top = top
        self._collections = collections
        self._contents: dict[str, bytes | int] = {}
        self._finders: dict[tuple[Path, str], Finder] = {}
        self._order: Mapping[str, int] = {}
        self._touched: dict[Path, list[Commit]] = {}

    def at(self, path: Path, commit: Commit) -> Version | None:
        """The file as that commit has it, None where it takes the file away. Raises GitError, ConfigError."""
        data = content_at(self._top, commit)
        if data is None:
            return None
        called = f"{commit.short}:{commit.path}"
        if not uses_others(data.decode("utf-8", "replace")):
            return Version(commit, called, data, usable_bytes(called, data, path, self._collections))
        try:
            source = Source(called, decode(data))
        except DecodeError:
            return Version(commit, called, data, usable_bytes(called, data, path, self._collections))
        collection = self._collections.of(path)
        resolved = resolve(parse(source), collection.catalogue, self._finder(path, commit))
        return Version(commit, called, data, gate(Entry(path, called, resolved, collection)))

    def _finder(self, path: Path, commit: Commit) -> Finder:
        """What knows the recipes of the page's collection as that commit has them."""
        folder = self._collections.root_of(path) or whole(path).parent
        if (folder, commit.name) not in self._finders:
            then = snapshot_of(self._top, commit.name, commit.short, self._contents)
            catalogue = self._collections.of(path).catalogue
            self._finders[folder, commit.name] = library_of(folder, catalogue, Collections(then))
        return self._finders[folder, commit.name]

    def commits(self, path: Path, used: Sequence[Path]) -> list[tuple[Commit, bool]]:
        """The commits that touched a file or one of those that it uses, the oldest first, each with the path of the
        file then, and whether it touched the file itself. Raises GitError."""
        own = {commit.name: commit for commit in self._touching(path)}
        others = {commit.name: commit for one in used for commit in self._touching(one)}
        if not others.keys() - own.keys():
            return [(commit, True) for commit in own.values()]
        self._order = self._order or first_parents(self._top)
        path_then = ""
        found = []
        for name in sorted((own | others).keys() & self._order.keys(), key=self._order.__getitem__):
            path_then = own[name].path if name in own else path_then
            if path_then:
                found.append(((own.get(name) or others[name])._replace(path=path_then), name in own))
        return found

    def used_by(self, test: Test, day: str) -> tuple[str, ...]:
        """The recipes that a test of a commit was made of, each with its revision by that day. Raises GitError."""
        told = []
        for written, shown in test.pages:
            _, _, inner = shown.partition(":")
            until = [commit for commit in self._touching(self._top / inner) if commit.day <= day]
            at = f" at {until[-1].short}" if until else ""
            told.append(f"{written}{at}{CHANGED_THAT_DAY if until and until[-1].day == day else ''}")
        return tuple(told)

    def _touching(self, path: Path) -> list[Commit]:
        if path not in self._touched:
            self._touched[path] = commits_of(path, self._top)
        return self._touched[path]


CHANGED_THAT_DAY: Final = ", changed that very day"


def used_files(recipe: Recipe | None) -> list[Path]:
    """The pages that a recipe of the working folder uses."""
    if recipe is None:
        return []
    return [
        Path(file) for file in dict.fromkeys(file for one in recipe.uses.values() for _, file in one.pages)
    ]


def version_now(path: Path, collections: Collections) -> Version | None:
    """The file as it lies in its folder, None where it is not there or is no text. Raises ConfigError."""
    try:
        data = read_text(path).encode("utf-8")
    except DecodeError:
        return None
    called = display(path)
    return Version(None, called, data, usable_bytes(called, data, path, collections))
