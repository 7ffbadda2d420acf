"""The revisions of many files at once are those that git tells of each by itself."""

from __future__ import annotations

import os
import random
import subprocess
from pathlib import Path

import pytest

from glost.workspace.git import last_commit as module
from glost.workspace.git.last_commit import SHALLOW, LastCommit, NotKnown
from glost.workspace.git.last_commit import last_commits as last_commits_of


class Repository:
    """A repository whose commits are a minute apart, the same in every run."""

    def __init__(self, top: Path) -> None:
        self.top = top
        self.minutes = 0
        top.mkdir(parents=True, exist_ok=True)
        self.git("init", "--quiet", "-b", "main")

    def git(self, *arguments: str, fails: bool = False) -> str:
        self.minutes += 1
        when = f"2026-01-01T{self.minutes // 60 % 24:02}:{self.minutes % 60:02}:00Z"
        named = {"GIT_AUTHOR_NAME": "a", "GIT_AUTHOR_EMAIL": "a@example.org", "GIT_AUTHOR_DATE": when}
        named |= {name.replace("AUTHOR", "COMMITTER"): value for name, value in named.items()}
        done = subprocess.run(
            ["git", *arguments], cwd=self.top, env={**os.environ, **named}, capture_output=True, text=True
        )
        assert fails or done.returncode == 0, done.stderr
        return done.stdout.strip()

    def write(self, name: str, text: str) -> Path:
        path = self.top / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
        return path

    def commit(self, message: str = "change") -> str:
        self.git("add", "--all")
        self.git("commit", "--quiet", "--allow-empty", "-m", message)
        return self.git("log", "-1", "--format=%h")

    def files(self) -> list[Path]:
        return sorted(path for path in self.top.rglob("*") if ".git" not in path.parts and not path.is_dir())


@pytest.fixture(autouse=True)
def without_settings_of_the_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", os.devnull)
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")


def last_commits(paths: list[Path]) -> dict[Path, LastCommit]:
    """Those of collections without settings, which git knows."""
    return {path: one for path, one in asked(paths).items() if isinstance(one, LastCommit)}


def asked(paths: list[Path]) -> dict[Path, LastCommit | NotKnown]:
    return last_commits_of(paths, lambda _: None)


def _told(paths: list[Path]) -> dict[Path, tuple[str, bool]]:
    return {path: (one.short, one.changed) for path, one in last_commits(paths).items()}


def one_by_one(paths: list[Path]) -> dict[Path, LastCommit]:
    """What git itself says of each file, in the folder that it lies in."""
    found = {}
    for path in paths:
        said = git_says(path, "log", "-1", "--format=%h %cs")
        if said:
            short, day = said.split()
            found[path] = LastCommit(short, day, bool(git_says(path, "status", "--porcelain")))
    return found


def git_says(path: Path, *arguments: str) -> str:
    command = ["git", "--literal-pathspecs", *arguments, "--", path.name]
    return subprocess.run(command, cwd=path.parent, capture_output=True, text=True, check=False).stdout


@pytest.fixture
def repository(tmp_path: Path) -> Repository:
    return Repository(tmp_path / "studio")


def test_renamed_changed_staged_and_untracked(repository: Repository) -> None:
    for name in "abcdef":
        repository.write(f"shelf/{name}.glost", name * 40)
    repository.write("top.glost", "top")
    first = repository.commit()
    repository.git("mv", "shelf/a.glost", "shelf/moved.glost")
    renamed = repository.commit()
    repository.write("shelf/b.glost", "changed")
    repository.write("shelf/c.glost", "staged")
    repository.git("add", "shelf/c.glost")
    repository.git("mv", "shelf/d.glost", "shelf/moved-not-committed.glost")
    repository.write("shelf/new.glost", "untracked")
    repository.write("shelf/inner/new.glost", "untracked")
    repository.git("rm", "--quiet", "--cached", "shelf/e.glost")
    paths = repository.files()
    found = last_commits(paths)
    assert found == one_by_one(paths)
    assert {path.name: (one.short, one.changed) for path, one in found.items()} == {
        "moved.glost": (renamed, False),
        "b.glost": (first, True),
        "c.glost": (first, True),
        "e.glost": (first, True),
        "f.glost": (first, False),
        "top.glost": (first, False),
    }


