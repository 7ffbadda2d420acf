"""The recipes that a command is given, whole ones only."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from glost.cli import CLEAN
from glost.cli.common import files, show_undone, standard_input
from glost.workspace.collection import Collections
from glost.workspace.load import Usable, Withheld, usable, usable_bytes
from glost.workspace.paths import STANDARD_INPUT


class Entries:
    """Reads the recipes that paths mean, one after the other. What cannot be read whole is reported, with what is
    left ``undone`` ("not converted"), and ``status`` is then the exit status that asks for. ``find`` says which
    recipes the paths mean."""

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

    def __iter__(self) -> Iterator[Usable]:
        """Raises UsageError for a path that is not there, ConfigError for settings that cannot be taken."""
        standard = list(self._paths) == [STANDARD_INPUT]
        for path in [Path(STANDARD_INPUT)] if standard else self._find(self._paths, self.collections):
            found = self._standard() if standard else usable(path, self.collections)
            if isinstance(found, Usable):
                yield found
            else:
                self.status = max(self.status, show_undone(found.file, found.findings, self._undone))

    def _standard(self) -> Usable | Withheld:
        here = Path.cwd() / STANDARD_INPUT
        return usable_bytes(STANDARD_INPUT, standard_input(), here, self.collections)
