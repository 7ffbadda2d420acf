"""The recipes that a command is given, whole ones only."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from glost.cli import CLEAN
from glost.cli.common import files, show_undone, standard_input
from glost.output.format import Revision
from glost.workspace.collection import Collections
from glost.workspace.git.asked_revisions import Revisions
from glost.workspace.load import Usable, Withheld, usable, usable_bytes
from glost.workspace.paths import STANDARD_INPUT


class Entries:
    """Reads the recipes that paths mean, one after the other. What cannot be read whole is reported, with what is
    left ``undone`` ("not converted"), and ``status`` is then the exit status that asks for. ``find`` says which
    recipes the paths mean; from the first of them on, ``found`` holds the files that they are, none for standard
    input."""

    def __init__(
        self,
        paths: Sequence[str],
        undone: str,
        find: Callable[[Sequence[str], Collections], list[Path]] = files,
    ) -> None:
        self._paths = paths
        self._undone = undone
        self._find = find
        self.collections = Collections()
        self.status = CLEAN
        self.found: list[Path] = []

    def __iter__(self) -> Iterator[Usable]:
        """Raises UsageError for a path that is not there, ConfigError for settings that cannot be taken."""
        standard = list(self._paths) == [STANDARD_INPUT]
        self.found = [] if standard else self._find(self._paths, self.collections)
        for path in [Path(STANDARD_INPUT)] if standard else self.found:
            found = self._standard() if standard else usable(path, self.collections)
            if isinstance(found, Usable):
                yield found
            else:
                self.status = max(self.status, show_undone(found.file, found.findings, self._undone))

    def _standard(self) -> Usable | Withheld:
        here = Path.cwd() / STANDARD_INPUT
        return usable_bytes(STANDARD_INPUT, standard_input(), here, self.collections)


class Origins:
    """What collection and what revision each of the entries is from. git is asked for all of them once, and only where
    somebody asks here."""

    def __init__(self, entries: Entries) -> None:
        self._entries = entries
        self._revisions: Revisions | None = None

    def of(self, entry: Usable) -> tuple[str, Revision | None]:
        """What the collection of an entry is called, and its revision."""
        if self._revisions is None:
            self._revisions = Revisions(self._entries.found, self._entries.collections.root_of)
        return entry.collection.called, self._revisions.of(entry.path)

    def not_known(self) -> dict[str, int]:
        """Why git does not say which revision an entry is, and of how many."""
        return {} if self._revisions is None else self._revisions.not_known()
