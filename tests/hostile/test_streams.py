"""Standard streams that are full, closed, or read by somebody who leaves; and odd environments."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.hostile.conftest import Tame, quiet
from tests.hostile.pages import BAD, GOOD, LOOSE
from tests.work import HANG_S

GLOST = f"{sys.executable} -m glost"
FOREIGN = GOOD.replace("whiting", "caf\u00e9 \u6f22").replace("own test", "own test \u00b5")


def shell(line: str, cwd: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["bash", "-c", line.replace("glost", GLOST, 1)],
        cwd=cwd, capture_output=True, encoding="utf-8", timeout=HANG_S, check=False, stdin=subprocess.DEVNULL,
        env={**os.environ, **environment},
    )  # fmt: skip


@pytest.fixture
def many(tmp_path: Path) -> Path:
    for number in range(400):
        (tmp_path / f"{number}.glost").write_text(BAD.replace('"A"', f'"A {number}"'))
    return tmp_path


COMMANDS = (
    "lint",
    "lint --output json",
    "lint --output sarif",
    "convert --to sheet",
    "format --check",
    "explain",
    "--help",
)


@pytest.mark.parametrize("command", COMMANDS)
def test_full_disk_behind_standard_output(tmp_path: Path, command: str) -> None:
    (tmp_path / "a.glost").write_text(LOOSE.replace("40", "39"))
    done = shell(f"glost {command} > /dev/full", tmp_path)
    quiet(done, 2)
    assert "No space left on device" in done.stderr


@pytest.mark.parametrize("command", COMMANDS)
def test_closed_standard_output(tmp_path: Path, command: str) -> None:
    (tmp_path / "a.glost").write_text(LOOSE.replace("40", "39"))
    done = shell(f"glost {command} >&-", tmp_path)
    if command != "--help":
        quiet(done, 2)
        assert done.stderr.endswith("glost: standard output cannot be written: it is closed\n")
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("redirected", ["2>&-", "2>/dev/full", ">&- 2>&-", ">/dev/full 2>/dev/full", "<&-"])
def test_no_streams_at_all(tmp_path: Path, redirected: str) -> None:
    (tmp_path / "a.glost").write_text(BAD)
    for command, status in (("lint --output line", 1), ("lint nowhere", 2), ("lint --no", 2), ("format", 0)):
        full = redirected.startswith(">") and command == "lint --output line"
        quiet(shell(f"glost {command} {redirected}", tmp_path), 2 if full else status)


def test_closed_standard_input(tmp_path: Path) -> None:
    for command in ("lint -", "format -", "convert - --to csv"):
        done = shell(f"glost {command} <&-", tmp_path)
        quiet(done, 2)
        assert "standard input cannot be read: it is closed" in done.stderr


@pytest.mark.parametrize(
    ("command", "status"),
    [("lint", 1), ("lint --output line", 1), ("lint --output json", 1), ("lint --output sarif", 1),
     ("convert --to sheet", 0), ("format --check", 0), ("format --diff", 0)],
)  # fmt: skip
def test_reader_that_leaves(many: Path, command: str, status: int) -> None:
    """The exit status still says what was found, and nothing is printed of it."""
    done = shell(f"glost {command} | head -1; exit ${{PIPESTATUS[0]}}", many)
    quiet(done, status)
    assert "Broken pipe" not in done.stderr


@pytest.mark.parametrize("words", [("--help",), ("lint", "--help"), ("--version",)], ids=" ".join)
def test_help_for_a_reader_that_has_left(tmp_path: Path, words: tuple[str, ...]) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    done = subprocess.run(
        [sys.executable, "-m", "glost", *words],
        cwd=tmp_path,
        stdout=writing,
        stderr=subprocess.PIPE,
        text=True,
    )
    os.close(writing)
    assert (done.returncode, done.stderr) == (0, "")


def test_no_standard_error_is_no_reason_to_complain_elsewhere(tmp_path: Path) -> None:
    done = shell("glost lint --no 2>&-", tmp_path)
    assert (done.returncode, done.stdout) == (2, "")


def test_files_are_laid_out_to_the_last_though_the_reader_leaves(many: Path) -> None:
    for path in many.iterdir():
        path.write_text(LOOSE)
    quiet(shell("glost format | true; exit ${PIPESTATUS[0]}", many), 0)
    assert {path.read_text() for path in many.iterdir()} == {GOOD}


ENVIRONMENTS: dict[str, dict[str, str]] = {
    "C": {"LC_ALL": "C", "LANG": "C", "PYTHONIOENCODING": ""},
    "C without coercion": {
        "LC_ALL": "C",
        "PYTHONCOERCECLOCALE": "0",
        "PYTHONUTF8": "0",
        "PYTHONIOENCODING": "",
    },
    "ascii": {"PYTHONIOENCODING": "ascii"},
    "latin-1": {"PYTHONIOENCODING": "latin-1"},
    "utf-16": {"PYTHONIOENCODING": "utf-16"},
    "dumb": {"TERM": "dumb", "NO_COLOR": "1"},
    "no home": {"HOME": "", "XDG_CACHE_HOME": "", "GLOST_CACHE": ""},
    "home that is not there": {"HOME": "/nowhere/at/all", "GLOST_CACHE": ""},
    "cache that is a file": {"GLOST_CACHE": "/dev/null"},
    "odd columns": {"COLUMNS": "1", "LINES": "0"},
}


@pytest.mark.parametrize("name", ENVIRONMENTS)
def test_environments(tmp_path: Path, name: str) -> None:
    environment = ENVIRONMENTS[name]
    (tmp_path / "glost.yaml").write_text("name: caf\u00e9\n", "utf-8")
    (tmp_path / "caf\u00e9.glost").write_text(FOREIGN, "utf-8")

    def run(*arguments: str) -> tuple[int, bytes]:
        done = subprocess.run(
            [sys.executable, "-m", "glost", *arguments],
            cwd=tmp_path, capture_output=True, check=False, env={**os.environ, **environment},
        )  # fmt: skip
        assert b"Traceback" not in done.stderr
        assert b"a mistake in glost" not in done.stderr
        return done.returncode, done.stdout

    status, text = run("lint")
    assert status == 1
    if name in ("ascii", "C without coercion"):
        assert b"caf\\xe9 \\u6f22" in text
        text.decode("ascii")
    status, text = run("lint", "--output", "json")
    assert "caf\u00e9 \u6f22" in str(json.loads(text))
    status, text = run("convert", "--to", "sheet")
    assert status == 0
    assert "caf\u00e9 \u6f22" in text.decode("utf-8")
    assert run("format", "--check")[0] == 0
    for arguments in (("explain",), ("explain", "base-total"), ("--help",), ("lint", "--help")):
        assert run(*arguments)[0] == 0
    assert run("lint", "caf\u00ea.glost")[0] == 2


def test_colour_only_where_it_is_wanted(tame: Tame, tmp_path: Path) -> None:
    import pty

    (tmp_path / "a.glost").write_text(BAD)
    for environment, coloured in (
        ({"TERM": "xterm"}, True),
        ({"TERM": "dumb"}, False),
        ({"NO_COLOR": "1"}, False),
    ):
        parent, child = pty.openpty()
        with subprocess.Popen(
            [sys.executable, "-m", "glost", "lint"], cwd=tmp_path, stdout=child, stderr=subprocess.DEVNULL,
            env={**{k: v for k, v in os.environ.items() if k != "NO_COLOR"}, "TERM": "xterm", **environment},
        ) as process:  # fmt: skip
            process.wait(30)
        assert (b"\x1b[" in os.read(parent, 10_000)) == coloured
        os.close(child)
        os.close(parent)
    assert "\x1b" not in tame(1, "lint").stdout
