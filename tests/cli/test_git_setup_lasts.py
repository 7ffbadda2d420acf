"""What git-setup writes holds in any terminal and window, and when the glost that it names is gone."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
import sysconfig
from pathlib import Path

import pytest

from glost.workspace.git.drivers import is_ours, settings
from tests.cli.test_compare import PAGE, SILICA, WHITING, edit
from tests.conftest import TOP

ODD_PLACE = "Tern's väse 100%A $HOME/bin"
"""Blanks, quotes, letters beyond ASCII, and signs that git and the shell have a use for."""
FAR = ("cone: 6", "cone: 7")
GIT = shutil.which("git") or "git"


def program(folder: Path) -> Path:
    """glost, installed in a folder."""
    folder.mkdir(parents=True)
    path = folder / "glost"
    # Not by its shebang: a path with blanks cannot stand there.
    run = f'exec {shlex.quote(sys.executable)} -P -c "import sys; from glost.cli import main; main()" "$@"'
    path.write_text(f"#!/bin/sh\n{run}\n")
    path.chmod(0o755)
    return path


def installed(folder: Path) -> Path:
    """As program, where Python knows by which name it was started."""
    folder.mkdir(parents=True)
    path = folder / "glost"
    path.write_text(f"#!{sys.executable}\nfrom glost.cli import main\nmain()\n")
    path.chmod(0o755)
    return path


class Studio:
    """A repository with a page that two branches have changed, and git with an environment of almost nothing."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.home = folder / "home"
        self.home.mkdir(parents=True)
        self.path: str | None = None
        self.top = folder / "studio of Tern"
        self.page = self.top / "blue mist.glost"
        self.top.mkdir()
        self.git("init", "-q", "-b", "main")
        self.page.write_text(PAGE, "utf-8")
        self.commit("one")

    def git(self, *arguments: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
        environment = {"HOME": str(self.home), "GIT_CONFIG_NOSYSTEM": "1"}
        for role in ("AUTHOR", "COMMITTER"):
            environment |= {f"GIT_{role}_NAME": "Tern", f"GIT_{role}_EMAIL": "tern@example.org"}
        if self.path is not None:
            environment["PATH"] = self.path
        return subprocess.run(
            [GIT, *arguments],
            cwd=cwd or self.top,
            env=environment,
            capture_output=True,
            text=True,
            check=False,
        )

    def commit(self, message: str) -> None:
        self.git("add", "--all")
        done = self.git("commit", "-q", "-m", message)
        assert done.returncode == 0, done.stderr

    def set_up(self, glost: Path, *more: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [glost, "git-setup", *more], cwd=cwd or self.top, capture_output=True, text=True, check=False
        )

    def branches(self, ours: list[tuple[str, str]], theirs: list[tuple[str, str]]) -> None:
        self.git("checkout", "-q", "-b", "theirs")
        edit(self.page, *theirs)
        self.commit("theirs")
        self.git("checkout", "-q", "main")
        edit(self.page, *ours)
        self.commit("ours")


@pytest.fixture
def studio(tmp_path: Path) -> Studio:
    return Studio(tmp_path)


def paths_of(folder: Path) -> dict[str, str | None]:
    """What a terminal, a window or a job may have for PATH."""
    (folder / "empty").mkdir()
    (folder / "only git").mkdir()
    (folder / "only git" / "git").symlink_to(GIT)
    return {"none": None, "empty": str(folder / "empty"), "only git": str(folder / "only git"), "": ""}


@pytest.mark.parametrize("path", ["none", "empty", "only git", ""])
def test_git_calls_glost_whatever_the_path(studio: Studio, path: str) -> None:
    done = studio.set_up(installed(studio.folder / ODD_PLACE.replace(" ", "_")))
    assert done.returncode == 0, done.stderr
    assert "tried: it shows a page by what it means, and merges by that" in done.stdout
    studio.commit("set up")
    studio.branches([SILICA], [WHITING])
    studio.path = paths_of(studio.folder)[path]
    shown = studio.git("log", "-p", "-1")
    assert (shown.returncode, shown.stderr) == (0, "")
    assert "as written:" in shown.stdout
    merged = studio.git("merge", "--no-edit", "theirs")
    assert merged.returncode == 0, merged.stdout + merged.stderr
    assert studio.page.read_text("utf-8") == PAGE.replace(*SILICA).replace(*WHITING)


def setting(studio: Studio, name: str) -> str:
    return studio.git("config", name).stdout.removesuffix("\n")


def call_instead(studio: Studio, glost: Path) -> None:
    """Lets the repository call that glost: git-setup finds its own by what the system calls it."""
    for name, value in settings([str(glost)]).items():
        assert studio.git("config", name, value).returncode == 0
    studio.top.joinpath(".gitattributes").write_text("*.glost text eol=lf diff=glost merge=glost\n")
    studio.commit("set up")


BROKEN = {
    "removed": None,
    "cannot find a module": "exit 1",  # as a Python that is there without glost
    "does nothing": "exit 0",
    "says something else": "echo conflicting; exit 0",
    "is killed": "kill -9 $$",
    "is stopped": "kill -15 $$",
    "not a program": None,
}


def broken(place: Path, how: str) -> None:
    glost = place / "glost"
    if how == "removed":
        shutil.rmtree(place)
    elif how == "not a program":
        glost.write_bytes(b"\x00\x01")
    else:
        glost.write_text(f"#!/bin/sh\n{BROKEN[how]}\n")


@pytest.mark.parametrize("path", ["none", "empty"])
@pytest.mark.parametrize("how", [*BROKEN, "moved"])
def test_without_glost_git_goes_on_and_no_side_is_lost(studio: Studio, how: str, path: str) -> None:
    place = studio.folder / ODD_PLACE
    call_instead(studio, program(place))
    studio.branches([SILICA, FAR], [WHITING])
    assert "as written:" in studio.git("log", "-p", "-1").stdout  # until now it is called
    studio.git("update-ref", "-d", "refs/notes/textconv/glost")  # what was shown is kept
    if how == "moved":
        place.rename(studio.folder / "elsewhere")
    else:
        broken(place, how)
    studio.path = paths_of(studio.folder)[path]
    for command in (["log", "-p"], ["diff", "HEAD~1"], ["show"], ["blame", studio.page.name]):
        shown = studio.git(*command)
        assert shown.returncode == 0, (command, shown.stderr)
        if how not in ("does nothing", "says something else"):  # then that is what is shown
            assert ("+    silica                 24" in shown.stdout) == (command[0] != "blame")
            assert "as written:" not in shown.stdout
    merged = studio.git("merge", "--no-edit", "theirs")
    assert merged.returncode == 1
    answers = how in ("does nothing", "says something else")
    why = (
        "not merged by glost; merged line by line, as git does"
        if answers
        else "glost cannot be called, so it is merged line by line, as git does; glost git-setup notes where it is now"
    )
    assert f"{studio.page.name}: {why}" in merged.stderr
    assert "git-setup;" not in merged.stderr  # the text of the driver itself
    assert studio.git("status", "--porcelain").stdout == f'UU "{studio.page.name}"\n'
    text = studio.page.read_text("utf-8")
    before, ours, theirs = re.split("<<<<<<< ours\n|=======\n", text)
    theirs, _, after = theirs.partition(">>>>>>> theirs\n")
    assert FAR[1] in before
    assert SILICA[1] in ours
    assert WHITING[1] in theirs
    assert after
    assert {path.name for path in studio.top.iterdir()} == {".git", ".gitattributes", studio.page.name}


def test_without_glost_what_does_not_touch_is_merged(studio: Studio) -> None:
    call_instead(studio, studio.folder / "nowhere" / "glost")
    studio.branches([FAR], [WHITING])
    assert studio.git("merge", "--no-edit", "theirs").returncode == 0
    assert studio.page.read_text("utf-8") == PAGE.replace(*FAR).replace(*WHITING)


def test_marks_have_the_length_that_an_attribute_asks_for(studio: Studio) -> None:
    call_instead(studio, studio.folder / "nowhere" / "glost")
    with studio.top.joinpath(".gitattributes").open("a") as file:
        file.write("*.glost conflict-marker-size=11\n")
    studio.commit("longer")
    studio.branches([SILICA], [(SILICA[0], SILICA[0] + "  # theirs")])
    studio.git("merge", "--no-edit", "theirs")
    assert f"\n{'<' * 11} ours\n" in studio.page.read_text("utf-8")


def test_a_page_that_no_merge_takes_holds_both_sides(studio: Studio) -> None:
    """git's own merge does not take a NUL: without glost, both sides stand whole."""
    call_instead(studio, studio.folder / "nowhere" / "glost")
    studio.branches([(SILICA[0], "silica \0 24")], [WHITING])
    assert studio.git("merge", "--no-edit", "theirs").returncode == 1
    text = studio.page.read_text("utf-8")
    assert text.startswith("<<<<<<< ours\n")
    assert "silica \0 24" in text
    assert WHITING[1] in text
    assert studio.git("status", "--porcelain").stdout.startswith("UU ")


def test_in_a_second_working_folder(studio: Studio) -> None:
    second = studio.folder / "second (2)"
    assert studio.git("worktree", "add", "-q", "-b", "second", str(second)).returncode == 0
    done = studio.set_up(installed(studio.folder / "bin"), cwd=second)
    assert done.returncode == 0, done.stderr
    assert (second / ".gitattributes").is_file()
    assert not (studio.top / ".gitattributes").exists()
    for folder in (second, studio.top):  # the settings hold for both, the line where it is committed
        assert is_ours("merge.glost.driver", studio.git("config", "merge.glost.driver", cwd=folder).stdout)
    studio.page = second / studio.page.name
    edit(studio.page, SILICA)
    assert "as written:" in studio.git("diff", cwd=second).stdout
    done = studio.set_up(studio.folder / "bin" / "glost", "--undo", cwd=second)
    assert (done.returncode, done.stdout.count("taken away")) == (0, 6)
    assert studio.git("config", "--get-regexp", "glost").stdout == ""


def test_set_up_again_from_another_place_and_undone_from_a_third(studio: Studio) -> None:
    places = [installed(studio.folder / name / "bin") for name in ("first", "second", "third")]
    config = (studio.top / ".git" / "config").read_bytes()
    for glost in places[:2]:
        assert studio.set_up(glost).returncode == 0
        assert setting(studio, "glost.command") == str(glost)
        assert str(glost) in setting(studio, "merge.glost.driver")
    assert studio.set_up(places[2], "--undo").returncode == 0
    assert (studio.top / ".git" / "config").read_bytes() == config


@pytest.mark.parametrize("name", ["diff.glost.textconv", "merge.glost.driver"])
def test_what_was_set_up_before_places_were_known_is_replaced(studio: Studio, name: str) -> None:
    old = {"diff.glost.textconv": "glost textconv"}
    old["merge.glost.driver"] = "glost merge --marker-size %L -- %O %A %B %P"
    studio.git("config", name, old[name])
    done = studio.set_up(installed(studio.folder / "bin"))
    assert done.returncode == 0, done.stderr
    assert setting(studio, name) != old[name]


@pytest.mark.parametrize("command", ["textconv", "merge"])
def test_where_git_cannot_call_it_nothing_is_set_up(studio: Studio, command: str) -> None:
    glost = installed(studio.folder / "bin")
    text = glost.read_text()
    glost.write_text(
        text.replace("main()\n", f'import sys\nsys.argv[1] == "{command}" and sys.exit(1)\nmain()\n')
    )
    config = (studio.top / ".git" / "config").read_bytes()
    done = studio.set_up(glost)
    assert done.returncode == 2
    assert f"not set up, since git cannot call {glost}" in done.stderr
    assert not (studio.top / ".gitattributes").exists()
    assert (studio.top / ".git" / "config").read_bytes() == config


@pytest.mark.parametrize("undo", [False, True])
@pytest.mark.parametrize("linked", [".gitattributes", ".git/config"])
def test_a_link_is_not_written_through(studio: Studio, linked: str, undo: bool) -> None:
    glost = installed(studio.folder / "bin")
    outside = studio.folder / "outside"
    file = studio.top / linked
    if file.exists():
        file.rename(outside)
    elif undo:
        outside.write_text(
            "# glost git-setup\n*.glost text eol=lf diff=glost merge=glost\n# glost git-setup ends\n"
        )
    else:
        outside.write_text("# somebody's own\n")
    file.symlink_to(outside)
    before = outside.read_bytes()
    done = studio.set_up(glost, *(["--undo"] if undo else []))
    assert done.returncode == 2
    assert f"{linked} is a link to {outside}, and is not written through" in done.stderr
    assert outside.read_bytes() == before
    assert file.is_symlink()


def hook_on_the_page() -> str:
    text = (TOP / "docs" / "git.md").read_text("utf-8")
    found = re.search(r"`.git/hooks/pre-commit`, made executable:\n\n```sh\n(.*?)```", text, re.DOTALL)
    assert found is not None
    return found[1]


@pytest.mark.parametrize("path", ["none", "empty", "only git"])
def test_the_hook_on_the_page_needs_no_path_and_lets_a_commit_through_without_glost(
    studio: Studio, path: str
) -> None:
    glost = installed(studio.folder / "its place")
    assert studio.set_up(glost).returncode == 0
    hook = studio.top / ".git" / "hooks" / "pre-commit"
    hook.parent.mkdir(exist_ok=True)
    hook.write_text(hook_on_the_page())
    hook.chmod(0o755)
    studio.path = paths_of(studio.folder)[path]
    edit(studio.page, ("silica                 22", "silica                 27,5"))
    studio.git("add", "--all")
    blocked = studio.git("commit", "-q", "-m", "two")
    assert blocked.returncode == 1
    assert "has a decimal comma" in blocked.stdout + blocked.stderr
    shutil.rmtree(glost.parent)
    passed = studio.git("commit", "-q", "-m", "two")
    assert passed.returncode == 0
    assert "glost cannot be called: the recipes of this commit are not checked" in passed.stderr
    assert studio.git("status", "--porcelain").stdout == ""


def test_module_of_a_repository_is_not_taken_for_one_of_glosts() -> None:
    """A Python that is called in a repository looks there first, unless it is told not to."""
    from glost.cli import git_setup_command

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "argv", ["/x/glost/__main__.py"])
        patch.setattr(sysconfig, "get_path", lambda name: os.devnull)
        assert git_setup_command._how_glost_is_called() == [sys.executable, "-P", "-m", "glost"]
