"""Findings as SARIF 2.1.0 (OASIS Standard, Static Analysis Results Interchange Format), with a record a rule."""

from __future__ import annotations

import functools
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Any

from glost import __version__
from glost.linter.finding import ERROR, OFF, SYNTAX, UNREADABLE, WARNING, Finding
from glost.linter.json_text import json_list, json_text
from glost.linter.reporters.plain import visible
from glost.linter.rule import all_rules

_SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
_LEVELS = {ERROR: "error", WARNING: "warning"}
_BUILT_IN = {
    SYNTAX: "A line that cannot be read.",
    UNREADABLE: "A file that cannot be read.",
}
_FINGERPRINT = "glostFinding/v1"
_DRIVE = re.compile("[A-Za-z]:/")


def sarif(findings: Iterable[Finding]) -> Iterator[str]:
    """One run with all findings, each in a line of its own."""
    records = _records()
    index = {record["id"]: at for at, record in enumerate(records)}
    prints = Fingerprints()
    driver = {"name": "glost", "version": __version__, "semanticVersion": __version__, "rules": records}
    run = {"tool": {"driver": driver}, "columnKind": "unicodeCodePoints", "results": []}
    log = {"$schema": _SCHEMA, "version": "2.1.0", "runs": [run]}
    before, _, after = json_text(log, indent=1).rpartition("[]")
    results = (_result(one, index[one.rule], prints.of(one)) for one in findings)
    yield from json_list(before, results, f"{after}\n", "\n    ", "\n   ")


def _records() -> list[dict[str, Any]]:
    built_in = [
        {"id": name, "shortDescription": {"text": text}, "defaultConfiguration": {"level": "error"}}
        for name, text in _BUILT_IN.items()
    ]
    rules = [
        {
            "id": rule.name,
            "shortDescription": {"text": rule.summary},
            "fullDescription": {"text": " ".join(rule.why.split())},
            "help": {"text": " ".join(rule.how_to_fix.split())},
            "defaultConfiguration": {"level": _LEVELS.get(rule.level, "note")}
            | ({"enabled": False} if rule.level == OFF else {}),
        }
        for rule in all_rules()
    ]
    return [*built_in, *rules]


_REGION = {"startLine": "%d", "startColumn": "%d", "endLine": "%d", "endColumn": "%d"}
_RESULT = json_text(
    {
        "ruleId": "%s",
        "ruleIndex": "%d",
        "level": "%s",
        "message": {"text": "%s"},
        "locations": [{"physicalLocation": {"artifactLocation": {"uri": "%s"}, "region": _REGION}}],
        "partialFingerprints": {_FINGERPRINT: "%s"},
    }
).replace('"%d"', "%d")
"""A finding, but for what differs: to write each as JSON from the beginning takes twice as long, and 100,000 findings
half a second more."""


def _result(finding: Finding, rule_index: int, fingerprint: str) -> str:
    return _RESULT % (
        finding.rule,
        rule_index,
        _LEVELS.get(finding.level, "note"),
        _said(finding.message, finding.hint),
        _uri(finding.file),
        *finding[1:5],
        fingerprint,
    )


@functools.lru_cache(maxsize=256)  # of a material or a mistake the same is said on many pages
def _said(message: str, hint: str) -> str:
    """What is said of a finding, as it stands between the quotation marks of JSON."""
    return json_text(f"{visible(message)}. {visible(hint)}.")[1:-1]


@functools.lru_cache(maxsize=1)  # the findings of a file come one behind the other
def _uri(path: str) -> str:
    """The path as RFC 3986 has it: a relative reference, or a file URI (RFC 8089) for a path from the root. Every
    sign and every byte that is not plain is written as %XX."""
    from urllib.parse import quote

    text = quote(path, safe="/", errors="surrogateescape")
    if path.startswith("/"):
        return f"file://{text}"
    return f"file:///{text}" if _DRIVE.match(path) else text


class Fingerprints:
    """What each finding stays known by when lines are put in above it: it is made of the file, the rule, the text of
    the line, and which of several equal lines it is. A line that holds many findings is worked through once."""

    def __init__(self) -> None:
        self._begun: dict[tuple[str, str, str], Any] = {}
        self._seen: Counter[tuple[str, str, str]] = Counter()
        self._line = self._stripped = ""
        import hashlib  # OpenSSL with it, which only some reports need

        self._sha256 = hashlib.sha256

    def of(self, finding: Finding) -> str:
        """The fingerprint of the next finding."""
        if finding.text is not self._line:
            self._line, self._stripped = finding.text, finding.text.strip()
        same = (finding.file, finding.rule, self._stripped)
        self._seen[same] += 1
        number = self._seen[same]
        if number == 1:  # as most are: nothing is kept for another
            return str(self._sha256(_bytes("\0".join((*same, "1")))).hexdigest())
        if same not in self._begun:
            self._begun[same] = self._sha256(_bytes("\0".join(same)))
        digest = self._begun[same].copy()
        digest.update(_bytes(f"\0{number}"))
        return str(digest.hexdigest())


def _bytes(text: str) -> bytes:
    return text.encode("utf-8", "surrogatepass")
