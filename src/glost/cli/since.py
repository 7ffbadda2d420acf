"""The recipes that git says have changed since a revision."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import click

from glost.cli.changed import LAST_COMMIT, OPTION
from glost.cli.common import files, known_by
from glost.cli.errors import usage_error
from glost.cli.streams import note
from glost.language.nearest import nearest
from glost.linter import baseline
from glost.linter.reporters.plain import visible
from glost.workspace.collection import Collections
from glost.workspace.git.folders import in_folder, in_store, top_of, within
from glost.workspace.git.revisions import (
    Changes,
    changes_since,
    is_shallow,
    last_in_common,
    names_of_commits,
)
from glost.workspace.git.run import HEAD, GitError, commit_of
from glost.workspace.paths import ENDING, SETTINGS, display, whole


class Since(NamedTuple):
    """The recipes that have changed, and the others that the paths mean."""

    changed: list[Path]
    others: list[Path]


def changed_files(
    paths: Sequence[str],
    collections: Collections,
    since: str,
    settings_count: bool = True,
    ending: str | tuple[str, ...] = ENDING,
) -> Since:
    """The recipes meant by the paths of a command that have changed since a revision. Where ``settings_count``, all
    of a collection have changed with its settings, which is noted. Raises UsageError, ConfigError."""
    chosen: dict[Path, Path] = {}
    others: dict[Path, Path] = {}
    tops: dict[Path, Path] = {}  # by folder
    repositories: dict[Path, Repository] = {}
    for text in paths or ["."]:
        walked = files([text], collections, ending)
        folder = Path(text) if Path(text).is_dir() else Path(text).parent
        top = tops[folder] = tops.get(folder) or top_asked(folder)
        if top not in repositories:
            repositories[top] = Repository(top, _changes(top, since), collections)
        repository = repositories[top]
        repository.note_those_within(walked)
        for file in walked:
            changed = repository.has_changed(file) or (settings_count and repository.settings_changed(file))
            (chosen if changed else others).setdefault(whole(file), file)
    if not chosen:
        note(f"no recipe has changed since {visible(since) or 'the last commit'}\n")
    return Since(sorted(chosen.values()), sorted(file for at, file in others.items() if at not in chosen))


class Repository:
    """What has changed in one repository."""

    def __init__(
        self, top: Path, changes: Changes, collections: Collections, said: str = "has changed"
    ) -> None:
        self._said = said
        self._top = os.path.realpath(top)
        self._changes = changes
        self._collections = collections
        self._whole: dict[Path, bool] = {}  # by folder, since a collection has many recipes
        self._noted: set[str] = set()

    def has_changed(self, file: Path) -> bool:
        return bool(self._both_inner(file) & self._changes.there)

    def settings_changed(self, file: Path) -> bool:
        """Whether the settings that hold for a recipe, the studio's materials or its baseline have changed."""
        folder = whole(file).parent
        if folder not in self._whole:
            why = self._changed_settings(folder)
            self._whole[folder] = why is not None
            if why is not None:
                self._note_once(
                    f"{visible(display(why))} {self._said}: every recipe of its collection counts as changed\n"
                )
        return self._whole[folder]

    def _changed_settings(self, folder: Path) -> Path | None:
        collection = self._collections.of(folder / SETTINGS)
        root = collection.root
        for above in (folder, *folder.parents):
            if above == root or (root is None and not self._holds(above)):
                break
            if self._inner(above / SETTINGS) in self._changes.gone:
                return above / SETTINGS
        names = [SETTINGS, collection.settings.materials] if root is not None else []
        settled = [(root or Path.cwd()) / name for name in (*names, baseline.FILE) if name is not None]
        differing = self._changes.there | self._changes.gone
        for file in settled:
            if self._both_inner(file) & differing:
                return file
        return None

    def note_those_within(self, walked: Sequence[Path]) -> None:
        """Says of which recipes this repository knows nothing, since they lie in one of their own."""
        folders = {os.path.realpath(file.parent) for file in walked}
        inner = {within(Path(folder), Path(self._top)) for folder in folders}
        for repository in sorted(filter(None, inner)):
            shown = visible(display(repository))
            self._note_once(f"{shown} is a repository of its own: name it, as  {OPTION} -- {shown}\n")

    def _holds(self, folder: Path) -> bool:
        return Path(os.path.realpath(folder)).is_relative_to(self._top)

    def _both_inner(self, path: Path) -> set[str]:
        """A path as the repository names it, and what it leads to: a link is there as itself, and what it leads to may
        have changed alone."""
        return {self._inner(path), self._inner(Path(os.path.realpath(path)))}

    def _inner(self, path: Path) -> str:
        """A path as the repository names it."""
        return os.path.relpath(known_by(path), self._top).replace(os.sep, "/")

    def _note_once(self, text: str) -> None:
        if text not in self._noted:
            self._noted.add(text)
            note(text)


def top_asked(folder: Path, option: str = OPTION) -> Path:
    """The top of the repository that a folder lies in, which an option needs. Raises UsageError."""
    top = top_of(folder)
    if top is not None and not in_folder(os.path.realpath(folder), top / ".git"):
        return top
    shown = visible(str(folder.absolute()))
    if in_store(folder):
        raise click.UsageError(
            f"'{shown}' lies in a bare repository or in the store of one, where there are no files to look at; "
            "run glost in a clone."
        )
    raise click.UsageError(
        f"git does not say what has changed in '{shown}': it lies in no repository. "
        f"Without {option} every recipe is looked at."
    )


def _changes(top: Path, since: str) -> Changes:
    """What has changed in a repository since a revision. Raises UsageError."""
    try:
        return changes_since(top, _commit(top, since))
    except GitError as error:
        raise usage_error(error, "git does not say what has changed") from None


def _commit(top: Path, since: str) -> str | None:
    """The commit that the working folder is compared with, None where there is none yet. Raises UsageError."""
    last = commit_of(top, HEAD)
    if since == LAST_COMMIT:
        return last
    named = commit_of(top, since)
    if named is None:
        raise click.UsageError(_no_revision(top, since))
    if last is None:  # a branch without a commit has nothing in common with any
        return None
    common = last_in_common(top, named)
    if common is None:
        why = _DEEPEN if is_shallow(top) else "They have no commit in common."
        raise click.UsageError(f"git does not know where this branch and '{visible(since)}' part. {why}")
    return common


_DEEPEN = (
    "This clone is shallow, so what came before is not in it: run  git fetch --unshallow  "
    "(in a pipeline, let the checkout fetch the whole history)."
)


def _no_revision(top: Path, word: str) -> str:
    """What to type in place of a word that is no revision."""
    shown = visible(word)
    said = f"'{shown}' is no revision that git knows here"
    if os.path.lexists(word):
        return f"{said}, but a path: write {OPTION} -- {shown}"
    if ".." in word:
        return f"{said}: name one, not a range, as {OPTION}={visible(word.partition('..')[0]) or 'main'}"
    known = names_of_commits(top)
    near = [name for name in known if name.endswith(f"/{word}")] or nearest(word, known, 1)
    if near:
        return f"{said}. Did you mean {OPTION}={visible(near[0])}?"
    if is_shallow(top):
        return f"{said}. {_DEEPEN}"
    return (
        f"{said}, nor a path. 'git branch -a' lists the branches; {OPTION} alone means since the last commit."
    )
