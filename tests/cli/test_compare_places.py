"""compare in the clones that people have: sparse, shallow, bare; and what it says of words it cannot take."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.test_compare import edit, git
from tests.conftest import Run

PAGE = 'glaze "{name}"\ncone: 9\n\nbase:\n    dolomite         {dolomite}\n    potash feldspar  {feldspar}\n'


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.fixture
def top(tmp_path: Path) -> Path:
    top = tmp_path / "upstream"
    top.mkdir()
    git(top, "init", "-q", "-b", "main")
    for folder, name in (("Öfen", "Alder 2"), ("shed", "Birch")):
        (top / folder).mkdir()
        (top / folder / f"{name}.glost").write_text(PAGE.format(name=name, dolomite=30, feldspar=70), "utf-8")
    git(top, "add", ".")
    git(top, "commit", "-q", "-m", "one")
    edit(top / "shed" / "Birch.glost", ("30", "31"), ("70", "69"))
    git(top, "commit", "-q", "-a", "-m", "two")
    return top


def test_what_a_sparse_checkout_leaves_out_is_not_taken_out(run: Run, top: Path) -> None:
    git(top, "sparse-checkout", "set", "shed")
    assert not (top / "Öfen").exists()
    done = run("compare", "--brief", cwd=top)
    assert (done.returncode, done.stdout) == (0, "")
    assert "1 recipe not compared: a sparse checkout leaves them out here\n" in done.stderr
    edit(top / "shed" / "Birch.glost", ("31", "32"), ("69", "68"))
    done = run("compare", "HEAD~1", "--brief", cwd=top)
    assert done.stdout == "Birch (shed/Birch.glost): dolomite 30 -> 32; potash feldspar 70 -> 68\n"
    # What is really gone is told as ever, and so is what two revisions say.
    (top / "shed" / "Birch.glost").unlink()
    assert "Birch (shed/Birch.glost): taken out" in run("compare", "--brief", cwd=top).stdout
    git(top, "rm", "-q", "--cached", "--sparse", "Öfen/Alder 2.glost")
    assert "Alder 2 (Öfen/Alder 2.glost): taken out" in run("compare", "--staged", "--brief", cwd=top).stdout


@pytest.mark.parametrize("word", ["HEAD~1", "HEAD~1..HEAD"])
def test_shallow_clone_says_how_to_get_what_came_before(run: Run, top: Path, word: str) -> None:
    git(top.parent, "clone", "-q", "--depth", "1", top.as_uri(), "clone")
    done = run("compare", word, cwd=top.parent / "clone")
    assert done.returncode == 2
    assert "this clone is shallow, and  git fetch --unshallow  brings what came before." in done.stderr
    assert "shallow" not in run("compare", "HEAD~9", cwd=top).stderr


@pytest.mark.parametrize("words", [(), ("HEAD~1", "HEAD"), ("--staged",)])
def test_bare_repository_is_called_one(run: Run, top: Path, words: tuple[str, ...]) -> None:
    git(top.parent, "clone", "-q", "--bare", str(top), "bare.git")
    done = run("compare", *words, cwd=top.parent / "bare.git")
    assert done.returncode == 2
    assert "lies in a bare repository or in the store of one, and not in a clone" in done.stderr
    assert run("git-setup", cwd=top.parent / "bare.git").returncode == 2


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ("HEAD", "--", "--brief"),
            "'--brief' is neither here nor in HEAD; an option stands before the  --.",
        ),
        (
            ("HEAD~1", "HEAD", "--", "*.glost"),
            "'*.glost' is not in HEAD~1 or HEAD; a path names a file or a folder, and no pattern.",
        ),
        (("Öfen/Alder 2.glost",), "write  glost compare -- 'Öfen/Alder 2.glost'  to hold it"),
    ],
)
def test_words_that_cannot_be_taken(run: Run, top: Path, words: tuple[str, ...], said: str) -> None:
    done = run("compare", *words, cwd=top)
    assert done.returncode == 2
    assert said in done.stderr


def test_repository_within_this_one_is_not_passed_over_where_it_is_named(run: Run, top: Path) -> None:
    within = top / "shed" / "of the school"
    git(top.parent, "clone", "-q", str(top), "clone")
    (top.parent / "clone").rename(within)
    edit(within / "Öfen" / "Alder 2.glost", ("cone: 9", "cone: 10"))
    assert run("compare", cwd=top).returncode == 0
    for named in ("shed/of the school", "shed/of the school/Öfen/Alder 2.glost"):
        for words in ((), ("HEAD",), ("HEAD~1", "HEAD"), ("--staged",)):
            done = run("compare", *words, "--", named, cwd=top)
            assert done.returncode == 2
            assert f"'{named}' lies in a repository of its own, within this one" in done.stderr
    assert run("compare", "--brief", cwd=within).stdout == "Alder 2 (Öfen/Alder 2.glost): cone 9 -> 10\n"
    assert run("compare", "--", "shed", cwd=top).returncode == 0
