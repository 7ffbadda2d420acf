"""The recipes that a command is given, whole ones only."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Generic, TypeVar

from click import UsageError

from glost.cli import CLEAN
from glost.cli.common import recipe_files, show_undone, standard_input
from glost.linter.reporters.plain import visible
from glost.output.format import Revision
from glost.workspace.collection import Collections
from glost.workspace.git.asked_revisions import Revisions
from glost.workspace.load import Usable, Withheld, usable, usable_bytes
from glost.workspace.paths import STANDARD_INPUT
from glost.workspace.runs.processes import each

Result = TypeVar("Result")


class Entries:
    """Reads the recipes that paths mean, one after the other. What cannot be read whole is reported, with what is
    left ``undone`` ("not converted"), and ``status`` is then the exit status that asks for. ``find`` says which
    recipes the paths mean; from the first of them on, ``found`` holds the files that they are, none for standard
    input."""

    def __init__(
        self,
        paths: Sequence[str],
        undone: str,
        find: Callable[[Sequence[str], Collections], list[Path]] = recipe_files,
    ) -> None:
        self._paths = paths
        self._undone = undone
        self._find = find
        self.collections = Collections()
        self.status = CLEAN
        self.found: list[Path] = []
        self._has_looked = False

    def __iter__(self) -> Iterator[Usable]:
        """Raises UsageError for a path that is not there, ConfigError for settings that cannot be taken."""
        standard = list(self._paths) == [STANDARD_INPUT]
        self.look()
        for path in [Path(STANDARD_INPUT)] if standard else self.found:
            found = self._standard() if standard else usable(path, self.collections)
            if isinstance(found, Usable):
                yield found
            else:
                self._tell(found)

    def one(self) -> Usable | None:
        """The one recipe that the paths mean; None where no use may be made of it, which ``status`` says. Raises
        UsageError where they mean none or several, and as iterating does."""
        self.look()
        where = " ".join(f"'{visible(path)}'" for path in self._paths)
        if len(self.found) > 1:
            raise UsageError(f"{where} holds {len(self.found)} recipes; name one.")
        entry = next(iter(self), None)
        if entry is None and self.status == CLEAN:
            raise UsageError(f"there is no recipe in {where}.")
        return entry

    def look(self) -> None:
        """Finds the files, once. Raises UsageError, ConfigError."""
        if not self._has_looked and list(self._paths) != [STANDARD_INPUT]:
            self._has_looked = True
            self.found = self._find(self._paths, self.collections)

    def worked(self, work: Callable[[Usable], Result], workers: int | None, worth: int) -> Iterator[Result]:
        """What is made of each recipe, in their order, on every core where that pays: ``workers`` and ``worth`` as for
        ``processes.each``, and what ``work`` must be. Raises as iterating does, and WorkerLostError."""
        if list(self._paths) == [STANDARD_INPUT]:
            yield from map(work, self)
            return
        self.look()
        for path in self.found:
            self.collections.of(path)  # read once here; a forked process has it already
        for made in each(_Work(work, self.collections), self.found, workers, worth):
            if isinstance(made, Withheld):
                self._tell(made)
            else:
                yield made

    def _tell(self, found: Withheld) -> None:
        self.status = max(self.status, show_undone(found.file, found.findings, self._undone))

    def _standard(self) -> Usable | Withheld:
        here = Path.cwd() / STANDARD_INPUT
        return usable_bytes(STANDARD_INPUT, standard_input(), here, self.collections)


class _Work(Generic[Result]):
    """Reads a file, and works on its recipe where use may be made of it."""

    def __init__(self, work: Callable[[Usable], Result], collections: Collections) -> None:
        self._work = work
        self._collections = collections

    def __call__(self, path: Path) -> Result | Withheld:
        found = usable(path, self._collections)
        return self._work(found) if isinstance(found, Usable) else found


class Origins:
    """What collection and what revision each of the entries is from. git is asked for all of them once, and only where
    somebody asks here."""

    def __init__(self, entries: Entries) -> None:
        self._entries = entries
        self._revisions: Revisions | None = None

    def of(self, entry: Usable) -> tuple[str, Revision | None]:
        """What the collection of an entry is called, and its revision."""
        return self._entries.collections.called(entry.collection), self.look_up().of(entry.path)

    def look_up(self) -> Revisions:
        """Asks git, once: before other processes ask for what it says."""
        if self._revisions is None:
            self._entries.look()
            self._revisions = Revisions(self._entries.found, self._entries.collections.root_of)
        return self._revisions

    def not_known(self) -> dict[str, int]:
        """Why git does not say which revision an entry is, and of how many."""
        return {} if self._revisions is None else self._revisions.not_known()
