"""What a person reads in a terminal, as a whole: look at the snapshots as that person would."""

from __future__ import annotations

from syrupy.assertion import SnapshotAssertion

from tests.conftest import TOP, Run


def test_report_of_needs_work(run: Run, snapshot: SnapshotAssertion) -> None:
    done = run("lint", "corpus/studio/needs-work", cwd=TOP)
    assert done.returncode == 1
    assert done.stdout == snapshot(name="report")
    assert done.stderr == snapshot(name="summary")


def test_page_of_a_rule(run: Run, snapshot: SnapshotAssertion) -> None:
    done = run("explain", "base-total")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == snapshot
