"""A run that is stopped at any moment, and runs that meet."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from glost.workspace.collection import Collections, find
from tests.hostile.conftest import Tame
from tests.hostile.pages import BAD, GOOD, LOOSE
from tests.stopping import calls_of, start_stopping
from tests.work import HANG_S

KILLS = int(os.environ.get("GLOST_KILLS", "8"))
"""A night's run sets 200 and more."""


def group_is_empty(group: int) -> bool:
    try:
        os.killpg(group, 0)
    except ProcessLookupError:
        return True
    return False


def wait_until_empty(group: int) -> None:
    for _ in range(HANG_S * 100):
        if group_is_empty(group):
            return
        time.sleep(0.01)
    raise AssertionError("a process was left behind")


@pytest.fixture
def large(tmp_path: Path) -> Path:
    folder = tmp_path / "large"
    folder.mkdir()
    notes = "\nnotes:\n" + "    Row 2, tile 5: a few bubbles where it is thick.\n" * 60
    for number in range(200):
        (folder / f"{number}.glost").write_text(BAD.replace('"A"', f'"A {number}"') + notes)
    return folder


@pytest.mark.slow
@pytest.mark.parametrize("workers", ["1", "3"])
@pytest.mark.parametrize(
    "command", [("lint",), ("format", "--check"), ("convert", "--to", "sheet", "--out", "out")], ids=" ".join
)
def test_ctrl_c(large: Path, workers: str, command: tuple[str, ...], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GLOST_CACHE", "off")  # or a run that came to its end would make the next ones short
    whole = (*command, "--workers", workers)
    calls = calls_of(large, *whole)
    chance = random.Random(workers)
    for whole_group in (True, False, True, False):
        moment = int(calls * chance.uniform(0.02, 0.95))
        process = start_stopping(large, moment, signal.SIGINT, whole, whole_group=whole_group)
        out, said = process.communicate(timeout=HANG_S)
        assert process.returncode == 130, said
        assert said.strip() == "glost: stopped"
        assert "Traceback" not in out
        wait_until_empty(process.pid)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGKILL, signal.SIGHUP])
def test_no_process_outlives_its_parent(large: Path, number: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(
        "GLOST_CACHE", "off"
    )  # or the run that counts would leave nothing to do for the others
    whole = ("lint", "--workers", "4")
    calls = calls_of(large, *whole)
    for part in (0.1, 0.3, 0.6):
        process = start_stopping(large, int(calls * part), number, whole)
        assert process.communicate(timeout=HANG_S)[1] == ""
        assert process.returncode == -number
        wait_until_empty(process.pid)


def test_process_that_is_killed_ends_the_run_with_a_word(
    large: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As the system does where memory runs out."""
    from glost.workspace.runs import processes
    from glost.workspace.runs.lint import lint_files
    from glost.workspace.runs.lint_file import FileLinter
    from glost.workspace.runs.lint_options import FileReport, LintOptions

    look = FileLinter.look

    def killed(self: FileLinter, path: Path) -> FileReport:
        if path.name == "77.glost":
            os.kill(os.getpid(), signal.SIGKILL)
        return look(self, path)

    monkeypatch.setattr(FileLinter, "look", killed)
    with pytest.raises(processes.WorkerLostError):
        list(lint_files(find([str(large)], Collections()), LintOptions(), Collections(), 2))


def test_settings_that_only_another_process_reads_are_reported(tame: Tame, tmp_path: Path) -> None:
    for number in range(40):
        folder = tmp_path / f"{number:02}"
        folder.mkdir()
        for page in range(10):
            (folder / f"{page}.glost").write_text(GOOD.replace('"A"', f'"A {number} {page}"'))
    (tmp_path / "39" / "glost.yaml").write_text("batch: nothing\n")
    assert tame(2, "lint", "--workers", "2").stderr.startswith("39/glost.yaml:1:8: error:")


@pytest.mark.slow
@pytest.mark.parametrize("command", [("format",), ("lint", "--fix")], ids=" ".join)
def test_killed_at_any_moment(tame: Tame, tmp_path: Path, command: tuple[str, ...]) -> None:
    old = LOOSE.replace("cone: 6", "Cone: 6")
    (tmp_path / "0.glost").write_text(old)
    tame(0, *command)
    new = (tmp_path / "0.glost").read_text()
    assert new != old
    pages = [tmp_path / f"{number}.glost" for number in range(16)]
    for page in pages:
        page.write_text(old)
    whole = (*command, "--workers", "2")
    calls = calls_of(tmp_path, *whole)
    chance = random.Random(0)
    for _ in range(KILLS):
        for page in pages:
            page.write_text(old)
        process = start_stopping(tmp_path, int(calls * chance.uniform(0.2, 1)), signal.SIGKILL, whole)
        process.communicate(timeout=HANG_S)
        wait_until_empty(process.pid)
        assert {page.read_text() for page in pages} <= {old, new}
        # What is left of a write is hidden, and is no recipe.
        assert {path.suffix for path in tmp_path.iterdir()} <= {".glost", ".part"}
        assert find([str(tmp_path)], Collections()) == sorted(pages)
    tame(0, *command)
    assert {page.read_text() for page in pages} == {new}


@pytest.mark.slow
def test_two_runs_on_the_same_folder_at_once(tmp_path: Path) -> None:
    pages = [tmp_path / f"{number}.glost" for number in range(60)]
    for _ in range(4):
        for page in pages:
            page.write_text(LOOSE)
        runs = [
            subprocess.Popen(
                [sys.executable, "-m", "glost", "format"], cwd=tmp_path, text=True,
                stdout=subprocess.PIPE, stderr=subprocess.PIPE,
            )
            for _ in range(3)
        ]  # fmt: skip
        for process in runs:
            said = process.communicate(timeout=HANG_S)[1]
            assert process.returncode == 0, said
        assert {page.read_text() for page in pages} == {GOOD}
        assert len(list(tmp_path.iterdir())) == len(pages)
