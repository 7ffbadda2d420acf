"""Findings as a code quality report, which GitLab shows beside the changed lines of a merge request.

The form, its keys and its five severities: GitLab Docs, "Code Quality", "Code Quality report format" (from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from glost.linter.finding import ERROR, WARNING, Finding
from glost.linter.json_text import json_list, json_text
from glost.linter.reporters.plain import visible
from glost.linter.reporters.sarif import Fingerprints

_SEVERITIES = {ERROR: "major", WARNING: "minor"}


def gitlab(findings: Iterable[Finding]) -> Iterator[str]:
    """A list with an object a finding, each in a line of its own."""
    prints = Fingerprints()
    yield from json_list("", (json_text(_row(one, prints.of(one))) for one in findings), "\n", "\n ")


def _row(finding: Finding, fingerprint: str) -> dict[str, Any]:
    return {
        "description": f"{visible(finding.message)}. {visible(finding.hint)}.",
        "check_name": finding.rule,
        "fingerprint": fingerprint,
        "severity": _SEVERITIES.get(finding.level, "info"),
        "location": {
            "path": visible(finding.file),
            "lines": {"begin": finding.line, "end": finding.end_line},
        },
    }