def test_odd_names(repository: Repository) -> None:
    names = [
        "a b.glost", "tab\t.glost", "new\nline.glost", '"quoted".glost', ":colon.glost", "a*.glost", "ab.glost",
        "[a].glost", "-dash.glost", "größe.glost", "0" * 40, "R100 x.glost", " -> .glost", os.fsdecode(b"\xff.glost"),
    ]  # fmt: skip
    commits = {}
    for name in names:
        path = repository.write(f"odd [folder]/{name}", name.encode("utf-8", "replace").decode())
        commits[path] = (repository.commit(), False)
    assert last_commits(list(commits)) == one_by_one(list(commits))
    assert _told(list(commits)) == commits
    for path in commits:
        path.write_text("changed")
    assert _told(list(commits)) == {path: (commit, True) for path, (commit, _) in commits.items()}


def test_merge_that_keeps_one_side_or_neither(repository: Repository) -> None:
    for name in ("kept", "both", "same", "far"):
        repository.write(f"{name}.glost", "first")
    repository.commit()
    repository.git("checkout", "--quiet", "-b", "side")
    for name in ("kept", "both", "same"):
        repository.write(f"{name}.glost", "side" if name != "same" else "alike")
    repository.commit()
    repository.git("checkout", "--quiet", "main")
    for name in ("both", "same"):
        repository.write(f"{name}.glost", "main" if name != "same" else "alike")
    repository.commit()
    repository.git("merge", "--quiet", "--no-commit", "side", fails=True)
    repository.write("both.glost", "of both")
    repository.write("kept.glost", "first")  # what the side did is not taken
    merge = repository.commit()
    repository.write("far.glost", "last")
    repository.commit()
    paths = repository.files()
    found = last_commits(paths)
    assert found == one_by_one(paths)
    assert found[repository.top / "both.glost"] == LastCommit(merge, "2026-01-01", False)


@pytest.mark.parametrize("seed", range(6))
def test_any_history(repository: Repository, monkeypatch: pytest.MonkeyPatch, seed: int) -> None:
    """Branches, merges of two and three, files that come, go and come back; looked at in small pieces too."""
    monkeypatch.setattr(module, "_FIRST_LOOK", 1 + seed % 3 * 40)
    chance = random.Random(seed)
    branches = ["main"]
    repository.commit("empty")
    for number in range(30):
        repository.git("checkout", "--quiet", "--force", chance.choice(branches))
        step = chance.random()
        if step < 0.25:
            branches.append(f"branch-{number}")
            repository.git("checkout", "--quiet", "-b", branches[-1])
        elif step < 0.5 and len(branches) > 2:
            others = chance.sample(branches, chance.choice([1, 1, 2]))
            strategy = chance.choice(
                [["-s", "ours"], ["-X", "ours"], ["-X", "theirs"]] if len(others) == 1 else [["-s", "ours"]]
            )
            repository.git("merge", "--quiet", "--no-ff", "-m", "merge", *strategy, *others, fails=True)
            repository.commit()
        for _ in range(chance.randrange(3)):
            path = repository.top / f"{chance.choice('xy')}/{chance.randrange(4)}.glost"
            if path.exists() and chance.random() < 0.3:
                path.unlink()
            else:
                repository.write(str(path.relative_to(repository.top)), str(chance.randrange(3)))
        repository.commit()
    checked = 0
    for branch in branches:
        repository.git("checkout", "--quiet", "--force", branch)
        paths = repository.files()
        found = last_commits(paths)
        assert found == one_by_one(paths)
        checked += len(found)
    assert checked > 10


