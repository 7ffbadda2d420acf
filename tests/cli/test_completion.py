"""The shell's completion: click's own scripts, and what they are answered."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from glost.cli.app import COMMANDS
from glost.linter.rule import rule_names
from tests.conftest import Run

Complete = Callable[[str], list[str]]


@pytest.fixture
def complete(run: Run) -> Complete:
    """What the shell offers for a line that is typed up to its end."""

    def complete(line: str) -> list[str]:
        last = str(len(line.split(" ")) - 1)
        done = run(_GLOST_COMPLETE="bash_complete", COMP_WORDS=line, COMP_CWORD=last)
        assert (done.returncode, done.stderr) == (0, "")
        return [word.partition(",")[2] for word in done.stdout.splitlines() if word]

    return complete


@pytest.mark.parametrize(
    ("shell", "word"), [("bash", "complete -o nosort"), ("zsh", "#compdef"), ("fish", "complete --no-files")]
)
def test_script_is_produced(run: Run, shell: str, word: str) -> None:
    done = run(_GLOST_COMPLETE=f"{shell}_source")
    assert (done.returncode, done.stderr) == (0, "")
    assert word in done.stdout
    assert "_GLOST_COMPLETE" in done.stdout


@pytest.mark.parametrize(
    ("line", "offered"),
    [
        ("glost ", list(COMMANDS)),
        ("glost li", ["lint"]),
        ("glost lint --st", ["--strict"]),
        ("glost lint --select base", ["base-total"]),
        ("glost lint --ignore mis", [n for n in sorted(rule_names()) if n.startswith("mis")]),
        ("glost lint --output s", ["sarif"]),
        ("glost explain same", ["same-composition", "same-name"]),
        ("glost lint kil", ["kil"]),  # a beginning of a path: the shell itself knows the files
        ("glost nonsense x", []),
    ],
)
def test_what_is_offered(complete: Complete, line: str, offered: list[str]) -> None:
    assert complete(line) == offered
