"""A recipe through its commits: under whatever name its file had, by what the page means."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from pathlib import Path, PurePosixPath
from typing import Final

import click

from glost.changes.judgement import told_of
from glost.changes.meaning import Fact, Place, Told
from glost.changes.pairs import Page, are_alike, paired
from glost.language.source import DecodeError
from glost.linter.reporters import plain
from glost.workspace.collection import Collections
from glost.workspace.files import read_text
from glost.workspace.git.folders import Places, top_of
from glost.workspace.git.lineage import Moved, Touched, content_of, copied_from, moved, newest_first, touched
from glost.workspace.git.revisions import changes_since
from glost.workspace.git.run import commit_of
from glost.workspace.git.snapshot import contents, snapshot_of
from glost.workspace.load import Usable, Withheld, usable_bytes
from glost.workspace.paths import display

_MOST_MOVED: Final = 2_000
"""Pages that one commit moved at most, for each to be read; beyond that, a path is what a recipe is known by."""


@dataclass(eq=False)
class Version:
    """A recipe as a commit has it, or as it lies in its folder, where ``commit`` is None. ``before``: the versions that
    it was made from. ``renamed_from``, ``renamed_to``: the path of its file before or after; ``copied_from``: that of
    another recipe, which goes on."""

    commit: Touched | None
    path: str
    read: Callable[[], Usable | Withheld | None] = field(repr=False)
    before: list[Version] = field(default_factory=list)
    renamed_from: str = ""
    renamed_to: str = ""
    copied_from: str = ""

    @property
    def called(self) -> str:
        return f"{self.commit.short}:{self.path}" if self.commit else self.path

    @property
    def gone(self) -> bool:
        """Whether the commit takes the recipe away."""
        return self.commit is not None and self.commit.blob is None

    @property
    def moves(self) -> tuple[str, ...]:
        """Where the file came from, or went, in words."""
        went = "moved away" if self.renamed_to else "taken out"
        said = (
            ("renamed from", self.renamed_from),
            ("copied from", self.copied_from),
            (went, "here" if self.gone and not self.renamed_to else ""),
            ("renamed to", self.renamed_to),
        )
        return tuple(f"{words} {what}" for words, what in said if what)

    @cached_property
    def found(self) -> Usable | Withheld | None:
        """The page, read with the settings and materials of that commit; None where it is gone. Raises GitError,
        ConfigError."""
        return self.read()

    @cached_property
    def told(self) -> Told | None:
        """Raises GitError, ConfigError."""
        return told_of(self.found) if isinstance(self.found, Usable) else None

    def told_before(self) -> Iterator[Told]:
        """What the nearest versions before this one say, as far as they can be read. Raises GitError, ConfigError."""
        for one in self.before:
            if one.told is not None:
                yield one.told
            else:
                yield from one.told_before()


def versions_of(named: Path, collections: Collections, used: bool = False) -> tuple[Path, list[Version]]:
    """A recipe, or REV:PATH, as the path of its file and its versions, the newest first; the first is the file as it
    lies in its folder, where that is not what was committed last. ``used``: also the commits that changed only what a
    recipe among its ingredients brings. Raises UsageError, GitError, ConfigError."""
    path, start = _meant(named)
    shown = plain.visible(str(named))
    top, own = Places(collections.root_of).of(path)
    if own is not None:
        raise click.UsageError(
            f"'{shown}' lies in {plain.visible(display(own))}, a repository of its own, which is not asked about a "
            "collection that begins outside of it."
        )
    if top is None:
        raise click.UsageError(f"'{shown}' lies in no git repository, so that it has no history.")
    folder = os.path.realpath(path.absolute().parent)
    inner = os.path.relpath(os.path.join(folder, path.name), top).replace(os.sep, "/")  # noqa: PTH118
    lineage = Lineage(top)
    commit = commit_of(top, start)
    versions = [] if commit is None else lineage.of(commit, inner)
    if used and commit is not None:
        versions = lineage.with_used(commit, versions)
    if start == _LAST:
        versions = _with_now(path, inner, versions, lineage, commit, collections, used)
    if not versions:
        raise click.UsageError(f"there is no file '{shown}', and no commit has one.")
    return path, versions


_LAST: Final = "HEAD"


def _meant(named: Path) -> tuple[Path, str]:
    """The path of a file, and the commit up to which its history is meant."""
    revision, colon, inner = str(named).partition(":")
    if colon and revision and not os.path.lexists(named):
        top = top_of(Path.cwd())
        if top is not None and commit_of(top, revision) is not None:
            here = inner.startswith(("./", "../"))
            return Path(inner) if here else Path(os.path.relpath(top / inner)), revision
    return named, _LAST


def _with_now(
    path: Path,
    inner: str,
    versions: list[Version],
    lineage: Lineage,
    commit: str | None,
    collections: Collections,
    used: bool,
) -> list[Version]:
    try:
        data = read_text(path).encode("utf-8")
    except DecodeError:
        return versions
    now = Version(None, inner, partial(usable_bytes, display(path), data, path, collections))
    committed = versions[0].commit if versions else None
    if committed is not None and committed.blob is not None:
        if lineage.content(committed.blob) == data and not (used and _brought(now) != _brought(versions[0])):
            return versions
        now.before = versions[:1]
    elif commit is not None and now.told is not None:
        old = lineage.moved_since(commit, inner, now.told)
        if old:
            now.renamed_from = old
            versions = lineage.of(commit, old)
            now.before = versions[:1]
    return [now, *versions]


def _brought(version: Version) -> Mapping[Place, Fact] | None:
    """What the recipes among the ingredients bring."""
    return version.told.through if version.told is not None else None


class Lineage:
    """Finds and reads the versions of recipes of one repository."""

    def __init__(self, top: Path) -> None:
        self._top = top
        self._collections: dict[str, Collections] = {}
        self._segments: dict[tuple[str, str], list[Version]] = {}
        self._versions: dict[tuple[str, str], Version] = {}
        self._moved: dict[tuple[str, str], Moved] = {}
        self._told: dict[tuple[str, str], Told | None] = {}

    def of(self, start: str, path: str) -> list[Version]:
        """The versions up to a commit, the newest first; none where no commit has the file. Raises GitError,
        ConfigError."""
        first = self._segment(start, path)
        for version in first:
            if version.commit is not None and version.gone:
                version.renamed_to = self._renamed_to(version.commit)
        found = {id(version): version for version in _with_all_before(first)}
        if len(found) == len(first):
            return first
        by_commit: dict[str, list[Version]] = {}
        for version in found.values():
            if version.commit is not None:
                by_commit.setdefault(version.commit.name, []).append(version)
        return [version for name in newest_first(self._top, start, by_commit) for version in by_commit[name]]

    def content(self, blob: str) -> bytes:
        """Raises GitError."""
        return contents(self._top, [blob])[0]

    def moved_since(self, commit: str, path: str, now: Told) -> str:
        """The path in a commit of a page that lies in its folder under another one, "" where there is none. Raises
        GitError, ConfigError."""
        held = snapshot_of(self._top, commit, commit[:7]).held
        gone = {
            old: held[old].blob
            for old in changes_since(self._top, commit).gone
            if old in held and old.endswith(PurePosixPath(path).suffix)
        }
        old = [self._page(commit, name, blob) for name, blob in gone.items()][:_MOST_MOVED]
        for pair in paired(old, [Page(path, path, now)], named=False):
            if pair.old is not None and pair.new is not None:
                return pair.old.path
        return ""

    def _read(self, commit: str, path: str, blob: str | None) -> Usable | Withheld | None:
        """Raises GitError, ConfigError."""
        if blob is None:
            return None
        if commit not in self._collections:
            self._collections[commit] = Collections(snapshot_of(self._top, commit, commit[:7]))
        called = f"{commit[:7]}:{path}"
        return usable_bytes(called, self.content(blob), self._top / path, self._collections[commit])

    # ---- recipes among the ingredients ----

    def with_used(self, start: str, versions: list[Version]) -> list[Version]:
        """The versions, the newest first, and among them the commits that changed only what a recipe among the
        ingredients brings. Raises GitError, ConfigError."""
        used = dict.fromkeys(path for version in versions for path in _used_by(version))
        if not used:
            return versions
        by_commit: dict[str, list[Version]] = {}
        for version in versions:
            if version.commit is not None:
                by_commit.setdefault(version.commit.name, []).append(version)
                self._begin_at_parent(version)
        paths = list(dict.fromkeys(version.path for version in versions if not version.gone))
        for one in (one for path in used for one in touched(self._top, start, path)):
            if one.name not in by_commit:
                found = [self._by_used(one, path) for path in paths]
                by_commit[one.name] = [version for version in found if version is not None]
        return [version for name in newest_first(self._top, start, by_commit) for version in by_commit[name]]

    def _begin_at_parent(self, version: Version) -> None:
        """What a version changes is seen from the commit before it: between the two a recipe that both use may have
        been changed."""
        if len(version.before) == 1 and version.commit is not None and not version.commit.merges:
            (before,) = version.before
            then = self._then(f"{version.commit.name}^", before.path)
            if then is not None:
                version.before = [then]

    def _by_used(self, commit: Touched, path: str) -> Version | None:
        """The recipe in a commit that changed one that it uses; None where that changed nothing here."""
        now, before = self._then(commit.name, path), self._then(f"{commit.name}^", path)
        if now is None or before is None or _brought(now) == _brought(before):
            return None
        blob = content_of(self._top, path, commit.name)
        return replace(now, commit=commit._replace(path=path, blob=blob), before=[before])

    def _then(self, revision: str, path: str) -> Version | None:
        """The recipe as a commit has it, whether or not that commit changed it."""
        commit = commit_of(self._top, revision)
        blob = commit and content_of(self._top, path, commit)
        if not commit or not blob:
            return None
        return Version(None, path, partial(self._read, commit, path, blob))

    # ---- one path ----

    def _segment(self, start: str, path: str) -> list[Version]:
        if (start, path) in self._segments:
            return self._segments[start, path]
        commits = touched(self._top, start, path)
        fresh = [one for one in commits if (one.name, path) not in self._versions]
        for one in fresh:
            read = partial(self._read, one.name, path, one.blob)
            self._versions[one.name, path] = Version(one, path, read)
        for one in fresh:
            known = ((name, path) for name in one.parents)
            version = self._versions[one.name, path]
            version.before = [self._versions[key] for key in known if key in self._versions]
            for at in one.new_to:
                self._look_for_its_source(version, one, at)
        found = self._segments[start, path] = [self._versions[one.name, path] for one in commits]
        return found

    def _look_for_its_source(self, version: Version, commit: Touched, at: int) -> None:
        """Where the page of a commit comes from that the parent of that number has not."""
        parent = commit_of(self._top, f"{commit.name}^{at}")
        if parent is None:
            return
        old = self._pair(parent, commit.name, new=commit.path)
        if old is not None:
            earlier = self._segment(parent, old)
            version.renamed_from = old
            # What stood under the new path before was another page.
            kept = version.before if commit.merges else []
            version.before = [*kept, *earlier[:1]]
        elif not commit.merges and not version.before:
            version.copied_from = self._copied_from(parent, commit) or ""

    def _between(self, old: str, new: str) -> Moved:
        if (old, new) not in self._moved:
            self._moved[old, new] = moved(self._top, old, new)
        return self._moved[old, new]

    def _renamed_to(self, commit: Touched) -> str:
        for at in (1, 2) if commit.merges else (1,):
            parent = commit_of(self._top, f"{commit.name}^{at}")
            found = parent and self._pair(parent, commit.name, old=commit.path)
            if found:
                return found
        return ""

    def _pair(self, parent: str, commit: str, old: str = "", new: str = "") -> str | None:
        """The path on the other side of a page that was moved between a parent and its commit."""
        between = self._between(parent, commit)
        ending = PurePosixPath(old or new).suffix
        gone = {path: blob for path, blob in between.gone.items() if path.endswith(ending)}
        come = {path: blob for path, blob in between.new.items() if path.endswith(ending)}
        if not gone or not come:
            return None
        if len(gone) + len(come) > _MOST_MOVED:
            return None
        sides = [
            [self._page(at, path, blob) for path, blob in held.items()]
            for at, held in ((parent, gone), (commit, come))
        ]
        for pair in paired(sides[0], sides[1], named=False):
            if pair.old is not None and pair.new is not None:
                if pair.new.path == new:
                    return pair.old.path
                if pair.old.path == old:
                    return pair.new.path
        return None

    def _page(self, commit: str, path: str, blob: str) -> Page:
        if (commit, path) not in self._told:
            found = self._read(commit, path, blob)
            self._told[commit, path] = told_of(found) if isinstance(found, Usable) else None
        return Page(path, path, self._told[commit, path])

    def _copied_from(self, parent: str, commit: Touched) -> str | None:
        """The recipe that a new one is a copy of: git finds the one most alike as text, and it counts where both mixes
        are alike too."""
        source = copied_from(self._top, parent, commit.name, commit.path)
        if source is None or PurePosixPath(source).suffix != PurePosixPath(commit.path).suffix:
            return None
        there = touched(self._top, parent, source)
        if not there or there[0].blob is None or commit.blob is None:
            return None
        old = self._page(parent, source, there[0].blob).told
        new = self._page(commit.name, commit.path, commit.blob).told
        return source if old is not None and new is not None and are_alike(old, new) else None


def _used_by(version: Version) -> Iterator[str]:
    """The files, from the top of the repository, of the recipes that a version uses."""
    if isinstance(version.found, Usable):
        for one in version.found.recipe.uses.values():
            for _, shown in one.pages:
                yield shown.partition(":")[2]


def _with_all_before(versions: Sequence[Version]) -> Iterator[Version]:
    seen: set[int] = set()
    waiting = list(versions)
    while waiting:
        version = waiting.pop()
        if id(version) not in seen:
            seen.add(id(version))
            yield version
            waiting += version.before
