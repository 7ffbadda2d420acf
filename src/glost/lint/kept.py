"""Reports of pages, kept from one run to the next.

Reports lie in so many parts by the path of the page, that a run over one page reads little. Of a report that cannot be
understood nothing is taken.
"""

from __future__ import annotations

import json
import os
from binascii import crc32
from typing import Any

from glost import cache
from glost.language.source import Edit, Span
from glost.lint.finding import Finding
from glost.lint.report import Fact, Report

_FOLDER = "reports"
_PARTS = 256


class KeptReports:
    """The reports of the pages of one collection. ``about`` tells all that they depend on besides the page and the
    build of glost; what was kept under the same ``place`` about something else is replaced."""

    def __init__(self, place: str, about: str) -> None:
        self._place = f"{_FOLDER}/{place}"
        self._about = about
        self._parts: dict[int, dict[str, list[str]]] = {}
        self._changed: set[int] = set()

    def knows(self, path: str) -> bool:
        """Whether a page at that path was looked at before."""
        return path in self._part(_part_of(path))

    def find(self, path: str, content: str, shown: str) -> Report | None:
        """What was found on that page, with that digest of its content, shown under that name; None where it is not
        known."""
        try:
            known_as, report = self._part(_part_of(path))[path]
            return _report(json.loads(report), shown) if known_as == content else None
        except (LookupError, ValueError, TypeError, RecursionError):
            return None

    def keep(self, path: str, content: str, report: Report) -> None:
        """Keeps what was found on the page with that digest."""
        part = _part_of(path)
        self._part(part)[path] = [content, json.dumps(_plain(report), separators=(",", ":"))]
        self._changed.add(part)

    def save(self) -> None:
        """Puts what is new where the next run finds it; of pages that are gone nothing is kept."""
        for part in sorted(self._changed):
            there = {path: kept for path, kept in self._parts[part].items() if os.path.exists(path)}  # noqa: PTH110
            cache.put(f"{self._place}/{part:02x}", self._about, there)
        if self._changed:
            cache.sweep(_FOLDER)
        self._changed.clear()

    def _part(self, number: int) -> dict[str, list[str]]:
        if number not in self._parts:
            kept = cache.take(f"{self._place}/{number:02x}", self._about)
            self._parts[number] = kept if isinstance(kept, dict) else {}
        return self._parts[number]


def _part_of(path: str) -> int:
    return crc32(path.encode("utf-8", "surrogatepass")) % _PARTS


def _plain(report: Report) -> Any:
    return [
        [_plain_finding(finding) for finding in report.findings],
        [[fact.key, fact.apart, _plain_finding(fact.finding), fact.allowed] for fact in report.facts],
    ]


def _plain_finding(finding: Finding) -> list[Any]:
    return [*finding[1:-1], [[*edit.span, edit.text] for edit in finding.edits]]


def _report(plain: Any, shown: str) -> Report:
    findings, facts = plain
    return Report(
        [_finding(one, shown) for one in findings],
        [Fact(key, apart, _finding(one, shown), allowed) for key, apart, one, allowed in facts],
    )


def _finding(plain: Any, shown: str) -> Finding:
    *fields, edits = plain
    mends = tuple(Edit(Span(start, end), text) for start, end, text in edits)
    return Finding._make([shown, *fields, mends])
