"""Ctrl-C, and requests to end, at any import and any line of a run: never a traceback, never half a file."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import Run
from tests.hostile.pages import BAD, LOOSE
from tests.stopping import hear_signals
from tests.work import HANG_S

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals are others there")

AT_IMPORT = """
import os, runpy, sys
signal, at, *arguments = sys.argv[1:]
left = [int(at)]
def hook(event, arguments):
    if event == "import" and left:
        left[0] -= 1
        if left[0] == 0:
            left.clear()
            os.kill(os.getpid(), int(signal))
sys.argv = ["glost", *arguments]
import glost
sys.addaudithook(hook)
runpy.run_module("glost", run_name="__main__", alter_sys=True)
"""
"""Runs the command line; at the so many-th import from the first of glost's own on, the process is sent a signal."""

COMMANDS = {
    "lint": ("lint",),
    "fix": ("lint", "--fix"),
    "format": ("format",),
    "convert": ("convert", "--to", "sheet", "--out", "sheets"),
    "import": ("import", "notes.txt", "--to", "new"),
    "catalog": ("catalog", "--to", "csv"),
    "help": ("--help",),
}
FIRST = 6
"""Imports at each of which a run is stopped, before they lie further and further apart."""


def stopped(folder: Path, number: int, at: int, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", AT_IMPORT, str(int(number)), str(at), *arguments],
        cwd=folder, capture_output=True, text=True, timeout=60, check=False, stdin=subprocess.DEVNULL,
        preexec_fn=hear_signals,
    )  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "a.glost").write_text(BAD)
    (tmp_path / "b.glost").write_text(LOOSE)
    (tmp_path / "notes.txt").write_text("Dune\nsilica 50\nkaolin 50\n")
    return tmp_path


@pytest.mark.parametrize("command", COMMANDS)
def test_ctrl_c_at_an_import(folder: Path, command: str) -> None:
    """At the first ones, then further and further apart until the run ends before it is stopped."""
    at, met = 1, 0
    while True:
        done = stopped(folder, signal.SIGINT, at, *COMMANDS[command])
        assert "Traceback" not in done.stderr, (at, done.stderr)
        assert "Exception ignored" not in done.stderr, (at, done.stderr)
        if done.returncode != 130:
            break
        met += 1
        assert done.stderr.strip() == "glost: stopped", at
        assert not list(folder.rglob("*.part"))
        at += 1 if at < FIRST else max(1, at // 3)
    assert met >= FIRST, done
    assert done.returncode in (0, 1)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_end_at_an_import(folder: Path, number: int) -> None:
    for at in (4, 30):
        done = stopped(folder, number, at, "format")
        assert (done.returncode, done.stdout, done.stderr) == (-number, "", "")


AT_WRITING = """
import os, sys
signal = int(sys.argv.pop(1))
real = os.fsync
def fsync(handle):
    real(handle)
    os.kill(os.getpid(), signal)
os.fsync = fsync
from glost.__main__ import main
main()
"""
"""Runs the command line; the process is sent a signal when a file is written and not yet in its place."""


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
@pytest.mark.parametrize(
    "arguments",
    [
        ("format", "b.glost"),
        ("convert", "--to", "sheet", "--out", "sheets", "b.glost"),
        ("convert", "--to", "json", "--out", "all.json", "b.glost"),
        ("import", "notes.txt", "--to", "."),
        ("catalog", "--to", "csv", "--out", "all.csv"),
    ],
    ids=lambda arguments: " ".join(arguments[:3]),
)
def test_stopped_while_writing_leaves_no_part(folder: Path, number: int, arguments: tuple[str, ...]) -> None:
    (folder / "sheets").mkdir()
    before = {path: path.read_text() for path in folder.rglob("*") if path.is_file()}
    done = subprocess.run(
        [sys.executable, "-c", AT_WRITING, str(int(number)), *arguments],
        cwd=folder, capture_output=True, text=True, timeout=60, check=False, stdin=subprocess.DEVNULL,
        env={**os.environ, "GLOST_CACHE": "off"}, preexec_fn=hear_signals,
    )  # fmt: skip
    assert done.returncode == (130 if number == signal.SIGINT else -number), done.stderr
    assert done.stderr.strip() == ("glost: stopped" if number == signal.SIGINT else "")
    assert {path: path.read_text() for path in folder.rglob("*") if path.is_file()} == before


def test_signals_that_are_ignored_stay_so(folder: Path) -> None:
    """As under nohup, or in the background of a plain shell."""
    code = f"import signal, sys; signal.signal(int(sys.argv[1]), signal.SIG_IGN)\n{AT_IMPORT}"
    for number in (signal.SIGINT, signal.SIGHUP):
        done = subprocess.run(
            [sys.executable, "-c", code, str(int(number)), "4", "format", "b.glost"],
            cwd=folder, capture_output=True, text=True, timeout=60, check=False,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr


@pytest.mark.parametrize(
    "arguments",
    [
        ("format",),
        ("convert", "--to", "sheet", "--out", ".", "a.glost"),
        ("import", "notes.txt", "--to", "."),
    ],
    ids=lambda arguments: arguments[0],
)
def test_what_a_killed_run_left_is_taken_away(run: Run, folder: Path, arguments: tuple[str, ...]) -> None:
    """Only what has such a name, is a plain file and was not written just now."""
    (folder / "folder.part").mkdir()
    left = [".b.glost.0123456789abcdef.part", f".{'x' * 40}.ffffffffffffffff.part"]
    kept = ["b.glost.part", ".b.glost.part", ".b.glost.0123456789abcdeg.part", "mine.0123456789abcdef.part"]
    for name in (*left, *kept):
        (folder / name).write_text("half")
        os.utime(folder / name, (0, 0))
    being_written = folder / ".c.glost.0123456789abcdef.part"
    being_written.write_text("half")
    link = folder / ".d.glost.0123456789abcdef.part"
    link.symlink_to("mine.0123456789abcdef.part")
    os.utime(link, (0, 0), follow_symlinks=False)
    assert run(*arguments, cwd=folder).returncode == 0
    there = {path.name for path in folder.iterdir()}
    assert not there & set(left)
    assert {*kept, being_written.name, link.name, "folder.part"} <= there


WHILE_TAKEN_AWAY = """
import os, sys, weakref
from glost import cli
number = int(sys.argv[1])
class Thing:
    if sys.argv[2] == "__del__":
        def __del__(self): os.kill(os.getpid(), number)
def run(_):
    thing = Thing()
    told = weakref.ref(thing, lambda _: sys.argv[2] == "__del__" or os.kill(os.getpid(), number))
    del thing
    while True: pass
cli._run = run
cli.main([])
"""
"""A run that is sent a signal while Python takes an object away, where what is raised is passed over."""


@pytest.mark.parametrize("called", ["weakref", "__del__"])
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM], ids=lambda one: one.name)
def test_a_signal_while_an_object_is_taken_away_is_not_passed_over(
    number: signal.Signals, called: str
) -> None:
    done = subprocess.run(
        [sys.executable, "-c", WHILE_TAKEN_AWAY, str(int(number)), called],
        capture_output=True, text=True, timeout=HANG_S, check=False, preexec_fn=hear_signals,
    )  # fmt: skip
    assert done.returncode == (130 if number == signal.SIGINT else -number)
    assert done.stderr == ("glost: stopped\n" if number == signal.SIGINT else "")
