"""Findings for programs: versioned JSON, described by schema/findings.schema.json."""

from __future__ import annotations

from collections.abc import Iterable

from glost.linter.finding import Finding
from glost.linter.json_text import json_rows

VERSION = 2


def as_json(findings: Iterable[Finding]) -> str:
    """``{"version": 2, "findings": [...]}``, keys in a fixed order: those of version 1 first, with the same values."""
    rows = (
        {
            "file": finding.file,
            "line": finding.line,
            "column": finding.column,
            "end_line": finding.end_line,
            "end_column": finding.end_column,
            "rule": finding.rule,
            "level": finding.level,
            "message": finding.message,
            "mend": finding.hint,
            "mendable": bool(finding.edits),
            "hint": finding.hint,
            "fixable": bool(finding.edits),
        }
        for finding in findings
    )
    return json_rows("findings", rows, version=VERSION) + "\n"
