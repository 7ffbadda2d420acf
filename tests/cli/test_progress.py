"""The line that says how far a run has come: on a terminal, gone in the end, and nowhere else."""

from __future__ import annotations

import os
import re
import signal
import struct
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest

from glost.cli import streams
from glost.cli.progress import counted
from tests.conftest import Run

if sys.platform == "win32":
    pytest.skip("there are no pseudo-terminals here", allow_module_level=True)

import fcntl
import pty
import termios

from tests.work import HANG_S

RECIPE = 'glaze "A {}"\ncone: 6\n\nbase:\n    silica                 60\n    kaolin                 40\n'


class Screen:
    """A terminal of so many columns, as far as glost uses one."""

    def __init__(self, columns: int = 80) -> None:
        self.columns = columns
        self.lines = [""]
        self.at = 0
        self.seen: list[str] = []

    def take(self, text: str) -> None:
        for character in text:
            if character == "\r":
                self.seen.append(self.lines[-1].rstrip())
                self.at = 0
            elif character == "\n":
                self.lines.append("")
            else:
                if self.at == self.columns:
                    self.lines.append("")
                    self.at = 0
                line = self.lines[-1].ljust(self.at)
                self.lines[-1] = line[: self.at] + character + line[self.at + 1 :]
                self.at += 1

    @property
    def text(self) -> str:
        return "\n".join(line.rstrip() for line in self.lines)


class Terminal:
    """A pseudo-terminal that is this process's standard output and error, and what has come to its screen."""

    def __init__(self, columns: int) -> None:
        self.master, self.slave = pty.openpty()
        fcntl.ioctl(self.slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
        self.screen = Screen(columns or 80)  # 0: it does not know

    def read(self) -> Screen:
        os.set_blocking(self.master, False)
        while True:
            try:
                self.screen.take(os.read(self.master, 65536).decode())
            except BlockingIOError:
                return self.screen


Connect = Callable[[int], Terminal]


@pytest.fixture
def connect(monkeypatch: pytest.MonkeyPatch) -> Iterator[Connect]:
    """Makes a terminal of so many columns the standard output and error of the test."""
    with ExitStack() as opened:

        def connect(columns: int) -> Terminal:
            terminal = Terminal(columns)
            opened.callback(os.close, terminal.master)
            opened.callback(os.close, terminal.slave)
            for name in ("stdout", "stderr"):
                stream = opened.enter_context(open(terminal.slave, "w", closefd=False))
                monkeypatch.setattr(sys, name, stream)
            monkeypatch.setenv("TERM", "xterm")
            return terminal

        yield connect


class Clock:
    """Each reading is so many seconds after the one before."""

    def __init__(self, step: float) -> None:
        self.step = step
        self.now = 0.0

    def __call__(self) -> float:
        self.now += self.step
        return self.now


def test_nothing_is_shown_in_the_first_second_and_then_five_times_a_second(connect: Connect) -> None:
    terminal = connect(80)
    shown: list[str] = []
    for number in counted(range(20_000), "checked", 20_000, Clock(0.001)):
        shown.append(terminal.read().text if number % 10 == 0 else shown[-1])
    assert shown[990] == ""
    assert re.fullmatch("checked 1,[012]0[0-9] of 20,000", shown[1210])
    assert re.fullmatch("checked 19,[789][0-9]{2} of 20,000", shown[-1])
    assert 92 <= len(set(shown)) <= 97  # of the nineteen seconds after the first
    assert terminal.read().text == ""


def test_short_run_shows_nothing(connect: Connect) -> None:
    terminal = connect(80)
    assert len(list(counted(range(900), "checked", 900, Clock(0.001)))) == 900
    assert terminal.read().seen == []


def test_line_is_gone_before_anything_else_is_written(connect: Connect) -> None:
    terminal = connect(80)
    for number in counted(range(40), "checked", 40, Clock(0.5)):
        if number == 10:
            streams.note("noted\n")
        if number == 20:
            streams.say("said\n")
        if number == 30:
            streams.put(b"put\n")
    streams.finish()
    screen = terminal.read()
    assert screen.text == "noted\nsaid\nput\n"
    assert "checked 35 of 40" in screen.seen


def test_line_is_gone_where_the_work_or_the_run_is_stopped(connect: Connect) -> None:
    terminal = connect(80)

    def work() -> Iterator[int]:
        yield from range(10)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        for _ in counted(work(), "checked", 40, Clock(1)):
            pass
    assert terminal.read().text == ""
    running = counted(range(10), "checked", 10, Clock(1))
    next(running), next(running), next(running)
    assert terminal.read().text == "checked 2 of 10"
    streams.note("glost: stopped\n")  # while the work still stands
    assert terminal.read().text == "glost: stopped\n"


@pytest.mark.parametrize("columns", [0, 1, 2, 3, 10, 23, 24, 25, 26])
def test_narrow_terminal(connect: Connect, columns: int) -> None:
    terminal = connect(columns)
    for _ in counted(range(40), "checked", 20_000, Clock(0.5)):
        pass
    streams.note("x\n")
    assert terminal.read().text == "x\n"


def test_terminal_that_can_do_nothing_and_pipes_see_nothing(
    connect: Connect, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    terminal = connect(80)
    monkeypatch.setenv("TERM", "dumb")
    list(counted(range(100), "checked", 100, Clock(1)))
    assert terminal.read().seen == []
    monkeypatch.setenv("TERM", "xterm")
    with (tmp_path / "error").open("w") as error:
        monkeypatch.setattr(sys, "stderr", error)
        list(counted(range(100), "checked", 100, Clock(1)))
    assert (tmp_path / "error").read_text() == ""
    monkeypatch.setattr(sys, "stderr", None)
    assert len(list(counted(range(100), "checked", 100, Clock(1)))) == 100


# ---- whole runs --------------------------------------------------------------------------------------------

IMPATIENT = (
    "import sys; from glost.cli import main, progress; "
    "progress._PATIENCE, progress._BETWEEN = 0.0, 0.0; main(sys.argv[1:])"
)
COMMANDS = [
    (["lint"], "checked"),
    (["lint", "--workers", "2"], "checked"),
    (["format", "--workers", "2"], "looked at"),
    (["format", "--diff"], "looked at"),
    (["convert", "--to", "sheet", "--out", "out", "--workers", "2"], "converted"),
    (["convert", "--to", "jsonl"], "converted"),
    (["import", "table.csv", "--to", "new"], "brought in"),
]


def fill(folder: Path) -> None:
    for number in range(120):
        text = RECIPE.format(number)
        if number % 7 == 0:
            text = text.replace("     ", " ")
        if number % 50 == 3:
            text += "    whiting\n"
        (folder / f"{number}.glost").write_text(text)
    rows = [
        f"B {number},{name},{amount}\n"
        for number in range(60)
        for name, amount in (("silica", 60), ("kaolin", 40))
    ]
    (folder / "table.csv").write_text("recipe,material,amount\n" + "".join(rows))


def in_a_terminal(folder: Path, arguments: list[str], stop: bytes = b"") -> tuple[int, Screen]:
    """Runs a command in a terminal of its own; ``stop``: typed once a line of progress has come."""
    child, master = pty.fork()
    if child == 0:
        os.chdir(folder)
        os.environ |= {"TERM": "xterm", "NO_COLOR": "1"}
        signal.signal(signal.SIGINT, signal.default_int_handler)
        os.execv(sys.executable, [sys.executable, "-c", IMPATIENT, *arguments])
    fcntl.ioctl(master, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 200, 0, 0))
    screen = Screen(200)
    signal.signal(signal.SIGALRM, lambda *_: os.kill(child, signal.SIGKILL))
    signal.alarm(HANG_S)
    while True:
        try:
            data = os.read(master, 65536)
        except OSError:
            break
        if not data:
            break
        screen.take(data.decode())
        if stop and " of " in screen.lines[-1]:
            os.write(master, stop)
            stop = b""
    signal.alarm(0)
    os.close(master)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), screen


