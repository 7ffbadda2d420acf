"""The fixes that a page offers: of one finding, and of all that are certain."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from glost.editor.page import Page
from glost.language.parse import parse
from glost.language.source import Edit, Source, Span, apply
from glost.linter.finding import Finding
from glost.linter.fixing import fix
from glost.recipe.resolve import resolve


class OfferedFix(NamedTuple):
    """One fix: its title, the finding that it answers, and the edits. ``chosen``: it is one of the names that the
    finding offers, which only a person can tell from the others, so that no other way makes it."""

    title: str
    finding: Finding
    edits: tuple[Edit, ...]
    chosen: bool = False


def span_of(finding: Finding, source: Source) -> Span:
    """Where a finding stands, as offsets."""
    start = source.line_span(finding.line).start + finding.column - 1
    end = source.line_span(finding.end_line).start + finding.end_column - 1
    return Span(start, max(start, end))


def offered(page: Page, findings: Iterable[Finding], within: Span) -> Iterator[OfferedFix]:
    """The fixes of the findings that touch a stretch. One that would leave the page worse to read is not offered."""
    source = page.tree.source
    faults = len(page.tree.diagnostics) + len(page.resolved.diagnostics)
    for finding in findings:
        if not finding.edits and not finding.choices:
            continue
        span = span_of(finding, source)
        if span.start > within.end or span.end < within.start:
            continue
        for one in _of(finding):
            fixed = parse(Source(page.file, apply(page.text, one.edits)))
            after = resolve(fixed, page.catalogue, page.context.finder)
            if len(after.page.diagnostics) + len(after.diagnostics) <= faults:
                yield one


def _of(finding: Finding) -> Iterator[OfferedFix]:
    """The one certain fix, and each name that its hint offers."""
    if finding.edits:
        hint = _on_one_line(finding.hint)
        yield OfferedFix(f"Fix: {hint or finding.rule}", finding, finding.edits)
    for said, edit in finding.choices:
        yield OfferedFix(f"Write {_on_one_line(said)}", finding, (edit,), chosen=True)


def _on_one_line(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def fix_all(page: Page) -> str | None:
    """The page with all that glost lint --fix would fix, None where that is nothing."""
    if not any(finding.edits for finding in page.report.findings):
        return None
    after = fix(page.tree.source, page.context, page.report).text
    return after if after != page.text else None
