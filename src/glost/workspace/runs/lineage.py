"""A recipe through its commits: under whatever name its file had, by what the page means, and with what its collection
said at the time. What a recipe means is known to the rooms above, and is asked of them."""

from __future__ import annotations

import os
import posixpath
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from pathlib import Path, PurePosixPath
from typing import Final, Generic, NamedTuple, TypeVar

from glost.language.source import LARGEST_FILE, DecodeError
from glost.language.yaml_tree import ConfigError
from glost.linter.finding import findings_of
from glost.workspace.collection import Collection, Collections
from glost.workspace.config import materials_named
from glost.workspace.files import read_text
from glost.workspace.git.lineage import (
    Moved,
    Node,
    Touched,
    contents_at,
    copied_from,
    moved,
    newest_first,
    nodes,
    touched,
)
from glost.workspace.git.revisions import changes_since
from glost.workspace.git.run import commit_of
from glost.workspace.git.snapshot import Snapshot, contents, sizes_of, snapshot_of
from glost.workspace.load import Usable, Withheld, usable, usable_bytes
from glost.workspace.paths import SETTINGS, display
from glost.workspace.reading import text_in

_MOST_MOVED: Final = 2_000
"""Pages that one commit moved at most, for each to be read; beyond that, a path is what a recipe is known by."""
_MOST_ROUNDS: Final = 5
"""How often the commits are looked through anew, since one of them led to further files."""

T = TypeVar("T")


class Meanings(NamedTuple, Generic[T]):
    """What a recipe means. ``told``: what one says. ``pairs``: which page of one side is which of the other, by their
    paths. ``are_alike``: whether one can be a copy of the other. ``changed``: the places at which one says something
    else than another, or its collection does of it; both can be read."""

    told: Callable[[Usable], T]
    pairs: Callable[[Mapping[str, T | None], Mapping[str, T | None]], Iterable[tuple[str, str]]]
    are_alike: Callable[[T, T], bool]
    changed: Callable[[Version[T], Version[T]], frozenset[Hashable]]


@dataclass(eq=False)
class Version(Generic[T]):
    """A recipe as a commit has it, or as it lies in its folder, where ``commit`` is None. ``before``: the versions that
    it was made from. ``renamed_from``, ``renamed_to``: the path of its file before or after; ``copied_from``: that of
    another recipe, which goes on. ``around``: the commit did not touch the file, but what it uses, or what its
    collection says of it."""

    commit: Touched | None
    path: str
    read: Callable[[], Usable | Withheld | None] = field(repr=False)
    tell: Callable[[Usable], T] = field(repr=False)
    before: list[Version[T]] = field(default_factory=list)
    renamed_from: str = ""
    renamed_to: str = ""
    copied_from: str = ""
    around: bool = False

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
        """The page, read with the settings and materials of that commit; None where it is gone. Raises GitError; for
        what lies in its folder ConfigError."""
        return self.read()

    @cached_property
    def told(self) -> T | None:
        """Raises as found does."""
        return self.tell(self.found) if isinstance(self.found, Usable) else None

    def nearest_before(self) -> Iterator[Version[T]]:
        """The nearest versions before this one that can be read. Raises GitError."""
        for one in self.before:
            if one.told is not None:
                yield one
            else:
                yield from one.nearest_before()

    def used(self) -> Iterator[str]:
        """The files, from the top of the repository, of the recipes that it uses. Raises GitError."""
        if self.commit is not None and isinstance(self.found, Usable):
            for one in self.found.recipe.uses.values():
                for _, shown in one.pages:
                    yield shown.partition(":")[2]


class _PastCollections(Collections):
    """The collections of a commit. What many commits have alike is read once."""

    def __init__(self, files: Snapshot, known: dict[tuple[Path, str | None, str | None], Collection]) -> None:
        super().__init__(files)
        self._snapshot = files
        self._known = known

    def of(self, path: Path) -> Collection:
        root = self.root_of(path)
        if root is None or root in self._read:
            return super().of(path)
        materials = root / (self._materials_of(root) or SETTINGS)
        key = (root, self._snapshot.blob_of(root / SETTINGS), self._snapshot.blob_of(materials))
        if key not in self._known:
            self._known[key] = super().of(path)
        self._read[root] = self._known[key]
        return self._known[key]

    def _materials_of(self, root: Path) -> str | None:
        try:
            return materials_named(text_in(self.files, root / SETTINGS))
        except DecodeError:
            return None


