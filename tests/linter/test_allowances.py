"""Comments that let one finding pass: where they hold, and what is said of one that does not."""

from __future__ import annotations

import pytest

from glost.language.source import Source
from glost.linter.engine import LintContext, check, examine
from glost.linter.finding import SYNTAX
from glost.linter.report import cross_check
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.settings import Settings

BENCH = LintContext(shipped_catalogue(), Settings(handling={"all": "P100 respirator and gloves"}))
PAGE = """\
glaze "A"
cone: 6
atmosphere: oxidation
origin: own test
base:
    nepheline syenite  60
    whiting            32
    soda ash            8
"""
ASH = "    soda ash            8"
ALLOW = "# allow soluble-material: mixed fresh"


def rules(text: str, bench: LintContext = BENCH) -> list[tuple[int, str]]:
    return [(finding.line, finding.rule) for finding in check(Source("a.glost", text), bench)]


def messages(text: str) -> list[str]:
    return [finding.message for finding in check(Source("a.glost", text), BENCH)]


def with_ash(line: str) -> str:
    return PAGE.replace(ASH, line)


def test_without_an_allowance_the_finding_stands() -> None:
    assert rules(PAGE) == [(8, "soluble-material")]


@pytest.mark.parametrize(
    "text",
    [
        with_ash(f"{ASH}  {ALLOW}"),
        with_ash(f"{ASH} {ALLOW}"),
        with_ash(f"    {ALLOW}\n{ASH}"),
        with_ash(f"{ALLOW}\n{ASH}"),
        with_ash(f"    {ALLOW}\n    # from the new sack\n\n{ASH}"),
        f"{ALLOW}\n{PAGE}",
        f"# an old card\n{ALLOW}\n\n{PAGE}",
        f"{ALLOW}\r\n{PAGE}".replace("\r\n", "\n"),
        with_ash(f"{ASH}  #allow soluble-material:mixed fresh"),
        with_ash(f"{ASH}  ## Allow  soluble-material : mixed fresh: every time"),
    ],
)
def test_allowance_holds_for_its_line_the_next_line_or_the_page(text: str) -> None:
    assert rules(text) == []


@pytest.mark.parametrize(
    ("text", "line", "finding"),
    [
        (with_ash(f"{ASH}\n    {ALLOW}"), 9, 8),
        (PAGE.replace("60\n", f"60  {ALLOW}\n"), 6, 8),
        (PAGE.replace("base:", f"{ALLOW}\nbase:"), 5, 9),
        (PAGE.replace('"A"', f'"A"  {ALLOW}'), 1, 8),
    ],
)
def test_allowance_on_another_line_catches_nothing_and_is_idle(text: str, line: int, finding: int) -> None:
    assert sorted(rules(text)) == sorted([(finding, "soluble-material"), (line, "idle-allowance")])


def test_allowance_on_the_title_is_for_what_is_found_there() -> None:
    text = PAGE.replace("origin: own test\n", "").replace('"A"', '"A"  # allow missing-origin: nobody knows')
    assert rules(text) == [(7, "soluble-material")]


def test_each_of_two_rules_on_a_line_wants_its_own() -> None:
    line = "    sodium carbonate    8"
    assert rules(with_ash(line)) == [(8, "other-name"), (8, "soluble-material")]
    assert rules(with_ash(f"{line}  {ALLOW}")) == [(8, "other-name")]
    assert rules(with_ash(f"    # allow other-name: our word\n{line}  {ALLOW}")) == []


@pytest.mark.parametrize(
    ("comment", "message"),
    [
        (
            "# allow soluble-material",
            "the allowance of soluble-material gives no reason, so it is not taken",
        ),
        (
            "# allow soluble-material:   ",
            "the allowance of soluble-material gives no reason, so it is not taken",
        ),
        (
            "# allow soluble-material mixed fresh",
            "the allowance of soluble-material gives no reason, so it is not taken",
        ),
        ("# allow solubel-material: mixed fresh", "there is no rule 'solubel-material' to allow"),
        ("# allow solubel-material mixed fresh", "there is no rule 'solubel-material' to allow"),
        ("# allow ash: mixed fresh", "there is no rule 'ash' to allow"),
        ("# allow: mixed fresh", "the allowance names no rule"),
        ("# allow", "the allowance names no rule"),
        ("# allow syntax: mixed fresh", "what cannot be read cannot be allowed"),
    ],
)
def test_allowance_that_is_not_written_as_one_is_not_taken(comment: str, message: str) -> None:
    text = with_ash(f"{ASH}  {comment}")
    assert rules(text) == [(8, "soluble-material"), (8, "allowance")]
    assert message in messages(text)


