"""The pages on levels and on running the linter keep up with the rules."""

from __future__ import annotations

import re

import pytest

from glost.cli.lint_command import command
from glost.cli.linting import OUTPUTS
from glost.linter.baseline import FILE
from glost.linter.finding import ERROR, SYNTAX, UNREADABLE
from glost.linter.rule import all_rules
from tests.conftest import TOP

LEVELS = (TOP / "docs" / "levels.md").read_text("utf-8")
LINTING = (TOP / "docs" / "linting.md").read_text("utf-8")
SAID = dict(re.findall(r"^## ([a-z-]+): ([a-z]+)$", LEVELS, re.MULTILINE))
TEXTS = {part.partition(":")[0]: part.partition("\n")[2].strip() for part in LEVELS.split("\n## ")[1:]}
PAGES = [TOP / "docs" / "levels.md", TOP / "docs" / "linting.md", *(TOP / "docs" / "rules").glob("*.md")]


def test_every_rule_has_its_level_named() -> None:
    assert {rule.name: rule.level for rule in all_rules()} | {SYNTAX: ERROR, UNREADABLE: ERROR} == SAID


@pytest.mark.parametrize("name", SAID)
def test_level_is_argued_in_one_paragraph(name: str) -> None:
    text = TEXTS[name]
    assert "\n\n" not in text
    assert text.endswith(".")


def test_rules_stand_by_level_then_by_name() -> None:
    order = {"error": 0, "warning": 1, "hint": 2, "off": 3}
    rules = [name for name in SAID if name not in (SYNTAX, UNREADABLE)]
    assert rules == sorted(rules, key=lambda name: (order[SAID[name]], name))


def test_page_on_linting_names_every_form_and_option() -> None:
    for form in OUTPUTS:
        assert f"| `{form}` |" in LINTING
    for parameter in command.params:
        for option in parameter.opts:
            assert not option.startswith("--") or option in LINTING, option
    assert FILE in LINTING


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_pages_call_nothing_safe_and_their_links_lead_somewhere(page: object) -> None:
    assert isinstance(page, type(TOP))
    text = page.read_text("utf-8")
    words = " ".join(text.split()).replace("safety data sheet", "sheet")
    assert not re.search(r"\bsafe(ly|r|st)?\b|food-safe|harmless|non-?toxic", words, re.IGNORECASE)
    for target in re.findall(r"\]\((?!https?:)([^)]+)\)", text):
        path, _, anchor = target.partition("#")
        there = (page.parent / path) if path else page
        assert there.exists(), target
        heads = re.findall(r"^#+ (.*)$", there.read_text("utf-8"), re.MULTILINE) if anchor else []
        assert not anchor or anchor in {re.sub(r"[^\w -]", "", h.lower()).replace(" ", "-") for h in heads}