@pytest.mark.parametrize(
    ("command", "word"), COMMANDS, ids=lambda value: " ".join(value) if isinstance(value, list) else ""
)
def test_final_screen_holds_the_report_alone(tmp_path: Path, command: list[str], word: str) -> None:
    for name in ("seen", "piped"):
        (tmp_path / name).mkdir()
        fill(tmp_path / name)
    status, screen = in_a_terminal(tmp_path / "seen", command)
    done = subprocess.run(
        [sys.executable, "-c", IMPATIENT, *command], cwd=tmp_path / "piped", check=False, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip
    assert status == done.returncode
    assert any(line.startswith(f"{word} ") and " of " in line for line in screen.seen)
    wide = [
        line[at : at + 200].rstrip()
        for line in done.stdout.split("\n")
        for at in range(0, max(1, len(line)), 200)
    ]
    assert sorted(screen.text.split("\n")) == sorted(wide)
    assert " of 120" not in done.stdout


@pytest.mark.parametrize("workers", ["1", "2"])
@pytest.mark.parametrize(
    "command", [["lint"], ["format"], ["convert", "--to", "html", "--out", "out"]], ids=" ".join
)
def test_ctrl_c_at_the_keyboard(tmp_path: Path, command: list[str], workers: str) -> None:
    for number in range(3000):
        (tmp_path / f"{number}.glost").write_text(RECIPE.format(number))
    status, screen = in_a_terminal(tmp_path, [*command, "--workers", workers], b"\x03")
    assert (status, screen.text) == (130, "\nglost: stopped\n")
    assert any(" of 3,000" in line for line in screen.seen)


def test_nothing_of_it_comes_to_a_pipe(run: Run, tmp_path: Path) -> None:
    for number in range(1500):
        (tmp_path / f"{number}.glost").write_text(RECIPE.format(number))
    done = run("lint", "--workers", "1", FORCE_COLOR="1", TERM="xterm")
    assert "\r" not in done.stdout + done.stderr
    assert " of " not in done.stderr
