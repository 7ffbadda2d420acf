"""The two sides of a comparison, each from the working folder or out of a revision of git."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path, PurePosixPath
from typing import NamedTuple

import click

from glost.cli.common import files
from glost.cli.errors import usage_error
from glost.language.source import DecodeError, decode
from glost.linter.reporters import plain
from glost.workspace.collection import Collections
from glost.workspace.files import read_text
from glost.workspace.git.folders import top_of
from glost.workspace.git.revisions import contents, stored
from glost.workspace.git.run import GitError, commit_of
from glost.workspace.paths import ENDING, display


class Version(NamedTuple):
    """A recipe file of one side: its path below that side, how it is shown, the place that it belongs to, and its
    text, or why it cannot be read."""

    path: str
    shown: str
    place: Path
    text: str | DecodeError


def sides(arguments: Sequence[str], collections: Collections) -> tuple[list[Version], list[Version]]:
    """Old and new as the arguments mean them: OLD NEW, each a file, a folder, REV:PATH or a revision; or a revision,
    and the paths of the working folder to hold against it. Raises UsageError, ConfigError."""
    first, *others = arguments
    revision = None if os.path.lexists(first) or _in_revision(first) else _commit(first)
    if revision is not None and not (len(others) == 1 and _is_revision(others[0])):
        return _against(first, revision, others, collections)
    if len(others) != 1:
        raise click.UsageError(
            "two sides are compared: OLD NEW, each a file, a folder or REV:PATH; or a revision of git, and the paths "
            f"of this folder to hold against it. '{plain.visible(first)}' is "
            + ("there in this folder." if os.path.lexists(first) else "no revision that git knows here.")
        )
    return _side(first, collections), _side(others[0], collections)


def _is_revision(text: str) -> bool:
    return not os.path.lexists(text) and (_in_revision(text) or _commit(text) is not None)


def _in_revision(text: str) -> bool:
    """Whether a text means a path in a revision: one that is there as a file means that file."""
    revision, colon, _ = text.partition(":")
    return bool(colon and revision) and not os.path.lexists(text) and _commit(revision) is not None


def _side(text: str, collections: Collections) -> list[Version]:
    if os.path.lexists(text):
        found = files([text], collections)
        folder = Path(text).is_dir()
        return [_in_folder(file, os.path.relpath(file, text) if folder else file.name) for file in found]
    revision, colon, path = text.partition(":")
    commit = _commit(revision)
    top = _top()
    if commit is None or top is None:
        raise click.UsageError(
            f"'{plain.visible(text)}' is no file or folder here, and no revision or REV:PATH that git knows."
        )
    below = _from_top(Path.cwd(), top) if not colon else path
    if path.startswith(("./", "../")) or path == ".":
        below = _from_top(Path(os.path.normpath(Path.cwd() / path)), top)
    below = below.strip("/")
    found_here = _stored(top, commit, revision, below, collections)
    if not found_here:
        raise click.UsageError(f"there is no recipe in '{plain.visible(text)}'.")
    return found_here


def _against(
    revision: str, commit: str, paths: Sequence[str], collections: Collections
) -> tuple[list[Version], list[Version]]:
    top = _top()
    assert top is not None
    old: dict[str, Version] = {}
    new: dict[str, Version] = {}
    for text in paths or ["."]:
        below = _from_top(Path(os.path.normpath(Path.cwd() / text)), top)
        there = os.path.lexists(text)
        before = _stored(top, commit, revision, below, collections)
        if not there and not before:
            raise click.UsageError(
                f"'{plain.visible(text)}' is neither here nor in {plain.visible(revision)}."
            )
        old |= {version.place.relative_to(top).as_posix(): version for version in before}
        for file in files([text], collections) if there else []:
            path = _from_top(file.absolute(), top)
            new[path] = _in_folder(file, path)
    return [version._replace(path=path) for path, version in old.items()], list(new.values())


def _top() -> Path | None:
    return top_of(Path.cwd())


def _commit(revision: str) -> str | None:
    """The commit that a word means in the repository that this folder lies in. Raises UsageError."""
    top = _top()
    try:
        return None if top is None else commit_of(top, revision)
    except GitError as error:
        raise usage_error(
            error, f"git does not say whether '{plain.visible(revision)}' is a revision"
        ) from None


def _from_top(path: Path, top: Path) -> str:
    """A path as git names it. Raises UsageError for one outside the repository."""
    real = Path(os.path.realpath(path.parent)) / path.name if path.name else path
    try:
        inner = real.relative_to(os.path.realpath(top)).as_posix()
    except ValueError:
        raise click.UsageError(f"'{plain.visible(str(path))}' lies outside the repository.") from None
    return "" if inner == "." else inner


def _stored(top: Path, commit: str, revision: str, below: str, collections: Collections) -> list[Version]:
    try:
        found = [
            one
            for one in stored(top, commit, below, ENDING)
            if one.path == below or not _passed_over(one.path, below, top, collections)
        ]
        held = contents(top, [one.blob for one in found])
    except GitError as error:
        raise usage_error(error, f"git could not read '{plain.visible(revision)}'") from None
    return [
        Version(_below(one.path, below), f"{revision}:{one.path}", top / one.path, _decoded(data))
        for one, data in zip(found, held, strict=True)
    ]


def _below(path: str, below: str) -> str:
    """A path as it is seen from the folder, or the file itself, that a side means."""
    return PurePosixPath(path).name if path == below else path.removeprefix(f"{below}/" if below else "")


def _passed_over(path: str, below: str, top: Path, collections: Collections) -> bool:
    """Whether a walk through the working folder from ``below`` on would not come by that file."""
    inner = PurePosixPath(path)
    if inner.name.startswith("."):
        return True
    for folder in inner.parents:
        if str(folder) in (below, "."):
            return False
        if folder.name.startswith("."):
            return True
        collection = collections.of(top / folder)
        skip = collection.settings.skip if collection.root is not None else ()
        root = collection.root
        if root is not None and any(top / folder == root / word for word in skip):
            return True
    return False


def _in_folder(file: Path, path: str) -> Version:
    try:
        text: str | DecodeError = read_text(file)
    except DecodeError as error:
        text = error
    return Version(path.replace(os.sep, "/"), display(file), file, text)


def _decoded(data: bytes) -> str | DecodeError:
    try:
        return decode(data)
    except DecodeError as error:
        return error
