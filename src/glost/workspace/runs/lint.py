"""Checks many recipes: on every core where that pays, with the same answer in the same order for any number.

A page that was looked at before, and has not changed since, is not looked at again: what was found then is kept. Until
a page is met that is not known, nothing is imported that reads recipes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from glost.linter.report import Report
from glost.linter.report_text import as_text, from_text
from glost.workspace.collection import Collections, Outline
from glost.workspace.page_cache import CollectionCache, PageCache
from glost.workspace.paths import display
from glost.workspace.runs.lint_options import FileReport, LintOptions
from glost.workspace.runs.processes import each_missing


def lint_files(
    paths: Sequence[Path], wish: LintOptions, collections: Collections, workers: int | None = None
) -> Iterator[FileReport]:
    """Looks at every file, in the order given; ``workers`` as for ``cores.each``. Raises ConfigError,
    WorkerLostError."""
    known = _Known(wish, collections)
    found = [known.find(path) for path in paths]
    first = next((path for path, looked in zip(paths, found, strict=True) if looked is None), None)
    if first is None:
        yield from (looked for looked in found if looked is not None)
        return
    from glost.workspace.runs.lint_file import FileLinter

    collections.of(first)  # read once here; a forked process has it already
    for looked, fresh in each_missing(FileLinter(wish, collections).look, paths, found, workers):
        if fresh:
            known.keep(looked)
        yield looked
    known.save()


class _Known:
    """What was found before, by other runs."""

    def __init__(self, wish: LintOptions, collections: Collections) -> None:
        self._wish = wish
        self._collections = collections
        asked = (str(wish.batch_g), str(sorted(wish.select)), str(sorted(wish.ignore)))
        self._kept = CollectionCache("reports", *asked)

    def find(self, path: Path) -> FileReport | None:
        """What was found in that file, None where that is not known. Raises ConfigError."""
        kept = self._reports(self._collections.outline(path)).find(path)
        report = None if kept is None else from_text(kept, display(path))
        if report is None or (self._wish.fix and _may_be_changed(report, self._wish)):
            return None
        return FileReport(path, report)

    def keep(self, looked: FileReport) -> None:
        """Keeps what was found in a file, unless that cannot be known again."""
        outline = self._collections.outline(looked.path)
        if looked.content and looked.says == outline.says:
            self._reports(outline).keep(looked.path, looked.content, as_text(looked.report))

    def save(self) -> None:
        self._kept.save()

    def _reports(self, outline: Outline) -> PageCache:
        return self._kept.of(outline.root, outline.says)


def _may_be_changed(report: Report, wish: LintOptions) -> bool:
    return any(finding.edits for finding in report.findings) or (wish.rescale and bool(report.findings))
