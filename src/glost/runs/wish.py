"""What a run of the linter asks of every file, and what it gets."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from glost.lint.report import Report

if TYPE_CHECKING:
    from decimal import Decimal


class Wish(NamedTuple):
    """What a run asks of every file."""

    batch_g: Decimal | None = None
    select: frozenset[str] = frozenset()
    ignore: frozenset[str] = frozenset()
    fix: bool = False


class Looked(NamedTuple):
    """One file's report, and how many of its findings were mended. ``content`` is a digest of the text that the report
    is about and ``says`` that of the collection's own files; "" where no page could be looked at."""

    path: Path
    report: Report
    mended: int = 0
    content: str = ""
    says: str = ""
