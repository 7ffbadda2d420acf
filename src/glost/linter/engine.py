"""Runs the rules over pages."""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

from glost.language.blake2 import blake2b
from glost.language.parse import parse
from glost.language.source import Source
from glost.linter.allowances import allowances
from glost.linter.finding import HINT, OFF, ORDER, Finding, mistakes, placed
from glost.linter.report import Fact, Report
from glost.linter.rule import Checked, Rule, Surroundings, all_rules, level_of
from glost.recipe.analysed import AnalysedRecipe
from glost.recipe.library import Library
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.recipe import Recipe, batch_g
from glost.recipe.resolve import resolve
from glost.recipe.settings import Settings


class LintContext(NamedTuple):
    """What a check needs besides the page: the rules, the collection, and a batch given on the command line.
    ``select`` leaves only these rules on, ``ignore`` turns more of them off; both for one run. ``finder`` knows the
    recipes that a page may use, ``around`` the log and the photos of a firing. ``file``: where the page lies, if it is
    shown under another name, such as one of a revision; "-" if it lies in no file."""

    catalogue: Catalogue
    settings: Settings
    batch_g: Decimal | None = None
    rules: tuple[Rule, ...] | None = None
    select: frozenset[str] = frozenset()
    ignore: frozenset[str] = frozenset()
    finder: Library | None = None
    around: Surroundings | None = None
    file: str = ""

    def enabled(self) -> list[tuple[Rule, str]]:
        """The rules that are on, each with the level that the collection gives it. One that is named by
        ``select`` is on even where the collection turns it off, and as a hint where it is off by itself."""
        on = []
        for rule in all_rules() if self.rules is None else self.rules:
            level = level_of(rule, self.settings.rules)
            if self.select:
                own = rule.level if rule.level != OFF else HINT
                level = OFF if rule.name not in self.select else level if level != OFF else own
            if level != OFF and rule.name not in self.ignore:
                on.append((rule, level))
        return on


def examine(source: Source, context: LintContext) -> Report:
    """Runs the rules over one page."""
    page = parse(source)
    if page.is_firing:
        from glost.linter.firings import examine_firing

        return examine_firing(page, context)
    return examine_resolved(resolve(page, context.catalogue, context.finder), context)


def examine_resolved(resolved: AnalysedRecipe, context: LintContext) -> Report:
    """Runs the rules over a page that was read with the catalogue of ``context``."""
    page = resolved.page
    source = page.source
    allowed = allowances(page)
    checked = Checked(
        _as_it_reads(resolved, context),
        context.catalogue,
        context.settings,
        batch_of(resolved.recipe, context),
        allowed,
        context.finder,
        context.file or source.path,
    )
    syntax = mistakes((*page.diagnostics, *resolved.diagnostics), source)
    found: list[Finding] = []
    facts: list[Fact] = []
    enabled = [] if page.torn else context.enabled()  # of two versions at once no rule can say anything
    wanted = {rule.name for rule, _ in enabled}
    if allowed and context.select and any(rule.idle is not None for rule, _ in enabled):
        # Whether an allowance is idle, only the rule that it names can tell; what that rule finds is left out below.
        enabled = context._replace(select=frozenset()).enabled() + enabled
        enabled = list({rule.name: (rule, level) for rule, level in enabled}.values())
    for rule, level in enabled:
        if rule.check is not None:
            found += [placed(diagnostic, source, rule.name, level) for diagnostic in rule.check(checked)]
        if rule.shared is not None:
            for shared in rule.shared(checked):
                finding = placed(shared.diagnostic, source, rule.name, level)
                passes = any(allowance.covers(rule.name, finding.line) for allowance in allowed)
                facts.append(Fact(_digest(shared.key), shared.apart, finding, passes))
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
                found += [
                    placed(diagnostic, source, rule.name, level) for diagnostic in rule.idle(checked, idle)
                ]
        found = [f for f in found if f.rule in wanted]
        facts = [fact for fact in facts if fact.finding.rule in wanted]
    findings = syntax + found
    if not page.is_recipe:  # what is no recipe is never changed
        findings = [finding._replace(edits=(), choices=()) for finding in findings]
    findings.sort(key=ORDER)
    return Report(findings, facts)


def _digest(key: str) -> str:
    """A key of one length: that of a page with many tests is longer than the page."""
    return blake2b(key.encode("utf-8", "surrogatepass"), digest_size=16).hexdigest()


def _as_it_reads(resolved: AnalysedRecipe, context: LintContext) -> AnalysedRecipe:
    """The recipe for the rules: where nothing stands against its page but what takes nothing from it, such as Windows
    line breaks, the rules look at it as at any other."""
    page = resolved.page
    takes_nothing = page.blocks and page.diagnostics and all(one.takes_nothing for one in page.diagnostics)
    if not takes_nothing:
        return resolved
    return resolve(page._replace(diagnostics=()), context.catalogue, context.finder)


def check(source: Source, context: LintContext) -> list[Finding]:
    """All findings of one page by itself, in the order of the page."""
    return examine(source, context).findings


def batch_of(recipe: Recipe, context: LintContext) -> Decimal:
    """The mass of the base, in grams, that a recipe is looked at with."""
    return context.batch_g or batch_g(recipe) or context.settings.batch_g or context.settings.USUAL_BATCH_G
