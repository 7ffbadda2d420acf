"""Colour is for a terminal alone: help, findings on both streams, differences; none where NO_COLOR is set."""

from __future__ import annotations

import contextlib
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Literal

import pytest

if sys.platform == "win32":
    pytest.skip("there are no pseudo-terminals here", allow_module_level=True)

import pty

from tests.work import HANG_S

BOLD, RED, GREEN, CYAN, END = "\x1b[1m", "\x1b[31m", "\x1b[32m", "\x1b[36m", "\x1b[0m"
ERROR = f"{RED}{BOLD}error{END}"
SIGNS = re.compile(r"\x1b\[[0-9;]*m")
PAGE = 'glaze "Chalk"\nbase:\n  whiting 100\n'


def on_a_terminal(
    folder: Path, *arguments: str, stream: Literal["stdout", "stderr"] = "stdout", **environment: str
) -> str:
    """What a terminal is sent that is one stream of the command; the other one goes to a pipe."""
    leader, follower = pty.openpty()
    unset = {key: value for key, value in os.environ.items() if key not in ("NO_COLOR", "TERM", "PAGER")}
    with subprocess.Popen(
        [sys.executable, "-m", "glost", *arguments],
        cwd=folder,
        stdin=subprocess.DEVNULL,
        stdout=follower if stream == "stdout" else subprocess.DEVNULL,
        stderr=follower if stream == "stderr" else subprocess.DEVNULL,
        env={**unset, "PYTHONIOENCODING": "utf-8", "TERM": "xterm", "PAGER": "", **environment},
    ) as process:
        os.close(follower)
        got = b""
        with contextlib.suppress(OSError):  # the end of a terminal is an error on Linux
            while piece := os.read(leader, 65536):
                got += piece
        os.close(leader)
        process.wait(HANG_S)
    return got.decode("utf-8").replace("\r\n", "\n")


def as_a_pipe(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "glost", *arguments],
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=HANG_S,
        check=False,
        env={**os.environ, "COLUMNS": "80", "TERM": "xterm"},
    )


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "chalk.glost").write_text(PAGE)
    return tmp_path


@pytest.mark.parametrize(
    "arguments", [("--help",), ("help",), ("lint", "--help"), ("help", "lint"), ("help", "batch")]
)
def test_headings_of_help_stand_out(folder: Path, arguments: tuple[str, ...]) -> None:
    shown = on_a_terminal(folder, *arguments, COLUMNS="80")
    for heading in ("Usage", "Options"):
        assert f"{BOLD}{heading}{END}:" in shown
    assert set(SIGNS.findall(shown)) == {BOLD, END}
    assert SIGNS.sub("", shown) == as_a_pipe(folder, *arguments).stdout


def test_examples_are_headed_like_the_rest(folder: Path) -> None:
    assert f"{BOLD}Examples{END}:" in on_a_terminal(folder, "help", "batch")


def test_a_wrong_use_is_told_without_colour(folder: Path) -> None:
    shown = on_a_terminal(folder, "lint", "--no-such", stream="stderr")
    assert "no-such" in shown
    assert "\x1b" not in shown
    assert "001b" not in shown


@pytest.mark.parametrize("command", [("lint",), ("batch",), ("formula",), ("convert", "--to", "sheet")])
def test_settings_that_are_refused_have_their_level_in_colour(folder: Path, command: tuple[str, ...]) -> None:
    (folder / "glost.yaml").write_text('batch: "100"\nsieve: fine\n')
    shown = on_a_terminal(folder, *command, "chalk.glost", stream="stderr")
    assert shown.count(f": {ERROR}: ") == 2
    assert set(SIGNS.findall(shown)) == {RED, BOLD, END}


def test_findings_on_standard_error_have_their_level_in_colour(folder: Path) -> None:
    (folder / "chalk.glost").write_text(PAGE + "!!\n")
    assert f"chalk.glost:4:1: {ERROR}: " in on_a_terminal(folder, "batch", "chalk.glost", stream="stderr")


