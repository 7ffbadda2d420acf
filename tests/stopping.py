"""Ends a run of glost at a counted moment: when it calls its so-manieth function, wherever the machine is by then.

A signal after so many milliseconds would come before the work on a slow machine and after it on a quick one.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

from tests.work import HANG_S

_PROGRAM = """\
import os, sys
moment, number, to_group, counts = int(sys.argv[1]), int(sys.argv[2]), sys.argv[3] == "group", sys.argv[4]
me, calls = os.getpid(), 0

def on_call(frame, event, argument):
    global calls
    if os.getpid() != me:  # a process that was forked from this one
        sys.setprofile(None)
    elif event == "call":
        calls += 1
        importing = frame.f_code.co_filename.startswith("<frozen")
        if 0 < moment <= calls and not importing:
            sys.setprofile(None)
            (os.killpg if to_group else os.kill)(me, number)

from glost.cli import main

try:
    sys.setprofile(on_call)
    main(sys.argv[5:])
finally:
    sys.setprofile(None)
    with open(counts, "w") as file:
        file.write(str(calls))
"""
_NEVER = 0


def start_stopping(
    folder: Path, moment: int, number: int, arguments: tuple[str, ...], *, whole_group: bool = False
) -> subprocess.Popen[str]:
    """A run that sends itself, or itself and all the processes that it has started, a signal at that call."""
    return subprocess.Popen(
        [sys.executable, "-c", _PROGRAM, str(moment), str(number), "group" if whole_group else "alone",
         str(_counts_of(folder)), *arguments],
        cwd=folder, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        start_new_session=True,
        preexec_fn=hear_signals,
    )  # fmt: skip


def hear_signals() -> None:
    """Whoever runs the tests may ignore Ctrl-C (a job in the background) or the end of a terminal (nohup), and the
    processes that they start would inherit that."""
    for number in (signal.SIGINT, signal.SIGHUP):
        signal.signal(number, signal.SIG_DFL)


def calls_of(folder: Path, *arguments: str) -> int:
    """How many functions a run calls in its own process until it ends by itself."""
    start_stopping(folder, _NEVER, signal.SIGINT, arguments).communicate(timeout=HANG_S)
    counts = _counts_of(folder)
    try:
        return int(counts.read_text())
    finally:
        counts.unlink()


def _counts_of(folder: Path) -> Path:
    return folder.parent / f"{folder.name}-{os.getpid()}.calls"
