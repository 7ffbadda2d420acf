"""``glost merge`` and ``glost textconv`` when something fails: no side is lost, nothing is waited for, nothing fills
the memory."""

from __future__ import annotations

import os
import random
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest

from glost.cli import merge_command
from glost.cli.app import run as run_here
from glost.language.source import LARGEST_FILE
from glost.workspace.git.run import GitError
from tests.conftest import Run

PAGE = """\
glaze "Dune"
cone: 6

base:
    nepheline syenite  {feldspar}
    silica  {silica}
    whiting  {whiting}

notes:
"""
NOTES = "".join(f"    line {number} of the notes\n" for number in range(400))


def page(feldspar: str = "50", silica: str = "30", whiting: str = "20", notes: str = "") -> str:
    return PAGE.format(feldspar=feldspar, silica=silica, whiting=whiting) + notes


SIDES = {"base": page(), "ours": page(silica="31"), "theirs": page(whiting="21")}


@pytest.fixture
def sides(tmp_path: Path) -> Path:
    for name, text in SIDES.items():
        (tmp_path / name).write_text(text)
    return tmp_path


MERGE = ("merge", "base", "ours", "theirs", "dune.glost")


def test_the_last_word_tells_what_came_out(run: Run, sides: Path) -> None:
    done = run(*MERGE)
    assert (done.returncode, done.stdout) == (0, "merged\n")
    assert (sides / "ours").read_text() == page(silica="31", whiting="21")
    (sides / "theirs").write_text(page(silica="32"))
    done = run(*MERGE)
    assert (done.returncode, done.stdout) == (1, "conflict\n")


# ---- what cannot be read -------------------------------------------------------------------------------------


def _pipe(path: Path) -> None:
    os.mkfifo(path)


def _device(path: Path) -> None:
    path.symlink_to("/dev/zero")


def _large(path: Path) -> None:
    with path.open("wb") as file:
        file.truncate(5 << 30)


def _folder(path: Path) -> None:
    path.mkdir()


def _nothing(path: Path) -> None:
    pass


@pytest.mark.skipif(sys.platform == "win32", reason="there are neither pipes nor devices in folders")
@pytest.mark.parametrize("name", ["base", "ours", "theirs"])
@pytest.mark.parametrize("made", [_pipe, _device, _large, _folder, _nothing])
def test_a_side_that_cannot_be_read_fails_the_merge(
    run: Run, sides: Path, name: str, made: Callable[[Path], None]
) -> None:
    (sides / name).unlink()
    made(sides / name)
    done = run(*MERGE)
    assert (done.returncode, done.stdout) == (255, "")
    assert f"dune.glost: not merged, and left as it is: '{name}' cannot be read: " in done.stderr
    if name != "ours":
        assert (sides / "ours").read_text() == SIDES["ours"]


def test_a_wrong_use_is_no_conflict(run: Run, sides: Path) -> None:
    for wrong in (["merge", "base", "ours"], [*MERGE, "more"], ["merge", "--marker-size", "x", *MERGE[1:]]):
        done = run(*wrong)
        assert done.returncode == 255
        assert "Error: " in done.stderr
    assert (sides / "ours").read_text() == SIDES["ours"]


@pytest.mark.skipif(sys.platform == "win32", reason="there are neither pipes nor devices in folders")
@pytest.mark.parametrize("made", [_pipe, _device, _folder, _nothing])
def test_textconv_waits_for_nothing(run: Run, tmp_path: Path, made: Callable[[Path], None]) -> None:
    made(tmp_path / "a.glost")
    done = run("textconv", "a.glost")
    assert (done.returncode, done.stdout) == (2, "")
    assert (
        "'a.glost' is no plain file" in done.stderr or "'a.glost' cannot be read: No such file" in done.stderr
    )


