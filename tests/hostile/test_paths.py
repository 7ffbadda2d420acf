"""Paths that lead nowhere, in a circle, out, or to what is no file."""

from __future__ import annotations

import errno
import os
import stat
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from glost.cli.common import files
from glost.language.source import DecodeError
from glost.language.yaml_tree import ConfigError
from glost.workspace.collection import Collections, PathNotFoundError, find
from glost.workspace.files import FileChangedError, read_text, write_text
from tests.conftest import Run
from tests.hostile.conftest import Tame
from tests.hostile.pages import BAD, GOOD, LOOSE

COMMANDS = (("lint",), ("lint", "--fix"), ("format",), ("convert", "--to", "sheet"))


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_links(tame: Tame, tmp_path: Path, command: tuple[str, ...]) -> None:
    (tmp_path / "outside").mkdir()
    (tmp_path / "outside" / "out.glost").write_text(BAD)
    inside = tmp_path / "inside"
    inside.mkdir()
    (inside / "a.glost").write_text(GOOD)
    (inside / "folder").symlink_to(tmp_path / "outside")
    (inside / "self").symlink_to(inside)
    assert "out.glost" not in tame(0, *command, "inside").stdout
    (inside / "loop.glost").symlink_to("pool.glost")
    (inside / "pool.glost").symlink_to("loop.glost")
    (inside / "dangling.glost").symlink_to("nowhere")
    said = (done := tame(2, *command, "inside")).stdout + done.stderr
    assert "there is no such file" in said
    assert said.count("(unreadable)") == 3
    tame(2, *command, "inside/loop.glost")
    tame(2, *command, "inside/loop.glost/x.glost")


def test_write_through_a_loop_of_links_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to("b")
    (tmp_path / "b").symlink_to("a")
    with pytest.raises(OSError, match=r"[a-z]"):
        write_text(tmp_path / "a", "x")
    assert (tmp_path / "a").is_symlink()


@pytest.mark.parametrize(
    "target",
    [
        "../m.yaml",
        "/etc/passwd",
        "a/../../m.yaml",
        "~/m.yaml",
        "link.yaml",
        "loop",
        "folder",
        "pipe",
        "x" * 300,
    ],
)
def test_materials_that_lead_out_or_nowhere(tame: Tame, tmp_path: Path, target: str) -> None:
    inside = tmp_path / "inside"
    (inside / "folder").mkdir(parents=True)
    (tmp_path / "m.yaml").write_text("materials: []\n")
    (inside / "link.yaml").symlink_to(tmp_path / "m.yaml")
    (inside / "loop").symlink_to("loop")
    os.mkfifo(inside / "pipe")
    (inside / "glost.yaml").write_text(f"materials: {target}\n")
    (inside / "a.glost").write_text(GOOD)
    for command in COMMANDS:
        if command != ("format",):  # the layout asks no collection
            assert tame(2, *command, "inside").stderr.startswith("inside/glost.yaml:1:12: error:")


@pytest.mark.parametrize("what", ["folder", "pipe", "loop", "device"])
def test_settings_that_are_no_file(tame: Tame, tmp_path: Path, what: str) -> None:
    place = tmp_path / "glost.yaml"
    if what == "folder":
        place.mkdir()
    elif what == "pipe":
        os.mkfifo(place)
    else:
        place.symlink_to("glost.yaml" if what == "loop" else "/dev/zero")
    (tmp_path / "a.glost").write_text(GOOD)
    assert tame(2, "lint").stderr.startswith("glost.yaml:1:1: error:")


def test_settings_that_lead_out_are_not_shown(tame: Tame, tmp_path: Path) -> None:
    """Of a file that lies elsewhere not one word is printed, cold or warm; a link inside of a repository is read."""
    (tmp_path / "secret").write_text("root:x:0:0:secret:/root:/bin/sh\n")
    clone = tmp_path / "clone"
    (clone / "sub").mkdir(parents=True)
    (clone / "sub" / "a.glost").write_text(GOOD)
    (clone / "sub" / "glost.yaml").symlink_to("../../secret")
    for command in (("lint",), ("lint",), ("convert", "--to", "sheet"), ("lint", "--write-baseline")):
        done = tame(2, *command, cwd=clone)
        assert "is a link that leads out of the collection" in done.stderr
        assert "secret" not in done.stderr + done.stdout
    (clone / "sub" / "glost.yaml").unlink()
    (clone / ".git").mkdir()
    (clone / "shared.yaml").write_text("name: shared\n")
    (clone / "sub" / "glost.yaml").symlink_to("../shared.yaml")
    for _ in range(2):
        tame(0, "lint", cwd=clone)
    (tmp_path / "shared.yaml").write_text("name: shared\n")  # of the same text, and so known
    (clone / "sub" / "glost.yaml").unlink()
    (clone / "sub" / "glost.yaml").symlink_to("../../shared.yaml")
    tame(2, "lint", cwd=clone)


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_pipes_and_devices(tame: Tame, tmp_path: Path, command: tuple[str, ...]) -> None:
    os.mkfifo(tmp_path / "pipe.glost")
    for path in ("pipe.glost", ".", "/dev/zero", "/dev/null", "/dev/stdin", "/proc/self/mem"):
        if Path(path).exists() or path == "pipe.glost":
            done = tame(2, *command, path)
            assert "(unreadable)" in done.stdout + done.stderr


