"""A report as a text that can be kept, and back."""

from __future__ import annotations

import json
from typing import Any

from glost.language.source import Edit, Span
from glost.linter.finding import Finding
from glost.linter.report import Fact, Report


def as_text(report: Report) -> str:
    """A report as JSON, without the name of its file."""
    return json.dumps(_plain(report), separators=(",", ":"))


def from_text(text: str, shown: str) -> Report | None:
    """The report that as_text() wrote, of a file shown under that name; None for anything else."""
    try:
        return _report(json.loads(text), shown)
    except (ValueError, TypeError, IndexError, RecursionError):
        return None


def _plain(report: Report) -> Any:
    lines: dict[str, int] = {}  # a line with many findings is written once
    return [
        [_plain_finding(finding, lines) for finding in report.findings],
        [[fact.key, fact.apart, _plain_finding(fact.finding, lines), fact.allowed] for fact in report.facts],
        list(lines),
    ]


def _plain_finding(finding: Finding, lines: dict[str, int]) -> list[Any]:
    line = lines.setdefault(finding.text, len(lines))
    return [*finding[1:-2], line, [[*edit.span, edit.text] for edit in finding.edits]]


def _report(plain: Any, shown: str) -> Report:
    findings, facts, lines = plain
    return Report(
        [_finding(one, shown, lines) for one in findings],
        [Fact(key, apart, _finding(one, shown, lines), allowed) for key, apart, one, allowed in facts],
    )


def _finding(plain: Any, shown: str, lines: Any) -> Finding:
    *fields, line, edits = plain
    fixes = tuple(Edit(Span(start, end), text) for start, end, text in edits)
    return Finding._make([shown, *fields, str(lines[line]), fixes])
