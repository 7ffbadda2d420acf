"""Where git will not answer, the revision is not known: that is another thing than a file that nobody keeps in git."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from glost.cli.app import run as run_here
from tests.cli.test_changed import commit, git, good, page, who
from tests.conftest import Run

__all__ = ["who"]  # its fixture holds here too


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    folder = tmp_path / "studio"
    page(folder / "glost.yaml", "batch: 1 kg\n")
    git(folder, "init", "-q", "-b", "main")
    for name in ("Mist", "Rust", "Tern"):
        page(folder / f"{name.lower()}.glost", good(name))
    commit(folder, "one")
    return folder


def not_there(studio: Path) -> dict[str, str]:
    (studio / "nothing").mkdir()
    return {"PATH": str(studio / "nothing")}


def of_somebody_else(studio: Path) -> dict[str, str]:
    if sys.platform == "win32" or os.geteuid() != 0:
        pytest.skip("only root can give a folder away")
    for file in (studio, *studio.rglob("*")):
        os.chown(file, 65534, 65534, follow_symlinks=False)
    return {"SUDO_UID": ""}


def broken(studio: Path) -> dict[str, str]:
    (studio / ".git" / "HEAD").write_text("nothing that git knows\n")
    return {}


def settings_unread(studio: Path) -> dict[str, str]:
    (studio / ".git" / "config").write_text("[core\n")
    return {}


def store_gone(studio: Path) -> dict[str, str]:
    for kept in (studio / ".git" / "objects").iterdir():
        shutil.rmtree(kept)
    return {}


WAYS: dict[Callable[[Path], dict[str, str]], str] = {
    not_there: "git could not be started: there is none on the path",
    of_somebody_else: "fatal: detected dubious ownership in repository",
    broken: "fatal: not a git repository",
    settings_unread: "fatal: bad config line 1 in file",
    store_gone: "",  # in the words of whatever git looks for first
}


@pytest.mark.parametrize("way", WAYS, ids=lambda way: way.__name__)
@pytest.mark.parametrize("paths", [["mist.glost"], ["."]], ids=["one", "all"])
def test_sheets_and_table_say_so(
    run: Run, studio: Path, way: Callable[[Path], dict[str, str]], paths: list[str]
) -> None:
    environment = way(studio)
    count = "1 recipe" if paths != ["."] else "3 recipes"
    for form in ("sheet", "markdown", "html"):
        done = run("convert", *paths, "--to", form, cwd=studio, **environment)
        assert done.returncode == 0
        assert "revision not known" in done.stdout
        assert "version control" not in done.stdout
        assert done.stderr.count("is not known") == 1
        assert f"glost: the revision of {count} is not known: {WAYS[way]}" in done.stderr
    done = run("catalog", *paths, "--to", "jsonl", cwd=studio, **environment)
    assert {json.loads(line)["revision"] for line in done.stdout.splitlines()} == {"not known"}
    assert f"glost: the revision of {count} is not known: {WAYS[way]}" in done.stderr
    done = run("catalog", *paths, "--to", "csv", cwd=studio, **environment)
    assert ",not known,,," in done.stdout
    assert (
        ">not known" in run("catalog", *paths, cwd=studio, **environment).stdout or "not known" in done.stdout
    )


@pytest.mark.parametrize("way", WAYS, ids=lambda way: way.__name__)
def test_what_cannot_do_without_git_says_why(
    run: Run, studio: Path, way: Callable[[Path], dict[str, str]]
) -> None:
    environment = way(studio)
    for command in (
        ["history", "mist.glost"], ["compare", "main"], ["compare", "main:mist.glost", "rust.glost"],
        ["lint", "--changed"], ["format", "--changed", "main"],
    ):  # fmt: skip
        done = run(*command, cwd=studio, **environment)
        assert (done.returncode, done.stdout) == (2, ""), command
        assert WAYS[way] in done.stderr, command
        assert "in no git repository" not in done.stderr


def test_a_git_that_does_not_answer(
    studio: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def late(*arguments: object, timeout: float, **_: object) -> object:
        raise subprocess.TimeoutExpired("git", timeout)

    monkeypatch.setattr(subprocess, "run", late)
    monkeypatch.chdir(studio)
    assert run_here(["convert", "--to", "sheet"]) == 0
    said = capsys.readouterr()
    assert "revision not known" in said.out
    assert said.err == "glost: the revision of 3 recipes is not known: git does not answer\n"
    assert run_here(["history", "mist.glost"]) == 2
    assert "git could not tell the history: git does not answer" in capsys.readouterr().err


def test_what_no_commit_holds_is_another_thing(run: Run, studio: Path, tmp_path: Path) -> None:
    page(studio / "new.glost", good("New"))
    page(tmp_path / "lone" / "lone.glost", good("Lone"))
    unborn = page(tmp_path / "unborn" / "first.glost", good("First"))
    git(unborn.parent, "init", "-q")
    for file, path in ((studio / "new.glost", None), (tmp_path / "lone" / "lone.glost", ""), (unborn, None)):
        environment = {} if path is None else {"PATH": path}
        done = run("convert", file.name, "--to", "sheet", cwd=file.parent, **environment)
        assert "not under version control" in done.stdout
        assert done.stderr == ""


def test_a_record_of_a_sheet_without_a_known_revision_names_none(run: Run, studio: Path) -> None:
    done = run("convert", "mist.glost", "--to", "html", cwd=studio, **not_there(studio))
    assert '"revision":null' in done.stdout.replace('": ', '":')


@pytest.mark.parametrize("command", ["history", "blame"])
def test_a_shallow_clone_names_the_commit_that_it_begins_with(
    run: Run, studio: Path, tmp_path: Path, command: str
) -> None:
    """git says of every line that this commit wrote it; the last one that really changed the page is another."""
    page(studio / "mist.glost", good("Mist") + "# again\n")
    commit(studio, "two")
    page(studio / "rust.glost", good("Rust") + "# again\n")
    commit(studio, "three")
    git(tmp_path, "clone", "-q", "--depth", "1", studio.as_uri(), "clone")
    clone = tmp_path / "clone"
    short = git(clone, "log", "-1", "--format=%h").strip()
    said = run(command, "mist.glost", cwd=clone).stderr
    assert said.count(f"this clone is shallow and begins with {short}") == 1
    assert "run  git fetch --unshallow" in said
    git(clone, "fetch", "-q", "--unshallow")
    assert run(command, "mist.glost", cwd=clone).stderr == ""


def test_what_a_shallow_clone_knows_is_told_without_a_word(run: Run, studio: Path, tmp_path: Path) -> None:
    git(tmp_path, "clone", "-q", "--depth", "1", studio.as_uri(), "clone")
    clone = tmp_path / "clone"
    # The clone reaches to the very first commit: nothing is cut off.
    assert run("history", "mist.glost", cwd=clone).stderr == ""
    page(studio / "tern.glost", good("Tern") + "# again\n")
    commit(studio, "two")
    git(tmp_path, "clone", "-q", "--depth", "1", studio.as_uri(), "other")
    other = tmp_path / "other"
    page(other / "new.glost", good("New").replace("whiting", "talc"))
    commit(other, "three")
    assert run("history", "new.glost", cwd=other).stderr == ""
    page(other / "tern.glost", good("Tern") + "# by us\n")
    commit(other, "four")
    assert "shallow" in run("history", "tern.glost", cwd=other).stderr
    assert "shallow" not in run("history", "-n", "1", "tern.glost", cwd=other).stderr
