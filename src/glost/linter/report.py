"""What the rules say of a page, and pages compared with each other."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterable, Iterator
from typing import NamedTuple

from glost.linter.finding import ORDER, Finding


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


class CrossCheck:
    """The findings of many pages, which come one by one. Of each is held what was found on it, and what it is compared
    with others by: so a run over a hundred thousand of them stays small."""

    def __init__(self) -> None:
        self._findings: list[Finding] = []
        self._alone: dict[tuple[Hashable, str], dict[str, Fact]] = {}
        self._alike: dict[tuple[Hashable, str], dict[str, list[Fact]]] = {}

    def add(self, report: Report, collection: Hashable = None) -> None:
        """A page with what its collection is known by; pages are held against those of their own."""
        self._findings += report.findings
        for fact in report.facts:
            of_rule = (collection, fact.finding.rule)
            first = self._alone.setdefault(of_rule, {}).setdefault(fact.key, fact)
            if first is not fact:
                self._alike.setdefault(of_rule, {}).setdefault(fact.key, [first]).append(fact)

    def findings(self) -> list[Finding]:
        """All findings in their order, those of pages compared with each other among them, whatever the order in which
        the pages came."""
        alike = (facts for of_rule in self._alike.values() for facts in of_rule.values())
        found = [*self._findings, *(finding for facts in alike for finding in _compared(facts))]
        found.sort(key=ORDER)
        return found


def cross_check(reports: Iterable[Report]) -> list[Finding]:
    """All findings of the pages of one collection, those of two pages compared with each other among them."""
    met = CrossCheck()
    for report in reports:
        met.add(report)
    return met.findings()


def _compared(facts: list[Fact]) -> Iterator[Finding]:
    """The findings of pages that have something in common."""
    facts.sort(key=_place)
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
            yield fact.finding._replace(message=before + named + after)


def _place(fact: Fact) -> tuple[str, int, int]:
    """In the order of folders and files, as a walk comes by them."""
    return fact.finding.file.replace("/", "\0"), fact.finding.line, fact.finding.column
