"""Checking, fixing and laying out."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from glost.api.recipes import PathLike, RecipeError, parted
from glost.language.layout import format_text
from glost.language.parse import parse
from glost.language.source import Source
from glost.linter.engine import LintContext, examine
from glost.linter.finding import ORDER, Finding, mistakes
from glost.linter.fixing import fix as fixed
from glost.linter.report import CrossCheck, Report
from glost.workspace.collection import Collections
from glost.workspace.paths import PAGES, display, whole
from glost.workspace.runs.lint import lint_files
from glost.workspace.runs.lint_options import LintOptions

__all__ = ["Finding", "fix", "format", "lint", "lint_text"]


def lint(path: PathLike | Sequence[PathLike], beside: PathLike | Sequence[PathLike] = ()) -> list[Finding]:
    """What is found in files, or in the recipes below folders, in the order of file, line and column; what shows only
    where pages are compared with each other is among it. An empty list is a clean page. A file that cannot be read is a
    finding too, of the rule "unreadable". ``beside``: other pages of the collection, which these are held against and
    which are not reported on: so the findings of parts are those of the whole. Raises NotFoundError, ConfigError."""
    met = Collections()
    chosen, others = parted(path, beside, met, PAGES)
    asked = {display(one) for one in chosen}
    found = CrossCheck()
    for one in lint_files(sorted({*chosen, *others}, key=whole), LintOptions(), met, 1):
        report = one.report if display(one.path) in asked else Report([], one.report.facts)
        found.add(report, met.root_of(one.path))
    return [finding for finding in found.findings() if not others or finding.file in asked]


def lint_text(text: str, file: str = "text", folder: PathLike | None = None) -> list[Finding]:
    """What is found in a text by itself. ``file``: the name it has in the findings. ``folder``: with whose glost.yaml
    it is checked; without one, no glost.yaml holds. Raises ConfigError."""
    return sorted(examine(Source(file, text), _context(folder)).findings, key=ORDER)


def fix(text: str, folder: PathLike | None = None) -> str:
    """The text with all fixed that can be fixed for certain; no amount changes. ``folder`` as for ``lint_text``. Raises
    ConfigError."""
    return fixed(Source("text", text), _context(folder)).text


def format(text: str) -> str:
    """The text laid out in the one usual form; it means the same. Raises RecipeError where a line cannot be read."""
    source = Source("text", text)
    page = parse(source)
    if page.diagnostics:
        raise RecipeError("text", tuple(mistakes(page.diagnostics, source)))
    return format_text(page)


def _context(folder: PathLike | None) -> LintContext:
    if folder is None:
        from glost.workspace.config import without_own

        settings, catalogue, _ = without_own()
        return LintContext(catalogue, settings)
    collection = Collections().of(Path(folder) / "text.glost")
    return LintContext(collection.catalogue, collection.settings)