def test_unknown_rule_is_answered_with_the_nearest() -> None:
    (_, found) = check(Source("a.glost", with_ash(f"{ASH}  # allow solubel-material: fresh")), BENCH)
    assert found.hint.startswith("did you mean soluble-material?")


@pytest.mark.parametrize(
    "comment",
    [
        "# allow to dry overnight",
        "# allow the ash to slake",
        "# allow 2 hours: it slakes slowly",
        "# allow slow-cooling to begin",
        "# allowance of base-total: none",
        "# we allow soluble-material: no",
    ],
)
def test_comment_that_only_begins_with_the_word_is_a_comment(comment: str) -> None:
    assert rules(with_ash(f"{ASH}  {comment}")) == [(8, "soluble-material")]


def test_text_that_looks_like_one_is_no_comment() -> None:
    assert rules(f"{PAGE}notes:\n    see {ALLOW}\n") == [(8, "soluble-material")]


def test_allowance_that_catches_nothing_is_said_once_and_its_rule_must_be_on() -> None:
    text = PAGE.replace(ASH, f"    alkaline frit       8  {ALLOW}")
    assert rules(text) == [(8, "idle-allowance")]
    assert rules(text, BENCH._replace(ignore=frozenset({"soluble-material"}))) == []
    off = Settings(rules={"soluble-material": "off"}, handling=BENCH.settings.handling)
    assert rules(text, BENCH._replace(settings=off)) == []


def test_idle_allowances_can_be_looked_for_alone() -> None:
    alone = BENCH._replace(select=frozenset({"idle-allowance"}))
    assert rules(PAGE.replace(ASH, f"    alkaline frit       8  {ALLOW}"), alone) == [(8, "idle-allowance")]
    assert rules(with_ash(f"{ASH}  {ALLOW}"), alone) == []


def test_nothing_is_called_idle_while_a_line_cannot_be_read() -> None:
    text = PAGE.replace("32", "31").replace("base:", "base:  # allow base-total: as the card has it")
    assert rules(text.replace("31", "")) == [(7, SYNTAX), (8, "soluble-material")]
    assert rules(text) == [(8, "soluble-material")]


@pytest.mark.parametrize("comment", ["# allow syntax: an old card", "# allow unreadable: an old card"])
def test_what_cannot_be_read_cannot_be_allowed(comment: str) -> None:
    found = rules(f"{comment}\n{PAGE}".replace("32", ""))
    assert found == [(1, "allowance"), (8, SYNTAX), (9, "soluble-material")]


# ---- rules that hold pages against each other ----------------------------------------------------------

CLEAN = PAGE.replace(ASH, "    alkaline frit       8")
BESIDE = {
    "same-name": CLEAN.replace("32", "31").replace("60", "61"),
    "same-composition": CLEAN.replace('"A"', '"B"'),
}


def held_against(rule: str, text: str, other: str) -> list[tuple[str, int, str]]:
    reports = [examine(Source("a.glost", text), BENCH), examine(Source("b.glost", other), BENCH)]
    return [(f.file, f.line, f.rule) for f in cross_check(reports) if f.rule in (rule, "idle-allowance")]


@pytest.mark.parametrize("rule", BESIDE)
def test_allowance_across_files_holds_for_its_own_page(rule: str) -> None:
    beside = BESIDE[rule]
    comment = f"# allow {rule}: one for each clay body"
    behind = CLEAN.replace('glaze "A"', f'glaze "A"  {comment}')
    assert held_against(rule, CLEAN, beside) == [("a.glost", 1, rule), ("b.glost", 1, rule)]
    assert held_against(rule, behind, beside) == [("b.glost", 1, rule)]
    assert held_against(rule, f"{comment}\n{CLEAN}", beside) == [("b.glost", 1, rule)]
    assert held_against(rule, behind, f"{comment}\n{beside}") == []


@pytest.mark.parametrize("rule", BESIDE)
def test_allowance_across_files_is_idle_only_where_nothing_can_be_found(rule: str) -> None:
    """Whether the other recipe is still there, a run over one file cannot know; on a wrong line it is idle."""
    alone = CLEAN.replace('glaze "A"', f'glaze "A"  # allow {rule}: one for each clay body')
    assert rules(alone) == []
    astray = CLEAN.replace("32", f"32  # allow {rule}: one for each clay body")
    assert rules(astray) == [(7, "idle-allowance")]


def test_name_of_a_recipe_may_look_like_the_place_for_the_others() -> None:
    page = CLEAN.replace('"A"', '"{others}"')
    reports = [examine(Source(name, page), BENCH) for name in ("a.glost", "b.glost")]
    (message, _) = [f.message for f in cross_check(reports) if f.rule == "same-name"]
    assert message == "another recipe is called '{others}' too: b.glost:1"
