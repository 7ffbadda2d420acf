"""What a run of the linter asks of every file, and what it gets."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from glost.linter.report import Report

if TYPE_CHECKING:
    from decimal import Decimal

    from glost.linter.fixing import Fix
    from glost.linter.rescaling import NotRescaled, Rescaled


class LintOptions(NamedTuple):
    """What a run asks of every file. ``fix``: what can be fixed is fixed; ``rescale``: bases are brought to 100 with
    it; ``only_show``: nothing is written, and what would be is shown."""

    batch_g: Decimal | None = None
    select: frozenset[str] = frozenset()
    ignore: frozenset[str] = frozenset()
    fix: bool = False
    rescale: bool = False
    only_show: bool = False


class Changes(NamedTuple):
    """What was changed on a page, or would be: its text before and after, each fix, and the base brought to 100 or why
    it was not. ``left`` says why the page was left as it is all the same."""

    before: str
    after: str
    fixes: tuple[Fix, ...] = ()
    rescaled: Rescaled | NotRescaled | None = None
    left: str = ""


class FileReport(NamedTuple):
    """One file's report, and what was changed there. ``content`` is a digest of the text that the report is about and
    ``says`` that of the collection's own files; "" where no page could be looked at."""

    path: Path
    report: Report
    changes: Changes | None = None
    content: str = ""
    says: str = ""
