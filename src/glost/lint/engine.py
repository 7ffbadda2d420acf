"""Runs the rules over pages, and mends what can be mended."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from glost.language.parse import parse
from glost.language.source import Edit, Source, apply
from glost.lint.allowances import allowances
from glost.lint.finding import HINT, OFF, SYNTAX, Finding, mistakes, placed
from glost.lint.report import Fact, Report
from glost.lint.rule import Checked, Rule, all_rules
from glost.materials.catalogue import Catalogue
from glost.recipe.recipe import Recipe, batch_g
from glost.recipe.resolve import Resolved, resolve
from glost.settings import Settings

MOST_ROUNDS = 10
"""A mend may make room for another; more rounds than this would mean that two rules undo each other."""


class Bench(NamedTuple):
    """What a check needs besides the page: the rules, the collection, and a batch given on the command line.
    ``select`` leaves only these rules on, ``ignore`` turns more of them off; both for one run."""

    catalogue: Catalogue
    settings: Settings
    batch_g: Decimal | None = None
    rules: tuple[Rule, ...] | None = None
    select: frozenset[str] = frozenset()
    ignore: frozenset[str] = frozenset()

    def enabled(self) -> list[tuple[Rule, str]]:
        """The rules that are on, each with the level that the collection gives it. One that is named by
        ``select`` is on even where the collection turns it off, and as a hint where it is off by itself."""
        on = []
        for rule in all_rules() if self.rules is None else self.rules:
            level = self.settings.rules.get(rule.name, rule.level)
            if self.select:
                own = rule.level if rule.level != OFF else HINT
                level = OFF if rule.name not in self.select else level if level != OFF else own
            if level != OFF and rule.name not in self.ignore:
                on.append((rule, level))
        return on


def examine(source: Source, bench: Bench) -> Report:
    """Runs the rules over one page."""
    return examine_resolved(resolve(parse(source), bench.catalogue), bench)


def examine_resolved(resolved: Resolved, bench: Bench) -> Report:
    """Runs the rules over a page that was read with the catalogue of ``bench``."""
    page = resolved.page
    source = page.source
    allowed = allowances(page)
    checked = Checked(resolved, bench.catalogue, bench.settings, batch_of(resolved.recipe, bench), allowed)
    syntax = mistakes((*page.faults, *resolved.faults), source)
    found: list[Finding] = []
    facts: list[Fact] = []
    enabled = [] if page.torn else bench.enabled()  # of two versions at once no rule can say anything
    wanted = {rule.name for rule, _ in enabled}
    if allowed and bench.select and any(rule.idle is not None for rule, _ in enabled):
        # Whether an allowance is idle, only the rule that it names can tell; what that rule finds is left out below.
        enabled = bench._replace(select=frozenset()).enabled() + enabled
        enabled = list({rule.name: (rule, level) for rule, level in enabled}.values())
    for rule, level in enabled:
        if rule.check is not None:
            found += [placed(fault, source, rule.name, level) for fault in rule.check(checked)]
        if rule.shared is not None:
            for shared in rule.shared(checked):
                finding = placed(shared.fault, source, rule.name, level)
                passes = any(allowance.covers(rule.name, finding.line) for allowance in allowed)
                facts.append(Fact(shared.key, shared.apart, finding, passes))
    if allowed:
        used = [
            allowance
            for allowance in allowed
            if any(allowance.covers(f.rule, f.line) for f in (*found, *(fact.finding for fact in facts)))
        ]
        found = [f for f in found if not any(allowance.covers(f.rule, f.line) for allowance in allowed)]
        # A rule that this run leaves out, or that waits until every line can be read, has caught nothing yet.
        on = set() if syntax else {rule.name for rule, _ in enabled}
        idle = [
            allowance
            for allowance in allowed
            if allowance not in used and allowance.rule in on and allowance.reason
        ]
        for rule, level in enabled:
            if rule.idle is not None and idle:
                found += [placed(fault, source, rule.name, level) for fault in rule.idle(checked, idle)]
        found = [f for f in found if f.rule in wanted]
        facts = [fact for fact in facts if fact.finding.rule in wanted]
    findings = syntax + found
    findings.sort(key=lambda finding: finding.order)
    return Report(findings, facts)


def check(source: Source, bench: Bench) -> list[Finding]:
    """All findings of one page by itself, in the order of the page."""
    return examine(source, bench).findings


def batch_of(recipe: Recipe, bench: Bench) -> Decimal:
    """The mass of the base, in grams, that a recipe is looked at with."""
    return bench.batch_g or batch_g(recipe) or bench.settings.batch_g or bench.settings.USUAL_BATCH_G


@dataclass(frozen=True, slots=True)
class Mended:
    """The text after mending, how many findings were mended, and what is left to be done by hand."""

    text: str
    count: int
    left: Report


def mend(source: Source, bench: Bench) -> Mended:
    """Mends what the findings of a page offer to mend, round by round, until nothing is left to mend.

    How the page is written comes first; while a line of it cannot be read, no other mend is made. A round that
    would leave the page worse to read is not made.
    """
    count = 0
    report = examine(source, bench)
    for _ in range(MOST_ROUNDS):
        findings = report.findings
        syntax = [finding for finding in findings if finding.rule == SYNTAX]
        chosen = _together([f for f in (syntax or findings) if f.edits])
        if not chosen:
            break
        edits = {edit for finding in chosen for edit in finding.edits}
        mended = Source(source.path, apply(source.text, edits))
        after = examine(mended, bench)
        if mended.text == source.text or _broken(after.findings) > len(syntax):
            break
        source, report, count = mended, after, count + len(chosen)
    return Mended(source.text, count, report)


def _broken(findings: Sequence[Finding]) -> int:
    return sum(finding.rule == SYNTAX for finding in findings)


def _together(findings: Sequence[Finding]) -> list[Finding]:
    """As many of the findings, from the first on, as can be mended at once without meeting."""
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
