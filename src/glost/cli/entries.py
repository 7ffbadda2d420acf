"""The recipes that a command is given, whole ones only."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from glost.cli import CLEAN
from glost.cli.common import files, show_undone, standard_input
from glost.collection import Collections
from glost.entry import Entry, faults_of, load, load_text
from glost.language.source import Unreadable, decode
from glost.lint.finding import Finding, mistakes, unreadable
from glost.places import STANDARD_INPUT, display


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

    def __iter__(self) -> Iterator[Entry]:
        """Raises UsageError for a path that is not there, Misread for settings that cannot be taken."""
        standard = list(self._paths) == [STANDARD_INPUT]
        for path in [Path(STANDARD_INPUT)] if standard else self._find(self._paths, self.collections):
            try:
                entry = self._standard() if standard else load(path, self.collections)
            except Unreadable as error:
                shown = STANDARD_INPUT if standard else display(path)
                self._pass_over(shown, [unreadable(shown, error)])
                continue
            faults = faults_of(entry.resolved)
            if faults:
                self._pass_over(entry.file, mistakes(faults, entry.resolved.page.source))
                continue
            yield entry

    def _pass_over(self, file: str, findings: Sequence[Finding]) -> None:
        self.status = max(self.status, show_undone(file, findings, self._undone))

    def _standard(self) -> Entry:
        text = decode(standard_input())
        return load_text(STANDARD_INPUT, text, Path.cwd() / STANDARD_INPUT, self.collections)
