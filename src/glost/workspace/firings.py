"""The firings of a collection on the disk, with what lies around them: the log, the photos."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import NamedTuple

from glost.language.parse import parse
from glost.language.source import DecodeError, Source, decode
from glost.language.tree import Page
from glost.linter.finding import Finding, mistakes, unreadable
from glost.recipe.firing import Firing, ResolvedFiring, resolve_firing
from glost.records.record import Record
from glost.records.text import record_of
from glost.workspace.collection import Collections
from glost.workspace.files import read_bytes, read_text
from glost.workspace.logbook import folder_of
from glost.workspace.paths import RECORD, display, whole


def batch_called(name: str, path: Path, collections: Collections) -> Record | None:
    """The record of that name in the log of the collection that a page belongs to."""
    folder = folder_of(whole(path).parent, collections)
    if folder is None:
        return None
    try:
        return record_of(read_text(folder / name[:4] / f"{name}{RECORD}"))
    except DecodeError:
        return None


class Read(NamedTuple):
    """The page of a firing as it was read; ``findings`` say what is left out of it."""

    path: Path
    file: str
    resolved: ResolvedFiring
    findings: tuple[Finding, ...]

    @property
    def firing(self) -> Firing:
        return self.resolved.firing

    @property
    def page(self) -> Page:
        return self.resolved.page


def read_firing(path: Path) -> Read | Finding:
    """The firing in a file, or why it cannot be read at all."""
    shown = display(path)
    try:
        source = Source(shown, decode(read_bytes(path)))
    except DecodeError as error:
        return unreadable(shown, error)
    page = parse(source)
    resolved = resolve_firing(page)
    findings = mistakes((*page.diagnostics, *resolved.diagnostics), source)
    if not page.is_firing:
        findings = [
            unreadable(
                shown, DecodeError("this page is no firing", 'a firing begins with such as  firing "Kiln 41"')
            )
        ]
    return Read(path, shown, resolved, tuple(findings))


def read_firings(paths: Iterable[Path]) -> tuple[list[Read], list[Finding]]:
    """Those that can be read whole, in the order of their days, and what is wrong with the others."""
    found: list[Read] = []
    wrong: list[Finding] = []
    for path in paths:
        one = read_firing(path)
        if isinstance(one, Finding):
            wrong.append(one)
        elif one.findings:
            wrong += one.findings
        else:
            found.append(one)
    return sorted(found, key=lambda one: (one.firing.date, one.firing.name, one.file)), wrong


def fired_batches(firings: Sequence[Read]) -> frozenset[str]:
    """The names of the records whose batches were fired."""
    return frozenset(tile.batch for one in firings for tile in one.firing.tiles if tile.batch)
