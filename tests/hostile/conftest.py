"""What every hostile case must hold: an exit status of ours, and never a traceback."""

from __future__ import annotations

import subprocess
from collections.abc import Callable

import pytest

from tests.conftest import Run

Tame = Callable[..., "subprocess.CompletedProcess[str]"]


def quiet(done: subprocess.CompletedProcess[str], status: int) -> None:
    said = done.stdout + done.stderr
    for word in ("Traceback", "a mistake in glost", "Exception ignored"):
        assert word not in said, said[-2000:]
    assert done.returncode == status, said[-2000:]


@pytest.fixture
def tame(run: Run) -> Tame:
    """Runs a command that must end with that exit status."""

    def tame(status: int, *arguments: str, **more: object) -> subprocess.CompletedProcess[str]:
        done = run(*arguments, **more)
        quiet(done, status)
        return done

    return tame
