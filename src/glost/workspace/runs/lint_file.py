"""Looks at the files that are not known yet: reads, checks, and fixes them where that is wished."""

from __future__ import annotations

from pathlib import Path

from glost.errors import GlostError
from glost.language.parse import is_firing
from glost.language.source import DecodeError, Source
from glost.linter.engine import LintContext, examine
from glost.linter.finding import unreadable
from glost.linter.fixing import fix, only_what_is_fixed
from glost.linter.report import Report
from glost.recipe.library import uses_others
from glost.workspace.collection import Collections
from glost.workspace.files import FileChangedError, write_text
from glost.workspace.page_cache import content_of
from glost.workspace.paths import display
from glost.workspace.reading import text_in
from glost.workspace.rewrite import hindrance
from glost.workspace.runs.lint_options import Changes, FileReport, LintOptions
from glost.workspace.surroundings import FiringSurroundings


class FileLinter:
    """Checks files one by one, with the collections it has met."""

    def __init__(self, wish: LintOptions, collections: Collections) -> None:
        self.wish = wish
        self.collections = collections

    def context(self, path: Path) -> LintContext:
        """What is needed to check a file. Raises ConfigError."""
        collection = self.collections.of(path)
        wish = self.wish
        return LintContext(
            collection.catalogue,
            collection.settings,
            wish.batch_g,
            None,
            wish.select,
            wish.ignore,
            self.collections.library(path),
            FiringSurroundings(path, self.collections),
        )

    def look(self, path: Path) -> FileReport:
        """The report of one file, fixed first where that is wished. Raises ConfigError, nothing else."""
        shown = display(path)
        try:
            source = Source(shown, text_in(self.collections.files, path))
            context = self.context(path)
            report, changes = check(source, context, self.wish)
            if changes is not None and changes.after != changes.before:
                left = hindrance(path, self.collections.root_of(path))
                if left:
                    return FileReport(path, _as_it_is(source, context), changes._replace(left=left))
                if not self.wish.only_show:
                    write_text(path, changes.after, expected=changes.before)
            text = source.text if changes is None or self.wish.only_show else changes.after
            content = "" if uses_others(text) or is_firing(source) else content_of(text)
            return FileReport(path, report, changes, content, self.collections.of(path).says)
        except (DecodeError, FileChangedError) as error:
            return _failed(path, shown, error)
        except OSError as error:
            return _failed(
                path,
                shown,
                DecodeError(
                    f"this file could not be written: {error.strerror}; it is left as it was",
                    "check the disk and the permissions",
                ),
            )


def check(source: Source, context: LintContext, wish: LintOptions) -> tuple[Report, Changes | None]:
    """The report on a text, and what is changed in it where that is wished: the report is then on what it becomes,
    unless that is only to be shown."""
    report = examine(source, context)
    if not wish.fix:
        return only_what_is_fixed(source, context, report), None
    fixed = fix(source, context, report)
    text, left = fixed.text, fixed.left
    outcome = None
    if wish.rescale:
        from glost.linter.rescaling import Rescaled, rescale

        outcome = rescale(Source(source.path, text), context, left, source)
        if isinstance(outcome, Rescaled):
            text, left = outcome.text, outcome.report
    changes = Changes(source.text, text, fixed.fixes, outcome)
    if wish.only_show:
        return only_what_is_fixed(source, context, report), changes
    return only_what_is_fixed(Source(source.path, text), context, left), changes


def _as_it_is(source: Source, context: LintContext) -> Report:
    """The report on a page that is left as it is: this run has nothing to fix there."""
    report = examine(source, context)
    return report._replace(findings=[finding._replace(edits=()) for finding in report.findings])


def _failed(path: Path, shown: str, error: GlostError) -> FileReport:
    return FileReport(path, Report([unreadable(shown, error)], []))