def test_nested_repositories_links_and_files_of_none(tmp_path: Path, repository: Repository) -> None:
    inner = Repository(repository.top / "shelf" / "inner")
    inside = [inner.write(f"deep/er/{name}.glost", name) for name in "ab"]
    inner.commit()
    outside = [repository.write(f"shelf/{name}.glost", name) for name in "cd"]
    repository.write(".gitignore", "inner\n")
    repository.commit()
    (tmp_path / "linked").symlink_to(repository.top / "shelf")
    linked = [tmp_path / "linked" / path.name for path in outside]
    (repository.top / "shelf" / "empty" / ".git").mkdir(parents=True)  # no repository, and git says so
    beside = repository.write("shelf/empty/e.glost", "e")
    (tmp_path / "broken").mkdir()
    (tmp_path / "broken" / ".git").write_text("gitdir: nowhere\n")
    (tmp_path / "broken" / "f.glost").write_text("f")
    (tmp_path / "none.glost").write_text("none")
    unborn = Repository(tmp_path / "unborn")
    of_none = [tmp_path / "broken" / "f.glost", tmp_path / "none.glost"]
    of_none += [unborn.write(f"{name}.glost", name) for name in "ghi"]
    paths = [*inside, *outside, *linked, beside, *of_none]
    found = last_commits(paths)
    assert found == one_by_one(paths)
    assert set(found) == {*inside, *outside, *linked}
    unsaid = {path: one.why for path, one in asked(paths).items() if isinstance(one, NotKnown)}
    assert list(unsaid) == of_none[:1]
    assert unsaid[of_none[0]].startswith("fatal: not a git repository: ")


def test_shallow_clone_and_worktree(tmp_path: Path, repository: Repository) -> None:
    for number in range(4):
        repository.write(f"{number}.glost", "text")
        repository.commit()
    repository.git("worktree", "add", "--quiet", str(tmp_path / "tree"), "HEAD~1")
    source = f"file://{repository.top}"
    subprocess.run(["git", "clone", "--quiet", "--depth", "2", source, str(tmp_path / "clone")], check=True)
    for folder in ("tree", "clone"):
        paths = sorted((tmp_path / folder).glob("*.glost"))
        assert len(paths) >= 3
        edge = (tmp_path / "clone" / ".git" / "shallow").read_text()[:7] if folder == "clone" else "none"
        expected = {
            path: NotKnown(SHALLOW) if one.short.startswith(edge) else one
            for path, one in one_by_one(paths).items()
        }
        assert asked(paths) == expected
        assert len(asked(paths)) == len(paths)
        assert (NotKnown(SHALLOW) in expected.values()) == (folder == "clone")


@pytest.mark.parametrize("count", [1, 2, 3, 60])
def test_git_is_called_as_often_for_many_files_as_for_some(
    repository: Repository, monkeypatch: pytest.MonkeyPatch, count: int
) -> None:
    calls: list[object] = []
    run = subprocess.run

    def counted(command: list[str], **more: object) -> object:
        calls.append(command)
        return run(command, **more)  # type: ignore[call-overload]

    for number in range(count):
        repository.write(f"{number % 7}/{number}.glost", str(number))
    repository.commit()
    paths = repository.files()
    monkeypatch.setattr(subprocess, "run", counted)
    assert len(last_commits(paths)) == count
    assert len(calls) <= {1: 4, 2: 5}.get(count, 6)  # one of them asks whether the clone is shallow


def test_without_git(repository: Repository, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    paths = [repository.write(f"{name}.glost", name) for name in "abc"]
    repository.commit()
    monkeypatch.setenv("PATH", str(tmp_path))
    why = "git could not be started: there is none on the path, outside of this folder"
    assert asked(paths) == dict.fromkeys(paths, NotKnown(why))
    lone = tmp_path / "lone.glost"
    lone.write_text("lone")
    assert asked([lone]) == {}  # no repository: that needs no git
