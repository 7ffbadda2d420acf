"""Annotations for GitHub against the form that its documentation gives.

Source: GitHub Docs, "Workflow commands for GitHub Actions" (from memory):
``::error file={name},line={line},endLine={endLine},title={title}::{message}``, likewise warning and notice, with
``col`` and ``endColumn`` where a finding is on one line. The escapes are those that GitHub's own toolkit makes
(actions/toolkit, packages/core, command.ts, from memory): in the message ``%`` is ``%25``, CR ``%0D``, LF ``%0A``; in a
property also ``:`` is ``%3A`` and ``,`` is ``%2C``.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.annotations import read
from tests.conftest import STUDIO, Run

from glost.linter.finding import ERROR, HINT, WARNING, Finding
from glost.linter.reporters import github as reporter


def github(findings: list[Finding]) -> str:
    return "".join(reporter.github(findings))


def finding(file: str = "a.glost", message: str = "wrong", level: str = ERROR) -> Finding:
    return Finding(file, 6, 1, 6, 7, "base-total", level, message, "fix it", "base:")


def test_a_finding_as_the_documentation_writes_it() -> None:
    assert github([finding("kiln/a.glost", "the base totals 99, not 100: 100 % is meant")]) == (
        "::error file=kiln/a.glost,line=6,col=1,endColumn=7,endLine=6,title=base-total"
        "::the base totals 99, not 100: 100 %25 is meant%0Ahint: fix it\n"
    )


@pytest.mark.parametrize(("level", "command"), [(ERROR, "error"), (WARNING, "warning"), (HINT, "notice")])
def test_levels(level: str, command: str) -> None:
    assert read(github([finding(level=level)]).rstrip("\n"))[0] == command


@pytest.mark.parametrize(
    ("name", "escaped"),
    [
        ("a,b.glost", "a%2Cb.glost"),
        ("c:d.glost", "c%3Ad.glost"),
        ("100%.glost", "100%25.glost"),
        ("a::error ::b.glost", "a%3A%3Aerror %3A%3Ab.glost"),
        ("%2C.glost", "%252C.glost"),
    ],
)
def test_escapes_of_a_property(name: str, escaped: str) -> None:
    written = github([finding(name)])
    assert f"file={escaped},line=6" in written
    assert read(written.rstrip("\n"))[1]["file"] == name


@given(st.text(st.characters(exclude_categories=())), st.text(st.characters(exclude_categories=())))
def test_no_name_and_no_message_can_begin_a_command_of_its_own(name: str, message: str) -> None:
    written = github([finding(name, message)])
    written.encode("utf-8")
    assert written.count("\n") == 1
    assert "\r" not in written
    command, properties, data = read(written.rstrip("\n"))
    assert (command, properties["line"], properties["title"]) == ("error", "6", "base-total")
    assert data.endswith("\nhint: fix it")


def test_finding_over_several_lines_names_no_columns() -> None:
    """Source: GitHub Docs, REST API, check runs: columns only where both lines are the same (from memory)."""
    _, properties, _ = read(github([finding()._replace(end_line=8)]).rstrip("\n"))
    assert properties == {"file": "a.glost", "line": "6", "endLine": "8", "title": "base-total"}


def test_a_whole_run(run: Run) -> None:
    lines = run("lint", str(STUDIO / "needs-work"), "--output", "github").stdout.splitlines()
    assert len(lines) > 20
    for line in lines:
        read(line)
