"""Every rule keeps its word: its examples give exactly what it says, and its page is what it generates."""

from __future__ import annotations

import pytest

from glost.language.source import Source
from glost.linter import pages
from glost.linter.engine import LintContext, examine
from glost.linter.finding import HINT, LEVELS, OFF, SYNTAX
from glost.linter.fixing import fix
from glost.linter.rescaling import Rescaled, rescale
from glost.linter.rule import Rule, all_rules, level_of, rule_names
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.settings import Settings
from tests.conftest import STUDIO, TOP

RULES = all_rules()
each_rule = pytest.mark.parametrize("rule", RULES, ids=[rule.name for rule in RULES])


def bench(rule: Rule) -> LintContext:
    return pages.example_context(rule)._replace(rules=(rule,))


@each_rule
def test_bad_example_gives_exactly_what_the_rule_expects(rule: Rule) -> None:
    found = pages.findings(rule, rule.bad, (rule, *needed(rule)))
    assert [(f.line, f.column, f.message, f.rule, f.level) for f in found] == [
        (e.line, e.column, e.message, rule.name, level(rule)) for e in rule.expected
    ]
    assert rule.expected


def level(rule: Rule) -> str:
    """The level that the examples are found at: the rule's own, or what their glost.yaml says."""
    return level_of(rule, pages.example_settings(rule).rules)


def needed(rule: Rule) -> tuple[Rule, ...]:
    """The rules that an example of an allowance speaks of."""
    return tuple(other for other in RULES if rule.idle is not None and other.name == "soluble-material")


@each_rule
def test_good_example_is_clean_under_all_rules(rule: Rule) -> None:
    title = rule.good.partition('"')[2].partition('"')[0]
    assert pages.findings(rule, rule.good, RULES, f"{title}.glost") == []


@each_rule
def test_bad_example_shows_this_rule_alone(rule: Rule) -> None:
    assert {finding.rule for finding in pages.findings(rule, rule.bad, RULES)} == {rule.name}


@each_rule
def test_fix_gives_exactly_the_fixed_example(rule: Rule) -> None:
    fixed = fix(Source(pages.EXAMPLE, rule.bad), bench(rule))
    assert fixed.text == (rule.bad if rule.fixed is None else rule.fixed)
    if rule.fixed is not None:
        assert fixed.left.findings == []
        again = fix(Source(pages.EXAMPLE, fixed.text), bench(rule))
        assert (again.text, again.fixes) == (fixed.text, ())


@each_rule
def test_rescaling_gives_exactly_the_rescaled_example(rule: Rule) -> None:
    source = Source(pages.EXAMPLE, rule.bad)
    outcome = rescale(source, bench(rule), examine(source, bench(rule)), source)
    assert (outcome.text if isinstance(outcome, Rescaled) else None) == rule.rescaled
    if isinstance(outcome, Rescaled):
        assert outcome.report.findings == []
        assert rescale(Source(pages.EXAMPLE, outcome.text), bench(rule), outcome.report, source) is None


@each_rule
def test_page_of_the_rule_is_what_the_rule_generates(rule: Rule) -> None:
    page = TOP / "docs" / "rules" / f"{rule.name}.md"
    assert page.read_text("utf-8") == pages.markdown(rule), "run: python -m tests.generate rules"


@each_rule
def test_needs_work_shows_the_rule(rule: Rule) -> None:
    folder = STUDIO / "needs-work"
    ending = ".firing" if rule.firing else ".glost"
    assert (folder / f"{rule.name}{ending}").is_file()


@each_rule
def test_rule_is_well_formed(rule: Rule) -> None:
    assert rule.level in (*LEVELS, OFF)
    assert level(rule) in LEVELS, "the settings of its examples turn it on"
    assert rule.summary.endswith(".")
    assert all(len(line) <= 120 for line in rule.why.splitlines())
    assert rule.name != SYNTAX


@pytest.mark.parametrize("rule", [rule for rule in RULES if rule.level == OFF], ids=lambda rule: rule.name)
def test_rule_that_is_off_by_itself_speaks_when_it_is_selected(rule: Rule) -> None:
    plain = LintContext(shipped_catalogue(), Settings())
    assert rule.name not in {on.name for on, _ in plain.enabled()}
    assert [(on.name, level) for on, level in plain._replace(select=frozenset({rule.name})).enabled()] == [
        (rule.name, HINT)
    ]
    on = plain._replace(settings=Settings(rules={rule.name: "error"}))
    assert (rule.name, "error") in [(one.name, level) for one, level in on.enabled()]


def test_every_page_belongs_to_a_rule() -> None:
    written = {path.stem for path in (TOP / "docs" / "rules").glob("*.md")} - {"README"}
    assert written == set(rule_names())