@pytest.mark.skipif(sys.platform == "win32", reason="limits are those of Unix")
def test_textconv_hands_a_file_of_any_size_on(tmp_path: Path) -> None:
    import resource

    large = tmp_path / "large.glost"
    text = page(notes=NOTES * (LARGEST_FILE // len(NOTES) + 1)).encode()
    large.write_bytes(text)
    command = [sys.executable, "-P", "-m", "glost", "textconv", "large.glost"]
    assert subprocess.run(command, cwd=tmp_path, capture_output=True, check=True).stdout == text
    with large.open("ab") as file:
        file.truncate(800 << 20)
    memory = 400 << 20

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_AS, (memory, memory))

    done = subprocess.run(
        command,
        cwd=tmp_path,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        preexec_fn=limit,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, b"")


@pytest.mark.parametrize("error", [MemoryError(), RecursionError(), RuntimeError("x"), KeyError("y")])
def test_textconv_shows_the_page_whatever_fails(
    tmp_path: Path,
    error: Exception,
    monkeypatch: pytest.MonkeyPatch,
    capfdbinary: pytest.CaptureFixture[bytes],
) -> None:
    from glost.cli import shown_to_git

    def fail(*_: object) -> bytes:
        raise error

    monkeypatch.setattr(shown_to_git, "_converted", fail)
    (tmp_path / "a.glost").write_text(page())
    monkeypatch.chdir(tmp_path)
    assert run_here(["textconv", "a.glost"]) == 0
    sys.stdout.flush()
    assert capfdbinary.readouterr().out == page().encode()


# ---- what fails on the way -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "error", [MemoryError(), RecursionError(), RuntimeError("x"), OSError(28, "no space")]
)
@pytest.mark.parametrize("where", ["_collection", "_by_meaning", "_warn"])
def test_whatever_fails_in_glost_git_has_merged(
    sides: Path, where: str, error: Exception, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> object:
        raise error

    if where == "_warn":  # is asked where git's own merge is clean
        (sides / "theirs").write_text(SIDES["base"].replace("cone: 6", "cone: 7"))
    monkeypatch.setattr(merge_command, where, fail)
    monkeypatch.chdir(sides)
    status = run_here(list(MERGE))
    text = (sides / "ours").read_text()
    if where == "_warn":
        assert status == 0
        assert text == SIDES["ours"].replace("cone: 6", "cone: 7")
    else:
        assert status == 1
        assert re.search(
            r"<<<<<<< ours\n +silica  31\n.*=======\n.*whiting  21\n>>>>>>> theirs", text, re.DOTALL
        )


@pytest.mark.parametrize(
    ("changed", "status", "result"),
    [
        ({}, 1, f"<<<<<<< ours\n{SIDES['ours']}=======\n{SIDES['theirs']}>>>>>>> theirs\n"),
        ({"ours": SIDES["base"]}, 0, SIDES["theirs"]),
        ({"theirs": SIDES["base"]}, 0, SIDES["ours"]),
        ({"theirs": SIDES["ours"]}, 0, SIDES["ours"]),
        ({"ours": "", "theirs": "x"}, 1, "<<<<<<< ours\n=======\nx\n>>>>>>> theirs\n"),
    ],
)
def test_without_git_both_sides_stand_whole(
    run: Run, sides: Path, changed: dict[str, str], status: int, result: str
) -> None:
    for name, text in changed.items():
        (sides / name).write_text(text)
    done = run(*MERGE, PATH=str(sides / "nowhere"))
    assert done.returncode == status
    assert "git could not be started" in done.stderr
    assert (sides / "ours").read_text() == result


def test_a_side_that_is_no_text_is_kept(run: Run, sides: Path) -> None:
    (sides / "theirs").write_bytes(b"\0\xff" + SIDES["theirs"].encode())
    assert run(*MERGE).returncode == 1
    found = (sides / "ours").read_bytes()
    assert SIDES["ours"].encode() in found
    assert b"\0\xff" + SIDES["theirs"].encode() in found


def test_git_that_fails_is_told(sides: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> object:
        raise GitError("git does not answer")

    monkeypatch.setattr(merge_command, "merged_by_lines", fail)
    monkeypatch.chdir(sides)
    assert run_here(list(MERGE)) == 1
    assert (sides / "ours").read_text().count("<<<<<<< ours") == 1


# ---- a full disk, and a run that is killed -------------------------------------------------------------------


LONG = {name: text + NOTES for name, text in SIDES.items()}


@pytest.fixture
def long_sides(sides: Path) -> Path:
    for name, text in LONG.items():
        (sides / name).write_text(text)
    return sides


@pytest.mark.skipif(sys.platform == "win32", reason="limits are those of Unix")
@pytest.mark.parametrize("most", [0, 100, 4096, len(LONG["ours"]) - 1])
def test_a_file_that_cannot_be_written_whole_leaves_ours_as_it_was(long_sides: Path, most: int) -> None:
    import resource

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))

    done = subprocess.run(
        [sys.executable, "-P", "-m", "glost", *MERGE],
        cwd=long_sides, capture_output=True, text=True, preexec_fn=limit, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (255, "")
    assert "dune.glost: could not be written, and is as it was: File too large" in done.stderr
    assert (long_sides / "ours").read_text() == LONG["ours"]
    assert {path.name for path in long_sides.iterdir()} == set(LONG)  # nothing is left beside it


@pytest.mark.skipif(sys.platform != "linux" or os.geteuid() != 0, reason="only root can mount a small disk")
def test_a_full_disk_leaves_ours_as_it_was(long_sides: Path, tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=64k", "none", str(disk)], capture_output=True, check=False
    )
    if mounted.returncode != 0:
        pytest.skip("nothing can be mounted here")
    try:
        for name in LONG:
            shutil.copy(long_sides / name, disk / name)
        with suppress(OSError), (disk / "filler").open("wb", buffering=0) as file:
            while True:
                file.write(b"x")
        done = subprocess.run(
            [sys.executable, "-P", "-m", "glost", *MERGE],
            cwd=disk,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 255
        assert "No space left on device" in done.stderr
        assert (disk / "ours").read_text() == LONG["ours"]
    finally:
        subprocess.run(["umount", str(disk)], check=True)


@pytest.mark.skipif(sys.platform == "win32", reason="signals are those of Unix")
def test_a_run_that_is_killed_leaves_ours_whole(long_sides: Path) -> None:
    """At moments from the first call of a run to the last: OURS holds what it held, or the whole merge."""
    code = f"""
import atexit, os, pathlib, signal, sys
last, calls = int(sys.argv[1]), 0
def count(*_):
    global calls
    calls += 1
    if calls == last: os.kill(os.getpid(), signal.SIGKILL)
atexit.register(lambda: (sys.setprofile(None), pathlib.Path("calls").write_text(str(calls))))
sys.setprofile(count)
from glost.cli import main
main({list(MERGE)!r})
"""
    command = [sys.executable, "-P", "-c", code]
    merged = page(silica="31", whiting="21", notes=NOTES)
    subprocess.run([*command, "0"], cwd=long_sides, capture_output=True, check=True)
    assert (long_sides / "ours").read_text() == merged
    calls = int((long_sides / "calls").read_text())
    chance = random.Random(7)
    late = [calls - back for back in (1, 10, 50, 100, 200, 400, 800)]  # where it is written
    for moment in [*late, *(chance.randrange(1, calls) for _ in range(6))]:
        (long_sides / "ours").write_text(LONG["ours"])
        done = subprocess.run([*command, str(moment)], cwd=long_sides, capture_output=True, check=False)
        # A run may need a few calls less than the one that was counted.
        assert done.returncode == -9 or moment > calls * 0.9
        assert (long_sides / "ours").read_text() in (LONG["ours"], merged)


@pytest.mark.skipif(sys.platform == "win32", reason="signals are those of Unix")
@pytest.mark.parametrize("step", ["write", "fsync", "chmod", "replace"])
@pytest.mark.parametrize("after", [False, True])
def test_a_run_that_is_killed_while_it_writes_leaves_ours_whole(
    long_sides: Path, step: str, after: bool
) -> None:
    """The moments that matter, each of them, before and after what is done there."""
    code = f"""
import io, os, pathlib, signal, sys
from glost.cli import main
import glost.workspace.files as files
def killing(known):
    def done(*arguments, **more):
        if not {after}: os.kill(os.getpid(), signal.SIGKILL)
        found = known(*arguments, **more)
        os.kill(os.getpid(), signal.SIGKILL)
        return found
    return done
step = {step!r}
if step == "fsync": files.os.fsync = killing(os.fsync)
elif step == "write":
    opened = os.fdopen
    def fdopen(*arguments, **more):
        file = opened(*arguments, **more)
        if {after}: file.write(b"half of it"); file.flush()
        os.kill(os.getpid(), signal.SIGKILL)
    files.os.fdopen = fdopen
else: setattr(pathlib.Path, step, killing(getattr(pathlib.Path, step)))
main({list(MERGE)!r})
"""
    done = subprocess.run(
        [sys.executable, "-P", "-c", code], cwd=long_sides, capture_output=True, check=False
    )
    assert done.returncode == -9, done.stderr
    whole = page(silica="31", whiting="21", notes=NOTES)
    assert (long_sides / "ours").read_text() == (
        whole if (step, after) == ("replace", True) else LONG["ours"]
    )
