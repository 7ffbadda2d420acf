"""What the rules say of a page, and pages held against each other."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from typing import NamedTuple

from glost.lint.finding import Finding


class Fact(NamedTuple):
    """What one page has that no other may have too; ``finding`` is what it is where another has it."""

    key: str
    apart: str
    finding: Finding
    allowed: bool


class Report(NamedTuple):
    """What the rules say of one page by itself, and what it is to be held against others by."""

    findings: list[Finding]
    facts: list[Fact]


def collate_each(reports: Iterable[tuple[Hashable, Report]]) -> list[Finding]:
    """All findings of the pages of several collections, each page with what its collection is known by; pages are held
    against those of their own."""
    by_collection: dict[Hashable, list[Report]] = {}
    for collection, report in reports:
        by_collection.setdefault(collection, []).append(report)
    findings = [finding for mine in by_collection.values() for finding in collate(mine)]
    findings.sort(key=lambda finding: finding.order)
    return findings


def collate(reports: Iterable[Report]) -> list[Finding]:
    """All findings of the pages of one collection, those of two pages held against each other among them."""
    findings: list[Finding] = []
    groups: dict[tuple[str, str], list[Fact]] = {}
    for report in reports:
        findings += report.findings
        for fact in report.facts:
            groups.setdefault((fact.finding.rule, fact.key), []).append(fact)
    for facts in groups.values():
        if len(facts) < 2:
            continue
        for fact in facts:
            others = [
                f"{other.finding.file}:{other.finding.line}"
                for other in facts
                if other is not fact and not (fact.apart and other.apart == fact.apart)
            ]
            if others and not fact.allowed:
                named = ", ".join(others[:3]) + (f" and {len(others) - 3} more" if len(others) > 3 else "")
                # From the right: a recipe may be called {others} itself.
                before, _, after = fact.finding.message.rpartition("{others}")
                findings.append(fact.finding._replace(message=before + named + after))
    findings.sort(key=lambda finding: finding.order)
    return findings
