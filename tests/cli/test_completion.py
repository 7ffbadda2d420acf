"""The shell's completion: click's own scripts, and what they are answered."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from glost.cli.app import COMMANDS
from glost.linter.rule import rule_names
from tests.conftest import STUDIO, Run

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
        ("glost lint --sta", ["--staged"]),
        ("glost lint --str", ["--strict"]),
        ("glost lint --select base", ["base-total"]),
        ("glost lint --ignore mis", [n for n in sorted(rule_names()) if n.startswith("mis")]),
        ("glost lint --output s", ["sarif"]),
        ("glost explain same", ["same-composition", "same-corner", "same-name"]),
        ("glost lint kil", ["kil"]),  # a beginning of a path: the shell itself knows the files
        ("glost nonsense x", []),
    ],
)
def test_what_is_offered(complete: Complete, line: str, offered: list[str]) -> None:
    assert complete(line) == offered


TAGS = sorted(
    {
        tag.strip()
        for page in STUDIO.rglob("*.glost")
        for said in re.findall(r"^tags: (.*)$", page.read_text("utf-8"), re.MULTILINE)
        for tag in said.split(",")
        if tag.strip().startswith("c")
    }
)
MIST = str(STUDIO / "stoneware" / "harbour-mist.glost")


@pytest.mark.parametrize(
    ("line", "offered"),
    [
        (f"glost batch {MIST} --test cobalt", [f"cobalt steps {step}" for step in (1, 2, 3, 4)]),
        (f"glost batch {MIST} --balance f", ["fine", "floor"]),
        (f"glost match {MIST} --without ball", ["ball clay"]),
        (f"glost find {STUDIO} --with wrack", ["wrack ash"]),
        ("glost find --use f", ["food"]),
        ("glost new --atmosphere re", ["reduction"]),
        ("glost new --cone 03", ["03"]),
        ('glost new --base "nepheline', ["nepheline", "nepheline syenite"]),
        (f"glost rescue {MIST} --weighed kao", ["kaolin="]),
        (f"glost results {STUDIO} --fault craz", ["crazing"]),
        (f"glost results {STUDIO} --body house", ["house red", "house stoneware"]),
        (f"glost find {STUDIO} --tag c", TAGS),
        ("glost help ver", ["version"]),
        ("glost new --kind gl", ["glaze"]),
    ],
)
def test_names_of_the_collection_are_offered(complete: Complete, line: str, offered: list[str]) -> None:
    assert complete(line) == offered


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_one_command_puts_it_where_the_shell_looks(run: Run, tmp_path: Path, shell: str) -> None:
    home = {"HOME": str(tmp_path), "XDG_DATA_HOME": "", "XDG_CONFIG_HOME": ""}
    printed = run("completion", shell, **home)
    assert printed.stdout == run(_GLOST_COMPLETE=f"{shell}_source").stdout
    done = run("completion", shell, "--install", **home)
    assert (done.returncode, done.stderr) == (0, "")
    file = Path(done.stdout.partition(": written")[0])
    assert file.read_text("utf-8") == printed.stdout
    assert run("completion", shell, "--install", **home).returncode == 0
    file.write_text("mine\n", "utf-8")
    done = run("completion", shell, "--install", **home)
    assert done.returncode == 2
    assert file.read_text("utf-8") == "mine\n"
