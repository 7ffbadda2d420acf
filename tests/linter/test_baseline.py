"""The baseline: what a finding is known by, and what of a baseline is said to be gone or to be no baseline."""

from __future__ import annotations

import json
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from glost.linter.baseline import BaselineError, Held, Known, hold_back, known_as, read, renewed, write
from glost.linter.finding import ERROR, SYNTAX, UNREADABLE, Finding

words = st.text(st.characters(exclude_categories=()), max_size=8)
baselines = st.dictionaries(st.tuples(words, words, words), st.integers(1, 99), max_size=6).map(Counter)


def finding(rule: str = "base-total", text: str = "base:", line: int = 6) -> Finding:
    return Finding("a.glost", line, 1, line, 6, rule, ERROR, "wrong", "fix it", text)


def held(findings: list[Finding], known: Counter[Known], *, looked_for: bool = True) -> Held:
    return hold_back([(found, found.file) for found in findings], known, lambda key: looked_for)


KNOWN = Counter({("a.glost", "base-total", "base:"): 1})


@given(baselines)
def test_baseline_reads_back_whatever_a_file_may_be_called(entries: Counter[Known]) -> None:
    text = write(entries)
    assert read(text) == entries
    text.encode("utf-8")
    assert text == write(read(text))


def test_one_entry_a_line_in_a_fixed_order() -> None:
    entries = Counter({("b", "r", "x"): 1, ("a", "s", "x"): 2, ("a", "r", "y"): 1})
    assert write(entries) == (
        '{"version": 1, "findings": [\n'
        '  {"file": "a", "rule": "r", "text": "y", "count": 1},\n'
        '  {"file": "a", "rule": "s", "text": "x", "count": 2},\n'
        '  {"file": "b", "rule": "r", "text": "x", "count": 1}\n'
        "]}\n"
    )
    assert json.loads(write(Counter()))["findings"] == []


def test_finding_is_known_by_file_rule_and_line_whatever_its_number_and_indent() -> None:
    assert known_as(finding(line=6), "a.glost") == known_as(finding(text="   base: ", line=60), "a.glost")
    assert held([finding(line=99)], KNOWN) == Held([], 1, [])


@pytest.mark.parametrize(
    "other",
    [finding(rule="bare-addition"), finding(text="base:  # of 2024"), finding()._replace(file="b.glost")],
)
def test_another_rule_line_or_file_is_new(other: Finding) -> None:
    assert held([other], KNOWN) == Held([other], 0, [(("a.glost", "base-total", "base:"), 1)])


def test_so_many_are_held_back_as_are_known() -> None:
    again = finding(line=30)
    assert held([finding(), again], KNOWN).new == [again]
    two = Counter({("a.glost", "base-total", "base:"): 2})
    assert held([finding(), again], two) == Held([], 2, [])
    assert held([finding()], two).gone == [(("a.glost", "base-total", "base:"), 1)]


def test_what_was_not_looked_for_is_not_called_gone() -> None:
    assert held([], KNOWN, looked_for=False).gone == []


def test_how_a_page_is_written_can_be_held_back_and_what_cannot_be_read_at_all_cannot() -> None:
    known = Counter({("a.glost", SYNTAX, "base:"): 1, ("a.glost", UNREADABLE, "base:"): 1})
    broken = finding(rule=UNREADABLE)
    assert held([finding(rule=SYNTAX), broken], known).new == [broken]


def test_written_anew_it_keeps_what_the_run_did_not_look_for() -> None:
    old: Counter[Known] = Counter({("a", "r", "x"): 2, ("b", "r", "x"): 3})
    assert renewed([("a", "r", "y")], old, lambda key: key[0] == "a") == {
        ("a", "r", "y"): 1,
        ("b", "r", "x"): 3,
    }
    assert renewed([("b", "r", "x")], old, lambda key: False) == old


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "null",
        '{"version": 1}',
        '{"version": 2, "findings": []}',
        '{"version": 1, "findings": {}}',
        '{"version": 1, "findings": [1]}',
        '{"version": 1, "findings": [{"file": "a", "rule": "r", "text": "x"}]}',
        '{"version": 1, "findings": [{"file": "a", "rule": "r", "text": "x", "count": 0}]}',
        '{"version": 1, "findings": [{"file": "a", "rule": "r", "text": "x", "count": true}]}',
        '{"version": 1, "findings": [{"file": 1, "rule": "r", "text": "x", "count": 1}]}',
        '<<<<<<< ours\n{"version": 1, "findings": []}\n',
        "[" * 100_000,
        f'{{"version": 1, "findings": [{{"file": "a", "rule": "r", "text": "x", "count": {"9" * 5000}}}]}}',
    ],
)
def test_what_is_no_baseline_is_refused_with_a_reason(text: str) -> None:
    with pytest.raises(BaselineError, match=r"it is not|an entry lacks"):
        read(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('{"version": 1, "version": 1, "findings": []}', "says one thing twice"),
        ('{"version": 1, "findings": [{"file": "a", "file": "b", "rule": "c", "text": "d", "count": 1}]}', "twice"),
        ('{"version": 1, "findings": [{"file": "a", "rule": "c", "text": "d", "count": 1000001}]}', "more than"),
    ],
)  # fmt: skip
def test_a_baseline_that_cannot_be_meant_is_refused(text: str, said: str) -> None:
    with pytest.raises(BaselineError, match=said):
        read(text)
