"""Checks many recipes: on every core where that pays, with the same answer in the same order for any number.

A page that was looked at before, and has not changed since, is not looked at again: what was found then is kept. Until
a page is met that is not known, nothing is imported that reads recipes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from glost.linter.report import Report
from glost.linter.report_values import as_values, from_values, interned
from glost.workspace.collection import Collections, Outline
from glost.workspace.page_cache import CollectionCache, PageCache, by_part, part_of
from glost.workspace.paths import display
from glost.workspace.runs.lint_options import FileReport, LintOptions
from glost.workspace.runs.processes import each


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
    for looked in each(FileLinter(wish, collections).look, missing, workers):
        looked = looked._replace(report=interned(looked.report))
        known.keep(looked)
        yield looked
    known.save()


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

    def keep(self, looked: FileReport) -> None:
        """Keeps what was found in a file, unless that cannot be known again."""
        if not self._wish.fix and part_of(looked.path) != self._part:  # the part before is done
            self.save()
            self._part = part_of(looked.path)
        outline = self._collections.outline(looked.path)
        if looked.content and looked.says == outline.says:
            self._reports(outline).keep(looked.path, looked.content, as_values(looked.report))

    def save(self) -> None:
        self._kept.save()

    def _reports(self, outline: Outline) -> PageCache:
        return self._kept.of(outline.root, outline.says)


def _may_be_changed(report: Report, wish: LintOptions) -> bool:
    return any(finding.edits for finding in report.findings) or (wish.rescale and bool(report.findings))
