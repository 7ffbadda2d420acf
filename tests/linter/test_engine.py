"""How rules are chosen and run, and how pages are fixed, whatever they say: shown with rules that are made for it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal

import pytest

from glost.language.diagnostics import Diagnostic
from glost.language.parse import parse
from glost.language.source import Edit, Source, Span
from glost.linter.allowances import Allowance
from glost.linter.engine import LintContext, batch_of, check, examine
from glost.linter.finding import ERROR, HINT, OFF, SYNTAX, WARNING
from glost.linter.fixing import MOST_ROUNDS, Fixed, fix
from glost.linter.report import cross_check
from glost.linter.rule import Checked, Rule, Shared, all_rules
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.resolve import resolve
from glost.recipe.settings import Settings

PAGE = 'glaze "abcdef"\ncone: 6\nbase:\n    silica  60\n    whiting  40\n'
NAME = 7
"""Where the name of the recipe begins in PAGE."""


def rule(
    name: str,
    look: Callable[[Checked], Iterator[Diagnostic]] | None = None,
    *,
    level: str = WARNING,
    shared: Callable[[Checked], Iterator[Shared]] | None = None,
    idle: Callable[[Checked, Sequence[Allowance]], Iterator[Diagnostic]] | None = None,
) -> Rule:
    return Rule(name, level, "A.", "why", "how", "", (), "", check=look, shared=shared, idle=idle)


def finds(*edits: tuple[int, int, str], at: int = NAME) -> Callable[[Checked], Iterator[Diagnostic]]:
    """A check that finds one diagnostic, with edits counted from the recipe's name on."""

    def look(checked: Checked) -> Iterator[Diagnostic]:
        yield Diagnostic(
            Span(at, at + 1),
            "found",
            "hint",
            tuple(Edit(Span(NAME + start, NAME + end), text) for start, end, text in edits),
        )

    return look


def bench(*rules: Rule, levels: dict[str, str] | None = None) -> LintContext:
    return LintContext(shipped_catalogue(), Settings(rules=levels or {}), rules=rules)


# ---- which rules are on ---------------------------------------------------------------------------------


def test_all_rules_are_on_at_their_own_level() -> None:
    enabled = LintContext(shipped_catalogue(), Settings()).enabled()
    assert enabled == [(each, each.level) for each in all_rules() if each.level != "off"]


def test_levels_of_the_collection_and_of_the_run() -> None:
    one, two, three = rule("one-one"), rule("two-two", level=ERROR), rule("three-three")
    rules = bench(one, two, three, levels={"one-one": "off", "two-two": HINT})
    assert rules.enabled() == [(two, HINT), (three, WARNING)]
    assert rules._replace(ignore=frozenset({"two-two"})).enabled() == [(three, WARNING)]
    # Named on the command line, a rule is on though the collection turns it off, at its own level; a level that the
    # collection gives it stays.
    both = rules._replace(select=frozenset({"one-one", "two-two"}))
    assert both.enabled() == [(one, WARNING), (two, HINT)]
    assert both._replace(ignore=frozenset({"one-one"})).enabled() == [(two, HINT)]


def test_rule_that_is_off_by_itself_gives_hints_where_it_is_asked_for() -> None:
    rules = bench(rule("one-one", level=OFF), rule("two-two"))
    assert [each.name for each, _ in rules.enabled()] == ["two-two"]
    assert [level for _, level in rules._replace(select=frozenset({"one-one"})).enabled()] == [HINT]
    given = bench(rule("one-one", level=OFF), levels={"one-one": ERROR})
    assert [level for _, level in given.enabled()] == [ERROR]


def test_no_rules_at_all_may_be_given() -> None:
    assert bench().enabled() == []
    assert check(Source("a.glost", PAGE), bench()) == []


# ---- allowances -----------------------------------------------------------------------------------------


def idle(checked: Checked, allowances: Sequence[Allowance]) -> Iterator[Diagnostic]:
    for allowance in allowances:
        yield Diagnostic(allowance.span, f"{allowance.rule} is idle", "hint")


def nothing(checked: Checked) -> Iterator[Diagnostic]:
    yield from ()


def test_only_what_is_allowed_on_its_line_is_left_out() -> None:
    rules = bench(rule("one-one", finds()), rule("two-two", finds()), rule("idle-one", idle=idle))
    text = PAGE.replace("\n", "  # allow one-one: reason\n", 1)
    assert [f.rule for f in check(Source("a.glost", text), rules)] == ["two-two"]
    assert [f.rule for f in check(Source("a.glost", PAGE), rules)] == ["one-one", "two-two"]