def test_paths_that_are_not_there(tame: Tame, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(GOOD)
    for path in ("nowhere", "a.glost/b", "x" * 300, "", "x/" * 3000, "\x1b[2J\n"):
        done = tame(2, "lint", path) if path else tame(2, "lint", "./nowhere")
        assert "there is no file or folder" in done.stderr
        assert "\x1b" not in done.stderr


def test_standard_input_beside_files_is_refused(tame: Tame, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(GOOD)
    for command in COMMANDS:
        assert "is read by itself" in tame(2, *command, "-", "a.glost", stdin=GOOD).stderr
        assert "is read by itself" in tame(2, *command, "-", "-", stdin=GOOD).stderr


def test_one_file_under_two_names_is_taken_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "a.glost").write_text(GOOD)
    assert find(["a.glost", str(tmp_path / "a.glost"), ".", "./a.glost"], Collections()) == [Path("a.glost")]


def test_file_that_vanishes_between_listing_and_reading(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from glost.workspace.runs.lint import lint_files
    from glost.workspace.runs.lint_options import LintOptions

    for name in "abc":
        (tmp_path / f"{name}.glost").write_text(GOOD)
    found = find([str(tmp_path)], Collections())
    (tmp_path / "b.glost").unlink()
    reports = [looked.report for looked in lint_files(found, LintOptions(), Collections())]
    assert [[f.message for f in report.findings if f.rule == "unreadable"] for report in reports] == [
        [], ["there is no such file"], []
    ]  # fmt: skip


def refusing(code: int) -> Callable[..., object]:
    def refuse(*arguments: object, **more: object) -> object:
        raise OSError(code, os.strerror(code), str(arguments[0]) if arguments else None)

    return refuse


@pytest.mark.parametrize("code", [errno.EACCES, errno.EIO, errno.EMFILE, errno.ESTALE, errno.ENOENT])
def test_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int) -> None:
    (tmp_path / "a.glost").write_text(GOOD)
    monkeypatch.setattr("glost.workspace.files.open", refusing(code), raising=False)
    with pytest.raises(DecodeError) as caught:
        read_text(tmp_path / "a.glost")
    assert caught.value.hint


@pytest.mark.parametrize("code", [errno.EACCES, errno.EIO, errno.ENOENT])
def test_folder_that_may_not_be_looked_into(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int
) -> None:
    with monkeypatch.context() as patched:
        patched.setattr(os, "scandir", refusing(code))
        with pytest.raises(ConfigError, match="cannot be looked into"):
            find([str(tmp_path)], Collections())
    monkeypatch.setattr(Path, "is_dir", refusing(code))
    with pytest.raises(PathNotFoundError):
        find([str(tmp_path)], Collections())


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything; the tests above refuse root too")
def test_unreadable_as_an_ordinary_user(tame: Tame, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(GOOD)
    (tmp_path / "a.glost").chmod(0)
    (tmp_path / "folder").mkdir(mode=0)
    assert "may not be read by you" in tame(2, "lint", "a.glost").stdout
    assert "cannot be looked into" in tame(2, "lint").stderr
    (tmp_path / "folder").chmod(0o755)
    (tmp_path / "a.glost").chmod(0o644)


def test_read_only_folder_and_full_disk_leave_the_original(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.glost"
    path.write_text("old")
    for module, name, code in (
        (os, "open", errno.EACCES),
        (os, "open", errno.EROFS),
        (os, "fsync", errno.ENOSPC),
        (os, "fsync", errno.EDQUOT),
        (Path, "replace", errno.EBUSY),
        (Path, "chmod", errno.EPERM),
    ):
        with monkeypatch.context() as patched:
            patched.setattr(module, name, refusing(code))
            with pytest.raises(OSError, match=os.strerror(code)):
                write_text(path, "new", expected="old")
        assert path.read_text() == "old"
        assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("command", [("format",), ("lint", "--fix")], ids=" ".join)
def test_full_disk_is_told_for_each_file_and_the_others_go_on(
    tame: Tame, tmp_path: Path, command: tuple[str, ...]
) -> None:
    """A limit on the size of files stands for the full disk: the second page is larger than it."""
    (tmp_path / "a.glost").write_text(LOOSE.replace("whiting", "calcium carbonate"))
    (tmp_path / "b.glost").write_text(
        LOOSE.replace("whiting", "calcium carbonate") + "notes:\n" + "    a a a a a a a a\n" * 4_000
    )
    import sys

    limited = (
        "import resource, signal, sys; signal.signal(signal.SIGXFSZ, signal.SIG_IGN); "
        "resource.setrlimit(resource.RLIMIT_FSIZE, (50_000, 50_000)); "
        f"sys.argv[1:] = {[*command]!r}; from glost.cli import main; main()"
    )
    done = subprocess.run(
        [sys.executable, "-c", limited], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    assert "File too large" in done.stdout + done.stderr
    assert (tmp_path / "a.glost").read_text() != LOOSE.replace("whiting", "calcium carbonate")
    assert (tmp_path / "b.glost").read_text().startswith(LOOSE.replace("whiting", "calcium carbonate"))
    assert len(list(tmp_path.iterdir())) == 2


def test_file_changed_between_reading_and_writing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.glost"
    path.write_text("old")
    flush = os.fsync

    def meanwhile(handle: int) -> None:
        flush(handle)
        path.write_text("somebody else's")

    monkeypatch.setattr(os, "fsync", meanwhile)
    with pytest.raises(FileChangedError):
        write_text(path, "new", expected="old")
    assert path.read_text() == "somebody else's"
    assert list(tmp_path.iterdir()) == [path]


def test_file_that_somebody_else_wrote_the_same_way_is_done(tmp_path: Path) -> None:
    path = tmp_path / "a.glost"
    path.write_text("new")
    write_text(path, "new", expected="old")
    assert list(tmp_path.iterdir()) == [path]


def test_mode_and_owner_are_kept(tmp_path: Path) -> None:
    path = tmp_path / "a.glost"
    path.write_text("old")
    path.chmod(0o640)
    if os.geteuid() == 0:
        os.chown(path, 12345, 12345)
    before = path.stat()
    write_text(path, "new")
    after = path.stat()
    assert (after.st_mode, after.st_uid, after.st_gid) == (before.st_mode, before.st_uid, before.st_gid)


def test_output_never_takes_the_place_of_a_recipe(tame: Tame, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(GOOD)
    (tmp_path / "b.txt").write_text(GOOD)
    (tmp_path / "b.md").write_text(GOOD)
    for arguments in (
        ("convert", "a.glost", "--to", "json", "--out", "a.glost"),
        ("convert", "a.glost", "--to", "json", "--out", "new.glost"),
        ("convert", "b.txt", "--to", "sheet", "--out", "."),
        ("convert", "b.txt", "--to", "json", "--out", "./b.txt"),
        ("lint", "a.glost", "--output", "json=a.glost"),
        ("lint", "b.txt", "--output", "json=./b.txt"),
    ):
        assert "would be lost" in tame(2, *arguments).stderr
    assert (
        "would both be written" in tame(2, "convert", "b.txt", "b.md", "--to", "csv", "--out", "out").stderr
    )
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.glost", "b.md", "b.txt"]
    assert {path.read_text() for path in tmp_path.iterdir()} == {GOOD}


def test_out_onto_what_is_there(tame: Tame, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(GOOD)
    (tmp_path / "folder.json").mkdir()
    (tmp_path / "plain").write_text('{"version": 1, "recipes": []}\n')
    (tmp_path / "blocked").mkdir()
    (tmp_path / "blocked" / "a.json").mkdir()
    (tmp_path / "dangling").symlink_to("nowhere/x")
    os.mkfifo(tmp_path / "pipe.json")
    tame(0, "convert", "a.glost", "--to", "json", "--out", "folder.json")
    assert (tmp_path / "folder.json" / "a.json").is_file()
    tame(0, "convert", "a.glost", "--to", "json", "--out", "plain")
    assert (tmp_path / "plain").read_text().startswith("{")
    for out in ("blocked", "plain/x.json", "plain/x", "pipe.json", "x" * 300 + ".json", "dangling"):
        assert "could not be written" in tame(2, "convert", "a.glost", "--to", "json", "--out", out).stderr
    assert stat.S_ISFIFO((tmp_path / "pipe.json").stat().st_mode)
    assert "could not be written" in tame(2, "lint", "a.glost", "--output", "json=folder.json").stderr


def test_devices_stay_devices(tame: Tame, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(GOOD)
    tame(2, "convert", "a.glost", "--to", "json", "--out", "/dev/null")
    tame(0, "lint", "a.glost", "--output", "json=/dev/null")
    tame(2, "lint", "a.glost", "--output", "json=/dev/full")
    for device in ("/dev/null", "/dev/full"):
        assert stat.S_ISCHR(Path(device).stat().st_mode)


def test_deep_folders(tame: Tame, tmp_path: Path) -> None:
    inner = tmp_path
    for _ in range(300):
        inner /= "d"
    inner.mkdir(parents=True)
    (inner / "a.glost").write_text(BAD)
    assert tame(1, "lint", "--output", "line").stdout.count("base-total") == 1


def test_no_folder_to_run_in(tame: Tame, tmp_path: Path) -> None:
    import sys

    gone = tmp_path / "gone"
    gone.mkdir()
    for arguments in ("lint", "format", "convert --to csv", "lint -"):
        done = subprocess.run(
            ["sh", "-c", f'cd "$0" && rmdir "$0" && exec "$1" -m glost {arguments}', str(gone), sys.executable],
            capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL,
        )  # fmt: skip
        assert done.returncode == 2
        assert "the folder that this command runs in is gone" in done.stderr
        assert "Traceback" not in done.stderr
        gone.mkdir()


def test_paths_of_a_command_are_told_apart_from_options(tame: Tame) -> None:
    import click

    with pytest.raises(click.UsageError, match="there is no file or folder"):
        files(["--fix"], Collections())
