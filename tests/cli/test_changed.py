"""--changed and --in-collection, with real git: which recipes are taken, and what is said where git cannot tell."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.conftest import STUDIO, Run

GOOD = """\
glaze "{name}"
cone: 6
atmosphere: oxidation
origin: invented for a test

base:
    nepheline syenite      {share}
    whiting                {rest}
"""


def good(name: str, share: int = 60) -> str:
    return GOOD.format(name=name, share=share, rest=100 - share)


def bad(name: str) -> str:
    """A page whose base is one short of 100."""
    return good(name).replace("  40\n", "  39\n")


def git(folder: Path, *arguments: str) -> str:
    done = subprocess.run(["git", *arguments], cwd=folder, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(autouse=True)
def who(monkeypatch: pytest.MonkeyPatch) -> None:
    for part in ("AUTHOR", "COMMITTER"):
        monkeypatch.setenv(f"GIT_{part}_NAME", "Tern Saltmarsh")
        monkeypatch.setenv(f"GIT_{part}_EMAIL", "tern@example.org")
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", os.devnull)
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    monkeypatch.setenv("LC_ALL", "C.UTF-8")


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    """A repository with one collection of three bad pages, all committed."""
    folder = tmp_path / "studio"
    folder.mkdir()
    git(folder, "init", "-q", "-b", "main")
    page(folder / "glost.yaml", "batch: 1 kg\n")
    page(folder / "blue" / "mist.glost", bad("Mist"))
    page(folder / "red" / "brick.glost", bad("Brick"))
    page(folder / "red" / "rust.glost", bad("Rust").replace("60", "58"))
    commit(folder, "one")
    return folder


def page(file: Path, text: str) -> Path:
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text, "utf-8")
    return file


def touch(file: Path) -> None:
    file.write_text(file.read_text("utf-8") + "# touched\n", "utf-8")


def commit(folder: Path, subject: str) -> None:
    git(folder, "add", "-A")
    git(folder, "commit", "-q", "-m", subject)


def looked_at(done: subprocess.CompletedProcess[str]) -> list[str]:
    """The files that a report of lines names, each once."""
    assert done.returncode in (0, 1), done.stderr
    return sorted({line.split(":")[0] for line in done.stdout.splitlines()})


def changed(run: Run, folder: Path, *words: str, **environment: str) -> list[str]:
    return looked_at(run("lint", "--output", "line", "--changed", *words, cwd=folder, **environment))


# ---- what has changed ----------------------------------------------------------------------------------------


def test_nothing(run: Run, studio: Path) -> None:
    done = run("lint", "--changed", cwd=studio)
    assert (done.returncode, done.stdout) == (0, "")
    assert done.stderr == "no recipe has changed since the last commit\n0 recipes checked, nothing found\n"


def test_edited_staged_and_new_files(run: Run, studio: Path) -> None:
    touch(studio / "blue" / "mist.glost")
    touch(studio / "red" / "brick.glost")
    git(studio, "add", "red/brick.glost")
    page(studio / "green" / "leaf.glost", bad("Leaf"))
    assert changed(run, studio) == ["blue/mist.glost", "green/leaf.glost", "red/brick.glost"]


def test_what_git_ignores_and_what_is_no_recipe_are_left_out(run: Run, studio: Path) -> None:
    page(studio / ".gitignore", "trial/\n")
    page(studio / "trial" / "a.glost", bad("A"))
    page(studio / "notes.txt", "none")
    assert changed(run, studio) == []


def test_deleted_files_are_left_out(run: Run, studio: Path) -> None:
    (studio / "blue" / "mist.glost").unlink()
    git(studio, "rm", "-q", "red/rust.glost")
    assert changed(run, studio) == []
    git(studio, "rm", "-q", "--cached", "red/brick.glost")  # git forgets it; it is there all the same
    assert changed(run, studio) == ["red/brick.glost"]


@pytest.mark.parametrize("renames", ["true", "false"])
def test_renamed_files_stand_under_the_new_name(run: Run, studio: Path, renames: str) -> None:
    git(studio, "config", "diff.renames", renames)
    git(studio, "mv", "blue/mist.glost", "blue/fog.glost")
    assert changed(run, studio) == ["blue/fog.glost"]


def test_staged_and_taken_back_is_no_change(run: Run, studio: Path) -> None:
    before = (studio / "blue" / "mist.glost").read_text("utf-8")
    touch(studio / "blue" / "mist.glost")
    git(studio, "add", "-A")
    page(studio / "blue" / "mist.glost", before)
    assert changed(run, studio) == []


def test_a_conflict_is_a_change(run: Run, studio: Path) -> None:
    git(studio, "checkout", "-q", "-b", "other")
    page(studio / "blue" / "mist.glost", good("Mist", 70))
    commit(studio, "other")
    git(studio, "checkout", "-q", "main")
    page(studio / "blue" / "mist.glost", good("Mist", 80))
    commit(studio, "ours")
    assert subprocess.run(["git", "merge", "other"], cwd=studio, capture_output=True).returncode == 1
    assert changed(run, studio) == ["blue/mist.glost"]


def test_settings_of_a_persons_own_diffs_change_nothing(run: Run, studio: Path) -> None:
    touch(studio / "blue" / "mist.glost")
    for name, value in [
        ("diff.relative", "true"), ("diff.noprefix", "true"), ("diff.external", "false"),
        ("core.quotepath", "true"), ("color.ui", "always"), ("diff.ignoreSubmodules", "all"),
    ]:  # fmt: skip
        git(studio, "config", name, value)
    assert changed(run, studio / "blue") == ["mist.glost"]


NAMES = ["with blanks.glost", "blå-hav-雨.glost", "two\nlines.glost", "-dash.glost", "*.glost", '"quoted".glost',
         os.fsdecode(b"h\xe4he.glost")]  # fmt: skip


@pytest.mark.parametrize("tracked", [True, False])
@pytest.mark.parametrize("name", NAMES, ids=ascii)
def test_names_of_any_kind(run: Run, studio: Path, name: str, tracked: bool) -> None:
    page(studio / name / name, good("A"))
    page(studio / name / "other.glost", bad("Other"))
    if tracked:
        commit(studio, "two")
        touch(studio / name / name)
    done = run("lint", "--changed", "--strict", "--ignore", "file-name", cwd=studio)
    count = 1 if tracked else 2
    assert done.stderr.splitlines()[-1].startswith(f"{count} recipe"), done.stderr


# ---- since a revision ----------------------------------------------------------------------------------------


@pytest.fixture
def branch(studio: Path) -> Path:
    """A branch that changed one page, while main changed another."""
    git(studio, "checkout", "-q", "-b", "trial")
    touch(studio / "blue" / "mist.glost")
    commit(studio, "mist")
    git(studio, "checkout", "-q", "main")
    touch(studio / "red" / "rust.glost")
    commit(studio, "rust")
    git(studio, "checkout", "-q", "trial")
    return studio


@pytest.mark.parametrize("words", [["main"], ["=main"], ["main~0"], ["HEAD~1"]])
def test_since_a_revision(run: Run, branch: Path, words: list[str]) -> None:
    arguments = [f"--changed{words[0]}"] if words[0].startswith("=") else ["--changed", *words]
    done = run("lint", "--output", "line", *arguments, cwd=branch)
    assert looked_at(done) == ["blue/mist.glost"]
    page(branch / "new.glost", bad("New"))
    touch(branch / "red" / "brick.glost")
    done = run("lint", "--output", "line", *arguments, cwd=branch)
    assert looked_at(done) == ["blue/mist.glost", "new.glost", "red/brick.glost"]


def test_it_is_what_git_says_since_the_merge_base(run: Run, branch: Path) -> None:
    said = git(branch, "diff", "--merge-base", "--name-only", "main").splitlines()
    assert changed(run, branch, "main") == said == ["blue/mist.glost"]


def test_nothing_since_a_revision(run: Run, studio: Path) -> None:
    assert "no recipe has changed since main\n" in run("lint", "--changed", "main", cwd=studio).stderr


# ---- words on the line ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "files"),
    [
        (["--changed"], ["blue/mist.glost", "red/brick.glost"]),
        (["--changed", "red"], ["red/brick.glost"]),
        (["--changed", "red", "blue"], ["blue/mist.glost", "red/brick.glost"]),
        (["--changed", "red", "--strict"], ["red/brick.glost"]),
        (["--changed", "--", "red"], ["red/brick.glost"]),
        (["--changed", "--strict", "red"], ["red/brick.glost"]),
        (["red", "--changed"], ["red/brick.glost"]),
        (["--changed", "main", "red"], ["red/brick.glost"]),
        (["--changed=main", "red"], ["red/brick.glost"]),
        (["--changed", "main", "--", "red"], ["red/brick.glost"]),
        (["red", "--changed", "main"], ["red/brick.glost"]),
        (["--changed", "red/brick.glost", "red/rust.glost"], ["red/brick.glost"]),
        (["--changed", "."], ["blue/mist.glost", "red/brick.glost"]),
    ],
    ids=" ".join,
)
def test_what_stands_behind_it(run: Run, studio: Path, words: list[str], files: list[str]) -> None:
    touch(studio / "blue" / "mist.glost")
    touch(studio / "red" / "brick.glost")
    assert looked_at(run("lint", "--output", "line", *words, cwd=studio)) == files


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--changed", "mian"], "'mian' is no revision that git knows here. Did you mean --changed=main?"),
        (["--changed", "nowhere"], "'nowhere' is no revision that git knows here, nor a path. 'git branch -a' lists"),
        (["--changed=blue"], "'blue' is no revision that git knows here, but a path: write --changed -- blue"),
        (["--changed", "main..trial"], "name one, not a range, as --changed=main"),
        (["--changed="], "no revision stands in '--changed='; write --changed=main"),
        (["--changed", "red"], "write --changed=red for the revision, --changed -- red for the path"),
        (["--changed", "-"], "git knows files, not standard input (-): leave --changed out"),
        (["-", "--changed", "main"], "git knows files, not standard input (-): leave --changed out"),
        (["--changed", "main", "gone"], "there is no file or folder 'gone'"),
        (["--changed=--output=/tmp/x"], "no revision stands in '--changed=--output=/tmp/x'"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)  # fmt: skip
@pytest.mark.parametrize("command", [["lint"], ["format"], ["convert", "--to", "csv"]], ids=lambda c: c[0])
def test_what_cannot_be_meant(
    run: Run, studio: Path, words: list[str], said: str, command: list[str]
) -> None:
    git(studio, "branch", "red")
    done = run(*command, *words, cwd=studio)
    assert (done.returncode, done.stdout) == (2, "")
    assert said in done.stderr


def test_a_path_and_a_revision_of_one_name_are_told_apart_as_the_message_says(run: Run, studio: Path) -> None:
    git(studio, "branch", "red")
    touch(studio / "blue" / "mist.glost")
    assert changed(run, studio, "--", "red") == []
    done = run("lint", "--output", "line", "--changed=red", cwd=studio)
    assert looked_at(done) == ["blue/mist.glost"]


def test_a_branch_that_only_the_other_repository_has(run: Run, branch: Path, tmp_path: Path) -> None:
    git(tmp_path, "clone", "-q", "--branch", "trial", "studio", "clone")
    done = run("lint", "--changed", "main", cwd=tmp_path / "clone")
    assert done.returncode == 2
    assert "Did you mean --changed=origin/main?" in done.stderr
    assert changed(run, tmp_path / "clone", "origin/main") == ["blue/mist.glost"]


# ---- where git cannot tell, or lies elsewhere ----------------------------------------------------------------


def test_no_commit_yet(run: Run, tmp_path: Path) -> None:
    git(tmp_path, "init", "-q")
    page(tmp_path / "staged.glost", bad("Staged"))
    git(tmp_path, "add", "staged.glost")
    page(tmp_path / "new.glost", bad("New"))
    assert changed(run, tmp_path) == ["new.glost", "staged.glost"]
    done = run("lint", "--changed", "main")
    assert done.returncode == 2
    assert "'main' is no revision that git knows here" in done.stderr


def test_outside_a_repository(run: Run, tmp_path: Path) -> None:
    page(tmp_path / "a.glost", bad("A"))
    done = run("lint", "--changed")
    assert done.returncode == 2
    assert f"git does not say what has changed in '{tmp_path}': it lies in no repository." in done.stderr
    assert "Without --changed every recipe is looked at." in done.stderr


def test_without_git(run: Run, studio: Path, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    done = run("lint", "--changed", cwd=studio, PATH=str(tmp_path / "empty"))
    assert done.returncode == 2
    assert "git could not be started" in done.stderr


def test_bare_repository(run: Run, studio: Path, tmp_path: Path) -> None:
    git(tmp_path, "clone", "-q", "--bare", "studio", "bare.git")
    for folder in (tmp_path / "bare.git", studio / ".git"):
        done = run("lint", "--changed", cwd=folder)
        assert done.returncode == 2
        assert "lies in a bare repository or in the store of one" in done.stderr


@pytest.mark.skipif(sys.platform == "win32" or os.geteuid() != 0, reason="only root can give a folder away")
def test_a_repository_of_somebody_else(run: Run, studio: Path) -> None:
    for file in (studio, *studio.rglob("*")):
        os.chown(file, 65534, 65534, follow_symlinks=False)
    done = run("lint", "--changed", cwd=studio, SUDO_UID="")
    assert done.returncode == 2
    assert "detected dubious ownership" in done.stderr
    assert f"git config --global --add safe.directory {studio}" in done.stderr


def test_shallow_clone(run: Run, branch: Path, tmp_path: Path) -> None:
    git(branch, "tag", "first", "main~1")
    source = f"file://{branch}"
    git(tmp_path, "clone", "-q", "--depth", "1", "--branch", "trial", source, "clone")
    clone = tmp_path / "clone"
    assert changed(run, clone) == []
    touch(clone / "red" / "brick.glost")
    assert changed(run, clone) == ["red/brick.glost"]
    done = run("lint", "--changed", "v1", cwd=clone)
    assert done.returncode == 2
    assert "'v1' is no revision that git knows here. This clone is shallow" in done.stderr
    git(clone, "fetch", "-q", "--depth", "1", "origin", "main:refs/remotes/origin/main")
    done = run("lint", "--changed", "origin/main", cwd=clone)
    assert done.returncode == 2
    assert "git does not know where this branch and 'origin/main' part. This clone is shallow" in done.stderr
    git(clone, "fetch", "-q", "--unshallow")
    assert changed(run, clone, "origin/main") == ["blue/mist.glost", "red/brick.glost"]


def test_histories_without_a_common_commit(run: Run, studio: Path) -> None:
    git(studio, "checkout", "-q", "--orphan", "fresh")
    assert len(changed(run, studio, "main")) == 3
    commit(studio, "anew")
    done = run("lint", "--changed", "main", cwd=studio)
    assert done.returncode == 2
    assert "They have no commit in common." in done.stderr


def test_below_the_top_and_from_outside(run: Run, studio: Path, tmp_path: Path) -> None:
    touch(studio / "blue" / "mist.glost")
    touch(studio / "red" / "rust.glost")
    assert changed(run, studio / "blue") == ["mist.glost"]
    assert changed(run, studio / "blue", "../red") == [
        str(studio / "blue" / ".." / "red" / "rust.glost")
    ] or (changed(run, studio / "blue", "../red") == ["../red/rust.glost"])
    assert changed(run, tmp_path, "studio") == ["studio/blue/mist.glost", "studio/red/rust.glost"]


def test_working_folder_behind_a_link(run: Run, studio: Path, tmp_path: Path) -> None:
    touch(studio / "blue" / "mist.glost")
    (tmp_path / "link").symlink_to(studio, target_is_directory=True)
    assert changed(run, tmp_path / "link" / "blue") == ["mist.glost"]
    assert changed(run, tmp_path, "link") == ["link/blue/mist.glost"]


def test_second_working_folder(run: Run, studio: Path, tmp_path: Path) -> None:
    git(studio, "worktree", "add", "-q", str(tmp_path / "second"))
    touch(tmp_path / "second" / "red" / "rust.glost")
    touch(studio / "blue" / "mist.glost")
    assert changed(run, tmp_path / "second") == ["red/rust.glost"]
    assert changed(run, studio) == ["blue/mist.glost"]


@pytest.mark.parametrize("folder", ["studio", "second"])
def test_in_a_hook(run: Run, studio: Path, tmp_path: Path, folder: str) -> None:
    """git hands a hook of a second working folder the repository by name, which leads git astray below the top."""
    git(studio, "worktree", "add", "-q", str(tmp_path / "second"))
    hook = page(
        studio / ".git" / "hooks" / "pre-commit",
        f'#!/bin/sh\nexec "{sys.executable}" -m glost lint --output line --changed red blue\n',
    )
    hook.chmod(0o755)
    touch(tmp_path / folder / "red" / "rust.glost")
    for words in (["-a"], ["--", "red/rust.glost"]):
        done = subprocess.run(
            ["git", "commit", "-q", "-m", "rust", *words],
            cwd=tmp_path / folder, capture_output=True, text=True,
        )  # fmt: skip
        assert done.returncode == 1
        lines = (done.stdout + done.stderr).splitlines()
        assert {line.split(":")[0] for line in lines if "(base-total)" in line} == {"red/rust.glost"}, lines


def test_a_repository_that_the_environment_names(run: Run, studio: Path, tmp_path: Path) -> None:
    """As people keep their own settings in git: a bare repository, and a working folder of another place."""
    (studio / ".git").rename(tmp_path / "own.git")
    git(tmp_path, "--git-dir=own.git", "config", "core.bare", "true")
    touch(studio / "red" / "rust.glost")
    page(studio / "new.glost", bad("New"))
    named = {"GIT_DIR": str(tmp_path / "own.git"), "GIT_WORK_TREE": str(studio)}
    assert changed(run, studio, **named) == ["new.glost", "red/rust.glost"]
    assert changed(run, tmp_path, "studio/red", **named) == ["studio/red/rust.glost"]
    relative = {"GIT_DIR": "own.git", "GIT_WORK_TREE": "studio"}
    assert changed(run, tmp_path, "studio", **relative) == ["studio/new.glost", "studio/red/rust.glost"]
    sheet = run("convert", "red/rust.glost", "--to", "sheet", cwd=studio, **named).stdout
    assert ", changed since" in sheet
    # It holds for that working folder, and for no other.
    page(tmp_path / "other" / "a.glost", good("A"))
    done = run("convert", "a.glost", "--to", "sheet", cwd=tmp_path / "other", **named)
    assert "not under version control" in done.stdout


def test_a_repository_within(run: Run, studio: Path, tmp_path: Path) -> None:
    page(tmp_path / "shared" / "ash.glost", bad("Ash"))
    git(tmp_path / "shared", "init", "-q")
    commit(tmp_path / "shared", "one")
    git(
        studio,
        "-c",
        "protocol.file.allow=always",
        "submodule",
        "--quiet",
        "add",
        str(tmp_path / "shared"),
        "inner",
    )
    commit(studio, "inner")
    git(studio, "config", "diff.ignoreSubmodules", "all")
    # git is not asked about what lies in there, so nobody knows whether it has changed.
    own = "inner is a repository of its own: name it, as  --changed -- inner\nno recipe has changed"
    assert run("lint", "--changed", cwd=studio).stderr.startswith(own)
    touch(studio / "inner" / "ash.glost")
    done = run("lint", "--changed", cwd=studio)
    assert done.returncode == 0
    assert done.stderr.startswith(own)
    assert changed(run, studio, "inner") == ["inner/ash.glost"]
    assert changed(run, studio / "inner") == ["ash.glost"]
    assert changed(run, studio / "inner", "HEAD") == ["ash.glost"]


# ---- settings, and recipes compared with each other -----------------------------------------------------------


MATERIALS = """\
materials:
  - name: kaolin
    note: ours comes damp
