"""A report as values that JSON can hold, so that it can be kept, and back."""

from __future__ import annotations

from sys import intern
from typing import Any

from glost.language.diagnostics import Choice
from glost.language.source import Edit, Span
from glost.linter.finding import Finding
from glost.linter.report import Fact, Report


def as_values(report: Report) -> Any:
    """A report without the name of its file."""
    lines: dict[str, int] = {}  # a line with many findings is written once
    return [
        [_values_of(finding, lines) for finding in report.findings],
        [[fact.key, fact.apart, _values_of(fact.finding, lines), fact.allowed] for fact in report.facts],
        list(lines),
    ]


def _values_of(finding: Finding, lines: dict[str, int]) -> list[Any]:
    line = lines.setdefault(finding.text, len(lines))
    edits = [[*edit.span, edit.text] for edit in finding.edits]
    choices = [[said, *edit.span, edit.text] for said, edit in finding.choices]
    return [*finding[1:-3], line, edits, *choices]


def from_values(values: Any, shown: str) -> Report | None:
    """The report that as_values() gave, of a file shown under that name; None for anything else."""
    try:
        findings, facts, lines = values
        return Report(
            [_finding(one, shown, lines) for one in findings],
            [Fact(key, apart, _finding(one, shown, lines), allowed) for key, apart, one, allowed in facts],
        )
    except (ValueError, TypeError, IndexError):
        return None


def _finding(values: Any, shown: str, lines: Any) -> Finding:
    at, column, end_line, end_column, rule, level, message, hint, line, edits, *choices = values
    fixes = tuple(Edit(Span(start, end), text) for start, end, text in edits) if edits else ()
    return Finding(
        shown,
        at,
        column,
        end_line,
        end_column,
        intern(rule),
        intern(level),
        intern(message),
        intern(hint),
        lines[line],
        fixes,
        tuple(Choice(said, Edit(Span(start, end), text)) for said, start, end, text in choices)
        if choices
        else (),
    )