class Lineage(Generic[T]):
    """Finds and reads the versions of recipes of one repository. ``mainline``: of a merge its first parent alone goes
    on, so that each version follows from the one before."""

    def __init__(self, top: Path, meanings: Meanings[T], mainline: bool = False) -> None:
        self._top = top
        self._meanings = meanings
        self._mainline = mainline
        self._contents: dict[str, bytes | int] = {}
        self._known: dict[tuple[Path, str | None, str | None], Collection] = {}
        self._collections: dict[str, _PastCollections] = {}
        self._segments: dict[tuple[str, str], list[Version[T]]] = {}
        self._versions: dict[tuple[str, str], Version[T]] = {}
        self._around: dict[tuple[str, str], Version[T]] = {}
        self._own_before: dict[int, list[Version[T]]] = {}
        """What versions were made from, as far as their files tell."""
        self._moved: dict[tuple[str, str], Moved] = {}
        self._told: dict[tuple[str, str], T | None] = {}
        self._gone: dict[str, list[str]] = {}

    def of(self, start: str, path: str) -> list[Version[T]]:
        """The versions up to a commit, the newest first; none where no commit has the file. Raises GitError."""
        first = self._segment(start, path)
        for version in first:
            if version.commit is not None and version.gone:
                version.renamed_to = self._renamed_to(version.commit)
        found = {id(version): version for version in _with_all_before(first)}
        if len(found) == len(first):
            return list(first)
        return self._in_order(start, found.values())

    def of_file(self, path: Path, start: str, collections: Collections) -> list[Version[T]]:
        """The same of a file of the working folder; one that was moved, and is not committed yet, is followed to where
        it was. Raises GitError, ConfigError."""
        inner = inner_path(path, self._top)
        versions = self.of(start, inner)
        if not versions:
            found = usable(path, collections)
            old = (
                self._moved_since(start, inner, self._meanings.told(found))
                if isinstance(found, Usable)
                else ""
            )
            versions = self.of(start, old) if old else []
        return versions

    def with_now(
        self, path: Path, inner: str, commit: str | None, versions: list[Version[T]], collections: Collections
    ) -> list[Version[T]]:
        """The versions up to a commit, and before them the file as it lies in its folder, where that says otherwise.
        A file that was moved, and is not committed yet, is followed to where it was. Raises GitError, ConfigError."""
        try:
            data = read_text(path).encode("utf-8")
        except DecodeError:
            return versions
        now = Version(
            None, inner, partial(usable_bytes, display(path), data, path, collections), self._meanings.told
        )
        committed = versions[0].commit if versions else None
        if committed is not None and committed.blob is not None:
            if self._content(committed.blob) == data and not self._differs(now, versions[:1]):
                return versions
            now.before = versions[:1]
        elif commit is not None and now.told is not None:
            old = self._moved_since(commit, inner, now.told)
            if old:
                now.renamed_from = old
                versions = self.with_around(commit, self.of(commit, old))
                now.before = versions[:1]
        return [now, *versions]

    def ended_as(self, start: str, path: str) -> str:
        """What a file that some commit had is called at the end, through its renames; "" where it is gone. Raises
        GitError."""
        met: set[str] = set()
        while path and path not in met:
            met.add(path)
            (newest, *_) = [*self.of(start, path), None]
            if newest is None or not newest.gone:
                return path if newest is not None else ""
            path = newest.renamed_to
        return ""

    def _content(self, blob: str) -> bytes:
        """Raises GitError."""
        known = self._contents.get(blob)
        if not isinstance(known, bytes):
            known = self._contents[blob] = contents(self._top, [blob])[0]
        return known

    def _fetch(self, blobs: Iterable[str | None]) -> None:
        """Takes contents in, in two answers for all of them. Raises GitError."""
        wanted = [blob for blob in dict.fromkeys(blobs) if blob is not None and blob not in self._contents]
        sizes = sizes_of(self._top, wanted)
        small = [blob for blob in wanted if sizes[blob] <= LARGEST_FILE]
        self._contents.update(zip(small, contents(self._top, small), strict=True))

    def _moved_since(self, commit: str, path: str, now: T) -> str:
        """The path in a commit of a page that lies in its folder under another one, "" where there is none."""
        if commit not in self._gone:
            self._gone[commit] = sorted(changes_since(self._top, commit).gone)
        gone = [old for old in self._gone[commit] if old.endswith(PurePosixPath(path).suffix)]
        if not gone:
            return ""
        held = snapshot_of(self._top, commit, commit[:7], self._contents).held
        gone = [old for old in gone if old in held]
        then = {old: self._told_at(commit, old, held[old].blob) for old in gone[:_MOST_MOVED]}
        return next((old for old, _ in self._meanings.pairs(then, {path: now})), "")

    def _read(self, commit: str, path: str, blob: str | None) -> Usable | Withheld | None:
        """Raises GitError."""
        if blob is None:
            return None
        if commit not in self._collections:
            then = snapshot_of(self._top, commit, commit[:7], self._contents)
            self._collections[commit] = _PastCollections(then, self._known)
        called = f"{commit[:7]}:{path}"
        try:
            return usable_bytes(called, self._content(blob), self._top / path, self._collections[commit])
        except ConfigError as error:  # that was put right since, or is told where the folder itself is read
            return Withheld(called, tuple(findings_of(error)))

    def _in_order(self, start: str, versions: Iterable[Version[T]]) -> list[Version[T]]:
        by_commit: dict[str, list[Version[T]]] = {}
        for version in versions:
            if version.commit is not None:
                by_commit.setdefault(version.commit.name, []).append(version)
        return [version for name in newest_first(self._top, start, by_commit) for version in by_commit[name]]

    # ---- what a recipe uses, and what its collection says ----

    def with_around(self, start: str, versions: list[Version[T]], settings: bool = True) -> list[Version[T]]:
        """The versions, the newest first, and among them the commits that changed only what a recipe among the
        ingredients brings, or what the collection says of the recipe: an analysis, another name, a house note, a
        balance. ``settings``: the latter too. Raises GitError."""
        found = versions
        followed: set[str] = set()
        for _ in range(_MOST_ROUNDS):
            paths = dict.fromkeys(version.path for version in found)
            more = {path for version in found for path in version.used()}
            if settings:
                more |= self._settings_of(start, paths)
            if more <= followed:
                break
            followed |= more
            found = self._among(start, versions, paths, sorted(followed - paths.keys()))
        return found

    def _settings_of(self, start: str, paths: Iterable[str]) -> set[str]:
        """The files that may say something of pages at those paths: every glost.yaml above, and what these named."""
        above = {
            f"{folder}/{SETTINGS}" if (folder := str(one)) != "." else SETTINGS
            for path in paths
            for one in PurePosixPath(path).parents
        }
        found = set(above)
        for path in above:
            for one in touched(self._top, start, path, self._mainline):
                if one.blob is not None:
                    text = self._content(one.blob).decode("utf-8", "replace")
                    named = materials_named(text)
                    if named:
                        found.add(posixpath.normpath(posixpath.join(posixpath.dirname(path), named)))
        if len(found) > len(above):
            latest = snapshot_of(self._top, start, start[:7], self._contents)
            found |= {latest.followed(path) or path for path in found}
        return {path for path in found if not path.startswith("../")}

    def _among(
        self, start: str, versions: list[Version[T]], paths: Iterable[str], others: Sequence[str]
    ) -> list[Version[T]]:
        """The versions with those of the other commits that touched any of the paths, as far as the recipe says
        something else there. ``others``: the files of what it uses, and of its collection."""
        own = {(one.commit.name, one.path): one for one in versions if one.commit is not None}
        commits = nodes(self._top, start, [*paths, *others], self._mainline)
        at = self._places(versions, own, commits)
        blobs = contents_at(
            self._top, ((node.name, path) for node in commits for path in (*at[node.name], *others))
        )
        self._fetch(blobs.values())
        # From the oldest to the newest: what each commit says of the recipe, and where that was said first.
        said: dict[tuple[str, str], list[Version[T]]] = {}
        listed: list[Version[T]] = []
        for node in reversed(commits):
            for path in at[node.name]:
                version = own.get((node.name, path))
                old = version.renamed_from if version is not None else ""
                before = _each(
                    one
                    for parent in node.parents
                    for name in (path, old)
                    for one in said.get((parent, name), ())
                )
                if version is None:
                    blob = blobs[node.name, path]
                    version = self._around_at(node, path, blob) if blob is not None else None
                    if version is None or not before or not self._differs(version, before):
                        said[node.name, path] = before if version is None else self._equal_to(version, before)
                        continue
                    version.before = before
                elif before and not version.copied_from:
                    version.before = self._followed(version, before)
                said[node.name, path] = [version]
                listed.append(version)
        listed += [one for one in versions if not any(one is other for other in listed)]
        return self._in_order(start, listed)

    def _places(
        self,
        versions: Sequence[Version[T]],
        own: Mapping[tuple[str, str], Version[T]],
        commits: Sequence[Node],
    ) -> dict[str, dict[str, None]]:
        """Under which paths the recipe is looked for in each commit: that of the newest version, and before a commit
        that renamed it the one before."""
        at: dict[str, dict[str, None]] = {node.name: {} for node in commits}
        newest = versions[0].path if versions else ""
        children = {parent for node in commits for parent in node.parents}
        for node in commits:
            if node.name not in children:
                at[node.name].setdefault(newest)
        for node in commits:
            for path in [*at[node.name], *(path for name, path in own if name == node.name)]:
                at[node.name].setdefault(path)
                version = own.get((node.name, path))
                old = version.renamed_from if version is not None else ""
                for parent in node.parents:
                    if parent in at:
                        if not old or node.merges:
                            at[parent].setdefault(path)
                        if old:
                            at[parent].setdefault(old)
        return at

    def _around_at(self, node: Node, path: str, blob: str) -> Version[T]:
        if (node.name, path) not in self._around:
            commit = Touched(*node[:5], path, blob, node.parents, (), node.merges)
            read = partial(self._read, node.name, path, blob)
            self._around[node.name, path] = Version(commit, path, read, self._meanings.told, around=True)
        return self._around[node.name, path]

    def _followed(self, version: Version[T], before: list[Version[T]]) -> list[Version[T]]:
        """What a version was made from, where commits that did not touch its file lie between."""
        own = self._own_before.setdefault(id(version), version.before)
        known = {id(one) for one in _with_all_before(own)}
        fresh = [one for one in before if one.around or id(one) in known]
        left = {id(one) for new in fresh for one in _with_all_before([new])}
        return [*fresh, *(one for one in own if id(one) not in left)]

    def _differs(self, version: Version[T], before: Sequence[Version[T]]) -> bool:
        """Whether a version says something else than each of those before it. That it cannot be read, or can again, is
        something else too."""
        readable = [one for one in before if one.told is not None]
        if version.told is None:
            return bool(readable)
        return all(self._meanings.changed(one, version) for one in readable)

    def _equal_to(self, version: Version[T], before: list[Version[T]]) -> list[Version[T]]:
        if len(before) == 1:
            return before
        equal = [one for one in before if not self._differs(version, [one])]
        return equal or before

    # ---- one path ----

    def _segment(self, start: str, path: str) -> list[Version[T]]:
        if (start, path) in self._segments:
            return self._segments[start, path]
        commits = touched(self._top, start, path, self._mainline)
        fresh = [one for one in commits if (one.name, path) not in self._versions]
        for one in fresh:
            read = partial(self._read, one.name, path, one.blob)
            self._versions[one.name, path] = Version(one, path, read, self._meanings.told)
        for one in fresh:
            known = ((name, path) for name in one.parents)
            version = self._versions[one.name, path]
            version.before = [self._versions[key] for key in known if key in self._versions]
            for at in one.new_to:
                self._look_for_its_source(version, one, at)
        found = self._segments[start, path] = [self._versions[one.name, path] for one in commits]
        return found

    def _look_for_its_source(self, version: Version[T], commit: Touched, at: int) -> None:
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
        for at in (1, 2) if commit.merges and not self._mainline else (1,):
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
        then = {path: self._told_at(parent, path, blob) for path, blob in gone.items()}
        now = {path: self._told_at(commit, path, blob) for path, blob in come.items()}
        for one, other in self._meanings.pairs(then, now):
            if other == new:
                return one
            if one == old:
                return other
        return None

    def _told_at(self, commit: str, path: str, blob: str) -> T | None:
        if (commit, path) not in self._told:
            found = self._read(commit, path, blob)
            self._told[commit, path] = self._meanings.told(found) if isinstance(found, Usable) else None
        return self._told[commit, path]

    def _copied_from(self, parent: str, commit: Touched) -> str | None:
        """The recipe that a new one is a copy of: git finds the one most alike as text, and it counts where both mixes
        are alike too."""
        source = copied_from(self._top, parent, commit.name, commit.path)
        if source is None or PurePosixPath(source).suffix != PurePosixPath(commit.path).suffix:
            return None
        blob = contents_at(self._top, [(parent, source)])[parent, source]
        if blob is None or commit.blob is None:
            return None
        old = self._told_at(parent, source, blob)
        new = self._told_at(commit.name, commit.path, commit.blob)
        return source if old is not None and new is not None and self._meanings.are_alike(old, new) else None


def inner_path(path: Path, top: Path) -> str:
    """A file as git names it, from the top of its repository. A link that it is itself is not followed."""
    folder = os.path.realpath(path.absolute().parent)
    return os.path.relpath(os.path.join(folder, path.name), top).replace(os.sep, "/")  # noqa: PTH118


def _each(versions: Iterable[Version[T]]) -> list[Version[T]]:
    """Each once."""
    return list({id(one): one for one in versions}.values())


def _with_all_before(versions: Sequence[Version[T]]) -> Iterator[Version[T]]:
    seen: set[int] = set()
    waiting = list(versions)
    while waiting:
        version = waiting.pop()
        if id(version) not in seen:
            seen.add(id(version))
            yield version
            waiting += version.before
