"""Findings for programs: versioned JSON, described by schema/findings.schema.json."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from glost.linter.finding import Finding
from glost.linter.json_text import json_rows, json_text

VERSION = 2


def as_json(findings: Iterable[Finding]) -> str:
    """``{"version": 2, "findings": [...]}``, keys in a fixed order: those of version 1 first, with the same values."""
    return json_rows("findings", map(_data, findings), version=VERSION) + "\n"


def as_jsonl(findings: Iterable[Finding]) -> str:
    """The same findings, one a line, each complete in itself, so that reports of parts are put together by putting
    them one behind the other."""
    return "".join(f"{json_text({'version': VERSION, **_data(one)})}\n" for one in findings)


def _data(finding: Finding) -> dict[str, Any]:
    return {
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
