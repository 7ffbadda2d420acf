"""Work that is counted, so that a verdict on growth is the same on any machine, however busy it is.

No test looks at a clock on the wall. Where Python does the work, the lines that it runs and the functions that it
calls are counted, which gives the same figure every time. Inside one call of the regular expression engine or of
another function in C nothing can be counted; there the processor time of this process is compared between a length
and four times the length, again and again until a verdict is sure.
"""

from __future__ import annotations

import gc
import sys
import time
from collections.abc import Callable
from types import FrameType
from typing import Any

HANG_S = 600
"""Seconds until a process that a test has started counts as hanging. It guards the test run, and judges nothing."""

_MEASURABLE_S = 0.02
"""What takes less processor time is not compared: chance would decide."""


def count_steps(run: Callable[[], object]) -> int:
    """How many lines of Python are run and how many functions of C are called."""
    count = 0

    def on_line(_frame: FrameType, _event: str, _argument: Any) -> Any:
        nonlocal count
        count += 1
        return on_line

    def on_call(_frame: FrameType, event: str, _argument: Any) -> None:
        nonlocal count
        count += event == "c_call"

    traced, profiled = sys.gettrace(), sys.getprofile()
    sys.settrace(on_line)
    sys.setprofile(on_call)
    try:
        run()
    finally:
        sys.setprofile(profiled)
        sys.settrace(traced)
    return count


def processor_seconds(run: Callable[[], object]) -> float:
    """What this process spends on it, without the garbage collector, whose work grows with what earlier tests left."""
    gc.disable()
    try:
        began = time.process_time()
        run()
        return time.process_time() - began
    finally:
        gc.enable()


def steps_grow_in_proportion(run: Callable[[int], object], size: int) -> bool:
    """Whether four times the size takes about four times the steps; what grows with the square takes sixteen times."""
    run(size)  # what is worked out once and kept is not counted
    return count_steps(lambda: run(4 * size)) <= 6 * count_steps(lambda: run(size)) + 1_000


def time_grows_in_proportion(run: Callable[[int], object], size: int) -> bool:
    """Whether four times the size takes less than eight times the processor time: with the square it takes sixteen
    times. One good measurement out of several will do, since on a busy machine a single one is worth little, and
    what grows with the square passes in none."""
    for _ in range(8):
        large = processor_seconds(lambda: run(4 * size))
        if large < _MEASURABLE_S or large < 8 * processor_seconds(lambda: run(size)):
            return True
    return False
