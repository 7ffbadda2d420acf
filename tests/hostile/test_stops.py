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

from glost.collection import Collections, find
from tests.hostile.conftest import Tame
from tests.hostile.pages import BAD, GOOD, LOOSE

KILLS = int(os.environ.get("GLOST_KILLS", "8"))
"""A night's run sets 200 and more."""


def start(tmp_path: Path, *arguments: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "glost", *arguments],
        cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
        # Whoever runs the tests may ignore the end of a terminal (nohup), and children would inherit that.
        preexec_fn=lambda: signal.signal(signal.SIGHUP, signal.SIG_DFL),
    )  # fmt: skip


def group_is_empty(group: int) -> bool:
    try:
        os.killpg(group, 0)
    except ProcessLookupError:
        return True
    return False


def wait_until_empty(group: int) -> None:
    for _ in range(500):
        if group_is_empty(group):
            return
        time.sleep(0.01)
    raise AssertionError("a process was left behind")


@pytest.fixture
def large(tmp_path: Path) -> Path:
    notes = "\nnotes:\n" + "    Row 2, tile 5: a few bubbles where it is thick.\n" * 60
    for number in range(3_000):
        (tmp_path / f"{number}.glost").write_text(BAD.replace('"A"', f'"A {number}"') + notes)
    return tmp_path


@pytest.mark.parametrize("workers", ["1", "3"])
@pytest.mark.parametrize("whole_group", [True, False])
@pytest.mark.parametrize(
    "command", [("lint",), ("format", "--check"), ("convert", "--to", "sheet", "--out", "out")], ids=" ".join
)
def test_ctrl_c(
    large: Path, workers: str, whole_group: bool, command: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GLOST_CACHE", "off")  # or a run that came to its end would make the next ones short
    chance = random.Random(f"{workers} {whole_group}")
    stopped = 0
    for _ in range(3):
        process = start(large, *command, "--workers", workers)
        time.sleep(
            0.25 + chance.random() * (0.2 if "format" in command else 0.6)
        )  # once Python itself has started
        os.killpg(process.pid, signal.SIGINT) if whole_group else process.send_signal(signal.SIGINT)
        out, said = process.communicate(timeout=20)
        if process.returncode != (command == ("lint",)):  # else done before it was stopped
            stopped += 1
            assert process.returncode == 130, said
            assert said.strip() == "glost: stopped"
        assert "Traceback" not in said + out
        wait_until_empty(process.pid)
    assert stopped


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGKILL, signal.SIGHUP])
def test_no_process_outlives_its_parent(large: Path, number: int) -> None:
    process = start(large, "lint", "--workers", "4")
    time.sleep(0.6)
    process.send_signal(number)
    assert process.communicate(timeout=20) == ("", "")
    wait_until_empty(process.pid)


def test_process_that_is_killed_ends_the_run_with_a_word(
    large: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As the system does where memory runs out."""
    from glost.runs import cores
    from glost.runs.checking import look_at
    from glost.runs.examining import Examiner
    from glost.runs.wish import Looked, Wish

    look = Examiner.look

    def killed(self: Examiner, path: Path) -> Looked:
        if path.name == "77.glost":
            os.kill(os.getpid(), signal.SIGKILL)
        return look(self, path)

    monkeypatch.setattr(Examiner, "look", killed)
    monkeypatch.setattr(cores, "_PATIENCE", 0.5)
    with pytest.raises(cores.WorkerLost):
        list(look_at(find([str(large)], Collections()), Wish(), Collections(), 2))


def test_settings_that_only_another_process_reads_are_reported(tame: Tame, tmp_path: Path) -> None:
    for number in range(40):
        folder = tmp_path / f"{number:02}"
        folder.mkdir()
        for page in range(10):
            (folder / f"{page}.glost").write_text(GOOD.replace('"A"', f'"A {number} {page}"'))
    (tmp_path / "39" / "glost.yaml").write_text("batch: nothing\n")
    assert tame(2, "lint", "--workers", "2").stderr.startswith("39/glost.yaml:1:8: error:")


@pytest.mark.parametrize("command", [("format",), ("lint", "--fix")], ids=" ".join)
def test_killed_at_any_moment(tame: Tame, tmp_path: Path, command: tuple[str, ...]) -> None:
    old = LOOSE.replace("40", "39")
    (tmp_path / "0.glost").write_text(old)
    tame(0, *command)
    new = (tmp_path / "0.glost").read_text()
    assert new != old
    pages = [tmp_path / f"{number}.glost" for number in range(16)]
    chance = random.Random(0)
    for _ in range(KILLS):
        for page in pages:
            page.write_text(old)
        process = start(tmp_path, *command, "--workers", "2")
        time.sleep(0.1 + chance.random() * 0.25)
        process.kill()
        process.communicate(timeout=20)
        wait_until_empty(process.pid)
        assert {page.read_text() for page in pages} <= {old, new}
        # What is left of a write is hidden, and is no recipe.
        assert {path.suffix for path in tmp_path.iterdir()} <= {".glost", ".part"}
        assert find([str(tmp_path)], Collections()) == sorted(pages)
    tame(0, *command)
    assert {page.read_text() for page in pages} == {new}


def test_two_runs_on_the_same_folder_at_once(tmp_path: Path) -> None:
    pages = [tmp_path / f"{number}.glost" for number in range(150)]
    for _ in range(4):
        for page in pages:
            page.write_text(LOOSE)
        runs = [start(tmp_path, "format") for _ in range(3)]
        for process in runs:
            said = process.communicate(timeout=30)[1]
            assert process.returncode == 0, said
        assert {page.read_text() for page in pages} == {GOOD}
        assert len(list(tmp_path.iterdir())) == len(pages)