def test_allowance_is_idle_where_its_rule_is_on_and_caught_nothing() -> None:
    rules = bench(rule("one-one", nothing), rule("idle-one", idle=idle))
    for comment, found in (
        ("# allow one-one: reason", ["one-one is idle"]),
        ("# allow one-one", []),  # without a reason it is not taken, and another rule says so
        ("# allow two-two: reason", []),
    ):
        text = PAGE.replace("\n", f"  {comment}\n", 1)
        assert [f.message for f in check(Source("a.glost", text), rules)] == found
    alone = rules._replace(select=frozenset({"idle-one"}))
    text = PAGE.replace("\n", "  # allow one-one: reason\n", 1)
    assert [f.message for f in check(Source("a.glost", text), alone)] == ["one-one is idle"]
    other = rules._replace(select=frozenset({"one-one"}))
    assert check(Source("a.glost", text), other) == []


def test_rules_that_are_run_only_to_judge_an_allowance_say_nothing() -> None:
    key = Span(NAME, NAME + 1)

    def shared(checked: Checked) -> Iterator[Shared]:
        yield Shared("same", Diagnostic(key, "also {others}", "hint"))

    rules = bench(
        rule("one-one", finds()), rule("two-two", shared=shared), rule("idle-one", idle=idle)
    )._replace(select=frozenset({"idle-one"}))
    text = PAGE.replace("40\n", "40  # allow one-one: reason\n")
    report = examine(Source("a.glost", text), rules)
    assert [f.rule for f in report.findings] == ["idle-one"]
    assert report.facts == []


def test_rules_that_are_not_selected_say_nothing_where_nothing_is_allowed() -> None:
    rules = bench(rule("one-one", finds()), rule("idle-one", idle=idle))
    assert check(Source("a.glost", PAGE), rules._replace(select=frozenset({"idle-one"}))) == []


def test_selected_rule_beside_an_allowance_is_looked_at_at_its_own_level_once() -> None:
    rules = bench(
        rule("one-one", finds(), level=ERROR), rule("idle-one", idle=idle), levels={"one-one": "off"}
    )._replace(select=frozenset({"one-one", "idle-one"}))
    text = PAGE.replace("40\n", "40  # allow two-two: reason\n")
    assert [(f.rule, f.level) for f in check(Source("a.glost", text), rules)] == [("one-one", ERROR)]


# ---- findings of many pages -----------------------------------------------------------------------------


def test_findings_are_sorted_by_file_line_column_and_rule() -> None:
    first, second = rule("two-two", finds(at=NAME + 3)), rule("one-one", finds(at=NAME + 3))
    rules = bench(first, second, rule("three-three", finds(at=NAME)))
    order = [("a.glost", "three-three"), ("a.glost", "one-one"), ("a.glost", "two-two")]
    assert [(f.file, f.rule) for f in check(Source("a.glost", PAGE), rules)] == order
    reports = [examine(Source(f"{name}.glost", PAGE), rules) for name in "ba"]
    assert [(f.file, f.rule) for f in cross_check(reports)] == order + [
        ("b.glost", name) for _, name in order
    ]


def test_pages_with_one_mark_are_not_held_against_each_other() -> None:
    def shared(checked: Checked) -> Iterator[Shared]:
        title = checked.resolved.title
        assert title is not None
        name = title.name.text
        yield Shared(name[0], Diagnostic(title.name.span, "also {others}", "hint"), apart=name[1:])

    rules = bench(rule("one-one", shared=shared))
    names = ["ax", "ax", "ay", "a", "a", "bx"]
    reports = [
        examine(Source(f"{at}.glost", PAGE.replace("abcdef", name)), rules) for at, name in enumerate(names)
    ]
    assert [(f.file, f.message) for f in cross_check(reports)] == [
        ("0.glost", "also 2.glost:1, 3.glost:1, 4.glost:1"),
        ("1.glost", "also 2.glost:1, 3.glost:1, 4.glost:1"),
        ("2.glost", "also 0.glost:1, 1.glost:1, 3.glost:1 and 1 more"),
        ("3.glost", "also 0.glost:1, 1.glost:1, 2.glost:1 and 1 more"),
        ("4.glost", "also 0.glost:1, 1.glost:1, 2.glost:1 and 1 more"),
    ]
    assert cross_check(reports[:2]) == []
    assert cross_check(reports[5:]) == []


# ---- the batch ------------------------------------------------------------------------------------------


def test_batch_is_the_commands_else_the_recipes_else_the_collections_else_100_g() -> None:
    own = PAGE.replace("cone: 6", "batch: 2 kg")
    in_masses = PAGE.replace("60", "60 g").replace("40", "30 g")
    usual, set_by = Settings(), Settings(batch_g=Decimal(300))

    def batch(text: str, settings: Settings, given: Decimal | None = None) -> Decimal:
        recipe = resolve(parse(Source("a.glost", text)), shipped_catalogue()).recipe
        return batch_of(recipe, LintContext(shipped_catalogue(), settings, given))

    assert [batch(text, usual) for text in (PAGE, own, in_masses)] == [100, 2000, 90]
    assert [batch(text, set_by) for text in (PAGE, own, in_masses)] == [300, 2000, 90]
    assert [batch(text, set_by, Decimal(50)) for text in (PAGE, own, in_masses)] == [50, 50, 50]


# ---- fixing ---------------------------------------------------------------------------------------------


