"""What a page or a collection costs grows in step with its size. Work is counted, in calls, bytes and characters, never
in time: four times as much of everything may take no more than six times the work, and would take sixteen if it grew
with the square."""

from __future__ import annotations

import json
import sys
import tracemalloc
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

from glost.language.source import Source
from glost.linter.engine import LintContext, examine
from glost.linter.finding import Finding
from glost.linter.fixing import fix
from glost.linter.report import Report, cross_check
from glost.linter.report_values import as_values, from_values
from glost.linter.reporters import as_json as json_report
from glost.linter.reporters.plain import text as as_plain
from glost.linter.reporters.sarif import sarif as sarif_report
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.settings import Settings
from glost.workspace.collection import Collections
from glost.workspace.runs.lint_file import FileLinter
from glost.workspace.runs.lint_options import LintOptions

BENCH = LintContext(shipped_catalogue(), Settings())
HEAD = 'glaze "A"\ncone: 6\natmosphere: oxidation\norigin: x\nbase:\n    whiting  100\n'
MOST = 6


def calls(work: Callable[[], object]) -> int:
    """How many functions are called, those of the interpreter too."""
    count = 0

    def counted(frame: FrameType, event: str, argument: Any) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(counted)
    try:
        work()
    finally:
        sys.setprofile(before)
    return count


def peak(work: Callable[[], object]) -> int:
    """The most memory that the work held at once, in bytes."""
    tracemalloc.start()
    try:
        work()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def names_on_a_line(count: int) -> str:
    return HEAD + "handling:\n    " + ", ".join(["a"] * count) + ": mask\n"


def other_names_on_a_line(count: int) -> str:
    return (
        HEAD
        + "handling:\n    "
        + ", ".join(f"dust {'ab'[n % 2] * (n % 7 + 1)}" for n in range(count))
        + ": mask\n"
    )


def steps(count: int) -> str:
    return HEAD.replace("100", "99") + 'series "s":\n    tin oxide  ' + ", ".join(["0.001"] * count) + "\n"


def broken_lines(count: int) -> str:
    return HEAD + "    silica,\n" * count


def lines_to_fix(count: int) -> str:
    return HEAD + "notes:\n" + "    Runs.\tKeep clear.\n" * count


def old_breaks(count: int) -> str:
    return "a\r" * count


PAGES: dict[str, tuple[Callable[[int], str], int]] = {
    "names on a line": (names_on_a_line, 2_000),
    "other names on a line": (other_names_on_a_line, 1_000),
    "steps of a series": (steps, 110),
    "lines that cannot be read": (broken_lines, 600),
    "lines that can be fixed": (lines_to_fix, 500),
    "lines that end in CR": (old_breaks, 5_000),
}


@pytest.mark.parametrize("kind", PAGES)
def test_work_on_a_page_grows_with_it(kind: str) -> None:
    make, count = PAGES[kind]
    small, large = Source("a.glost", make(count)), Source("a.glost", make(4 * count))
    examine(small, BENCH)  # what is imported and compiled once
    fix(small, BENCH)
    for work in (examine, fix):
        assert calls(lambda: work(large, BENCH)) <= MOST * calls(lambda: work(small, BENCH))  # noqa: B023
        assert peak(lambda: work(large, BENCH)) <= MOST * peak(lambda: work(small, BENCH))  # noqa: B023


def as_json(findings: list[Finding]) -> str:
    return "".join(json_report.as_json(findings))


def sarif(findings: list[Finding]) -> str:
    return "".join(sarif_report(findings))


def kept(report: Report) -> str:
    return json.dumps(as_values(report))


@pytest.mark.parametrize("kind", PAGES)
def test_what_is_kept_and_reported_of_a_page_grows_with_it(kind: str) -> None:
    make, count = PAGES[kind]
    for form in (kept, lambda report: as_json(report.findings), lambda report: as_plain(report.findings)):
        lengths = [len(form(examine(Source("a.glost", make(n * count)), BENCH))) for n in (1, 4)]
        assert lengths[1] <= MOST * lengths[0]


def one_line(count: int) -> list[Finding]:
    """So many findings on one line, which is as long as they need."""
    line = "    " + "1, " * count
    return [
        Finding("a.glost", 9, 5 + 3 * at, 9, 6 + 3 * at, "bare-addition", "error", "1 is", "write 1 %", line)
        for at in range(count)
    ]


def test_many_findings_on_a_line_cost_no_more_than_they_say() -> None:
    small, large = one_line(500), one_line(2_000)
    for form in (sarif, as_plain, as_json):
        form(small)
        assert calls(lambda: form(large)) <= MOST * calls(lambda: form(small))  # noqa: B023
        assert len(form(large)) <= MOST * len(form(small))
    for findings in (small, large):
        report = Report(findings, [])
        assert from_values(json.loads(kept(report)), "a.glost") == report
    assert len(kept(Report(large, []))) <= MOST * len(kept(Report(small, [])))


def test_all_that_is_said_of_a_line_shares_its_text() -> None:
    found = [one for one in examine(Source("a.glost", steps(400)), BENCH).findings if one.line == 8]
    assert len(found) >= 400
    assert len({id(one.text) for one in found}) == 1


@pytest.mark.parametrize("apart", ["", "alike", "each"])
def test_pages_of_one_name_are_held_against_each_other_in_step(apart: str) -> None:
    def pages(count: int) -> list[Report]:
        (fact,) = [f for f in examine(Source("a.glost", HEAD), BENCH).facts if f.finding.rule == "same-name"]
        marks: dict[str, Callable[[int], str]] = {
            "": lambda at: "",
            "alike": lambda at: "xy"[at * 2 // count],
            "each": str,
        }
        mark = marks[apart]
        return [
            Report([], [fact._replace(apart=mark(at), finding=fact.finding._replace(file=f"{at:05}.glost"))])
            for at in range(count)
        ]

    small, large = pages(500), pages(2_000)
    assert calls(lambda: cross_check(large)) <= MOST * calls(lambda: cross_check(small))
    found = cross_check(large)
    assert len(found) == 2_000
    assert all(finding.message.count(".glost") == 3 for finding in found)


def test_one_line_of_handling_is_one_finding(tmp_path: Path) -> None:
    page = tmp_path / "a.glost"
    page.write_text(names_on_a_line(80_000))
    found = FileLinter(LintOptions(), Collections()).look(page).report.findings
    assert [one.message for one in found if one.rule == "idle-handling-note"] == [
        "the note is for a, a, a and 79997 more, which are not in the recipe"
    ]
