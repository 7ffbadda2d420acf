"""What every hostile case must hold: an exit status of ours, in time, and never a traceback."""

from __future__ import annotations

import subprocess
import time
from collections.abc import Callable

import pytest

from tests.conftest import Run

BOUND_S = 10
"""Seconds. Two are promised; the rest is for a slow machine."""

Tame = Callable[..., "subprocess.CompletedProcess[str]"]


def quiet(done: subprocess.CompletedProcess[str], status: int) -> None:
    said = done.stdout + done.stderr
    for word in ("Traceback", "a mistake in glost", "Exception ignored"):
        assert word not in said, said[-2000:]
    assert done.returncode == status, said[-2000:]


@pytest.fixture
def tame(run: Run) -> Tame:
    """Runs a command that must end with that exit status."""

    def tame(
        status: int, *arguments: str, bound: int = BOUND_S, **more: object
    ) -> subprocess.CompletedProcess[str]:
        began = time.monotonic()
        done = run(*arguments, **more)
        assert time.monotonic() - began < bound
        quiet(done, status)
        return done

    return tame