def once(*edits: tuple[int, int, str]) -> Callable[[Checked], Iterator[Diagnostic]]:
    """A check that finds its diagnostic until the page is changed."""

    def look(checked: Checked) -> Iterator[Diagnostic]:
        if checked.resolved.page.source.text == PAGE:
            yield from finds(*edits)(checked)

    return look


def after(*looks: Callable[[Checked], Iterator[Diagnostic]]) -> tuple[str, int]:
    page = fix(Source("a.glost", PAGE), bench(*(rule(f"r-{at}", look) for at, look in enumerate(looks))))
    return page.text[NAME : page.text.index('"', NAME)], len(page.fixes)


@pytest.mark.parametrize(
    ("edits", "name", "count"),
    [
        ([[(0, 1, "A")], [(1, 2, "B")]], "ABcdef", 2),  # side by side
        ([[(1, 2, "B")], [(0, 1, "A")]], "ABcdef", 2),
        ([[(0, 2, "AB")], [(1, 3, "XX")]], "ABcdef", 1),  # they meet: the first is made
        ([[(1, 3, "BC")], [(0, 2, "XX")]], "aBCdef", 1),
        ([[(2, 3, "C")], [(0, 6, "X")]], "abCdef", 1),
        ([[(0, 6, "X")], [(2, 3, "C")]], "X", 1),
        ([[(0, 1, "A")], [(0, 1, "A")]], "Abcdef", 2),  # two want the same
        ([[(0, 1, "A")], [(5, 6, "F")], [(0, 1, "A")]], "AbcdeF", 3),
        ([[(0, 1, "A")], [(0, 1, "B")]], "Abcdef", 1),
        ([[(0, 1, "A"), (3, 4, "D")], [(3, 4, "X"), (5, 6, "F")], [(4, 5, "E")]], "AbcDEf", 2),
        ([[(2, 4, "")], [(0, 1, "A"), (3, 5, "X")], [(0, 1, "B")]], "Bbef", 2),  # all of a fix or none of it
        ([[(0, 1, "A")], [(0, 1, "A"), (2, 3, "C")], [(5, 6, "F")]], "AbCdeF", 3),
        ([[(0, 1, "A"), (2, 4, "X")], [(0, 1, "A"), (5, 6, "F"), (3, 4, "Y")], [(5, 6, "G")]], "AbXeG", 2),
        ([[(3, 3, "-")], [(3, 4, "D")]], "abc-Def", 2),  # put in before what is changed
        ([[]], "abcdef", 0),
    ],
)
def test_as_many_fixes_are_made_at_once_as_do_not_meet(
    edits: list[list[tuple[int, int, str]]], name: str, count: int
) -> None:
    assert after(*(once(*each) for each in edits)) == (name, count)


def test_fixes_go_on_while_one_makes_room_for_another_up_to_a_bound() -> None:
    def grow(least: int) -> Callable[[Checked], Iterator[Diagnostic]]:
        def look(checked: Checked) -> Iterator[Diagnostic]:
            if checked.resolved.page.source.text.count("+") < least:
                yield from finds((0, 0, "+"))(checked)

        return look

    assert after(grow(3)) == ("+++abcdef", 3)
    assert after(grow(10)) == ("+" * 10 + "abcdef", 10)
    assert after(grow(11)) == ("+" * MOST_ROUNDS + "abcdef", MOST_ROUNDS)


def fixed(look: Callable[[Checked], Iterator[Diagnostic]], text: str = PAGE) -> Fixed:
    return fix(Source("a.glost", text), bench(rule("one-one", look)))


def test_fix_that_leaves_the_page_as_it_was_counts_for_nothing() -> None:
    same = fixed(finds((0, 1, "a")))
    assert (same.text, len(same.fixes)) == (PAGE, 0)
    assert [f.rule for f in same.left.findings] == ["one-one"]


def test_fix_that_would_break_the_page_is_not_made() -> None:
    broken = fixed(finds((0, 7, "")))  # the closing quote goes with it
    assert (broken.text, len(broken.fixes)) == (PAGE, 0)
    assert [f.rule for f in broken.left.findings] == ["one-one"]


def test_how_a_page_is_written_is_fixed_before_anything_else() -> None:
    text = PAGE.replace("    silica", "\tsilica")
    page = fixed(once_as(text, (0, 1, "A")), text)
    assert (page.text, len(page.fixes)) == (PAGE, 1)
    assert page.left.findings == []
    # The tab can be fixed and the missing amount cannot: the fix of the rule waits for it.
    unread = PAGE.replace("40", "")
    waits = fixed(finds((0, 1, "A")), unread)
    assert (waits.text, len(waits.fixes)) == (unread, 0)
    assert {f.rule for f in waits.left.findings} == {SYNTAX, "one-one"}


def once_as(text: str, *edits: tuple[int, int, str]) -> Callable[[Checked], Iterator[Diagnostic]]:
    def look(checked: Checked) -> Iterator[Diagnostic]:
        if checked.resolved.page.source.text == text:
            yield from finds(*edits)(checked)

    return look
