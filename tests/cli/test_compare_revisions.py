"""The words of git for a revision (gitrevisions(7)), as `glost compare` takes them: each means what ``git rev-parse``
says that it means."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Run

PAGE = """\
slip "Cinder"
cone: 3
origin: invented for this test
use: test

base:
    ball clay   60
    silica      25
    talc        {talc}
"""


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def git(top: Path, *words: str) -> str:
    return subprocess.run(["git", *words], cwd=top, check=True, capture_output=True, text=True).stdout.strip()


def commit(top: Path, talc: int, message: str) -> None:
    (top / "cinder.glost").write_text(PAGE.format(talc=talc), "utf-8")
    git(top, "add", "-A")
    git(top, "commit", "-qm", message)


@pytest.fixture
def top(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Amounts of talc that tell each commit apart."""
    for who in ("AUTHOR", "COMMITTER"):
        monkeypatch.setenv(f"GIT_{who}_NAME", "Tern Saltmarsh")
        monkeypatch.setenv(f"GIT_{who}_EMAIL", "tern@example.org")
        monkeypatch.setenv(f"GIT_{who}_DATE", "2026-02-03T10:00:00 +0000")
    monkeypatch.chdir(tmp_path)
    git(tmp_path, "init", "-q", "-b", "main")
    commit(tmp_path, 11, "begin")
    git(tmp_path, "tag", "-a", "fired/first", "-m", "out of the kiln")
    commit(tmp_path, 12, "slump: less..more talc")
    git(tmp_path, "branch", "kept")
    commit(tmp_path, 13, "crawled at the foot")
    git(tmp_path, "branch", "-u", "kept")
    git(tmp_path, "checkout", "-q", "-b", "trial")
    commit(tmp_path, 14, "trial")
    git(tmp_path, "checkout", "-q", "main")
    (tmp_path / "cinder.glost").write_text(PAGE.format(talc=40), "utf-8")
    return tmp_path


def talc(run: Run, top: Path, *words: str) -> list[str]:
    """The amounts of talc on both sides, as they are written."""
    document: Any = json.loads(run("compare", "--output", "json", *words, cwd=top).stdout)
    (one,) = document["recipes"]
    (change,) = [each for each in one["changes"] if each["what"] == "talc"]
    return [side["as_written"][0] for side in (change["old"], change["new"])]


def held(top: Path, revision: str) -> str:
    """The amount in the commit that git says is meant."""
    name = git(top, "rev-parse", "--verify", "--end-of-options", revision)
    return git(top, "show", f"{name}^{{commit}}:cinder.glost").split()[-1]


@pytest.mark.parametrize(
    "word",
    [
        *(
            "main",
            "heads/main~1",
            "refs/heads/trial",
            "fired/first",
            "tags/fired/first",
            "fired/first^{}",
            "@",
            "@~2",
        ),
        *(
            "HEAD^",
            "HEAD^0",
            "HEAD~1^{commit}",
            "main@{0}",
            "main@{1}",
            "@{2}",
            "@{u}",
            "main@{upstream}",
            "@{-1}",
        ),
        *(":/begin", ":/^crawled at", ":/less..more", ":/slump: less", ":/!-crawled"),
        *("HEAD^{/begin}", "trial^{/less..more}", "HEAD^{/slump: less}", "HEAD^{/[f]oot}"),
    ],
)
def test_whatever_git_takes_for_a_commit_is_one(run: Run, top: Path, word: str) -> None:
    assert talc(run, top, word) == [held(top, word), "40"]


@pytest.mark.parametrize(
    ("words", "old", "new"),
    [
        ([":/begin..trial"], ":/begin", "trial"),
        (["trial..:/begin"], "trial", ":/begin"),
        (["HEAD^{/less..more}..trial"], "HEAD~1", "trial"),
        (["HEAD^{/less..more}...trial"], "HEAD~1", "trial"),
        (["kept...trial"], "kept", "trial"),
        ([":/begin", "HEAD^{/slump: less}"], ":/begin", "HEAD~1"),
        (["HEAD^{/slump: less}:cinder.glost", "trial:cinder.glost"], "HEAD~1", "trial"),
        (["HEAD^{/slump: less}:", "trial:"], "HEAD~1", "trial"),
        (["--staged", ":/begin"], ":/begin", "HEAD"),
    ],
)
def test_two_revisions(run: Run, top: Path, words: list[str], old: str, new: str) -> None:
    assert talc(run, top, *words) == [held(top, old), held(top, new)]


@pytest.mark.parametrize(
    ("word", "said"),
    [
        (
            ":/never said",
            "no commit here has 'never said' in its message, which is what ':/never said' asks for",
        ),
        (":/cinder.glost", "write  :cinder.glost  for a staged file."),
        ("kept^{/crawled}", "no commit that 'kept' comes from has 'crawled' in its message"),
        ("^main", "'^main' is no file or folder here, and no revision"),
        ("main@{7}", "'main@{7}' is no file or folder here, and no revision"),
        ("main:", "'main:' is one side, and two are compared"),
        ("nowhere..main", "'nowhere' in 'nowhere..main' is no revision that git knows here"),
        ("main..nowhere", "'nowhere' in 'main..nowhere' is no revision that git knows here"),
        ("../gone.glost", "'../gone.glost' is no file or folder here"),
        ("main^{tree}", "'main^{tree}' is no file or folder here, and no revision"),
    ],
)
def test_what_git_does_not_take_is_told(run: Run, top: Path, word: str, said: str) -> None:
    done = run("compare", word, cwd=top)
    assert done.returncode == 2
    assert said in done.stderr


def test_a_word_that_is_a_path_and_a_revision_is_asked_back(run: Run, top: Path) -> None:
    (top / "trial").mkdir()
    (top / "trial" / "cinder.glost").write_text(PAGE.format(talc=50), "utf-8")
    for words in (["trial"], ["trial", "cinder.glost"], ["main", "trial"], ["--staged", "trial"]):
        done = run("compare", *words, cwd=top)
        assert done.returncode == 2
        assert "write ./trial for the path, trial~0 for the revision." in done.stderr
    assert talc(run, top, "trial~0", "--", "cinder.glost") == ["14", "40"]
    assert talc(run, top, "./trial/cinder.glost", "cinder.glost") == ["50", "40"]
    assert run("compare", "main", "--", "trial", cwd=top).returncode == 1


def test_a_folder_that_a_commit_happens_to_begin_like_is_a_folder(run: Run, top: Path) -> None:
    name = git(top, "rev-parse", "HEAD")[:7]
    (top / name).mkdir()
    (top / name / "cinder.glost").write_text(PAGE.format(talc=50), "utf-8")
    assert talc(run, top, f"{name}/cinder.glost", "cinder.glost") == ["50", "40"]
    assert run("compare", name, ".", cwd=top).returncode == 1


def test_a_colon_in_braces_belongs_to_the_revision_of_a_history(run: Run, top: Path) -> None:
    done = run("history", "HEAD^{/slump: less}:cinder.glost", "--output", "csv", cwd=top)
    assert done.returncode == 0
    assert "crawled" not in done.stdout
    assert "begin" in done.stdout


def test_changed_since_a_message(run: Run, top: Path) -> None:
    assert "1 recipe checked" in run("lint", "--changed", ":/crawled", cwd=top).stderr