@pytest.mark.parametrize("arguments", [("format", "--diff"), ("lint", "--fix", "--diff")])
def test_a_difference_has_its_colours(folder: Path, arguments: tuple[str, ...]) -> None:
    (folder / "chalk.glost").write_text(
        PAGE.replace("100", "100,5").replace("base", "Base") if "lint" in arguments else PAGE
    )
    shown = on_a_terminal(folder, *arguments, "chalk.glost")
    lines = shown.split("\n")
    assert f"{BOLD}--- chalk.glost{END}" in lines
    assert any(line.startswith(f"{BOLD}+++ chalk.glost") for line in lines)
    assert any(line.startswith(f"{CYAN}@@ ") for line in lines)
    assert any(line.startswith(f"{RED}-") and line.endswith(END) for line in lines)
    assert any(line.startswith(f"{GREEN}+") and line.endswith(END) for line in lines)
    assert SIGNS.sub("", shown).startswith(as_a_pipe(folder, *arguments, "chalk.glost").stdout.split("@@")[0])


def test_a_page_paints_nothing(folder: Path) -> None:
    (folder / "chalk.glost").write_text(PAGE.replace("100", "100  (\x1b[32mfine)"))
    for stream in ("stdout", "stderr"):
        for arguments in (("lint",), ("format", "--diff"), ("lint", "--fix", "--diff")):
            shown = on_a_terminal(folder, *arguments, "chalk.glost", stream=stream)
            assert f"{GREEN}fine" not in shown


@pytest.mark.parametrize("environment", [{"NO_COLOR": "1"}, {"TERM": "dumb"}])
@pytest.mark.parametrize(
    ("arguments", "stream"),
    [
        (("help", "lint"), "stdout"),
        (("--help",), "stdout"),
        (("lint", "chalk.glost"), "stdout"),
        (("format", "--diff", "chalk.glost"), "stdout"),
        (("batch", "wrong.glost"), "stderr"),
    ],
)
def test_none_where_it_is_refused(
    folder: Path, environment: dict[str, str], arguments: tuple[str, ...], stream: Literal["stdout", "stderr"]
) -> None:
    (folder / "wrong.glost").write_text(PAGE + "!!\n")
    shown = on_a_terminal(folder, *arguments, stream=stream, **environment)
    assert shown.strip()
    assert "\x1b" not in shown


@pytest.mark.parametrize(
    "arguments", [("help", "lint"), ("lint", "chalk.glost"), ("format", "--diff", "chalk.glost")]
)
def test_none_in_a_pipe(folder: Path, arguments: tuple[str, ...]) -> None:
    done = as_a_pipe(folder, *arguments)
    assert done.stdout
    assert "\x1b" not in done.stdout + done.stderr


def test_what_must_not_be_missed_is_red_on_all_its_lines(tmp_path: Path) -> None:
    for name, base in (
        ("old", "silica 100"),
        ("new", "barium carbonate 40\n  lithium carbonate 30\n  zinc oxide 30"),
    ):
        (tmp_path / f"{name}.glost").write_text(PAGE.replace("whiting 100", base), "utf-8")
    shown = on_a_terminal(tmp_path, "compare", "old.glost", "new.glost", COLUMNS="44")
    lines = shown.split("\n")
    first = next(at for at, line in enumerate(lines) if "new hazards" in line)
    last = next(at for at, line in enumerate(lines) if at > first and not line.strip())
    assert last - first > 1
    assert all(line.startswith(RED) and line.endswith(END) for line in lines[first:last])
    assert shown.count(RED) == last - first
    assert SIGNS.sub("", shown) == as_a_pipe_of(tmp_path, "44", "compare", "old.glost", "new.glost")


def as_a_pipe_of(folder: Path, columns: str, *arguments: str) -> str:
    command = [sys.executable, "-m", "glost", *arguments]
    env = {**os.environ, "COLUMNS": columns}
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False, env=env).stdout
