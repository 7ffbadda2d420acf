"""Fixes what the findings of a page offer to fix, and tells each fix by the text before and after it.

A fix changes how something is written, never how much of it is weighed. What changes amounts is asked for by itself, in
rescaling.py.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

from glost.language.source import Edit, Source, Span, apply
from glost.linter.engine import LintContext, examine
from glost.linter.finding import SYNTAX, Finding
from glost.linter.report import Report

MOST_ROUNDS = 10
"""A fix may make room for another; more rounds than this would mean that two rules undo each other."""

_AROUND = 60
"""Characters that are shown beside the place of a fix; a line may be as long as a page."""


class Fix(NamedTuple):
    """One fix that was made: the line, counted in the text that it was made in; the rule that asked for it; the line
    before and after it, cut where it is long; and on how many ``more`` lines the same was done."""

    line: int
    rule: str
    before: str
    after: str
    more: int = 0


class Fixed(NamedTuple):
    """The text after all fixes, the fixes in their order, and what is left to be done by hand."""

    text: str
    fixes: tuple[Fix, ...]
    left: Report
    taken: Counter[tuple[str, str]]
    """Rule and message of every finding that was fixed."""


def fix(source: Source, context: LintContext, report: Report | None = None) -> Fixed:
    """Makes the fixes that the findings of a page offer, round by round, until none is left. ``report`` is what the
    rules say of the page, where that is known already.

    How the page is written comes first; while a line of it cannot be read, no other fix is made. A round that
    would leave the page worse to read is not made.
    """
    fixes: list[Fix] = []
    taken: Counter[tuple[str, str]] = Counter()
    if report is None:
        report = examine(source, context)
    for _ in range(MOST_ROUNDS):
        findings = report.findings
        syntax = [finding for finding in findings if finding.rule == SYNTAX]
        chosen = _together([f for f in (syntax or findings) if f.edits])
        if not chosen:
            break
        edits = {edit for finding in chosen for edit in finding.edits}
        fixed = Source(source.path, apply(source.text, edits))
        if fixed.text == source.text:
            break
        after = examine(fixed, context)
        if _broken(after.findings) > len(syntax):
            break
        fixes += (_told(source, finding) for finding in chosen)
        taken.update((finding.rule, finding.message) for finding in chosen)
        source, report = fixed, after
    return Fixed(source.text, tuple(fixes), report, taken)


def only_what_is_fixed(source: Source, context: LintContext, report: Report) -> Report:
    """``report`` with edits on those findings alone that fix() would fix, were it called now: while a line cannot be
    read, or where two fixes meet, the others wait."""
    if not any(finding.edits for finding in report.findings):
        return report
    taken = Counter(fix(source, context, report).taken)
    findings = []
    for finding in report.findings:
        if finding.edits:
            known = finding.rule, finding.message
            taken[known] -= 1
            if taken[known] < 0:
                finding = finding._replace(edits=())
        findings.append(finding)
    return report._replace(findings=findings)


def _broken(findings: Sequence[Finding]) -> int:
    return sum(finding.rule == SYNTAX for finding in findings)


def _told(source: Source, finding: Finding) -> Fix:
    """A fix by the line it is made on; of one that is made on many lines, by the first."""
    text, edits = source.text, sorted(finding.edits)
    first = edits[0].span
    start = max(text.rfind("\n", 0, first.start) + 1, first.start - _AROUND)
    end = text.find("\n", first.end)
    end = min(len(text) if end < 0 else end, first.end + _AROUND)
    lines = {source.position(edit.span.start).line for edit in edits}
    here = [
        Edit(Span(edit.span.start - start, edit.span.end - start), edit.text)
        for edit in edits
        if start <= edit.span.start and edit.span.end <= end
    ]
    before = text[start:end]
    return Fix(
        source.position(first.start).line, finding.rule, before, apply(before, here), more=len(lines) - 1
    )


def _together(findings: Sequence[Finding]) -> list[Finding]:
    """As many of the findings, from the first on, as can be fixed at once without meeting."""
    chosen: list[Finding] = []
    taken: list[Edit] = []  # in order, and apart
    for finding in findings:
        put: list[Edit] = []
        for edit in finding.edits:
            at = bisect_left(taken, edit)
            if taken[at : at + 1] == [edit]:
                continue
            if (at and taken[at - 1].span.end > edit.span.start) or (
                at < len(taken) and taken[at].span.start < edit.span.end
            ):
                for one in put:
                    taken.remove(one)
                break
            taken.insert(at, edit)
            put.append(edit)
        else:
            chosen.append(finding)
    return chosen
