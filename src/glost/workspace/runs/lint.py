"""Checks many recipes: on every core where that pays, with the same answer in the same order for any number.

A page that was looked at before, and has not changed since, is not looked at again: what was found then is kept. Until
a page is met that is not known, nothing is imported that reads recipes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from glost.linter.report import Report
from glost.linter.report_values import as_values, from_values
from glost.workspace.collection import Collections, Outline
from glost.workspace.page_cache import CollectionCache, PageCache, by_part, part_of
from glost.workspace.paths import display
from glost.workspace.runs.lint_options import Changes, FileReport, LintOptions
from glost.workspace.runs.processes import each

if TYPE_CHECKING:
    from glost.workspace.runs.lint_file import FileLinter


def lint_files(
    paths: Sequence[Path], wish: LintOptions, collections: Collections, workers: int | None = None
) -> Iterator[FileReport]:
    """Looks at every file: first come those that are known, then the others, each group in an order of its own, but for
    a run that fixes pages, which takes them as they are given. ``workers`` as for ``cores.each``. Raises ConfigError,
    WorkerLostError."""
    known = _Known(wish, collections)
    collections.files.fetch(paths)
    for path in paths:
        collections.outline(path)  # so that what is wrong in settings is told in the order of the files
    missing: list[Path] = []
    for part in [paths] if wish.fix else by_part(paths):
        for path in part:
            looked = known.find(path)
            if looked is None:
                missing.append(path)
            else:
                yield looked
        known.save()
    if not missing:
        return
    from glost.workspace.runs.lint_file import FileLinter

    collections.of(missing[0])  # read once here; a forked process has it already
    work = _Work(FileLinter(wish, collections))
    for path, (values, changes, content, says) in zip(missing, each(work, missing, workers), strict=True):
        known.keep(path, values, content, says)
        report = from_values(values, display(path))
        assert report is not None
        yield FileReport(path, report, changes, content, says)
    known.save()


class _Work:
    """Looks at a file. What was found comes from process to process in the values that it is kept in: as it is, it
    would be taken apart and put together twice."""

    def __init__(self, linter: FileLinter) -> None:
        self._linter = linter

    def __call__(self, path: Path) -> tuple[Any, Changes | None, str, str]:
        looked = self._linter.look(path)
        return as_values(looked.report), looked.changes, looked.content, looked.says


class _Known:
    """What was found before, by other runs."""

    def __init__(self, wish: LintOptions, collections: Collections) -> None:
        self._wish = wish
        self._collections = collections
        self._part = -1
        asked = (str(wish.batch_g), str(sorted(wish.select)), str(sorted(wish.ignore)))
        self._kept = CollectionCache("reports", *asked)

    def find(self, path: Path) -> FileReport | None:
        """What was found in that file, None where that is not known. Raises ConfigError."""
        files = self._collections.files
        kept = self._reports(self._collections.outline(path)).find(path, files=files)
        report = None if kept is None else from_values(kept, display(path))
        if report is None or (self._wish.fix and _may_be_changed(report, self._wish)):
            return None
        return FileReport(path, report)

    def keep(self, path: Path, values: Any, content: str, says: str) -> None:
        """Keeps what was found in a file, unless that cannot be known again."""
        if not self._wish.fix and part_of(path) != self._part:  # the part before is done
            self.save()
            self._part = part_of(path)
        outline = self._collections.outline(path)
        if content and says == outline.says:
            self._reports(outline).keep(path, content, values)

    def save(self) -> None:
        self._kept.save()

    def _reports(self, outline: Outline) -> PageCache:
        return self._kept.of(outline.root, outline.says)


def _may_be_changed(report: Report, wish: LintOptions) -> bool:
    return any(finding.edits for finding in report.findings) or (wish.rescale and bool(report.findings))
