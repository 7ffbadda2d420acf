"""Runs the rules over the page of a firing."""

from __future__ import annotations

from glost.language import tree
from glost.linter.allowances import allowances
from glost.linter.engine import LintContext
from glost.linter.finding import ORDER, mistakes, placed
from glost.linter.report import Report
from glost.linter.rule import CheckedFiring
from glost.recipe.firing import resolve_firing


def examine_firing(page: tree.Page, context: LintContext) -> Report:
    """What is found on one."""
    resolved = resolve_firing(page)
    source = page.source
    checked = CheckedFiring(resolved, context.finder, context.around)
    found = [
        placed(diagnostic, source, rule.name, level)
        for rule, level in context.enabled()
        if rule.firing is not None
        for diagnostic in rule.firing(checked)
    ]
    allowed = allowances(page)
    found = [f for f in found if not any(one.covers(f.rule, f.line) for one in allowed)]
    findings = mistakes((*page.diagnostics, *resolved.diagnostics), source) + found
    return Report(sorted(findings, key=ORDER), [])
