"""Findings as workflow commands, which GitHub shows as annotations on the changed lines.

The form and its escapes: GitHub Docs, "Workflow commands for GitHub Actions" (from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from glost.linter.finding import ERROR, WARNING, Finding
from glost.linter.reporters.plain import visible

_COMMANDS = {ERROR: "error", WARNING: "warning"}


def github(findings: Iterable[Finding]) -> Iterator[str]:
    """One command a finding."""
    return map(_command, findings)


def _command(finding: Finding) -> str:
    properties: dict[str, object] = {"file": visible(finding.file), "line": finding.line}
    if finding.end_line == finding.line:  # columns are only taken where both are of one line
        properties |= {"col": finding.column, "endColumn": finding.end_column}
    properties |= {"endLine": finding.end_line, "title": finding.rule}
    said = ",".join(f"{name}={_property(str(value))}" for name, value in properties.items())
    text = f"{visible(finding.message)}\nhint: {visible(finding.hint)}"
    return f"::{_COMMANDS.get(finding.level, 'notice')} {said}::{_data(text)}\n"


def _data(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _data(text).replace(":", "%3A").replace(",", "%2C")
