"""What is about to be committed: the pages of the index that differ from the last commit, and the collection as it is
staged with them."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import click

from glost.cli.changed import STAGED
from glost.cli.errors import usage_error
from glost.cli.since import Repository, top_asked
from glost.cli.streams import note
from glost.linter.reporters.plain import visible
from glost.workspace.collection import Collections, PathNotFoundError, find
from glost.workspace.git.revisions import Changes
from glost.workspace.git.run import GitError
from glost.workspace.git.snapshot import Staged, staged
from glost.workspace.paths import PAGES, STANDARD_INPUT, whole


class StagedPages(NamedTuple):
    """The pages that are staged to change, and the others that the paths mean."""

    changed: list[Path]
    others: list[Path]


class Index:
    """The index of the repository that the working folder lies in. Raises UsageError."""

    def __init__(self) -> None:
        self.top = top_asked(Path.cwd(), STAGED)
        try:
            self.staged: Staged = staged(self.top)
        except GitError as error:
            raise usage_error(error, "git does not say what is staged") from None
        self.collections = Collections(self.staged.files)

    def pages(self, paths: Sequence[str], settings_count: bool = True) -> StagedPages:
        """The pages meant by the paths of a command. Where ``settings_count``, all of a collection are staged with its
        settings, which is noted. Raises UsageError, ConfigError."""
        chosen: dict[Path, Path] = {}
        others: dict[Path, Path] = {}
        repository = Repository(
            self.top, Changes(self.staged.there, self.staged.gone), self.collections, "is staged to change"
        )
        for file in self._meant(paths):
            inner = self.staged.files.inner(file)
            changed = inner in self.staged.there or (settings_count and repository.settings_changed(file))
            (chosen if changed else others).setdefault(whole(file), file)
        if not chosen:
            note("no recipe is staged to change\n")
        return StagedPages(sorted(chosen.values()), sorted(others.values()))

    def _meant(self, paths: Sequence[str]) -> list[Path]:
        found: dict[Path, Path] = {}
        for text in paths or ["."]:
            if text == STANDARD_INPUT:
                raise click.UsageError(f"git knows files, not standard input (-): leave {STAGED} out.")
            if self.staged.files.inner(Path(text)) is None:
                raise click.UsageError(f"'{visible(text)}' lies outside the repository.")
            try:
                for file in find([text], self.collections, PAGES):
                    found.setdefault(whole(file), file)
            except PathNotFoundError:
                self._say_why_not(text)
        return sorted(found.values())

    def _say_why_not(self, text: str) -> None:
        """Raises UsageError for what is neither staged nor here."""
        inner = self.staged.files.inner(Path(text)) or ""
        if any(path == inner or path.startswith(f"{inner}/") for path in self.staged.gone):
            return
        if not os.path.lexists(text):
            raise click.UsageError(f"there is no file or folder '{visible(text)}', and none is staged.")
        note(f"{visible(text)}: nothing of it is in the index;  git add  puts it there\n")