"""


@pytest.mark.parametrize("file", ["glost.yaml", "stock.yaml", "glost-baseline.json"])
def test_with_its_settings_all_of_a_collection_has_changed(run: Run, studio: Path, file: str) -> None:
    page(studio / "glost.yaml", "batch: 1 kg\nmaterials: stock.yaml\n")
    page(studio / "stock.yaml", MATERIALS)
    page(studio / "glost-baseline.json", '{"version": 1, "findings": []}\n')
    page(studio / "yard" / "glost.yaml", "")
    page(studio / "yard" / "a.glost", bad("A"))
    commit(studio, "settings")
    with (studio / file).open("a", encoding="utf-8") as opened:
        opened.write("\n")
    done = run("lint", "--changed", "--output", "line", cwd=studio)
    assert looked_at(done) == ["blue/mist.glost", "red/brick.glost", "red/rust.glost"]
    assert done.stderr == f"{file} has changed: every recipe of its collection counts as changed\n"
    done = run("format", "--changed", "--check", cwd=studio)  # the layout knows no settings
    assert done.stderr.endswith("0 recipes looked at, 0 would change\n")
    csv = run("convert", "--changed", "--to", "csv", cwd=studio)
    assert "Rust" in csv.stdout
    assert "has changed" in csv.stderr


def test_settings_that_are_gone_or_new(run: Run, studio: Path) -> None:
    (studio / "glost.yaml").unlink()
    done = run("lint", "--changed", "--output", "line", cwd=studio)
    assert len(looked_at(done)) == 3
    assert done.stderr == "glost.yaml has changed: every recipe of its collection counts as changed\n"
    git(studio, "checkout", "-q", "glost.yaml")
    page(studio / "red" / "glost.yaml", "")
    done = run("lint", "--changed", "--output", "line", cwd=studio)
    assert looked_at(done) == ["red/brick.glost", "red/rust.glost"]
    assert done.stderr.startswith("red/glost.yaml has changed")


@pytest.mark.parametrize("options", [["--changed"], ["--in-collection", "blue/fog.glost"]])
def test_an_unchanged_recipe_is_held_against_and_not_reported(
    run: Run, studio: Path, options: list[str]
) -> None:
    (studio / "red" / "brick.glost").write_bytes(b"\xff")  # cannot be read, and is not asked about
    page(studio / "red" / "fog.glost", good("Fog"))
    page(studio / "red" / "clay.glost", good("Clay").replace("  40\n", "  40,5\n"))  # --fix would fix it
    commit(studio, "two")
    page(studio / "blue" / "fog.glost", good("fog", 55))
    done = run("lint", "--output", "line", *options, cwd=studio)
    assert done.returncode == 0
    assert done.stdout == (
        "blue/fog.glost:1:7: warning: another recipe is called 'fog' too: red/fog.glost:1 (same-name)\n"
    )
    done = run("lint", "--fix", *options, cwd=studio)
    assert "1 recipe checked: 1 warning" in done.stderr
    assert git(studio, "status", "--porcelain") == "?? blue/fog.glost\n"


def test_below_a_folder_the_whole_collection_is_held_against(run: Run, studio: Path) -> None:
    page(studio / "blue" / "rust.glost", good("Rust"))
    done = run("lint", "--output", "line", "--changed", cwd=studio / "blue")
    assert "another recipe is called 'Rust' too: " in done.stdout
    assert "red/rust.glost:1" in done.stdout


def test_without_settings_the_paths_are_what_is_held_against(run: Run, studio: Path) -> None:
    git(studio, "rm", "-q", "glost.yaml")
    commit(studio, "bare pages")
    page(studio / "blue" / "rust.glost", good("Rust"))
    assert "same-name" in run("lint", "--output", "line", "--changed", cwd=studio).stdout
    assert "same-name" not in run("lint", "--output", "line", "--changed", "blue", cwd=studio).stdout


@pytest.mark.parametrize("workers", ["1", "2"])
def test_findings_are_those_of_a_whole_run_that_lie_in_changed_files(
    run: Run, tmp_path: Path, workers: str
) -> None:
    shutil.copytree(STUDIO, tmp_path / "studio", ignore=shutil.ignore_patterns("log"))
    page(
        tmp_path / "studio" / "glost.yaml",
        (STUDIO / "glost.yaml").read_text("utf-8").replace("needs-work", "none"),
    )
    git(tmp_path, "init", "-q")
    commit(tmp_path, "one")
    whole_page = tmp_path / "studio" / "stoneware" / "clear-ebb.glost"
    files = sorted({whole_page, *sorted((tmp_path / "studio").rglob("*.glost"))[::3]})
    for file in files:
        touch(file)
    copied = whole_page.read_text("utf-8").replace('"Clear Ebb"', '"Copy"')
    page(tmp_path / "studio" / "copy.glost", copied)
    whole = run("lint", "--output", "line").stdout.splitlines()
    names = {file.relative_to(tmp_path).as_posix() for file in (*files, tmp_path / "studio" / "copy.glost")}
    expected = [line for line in whole if line.split(":")[0] in names]
    assert any("same-composition" in line for line in expected)
    assert len(expected) < len(whole)
    options = ["--output", "line", "--workers", workers]
    assert run("lint", "--changed", *options).stdout.splitlines() == expected
    assert run("lint", "--in-collection", *options, *sorted(names)).stdout.splitlines() == expected


@pytest.mark.parametrize("rules", [["--ignore", "same-name"], ["--select", "base-total"]])
def test_rules_that_are_left_out_stay_so(run: Run, studio: Path, rules: Sequence[str]) -> None:
    page(studio / "blue" / "rust.glost", good("Rust"))
    done = run("lint", "--output", "line", "--changed", *rules, cwd=studio)
    assert (done.returncode, done.stdout) == (0, "")


def test_known_findings_of_changed_files_are_held_back(run: Run, studio: Path) -> None:
    page(studio / "blue" / "rust.glost", good("Rust"))
    assert run("lint", "--write-baseline", cwd=studio).returncode == 0
    commit(studio, "baseline")
    page(studio / "blue" / "rust.glost", good("Rust", 58))
    done = run("lint", "--changed", cwd=studio)
    assert (done.returncode, done.stdout) == (0, "")
    assert "1 recipe checked, nothing new found\n1 known finding held back" in done.stderr


# ---- in a collection -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("command", ["lint", "format"])
def test_what_the_collection_skips_is_left_out(run: Run, studio: Path, command: str) -> None:
    page(studio / "glost.yaml", "skip: [red, yard]\n")
    page(studio / "yard" / "glost.yaml", "")
    page(studio / "yard" / "a.glost", bad("A"))
    page(studio / ".old" / "b.glost", bad("B"))
    named = ["blue/mist.glost", "red/rust.glost", "yard/a.glost", ".old/b.glost"]
    assert run(command, *named, cwd=studio).stderr.splitlines()[-1].startswith("4 recipes")
    assert run(command, "--in-collection", *named, cwd=studio).stderr.splitlines()[-1].startswith("1 recipe ")


def test_what_only_a_walk_would_pass_by_is_looked_at(run: Run, studio: Path) -> None:
    """A recipe of another ending, or one behind a linked folder, was named; nobody skips it."""
    page(studio / "glost.yaml", "skip: [red]\n")
    page(studio / "notes.txt", bad("A"))
    (studio / "link").symlink_to(studio / "blue")
    named = ["notes.txt", "link/mist.glost", "red/rust.glost"]
    done = run("lint", "--in-collection", "--output", "line", *named, cwd=studio)
    assert "2 recipes" in run("lint", "--in-collection", *named, cwd=studio).stderr
    assert "notes.txt:" in done.stdout


def test_a_recipe_that_is_a_link_changes_with_what_it_leads_to(run: Run, studio: Path) -> None:
    page(studio / "kept.txt", good("Kept"))
    (studio / "kept.glost").symlink_to("kept.txt")
    commit(studio, "link")
    page(studio / "kept.txt", bad("Kept"))
    assert changed(run, studio) == ["kept.glost"]


def test_without_settings_nothing_is_left_out(run: Run, tmp_path: Path) -> None:
    page(tmp_path / ".old" / "b.glost", bad("B"))
    assert looked_at(run("lint", "--output", "line", "--in-collection", ".old/b.glost")) == [".old/b.glost"]


# ---- format and convert --------------------------------------------------------------------------------------


def test_format_lays_only_changed_pages_out(run: Run, studio: Path) -> None:
    for name in ("blue/mist.glost", "red/rust.glost"):
        page(studio / name, (studio / name).read_text("utf-8").replace("    whiting  ", "  whiting    "))
        if name.startswith("blue"):
            commit(studio, "two")
    done = run("format", "--changed", cwd=studio)
    assert (done.stdout, done.stderr) == ("red/rust.glost: laid out\n", "1 recipe looked at, 1 changed\n")
    assert "  whiting  " in (studio / "blue" / "mist.glost").read_text("utf-8")


def test_convert_writes_sheets_of_changed_recipes_alone(run: Run, studio: Path) -> None:
    touch(studio / "red" / "rust.glost")
    done = run("convert", "--changed", "--to", "sheet", "--out", "sheets", cwd=studio)
    assert done.returncode == 0
    assert [file.name for file in (studio / "sheets").rglob("*.txt")] == ["rust.txt"]
    done = run("convert", "--changed", "main", "blue", "--to", "json", cwd=studio)
    assert done.stderr == "no recipe has changed since main\n"
    assert '"recipes": []' in done.stdout
