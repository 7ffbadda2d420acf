"""What the rules say of a page, and pages compared with each other."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterable
from typing import NamedTuple

from glost.linter.finding import Finding


class Fact(NamedTuple):
    """What one page has that no other may have too; ``finding`` is what it is where another has it."""

    key: str
    apart: str
    finding: Finding
    allowed: bool


class Report(NamedTuple):
    """What the rules say of one page by itself, and what it is to be compared with others by."""

    findings: list[Finding]
    facts: list[Fact]


def cross_check_each(reports: Iterable[tuple[Hashable, Report]]) -> list[Finding]:
    """All findings of the pages of several collections, each page with what its collection is known by; pages are held
    against those of their own."""
    by_collection: dict[Hashable, list[Report]] = {}
    for collection, report in reports:
        by_collection.setdefault(collection, []).append(report)
    findings = [finding for mine in by_collection.values() for finding in cross_check(mine)]
    findings.sort(key=lambda finding: finding.order)
    return findings


_NAMED = 3
"""Other pages that a message names; of the rest it says how many there are."""


def _first(facts: Iterable[Fact]) -> list[Fact]:
    """The first facts, so many that each of all has those among them that it names: of a thousand pages of one name
    nobody is asked to look at more."""
    taken: Counter[str] = Counter()
    first = []
    for fact in facts:
        if taken[fact.apart] <= _NAMED:
            taken[fact.apart] += 1
            first.append(fact)
            if len(first) > 2 * _NAMED:
                break
    return first


def cross_check(reports: Iterable[Report]) -> list[Finding]:
    """All findings of the pages of one collection, those of two pages compared with each other among them."""
    findings: list[Finding] = []
    groups: dict[tuple[str, str], list[Fact]] = {}
    for report in reports:
        findings += report.findings
        for fact in report.facts:
            groups.setdefault((fact.finding.rule, fact.key), []).append(fact)
    for facts in groups.values():
        if len(facts) < 2:
            continue
        alike = Counter(fact.apart for fact in facts)
        first = _first(facts)
        for fact in facts:
            count = len(facts) - (alike[fact.apart] if fact.apart else 1)
            if count and not fact.allowed:
                others = [
                    f"{other.finding.file}:{other.finding.line}"
                    for other in first
                    if other is not fact and not (fact.apart and other.apart == fact.apart)
                ]
                named = ", ".join(others[:_NAMED]) + (f" and {count - _NAMED} more" if count > _NAMED else "")
                # From the right: a recipe may be called {others} itself.
                before, _, after = fact.finding.message.rpartition("{others}")
                findings.append(fact.finding._replace(message=before + named + after))
    findings.sort(key=lambda finding: finding.order)
    return findings
