"""The two sides of a comparison, each from the working folder, out of a revision of git, or as staged."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from shlex import quote
from typing import Final, NamedTuple

import click

from glost.cli.changed import STAGED
from glost.cli.common import files, number_of
from glost.cli.errors import usage_error
from glost.cli.streams import note
from glost.language.source import DecodeError
from glost.linter.reporters import plain
from glost.workspace.collection import Collections, PathNotFoundError, find
from glost.workspace.git.folders import in_store, top_of, within
from glost.workspace.git.revision_words import is_by_message, revision_and_path
from glost.workspace.git.revisions import is_shallow, last_in_common, not_checked_out
from glost.workspace.git.run import HEAD, GitError, commit_of
from glost.workspace.git.snapshot import Snapshot, Staged, snapshot_of, stage_of, staged
from glost.workspace.paths import whole

_STAGES: Final = ("0", "1", "2", "3")
_DOTS: Final = re.compile(r"\.{2,3}")
_SEARCHED: Final = re.compile(r"(?P<from>.+)\^\{/(?P<text>.+)\}")
_MAY_BEGIN_A_NAME: Final = re.compile(r"[0-9a-f]{4,64}", re.IGNORECASE)


class Version(NamedTuple):
    """A recipe file of one side: its path below that side, and where it lies."""

    path: str
    place: Path


@dataclass(frozen=True, slots=True)
class Side:
    """The recipes of one side, by their paths below it, and the collections they belong to, as they were there.
    ``one``: a file was named, and no folder. ``folder``: what the side begins at, where it is a folder of the disk;
    ``begins``: the paths that were asked for."""

    versions: dict[str, Version]
    collections: Collections
    one: bool = False
    folder: Path | None = None
    begins: tuple[Path, ...] = ()
    _blobs: dict[tuple[Path, str], str] = field(default_factory=dict)

    @property
    def snapshot(self) -> Snapshot | None:
        """What git holds, None for the working folder."""
        found = self.collections.files
        return found if isinstance(found, Snapshot) else None

    def shown(self, version: Version) -> str:
        """How a file is named."""
        return self.collections.files.shown(version.place)

    def passes_over(self, version: Version) -> bool:
        """Whether this side would not come by a file of the other one, were it here: its collection skips it."""
        file = version.place if self.folder is None else self.folder / version.path
        for begin in self.begins:
            if file != begin and file.is_relative_to(begin):
                folders = [
                    folder for folder in file.parents if folder != begin and folder.is_relative_to(begin)
                ]
                return any(self.collections.skipped(folder) for folder in folders)
        return False

    def content(self, version: Version, algorithm: str) -> str | None:
        """What the content of a file is known by: the name that git gives it. None where it cannot be read."""
        snapshot = self.snapshot
        if snapshot is not None:
            return snapshot.blob_of(version.place)
        at = version.place, algorithm
        if at not in self._blobs:
            try:
                data = self.collections.files.read(version.place)
            except DecodeError:
                return None
            self._blobs[at] = hashlib.new(
                algorithm, b"blob %d\0" % len(data) + data, usedforsecurity=False
            ).hexdigest()
        return self._blobs[at]


def algorithm_of(old: Side, new: Side) -> str:
    """How contents are named, so that those of both sides can be held against each other."""
    for side in (old, new):
        if side.snapshot is not None:
            lengths = {len(held.blob) for held in side.snapshot.held.values()}
            return "sha256" if lengths == {64} else "sha1"
    return "sha256"


def sides(arguments: Sequence[str], paths: Sequence[str] | None, from_index: bool) -> tuple[Side, Side]:
    """Old and new as the arguments mean them. ``paths``: what stands behind --, None where nothing does. Raises
    UsageError, ConfigError."""
    return _Asked(from_index).sides(list(arguments), None if paths is None else list(paths))


class _Asked:
    def __init__(self, from_index: bool) -> None:
        self._from_index = from_index
        self._top = top_of(Path.cwd())
        self._commits: dict[str, str | None] = {}
        self._snapshots: dict[str, Snapshot] = {}
        self._index: Staged | None = None
        self._others: dict[Path, bool] = {}

    # ---- what the words mean ----

    def sides(self, words: list[str], paths: list[str] | None) -> tuple[Side, Side]:
        for word in words[: 1 if self._from_index else 2]:
            self._refuse_two_meanings(word)
        if self._from_index:
            return self._staged(words, paths)
        if not words:
            return self._since(HEAD, paths or [])
        ends = self._range(words[0])
        if ends is not None:
            return self._between(*ends, self._no_more(words[1:], paths))
        first, *others = words
        if self._is_side(first) or os.path.lexists(first):
            return self._two(words, paths)
        if self._commit(first) is None:
            raise click.UsageError(self._what_is_wrong(first))
        if others and self._is_revision(others[0]):
            return self._between(first, others[0], self._no_more(others[1:], paths))
        if len(others) == 1 and self._is_side(others[0]) and paths is None:
            return self._side(first), self._side(others[0])
        return self._since(first, self._no_more(others, paths))

    def _no_more(self, words: list[str], paths: list[str] | None) -> list[str]:
        """The paths that stand behind what is compared, with or without -- before them."""
        if words and paths is not None:
            raise click.UsageError(
                f"'{plain.visible(words[0])}' is no revision that git knows here; paths stand behind the  -- ."
            )
        return words or paths or []

    def _two(self, words: list[str], paths: list[str] | None) -> tuple[Side, Side]:
        if len(words) == 2 and paths is None:
            return self._side(words[0]), self._side(words[1])
        first = plain.visible(words[0])
        if len(words) == 1 and os.path.lexists(words[0]):
            raise click.UsageError(
                f"'{first}' is one side, and two are compared: name the other one; or write "
                f" glost compare -- {quote(first)}  to hold it against the last commit."
            )
        if not os.path.lexists(words[0]):  # a file out of a revision, and nothing to hold it against
            raise click.UsageError(
                f"'{first}' is one side, and two are compared: name one other file or folder."
            )
        raise click.UsageError(
            "two sides are compared: OLD NEW, each a file, a folder or REV:PATH; or a revision of git, and the paths "
            f"of this folder to hold against it. '{first}' is there in this folder."
        )

    def _range(self, word: str) -> tuple[str, str] | None:
        """The ends of A..B, and of A...B, where the first is the last commit that both come from."""
        if ".." in Path(word).parts:  # a path, with a folder above
            return None
        if ".." not in word or os.path.lexists(word) or self._is_side(word):
            return None
        splits = [(word[: at.start()], at[0], word[at.end() :]) for at in _DOTS.finditer(word)]
        for old, dots, new in splits:
            if self._commit(old or HEAD) is not None and self._commit(new or HEAD) is not None:
                return self._ends(old or HEAD, dots, new or HEAD)
        if is_by_message(word) or self._commit(word) is not None:
            return None  # the dots belong to the text of a message
        old, _, new = splits[0]
        unknown = old if old and self._commit(old) is None else new or HEAD
        raise click.UsageError(
            f"'{plain.visible(unknown)}' in '{plain.visible(word)}' is no revision that git knows here"
            f"{self._if_shallow()}."
        )

    def _ends(self, old: str, dots: str, new: str) -> tuple[str, str]:
        """As _range, of two revisions."""
        if dots == "..":
            return old, new
        first, second = self._commit(old), self._commit(new)
        assert self._top is not None
        assert first is not None
        assert second is not None
        try:
            common = last_in_common(self._top, second, first)
        except GitError as error:
            raise usage_error(error, "git does not say where the two part") from None
        if common is None:
            raise click.UsageError(
                f"'{plain.visible(old)}' and '{plain.visible(new)}' have no commit in common that is here; write "
                f"{plain.visible(old)}..{plain.visible(new)}, or fetch the whole history."
            )
        self._commits[common[:10]] = common
        return common[:10], new

    def _refuse_two_meanings(self, word: str) -> None:
        """Raises UsageError for a word that is a path here and a revision; the first letters of a commit's name alone
        are no reason to doubt a path, such as 2026."""
        if os.path.lexists(word) and not _MAY_BEGIN_A_NAME.fullmatch(word) and self._commit(word) is not None:
            shown = plain.visible(word)
            raise click.UsageError(
                f"'{shown}' is a path here and a revision of git: write ./{shown} for the path, {shown}~0 for the "
                "revision."
            )

    def _what_is_wrong(self, word: str) -> str:
        shown = plain.visible(word)
        if self._top is None:
            return f"'{shown}' is no file or folder here, and {_no_repository()}."
        if is_by_message(word):
            path = plain.visible(word.removeprefix(":/"))
            return (
                f"no commit here has '{path}' in its message, which is what '{shown}' asks for{self._if_shallow()}; "
                f"write  :{path}  for a staged file."
            )
        searched = _SEARCHED.fullmatch(word)
        if searched is not None and self._commit(searched["from"]) is not None:
            start, text = (plain.visible(searched[part]) for part in ("from", "text"))
            return f"no commit that '{start}' comes from has '{text}' in its message{self._if_shallow()}."
        return f"'{shown}' is no file or folder here, and no revision or REV:PATH that git knows{self._if_shallow()}."

    def _if_shallow(self) -> str:
        """What to do where a revision may lie before the commits that are here."""
        shallow = self._top is not None and is_shallow(self._top)
        return (
            "; this clone is shallow, and  git fetch --unshallow  brings what came before" if shallow else ""
        )

    def _is_revision(self, word: str) -> bool:
        return not os.path.lexists(word) and not self._is_side(word) and self._commit(word) is not None

    def _is_side(self, word: str) -> bool:
        """Whether a word means a path in a revision or in the index: one that is there as a file means that file."""
        parts = revision_and_path(word)
        if parts is None or os.path.lexists(word):
            return False
        return not parts[0] or self._commit(parts[0]) is not None

    def _commit(self, revision: str) -> str | None:
        """The commit that a word means in the repository that this folder lies in. Raises UsageError."""
        if revision not in self._commits:
            try:
                self._commits[revision] = None if self._top is None else commit_of(self._top, revision)
            except GitError as error:
                raise usage_error(
                    error, f"git does not say whether '{plain.visible(revision)}' is a revision"
                ) from None
        return self._commits[revision]

    # ---- where the files are ----

    def _snapshot(self, revision: str) -> Snapshot:
        """Raises UsageError."""
        commit = self._commit(revision)
        assert self._top is not None
        assert commit is not None
        if revision not in self._snapshots:
            try:
                # A message would not do before the path of a file.
                called = commit[:10] if is_by_message(revision) else revision
                self._snapshots[revision] = snapshot_of(self._top, commit, called)
            except GitError as error:
                raise usage_error(error, f"git could not read '{plain.visible(revision)}'") from None
        return self._snapshots[revision]

    def _staged_files(self) -> Staged:
        """Raises UsageError."""
        if self._top is None:
            raise click.UsageError(f"{_no_repository()}, so that nothing is staged.")
        if self._index is None:
            try:
                self._index = staged(self._top, STAGED.removeprefix("--"))
            except GitError as error:
                raise usage_error(error, "git does not say what is staged") from None
        return self._index

    def _side(self, word: str) -> Side:
        if os.path.lexists(word):
            collections = Collections()
            found = files([word], collections)
            folder = Path(word) if Path(word).is_dir() else None
            paths = (os.path.relpath(file, word) if folder else file.name for file in found)
            versions = (
                Version(path.replace(os.sep, "/"), file) for path, file in zip(paths, found, strict=True)
            )
            return Side(
                {version.path: version for version in versions},
                collections,
                folder is None,
                None if folder is None else whole(folder),
                () if folder is None else (whole(folder),),
            )
        parts = revision_and_path(word)
        revision, path = parts or (word, "")
        if not revision:
            snapshot, path = self._of_index(word, path)
        else:
            if self._commit(revision) is None:
                raise click.UsageError(self._what_is_wrong(word))
            snapshot = self._snapshot(revision)
        below = path if parts else self._from_top(Path.cwd())
        if path.startswith(("./", "../")) or path == ".":
            below = self._from_top(Path(os.path.normpath(Path.cwd() / path)))
        below = below.strip("/")
        side = self._in_snapshot(snapshot, [below], from_below=True)
        if not side.versions:
            raise click.UsageError(f"there is no recipe in '{plain.visible(word)}'.")
        return side

    def _of_index(self, word: str, rest: str) -> tuple[Snapshot, str]:
        """The files that :PATH and :N:PATH mean. Raises UsageError."""
        number, colon, path = rest.partition(":")
        stage = number if colon and number in _STAGES else "0"
        path = path if colon and number in _STAGES else rest
        found = self._staged_files()
        if stage != "0" and not found.unmerged:
            raise click.UsageError(
                f"'{plain.visible(word)}': no merge is under way, so that there are no sides of one."
            )
        return stage_of(found.files.top, found, int(stage)), path

    def _in_snapshot(self, snapshot: Snapshot, below: Sequence[str], from_below: bool = False) -> Side:
        """The recipes of a revision below some paths of the repository. Raises ConfigError."""
        collections = Collections(snapshot)
        versions: dict[str, Version] = {}
        one = False
        for inner in below:
            try:
                found = find([str(snapshot.top / inner)], collections)
            except PathNotFoundError:
                continue
            one = len(below) == 1 and snapshot.kind(snapshot.top / inner) == "file"
            for file in found:
                path = snapshot.inner(file) or ""
                called = _below(path, inner) if from_below else path
                versions[called] = Version(called, file)
        return Side(versions, collections, one, None, tuple(snapshot.top / inner for inner in below))

    def _in_folder(self, texts: Sequence[str]) -> Side:
        """The recipes that paths of the working folder mean, but for those in folders that git passes over. Raises
        UsageError, ConfigError."""
        collections = Collections()
        versions: dict[str, Version] = {}
        for text in texts:
            if not os.path.lexists(text):
                continue
            found = files([text], collections)  # but for what git ignores
            if Path(text).is_dir():
                found = [file for file in found if not self._lies_in_another(file.absolute().parent)]
            for file in found:
                path = self._from_top(file.absolute())
                versions[path] = Version(path, file)
        one = len(texts) == 1 and os.path.lexists(texts[0]) and not Path(texts[0]).is_dir()
        begins = (
            tuple(self._top / self._from_top(Path(text).absolute()) for text in texts) if self._top else ()
        )
        return Side(versions, collections, one, None, begins)

    def _lies_in_another(self, folder: Path) -> bool:
        """Whether a folder belongs to a repository within this one, of which git would say nothing."""
        if folder not in self._others:
            self._others[folder] = self._top is not None and within(folder, self._top) is not None
        return self._others[folder]

    # ---- pairs of sides ----

    def _since(self, revision: str, texts: Sequence[str]) -> tuple[Side, Side]:
        """A revision, and the working folder."""
        if self._top is None:
            raise click.UsageError(
                f"{_no_repository()}, so that there is no commit to hold it against; name two sides: OLD NEW, each a "
                "file or a folder."
            )
        if self._commit(revision) is None:
            raise click.UsageError(
                "nothing has been committed here yet; glost compare --staged shows what is staged."
            )
        old = self._snapshot(revision)
        below = self._below(texts or ["."], [old], in_folder=True, where=revision)
        before, here = self._in_snapshot(old, below), self._in_folder(texts or ["."])
        missing = before.versions.keys() - here.versions.keys()
        left_out = missing & not_checked_out(self._top) if missing else set()
        if left_out:
            note(
                f"{number_of(len(left_out), 'recipe')} not compared: a sparse checkout leaves them out here\n"
            )
            for path in left_out:
                del before.versions[path]
        return before, here

    def _between(self, old: str, new: str, texts: Sequence[str]) -> tuple[Side, Side]:
        """Two revisions."""
        snapshots = [self._snapshot(old), self._snapshot(new)]
        below = self._below(texts or ["."], snapshots, in_folder=False, where=f"{old} or {new}")
        first, second = (self._in_snapshot(snapshot, below) for snapshot in snapshots)
        return first, second

    def _staged(self, words: list[str], paths: list[str] | None) -> tuple[Side, Side]:
        """A revision, the last commit where none is named, and the index."""
        found = self._staged_files()
        revision = HEAD
        if words and self._is_revision(words[0]):
            revision = words.pop(0)
        texts = self._no_more(words, paths) or ["."]
        if self._commit(revision) is None:  # nothing is committed yet
            old = Snapshot(found.files.top, {}, revision)
        else:
            old = self._snapshot(revision)
        new = found.files
        below = self._below(texts, [old, new], in_folder=True, where=f"{revision} or the index")
        return self._in_snapshot(old, below), self._in_snapshot(new, below)

    def _below(
        self, texts: Sequence[str], snapshots: Sequence[Snapshot], in_folder: bool, where: str
    ) -> list[str]:
        """The paths as git names them. Raises UsageError for one that is nowhere."""
        below = [self._from_top(Path(os.path.normpath(Path.cwd() / text))) for text in texts]
        for text, inner in zip(texts, below, strict=True):
            place = Path(text) if Path(text).is_dir() else Path(text).parent
            if self._lies_in_another(place.absolute()):
                raise click.UsageError(
                    f"'{plain.visible(text)}' lies in a repository of its own, within this one; run glost compare "
                    "there."
                )
            there = any(one.kind(one.top / inner) for one in snapshots)
            if not there and text != "." and not (in_folder and os.path.lexists(text)):
                also = "here nor in " if in_folder else "in "
                raise click.UsageError(
                    f"'{plain.visible(text)}' is {'neither ' if in_folder else 'not '}{also}{plain.visible(where)}"
                    f"{_if_no_path(text)}."
                )
        return below

    def _from_top(self, path: Path) -> str:
        """A path as git names it. Raises UsageError for one outside the repository."""
        assert self._top is not None
        real = Path(os.path.realpath(path.parent)) / path.name if path.name else path
        try:
            inner = real.relative_to(os.path.realpath(self._top)).as_posix()
        except ValueError:
            raise click.UsageError(f"'{plain.visible(str(path))}' lies outside the repository.") from None
        return "" if inner == "." else inner


def _no_repository() -> str:
    """Why there is no commit to be asked for."""
    if in_store(Path.cwd()):
        return "this folder lies in a bare repository or in the store of one, and not in a clone"
    return "this folder lies in no git repository"


def _if_no_path(text: str) -> str:
    """What else a word behind -- may have been meant to be."""
    if text.startswith("-"):
        return "; an option stands before the  --"
    return "; a path names a file or a folder, and no pattern" if set(text) & set("*?[") else ""


def _below(path: str, below: str) -> str:
    """A path as it is seen from the folder, or the file itself, that a side means."""
    return PurePosixPath(path).name if path == below else path.removeprefix(f"{below}/" if below else "")
