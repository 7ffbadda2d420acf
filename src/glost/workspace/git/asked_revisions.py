"""The revisions of the recipes that a command is given, and of the pages that these use."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from glost.output.format import Revision
from glost.recipe.recipe import Recipe
from glost.workspace.git.folders import Beginning
from glost.workspace.git.last_commit import LastCommit, NotKnown, last_commits, revision_of, why_not_known
from glost.workspace.paths import whole_text


class Revisions:
    """Looks up the revisions of many files at once; those of pages that are used and were not among them when the
    first recipe that uses them is asked for, each once."""

    def __init__(self, paths: Sequence[Path], begins: Beginning) -> None:
        self._begins = begins
        self._commits: dict[str, LastCommit | NotKnown | None] = {}
        self._look_up(paths)

    def _look_up(self, paths: Sequence[Path]) -> None:
        found = last_commits(paths, self._begins)
        self._commits.update((whole_text(path), found.get(path)) for path in paths)

    def found(self, path: Path) -> LastCommit | NotKnown | None:
        """What git says of a file that was asked for."""
        return self._commits.get(whole_text(path))

    def of(self, path: Path) -> Revision | None:
        """The revision of a file that was asked for."""
        return revision_of(self.found(path))

    def used(self, recipe: Recipe) -> Mapping[str, Revision | None]:
        """The revisions of the pages that a recipe uses, by their files."""
        if not recipe.uses:
            return {}
        files = dict.fromkeys(file for one in recipe.uses.values() for _, file in one.pages)
        self._look_up([path for file in files if whole_text(path := Path(file)) not in self._commits])
        return {file: self.of(Path(file)) for file in files}

    def not_known(self) -> dict[str, int]:
        """Why git does not say which revision a file is, and of how many."""
        return why_not_known(one for one in self._commits.values() if one is not None)
