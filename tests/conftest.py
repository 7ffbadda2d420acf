"""What all tests share: where the checkout lies, and small makers of pages, recipes and findings."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import hypothesis
import pytest

TOP = Path(__file__).parents[1]
STUDIO = TOP / "corpus" / "studio"

# A check that lands or blocks a change must give the same answer twice; at a desk, new examples are welcome.
hypothesis.settings.register_profile("same", derandomize=True)
if os.environ.get("CI"):
    hypothesis.settings.load_profile("same")

Run = Callable[..., "subprocess.CompletedProcess[str]"]


@pytest.fixture(autouse=True)
def cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cache folder of the test's own, so that no test sees what another or the user has kept."""
    folder = tmp_path_factory.mktemp("cache")
    monkeypatch.setenv("GLOST_CACHE", str(folder))
    return folder


@pytest.fixture
def run(tmp_path: Path, cache: Path) -> Run:
    """Runs the command line as a process, in a folder of its own unless told otherwise."""

    def run(
        *arguments: str, cwd: Path = tmp_path, stdin: str | None = None, **environment: str
    ) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "glost", *arguments],
            cwd=cwd,
            input=stdin,
            capture_output=True,
            encoding="utf-8",
            timeout=60,
            check=False,
            stdin=subprocess.DEVNULL if stdin is None else None,
            env={**os.environ, "PYTHONIOENCODING": "utf-8", "GLOST_CACHE": str(cache), **environment},
        )

    return run
