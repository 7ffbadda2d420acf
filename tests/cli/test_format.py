"""glost format as a process."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from glost.workspace.files import FileChangedError, write_text
from tests.conftest import STUDIO, Run

LOOSE = 'glaze  "A"   # c\nbase:\n  silica .5\n  kaolin 99.5   #x\n'
LAID_OUT = """\
glaze "A"  # c

base:
    silica                  0.5
    kaolin                 99.5  #x
"""


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def test_format_writes_and_is_idempotent(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "a.glost"
    path.write_text(LOOSE)
    path.chmod(0o600)
    done = run("format")
    assert (done.returncode, done.stdout) == (0, "a.glost: laid out\n")
    assert path.read_text() == LAID_OUT
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert run("format").stdout == ""


def test_check_and_diff_write_nothing(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "a.glost"
    path.write_text(LOOSE)
    assert run("format", "--check").returncode == 1
    done = run("format", "--diff")
    assert done.returncode == 1
    assert "+    silica                  0.5\n" in done.stdout
    assert path.read_text() == LOOSE


def test_standard_input_to_standard_output(run: Run) -> None:
    done = run("format", "-", stdin=LOOSE)
    assert (done.returncode, done.stdout) == (0, LAID_OUT)


def test_file_with_syntax_findings_is_refused_whole(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "a.glost"
    path.write_text(LOOSE + "  whiting\n")
    done = run("format")
    assert done.returncode == 1
    assert path.read_text() == LOOSE + "  whiting\n"
    assert "the amount is missing" in done.stderr
    assert "a.glost: not laid out" in done.stderr


def test_refused_standard_input_passes_through(run: Run) -> None:
    done = run("format", "-", stdin=LOOSE + "  whiting\n")
    assert (done.returncode, done.stdout) == (1, LOOSE + "  whiting\n")


def test_demo_collection_is_laid_out(run: Run) -> None:
    assert run("format", "--check", str(STUDIO)).returncode == 0


def test_link_is_written_through(run: Run, tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    real = tmp_path / "real" / "a.glost"
    real.write_text(LOOSE)
    link = tmp_path / "b.glost"
    link.symlink_to(real)
    assert run("format", "b.glost").returncode == 0
    assert link.is_symlink()
    assert real.read_text() == LAID_OUT


@pytest.mark.parametrize("step", ["fsync", "fdopen"])
def test_failed_write_leaves_the_original_and_no_litter(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    path = tmp_path / "a.glost"
    path.write_text("old")

    def fail(*arguments: object, **more: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(os, step, fail)
        with pytest.raises(OSError, match="No space left"):
            write_text(path, "new")
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_page_that_cannot_be_written_does_not_count_as_changed(
    tmp_path: Path, run_here: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a.glost").write_text(LOOSE)

    def fail(*arguments: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", fail)
    done = run_here("format", "a.glost")
    assert done.returncode == 2
    assert done.stderr.splitlines() == [
        "a.glost: could not be written: No space left on device; left as it was",
        "1 recipe looked at, 0 changed",
    ]
    assert (tmp_path / "a.glost").read_text() == LOOSE


def test_file_changed_meanwhile_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "a.glost"
    path.write_text("somebody else's")
    with pytest.raises(FileChangedError):
        write_text(path, "new", expected="what was read")
    assert path.read_text() == "somebody else's"
