"""What an earlier report is known by, so that nothing else is written over."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

_HEAD = re.compile(r"\A.+:\d+:\d+: (?:error|warning|hint): .+ \([a-z-]+\)$", re.MULTILINE)

MARKS: Final[Mapping[str, re.Pattern[str]]] = {
    "text": _HEAD,
    "line": _HEAD,
    "json": re.compile(r'\A\{\s*"version": \d+,\s*"findings": \['),
    "jsonl": re.compile(r'\A\{"version": \d+, "file": ".*", "line": \d+, "column": \d+,'),
    "sarif": re.compile(r'\A\{\s*"\$schema": "[^"]*sarif[^"]*",[^}]*"driver": \{\s*"name": "glost"'),
    "github": re.compile(r"\A::(?:error|warning|notice) file="),
    "gitlab": re.compile(r'\A\[(?:\s*\]|\s*\{\s*"description": "[^\n]*,\s*"check_name": "[a-z-]+",)'),
    "junit": re.compile(r'\A<\?xml [^>]*\?>\n<testsuites name="glost" '),
    "counts": re.compile(r"\A *\d+ (?:error|warning|hint) +[a-z-]+ \(in \d+ files?\)$", re.MULTILINE),
}
"""By the form of the report. One without a finding may be empty, and an empty file is nobody's loss."""
