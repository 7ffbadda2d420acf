"""What a newcomer asks first: help, version, the manual page, and examples that run."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
from pathlib import Path

import pytest

from glost import __version__
from glost.cli.app import COMMANDS, examples_of
from tests.conftest import STUDIO, TOP, Run


def test_version_is_said_by_each_spelling(run: Run) -> None:
    said = {run(word).stdout for word in ("version", "-v", "--version")}
    assert said == {f"glost {__version__}\n"}


def test_help_shows_what_the_option_shows(run: Run) -> None:
    assert run("help").stdout == run("--help").stdout
    assert run("help", "batch").stdout == run("batch", "--help").stdout
    done = run("help", "bacth")
    assert done.returncode == 2
    assert "Did you mean 'batch'" in done.stderr


@pytest.mark.parametrize("name", COMMANDS)
def test_each_help_ends_with_two_examples(run: Run, name: str) -> None:
    lines = run(name, "--help").stdout.rstrip().splitlines()
    assert [line.strip() for line in lines[-2:]] == list(examples_of(name))
    assert lines[-3].strip() == "Examples:"


RUNNABLE = [
    line
    for name in COMMANDS
    for line in examples_of(name)
    if line.startswith("glost ") and not any(word in line for word in ("notes.txt", "record.json", "OLDER"))
]


def _braces(word: str) -> list[str]:
    """ "a{b,c}d" as a shell has it."""
    found = re.fullmatch(r"(.*)[{](.*)[}](.*)", word)
    return [word] if found is None else [f"{found[1]}{one}{found[3]}" for one in found[2].split(",")]


@pytest.mark.parametrize("line", RUNNABLE)
def test_examples_run_as_they_stand(run: Run, tmp_path: Path, line: str) -> None:
    (tmp_path / "corpus").mkdir()
    shutil.copytree(STUDIO, tmp_path / "corpus" / "studio")
    git = ["git", "-c", "user.name=a", "-c", "user.email=a@example.org", "-C", str(tmp_path)]
    subprocess.run([*git, "init", "-q"], check=True)
    for subject in ("one", "two"):
        subprocess.run([*git, "add", "."], check=True)
        subprocess.run([*git, "commit", "-q", "--allow-empty", "-m", subject], check=True)
    words = shlex.split(re.sub(r" (> [^ ]+|[|] .*)$", "", line))[1:]
    given = {}
    words = [one for word in words for one in _braces(word)]
    if "<" in words:
        at = words.index("<")
        given["stdin"] = (TOP / words[at + 1]).read_text("utf-8")
        words = words[:at]
    done = run(*words, cwd=tmp_path, HOME=str(tmp_path), **given)
    assert done.returncode in (0, 1), done.stderr
    assert "Usage:" not in done.stderr


@pytest.mark.skipif(shutil.which("groff") is None, reason="groff, which man uses, is not here")
def test_the_manual_page_is_one_that_groff_takes_without_a_word(run: Run) -> None:
    page = run("help", "--man").stdout
    shown = subprocess.run(
        ["groff", "-man", "-Tutf8", "-ww", "-Kutf8"], input=page, capture_output=True, text=True, check=True
    )
    assert shown.stderr == ""
    text = re.sub(".\b", "", shown.stdout).replace(
        "\N{HYPHEN}", "-"
    )  # a terminal's bold is a letter typed twice
    for name in COMMANDS:
        assert f"GLOST {name.upper()}" in text
    assert "safety data sheet" in " ".join(text.split())
