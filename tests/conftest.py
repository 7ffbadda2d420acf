"""What all tests share: where the checkout lies, and small makers of pages, recipes and findings."""

from __future__ import annotations

import io
import itertools
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import hypothesis
import pytest

from glost.cli import main
from tests.work import HANG_S

TOP = Path(__file__).parents[1]
STUDIO = TOP / "corpus" / "studio"

# The same examples every time, since a check that lands or blocks a change must give one answer. GLOST_EXPLORE=1
# looks for new ones. How long an example takes is no verdict.
_PATIENT = hypothesis.settings(deadline=None, suppress_health_check=[hypothesis.HealthCheck.too_slow])
hypothesis.settings.register_profile("same", _PATIENT, derandomize=True)
hypothesis.settings.register_profile("explore", _PATIENT)
hypothesis.settings.load_profile("explore" if os.environ.get("GLOST_EXPLORE") else "same")

# Tests start glost some thousand times. Where the environment forbids Python to keep what it compiled, each start of a
# fresh checkout would compile a hundred modules anew, which is most of its time.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

NEEDS_BROWSER = "_screen"
STARTS_PROCESSES = {"run_process", NEEDS_BROWSER}
"""Fixtures."""


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int | None:
    """Single files are run in this process: to start others would take longer than most of them do."""
    chosen = [Path(argument.partition("::")[0]) for argument in config.args]
    return 0 if all(path.is_file() for path in chosen) else None


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """A test that starts a process or opens a browser has the mark for it without writing it down."""
    for item in items:
        fixtures = set(getattr(item, "fixturenames", ()))
        if NEEDS_BROWSER in fixtures:
            item.add_marker(pytest.mark.browser)
        starts = STARTS_PROCESSES & fixtures or hasattr(getattr(item, "module", None), "subprocess")
        if starts or item.get_closest_marker("network"):
            item.add_marker(pytest.mark.process)


Run = Callable[..., "subprocess.CompletedProcess[str]"]


@pytest.fixture(scope="session")
def _new_folders(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Names of folders that are not there yet. To have pytest look for each takes longer the more there are."""
    above = tmp_path_factory.mktemp("caches")
    return (above / str(number) for number in itertools.count())


@pytest.fixture(autouse=True)
def cache(_new_folders: Iterator[Path], monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cache folder of the test's own, so that no test sees what another or the user has kept."""
    folder = next(_new_folders)
    folder.mkdir(mode=0o700)
    monkeypatch.setenv("GLOST_CACHE", str(folder))
    return folder


@pytest.fixture
def run_process(tmp_path: Path, cache: Path) -> Run:
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
            timeout=HANG_S,
            check=False,
            stdin=subprocess.DEVNULL if stdin is None else None,
            env={**os.environ, "PYTHONIOENCODING": "utf-8", "GLOST_CACHE": str(cache), **environment},
        )

    return run


@pytest.fixture
def run(run_process: Run) -> Run:
    return run_process


@pytest.fixture
def run_here(tmp_path: Path, cache: Path) -> Run:
    """The same without a process of its own, for tests that run a command many times. A module takes it in the place
    of the other by a fixture ``run`` of its own; test_processes.py holds that the two say the same."""

    def run(
        *arguments: str, cwd: Path = tmp_path, stdin: str | None = None, **environment: str
    ) -> subprocess.CompletedProcess[str]:
        given = io.TextIOWrapper(io.BytesIO((stdin or "").encode()), "utf-8")
        out, err = (io.TextIOWrapper(io.BytesIO(), "utf-8", newline="\n") for _ in range(2))
        with pytest.MonkeyPatch.context() as patch:
            for name, stream in (("stdin", given), ("stdout", out), ("stderr", err)):
                patch.setattr(sys, name, stream)
            for key, value in {"GLOST_CACHE": str(cache), **environment}.items():
                patch.setenv(key, value)
            patch.chdir(cwd)
            with pytest.raises(SystemExit) as ended:
                main(arguments)
        for stream in (out, err):
            stream.seek(0)
            stream.reconfigure(newline=None)  # as a pipe is read
        return subprocess.CompletedProcess(arguments, int(ended.value.code or 0), out.read(), err.read())

    return run
