"""The last commits of many files at once are those that git itself names for each."""

from __future__ import annotations

import os
import random
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from glost import revisions
from glost.revisions import GitFailed, LastCommit, last_commits, revision_of

Git = Callable[..., str]


@pytest.fixture
def git(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Git:
    """git in a new repository; each commit is a day later than the one before."""
    top = tmp_path / "shared"
    top.mkdir()
    for name in ("GIT_CONFIG_GLOBAL", "GIT_CONFIG_SYSTEM"):
        monkeypatch.setenv(name, os.devnull)
    day = 0

    def git(*arguments: str, fails: bool = False) -> str:
        nonlocal day
        day += 1
        when = f"2026-{day // 28 % 12 + 1:02}-{day % 28 + 1:02}T12:00:00Z"
        done = subprocess.run(
            ["git", "-c", "user.name=bench", "-c", "user.email=bench@example.org", *arguments],
            cwd=top,
            capture_output=True,
            check=False,
            env={**os.environ, "GIT_AUTHOR_DATE": when, "GIT_COMMITTER_DATE": when},
        )
        assert fails or done.returncode == 0, done.stderr
        return done.stdout.decode("utf-8", "replace")

    git("init", "-q", "-b", "main")
    return git


def commit(git: Git, subject: str = "work") -> None:
    git("add", "-A")
    git("commit", "-q", "--allow-empty", "-m", subject)


def same_as_one_by_one(paths: list[Path]) -> dict[Path, LastCommit]:
    found, failures = last_commits(paths)
    assert failures == []
    alone = {path: revision_of(path) for path in paths}
    assert {path: (one.short, one.changed) for path, one in found.items()} == {
        path: one for path, one in alone.items() if one is not None
    }
    return found


def test_changed_renamed_untracked_and_taken_away(git: Git, tmp_path: Path) -> None:
    top = tmp_path / "shared"
    names = ("kept", "changed", "staged", "renamed", "back", "gone from index")
    for name in names:
        (top / name).write_text(name)
    commit(git)
    (top / "renamed").rename(top / "new name")
    (top / "back").unlink()
    commit(git)
    (top / "back").write_text("back")
    (top / "changed").write_text("other")
    (top / "staged").write_text("other")
    git("add", "staged")
    git("rm", "-q", "--cached", "gone from index")
    (top / "added").write_text("added")
    git("add", "added")
    (top / "untracked").mkdir()
    (top / "untracked" / "one").write_text("one")
    every = [top / name for name in (*names, "new name", "added", "untracked/one") if (top / name).exists()]
    found = same_as_one_by_one(every)
    assert {path.name for path, one in found.items() if one.changed} == {
        "changed", "staged", "back", "gone from index"
    }  # fmt: skip
    assert {path.name for path in every if path not in found} == {"added", "one"}
    assert found[top / "kept"].day < found[top / "new name"].day == git("log", "-1", "--format=%cs").strip()


NO_UTF_8 = b"\xff".decode("utf-8", "surrogateescape")


@pytest.mark.parametrize(
    "name", ["two words", "\x01a", "a\x02b", "line\nbreak", ":(top)x", "*[a]", "-n", "é", NO_UTF_8]
)
def test_odd_names(git: Git, tmp_path: Path, name: str) -> None:
    path = tmp_path / "shared" / name
    path.write_text("one")
    (tmp_path / "shared" / "a").write_text("other")
    commit(git)
    path.write_text("two")
    commit(git)
    found = same_as_one_by_one([path, tmp_path / "shared" / "a"])
    assert len({one.short for one in found.values()}) == 2


@pytest.mark.parametrize("seed", range(6))
def test_histories_with_merges(git: Git, tmp_path: Path, seed: int) -> None:
    """Branches, merges that keep one side, sides that undo what they did, the same change on both: git is right."""
    chance = random.Random(seed)
    top = tmp_path / "shared"
    names = [f"f{number}" for number in range(5)]
    commit(git, "empty")
    branches = ["main"]
    for turn in range(40):
        act = chance.random()
        if act < 0.15 and len(branches) < 5:
            branches.append(f"b{turn}")
            git("switch", "-q", "-c", branches[-1])
        elif act < 0.3:
            git("switch", "-q", chance.choice(branches))
        elif act < 0.5 and len(branches) > 1:
            others = chance.sample(branches, chance.choice([1, 1, 1, min(2, len(branches))]))
            way = chance.choice([["-X", "ours"], ["-X", "theirs"], ["-s", "ours"], ["-s", "ours"]])
            git("merge", "-q", "--no-edit", *way, *others, fails=True)
            if git("ls-files", "--unmerged"):  # one side took a file away
                commit(git, "conflict")
            git("merge", "--abort", fails=True)
            git("reset", "-q", "--hard")
        else:
            for name in chance.sample(names, chance.choice([0, 1, 1, 2])):
                if (top / name).exists() and chance.random() < 0.2:
                    (top / name).unlink()
                else:
                    (top / name).write_text(chance.choice("abc"))
            commit(git)
    for branch in branches:
        git("switch", "-q", branch)
        same_as_one_by_one([top / name for name in names if (top / name).exists()])


def test_git_is_asked_once_for_all(git: Git, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    top = tmp_path / "shared"
    for number in range(30):
        (top / f"{number % 7}").mkdir(exist_ok=True)
        (top / f"{number % 7}" / f"{number}").write_text("text")
    commit(git)
    asked: list[object] = []
    run = subprocess.run

    def counted(*arguments: object, **more: object) -> object:
        asked.append(arguments)
        return run(*arguments, **more)  # type: ignore[call-overload]

    monkeypatch.setattr(subprocess, "run", counted)
    found, _ = last_commits([path for path in top.rglob("*") if path.is_file() and ".git" not in path.parts])
    assert (len(found), len(asked)) == (30, 3)


def test_several_repositories_none_and_one_without_a_commit(git: Git, tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    outside.write_text("text")
    inner = tmp_path / "shared" / "inner"
    inner.mkdir()
    (inner / "one").write_text("text")
    (tmp_path / "shared" / "one").write_text("text")
    git("init", "-q", "inner")
    every = [outside, inner / "one", tmp_path / "shared" / "one"]
    assert last_commits(every) == ({}, [])
    git("-C", "inner", "add", "one")
    git("-C", "inner", "commit", "-q", "-m", "inner")
    assert list(same_as_one_by_one(every)) == [inner / "one"]


def test_a_repository_that_cannot_be_read_says_so(
    git: Git, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "shared" / "one").write_text("text")
    commit(git)

    def failing(*_: object) -> None:
        raise GitFailed("it does not answer")

    monkeypatch.setattr(revisions, "_steps", failing)
    found, failures = last_commits([tmp_path / "shared" / "one"])
    assert (found, failures) == ({}, [f"{tmp_path / 'shared'}: it does not answer"])
