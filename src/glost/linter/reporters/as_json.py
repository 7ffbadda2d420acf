"""Findings for programs: versioned JSON, described by schema/findings.schema.json."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from glost.linter.finding import Finding
from glost.linter.json_text import json_rows, json_text

VERSION = 2


def as_json(findings: Iterable[Finding]) -> Iterator[str]:
    """``{"version": 2, "findings": [...]}``, keys in a fixed order: those of version 1 first, with the same values."""
    yield from json_rows("findings", map(_data, findings), version=VERSION)
    yield "\n"


def as_jsonl(findings: Iterable[Finding]) -> Iterator[str]:
    """The same findings, one a line, each complete in itself, so that reports of parts are put together by putting
    them one behind the other."""
    for one in findings:
        yield f"{json_text({'version': VERSION, **_data(one)})}\n"


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
