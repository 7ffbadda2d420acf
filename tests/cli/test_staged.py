"""What is about to be committed, with git itself: ``--staged`` of lint, format and compare looks at the index alone."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.test_compare import edit, git
from tests.conftest import Run
from tests.work import HANG_S

GOOD = (
    'glaze "Dune"\ncone: 6\nuse: test\n\nbase:\n    whiting  20\n    silica  60\n    feldspar, potash  20\n'
)
HEAD = 'glaze "{name}"\ncone: 6\n\nbase:\n    whiting  {whiting}\n    kaolin   {kaolin}\n'


def page(name: str, whiting: str = "60", kaolin: str = "40") -> str:
    return HEAD.format(name=name, whiting=whiting, kaolin=kaolin)


def only(run: Run, top: Path, *more: str) -> subprocess.CompletedProcess[str]:
    """The one rule that is asked here, so that no other speaks."""
    return run("lint", "--staged", "--select", "base-total", *more, cwd=top)


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.fixture
def top(tmp_path: Path) -> Path:
    git(tmp_path, "init", "-q", "-b", "main")
    (tmp_path / "sea").mkdir()
    (tmp_path / "dune.glost").write_text(page("Dune"), "utf-8")
    (tmp_path / "sea" / "foam.glost").write_text(page("Foam", "55", "45"), "utf-8")
    git(tmp_path, "add", ".")
    git(tmp_path, "commit", "-q", "-m", "one")
    return tmp_path


def test_a_page_is_judged_by_its_staged_text(run: Run, top: Path) -> None:
    edit(top / "dune.glost", ("60", "61"))
    git(top, "add", "dune.glost")
    edit(top / "dune.glost", ("61", "60"))
    done = only(run, top)
    assert done.returncode == 1
    assert "dune.glost:" in done.stdout
    assert "101" in done.stdout
    edit(top / "dune.glost", ("60", "60"))
    git(top, "add", "dune.glost")
    edit(top / "dune.glost", ("60", "66"))
    done = only(run, top)
    assert (done.returncode, done.stdout) == (0, "")
    assert "no recipe is staged to change" in done.stderr


def test_what_is_not_staged_blocks_nobody(run: Run, top: Path) -> None:
    (top / "scratch.glost").write_text('glaze "scr', "utf-8")
    edit(top / "dune.glost", ("60", "90"))
    edit(top / "sea" / "foam.glost", ("55", "54"), ("45", "46"))
    git(top, "add", "sea")
    done = only(run, top)
    assert (done.returncode, done.stdout) == (0, "")
    assert "1 recipe checked" in done.stderr
    assert run("format", "--check", "--staged", "scratch.glost", cwd=top).returncode == 0


def test_only_the_paths_that_are_named(run: Run, top: Path) -> None:
    for name in ("dune.glost", "sea/foam.glost"):
        edit(top / name, ("base:", "base:\n    silica  3"))
    git(top, "add", ".")
    assert "foam" not in only(run, top, "dune.glost").stdout
    done = only(run, top / "sea")
    assert "foam.glost" in done.stdout
    assert "dune" not in done.stdout
    assert run("lint", "--staged", "nowhere.glost", cwd=top).returncode == 2
    assert run("lint", "--staged", str(top.parent), cwd=top).returncode == 2


def test_the_collection_is_read_as_it_is_staged(run: Run, top: Path) -> None:
    (top / "glost.yaml").write_text("base tolerance: 5\n", "utf-8")
    edit(top / "dune.glost", ("60", "61"))
    git(top, "add", "dune.glost")
    # The file in the folder allows it, and is not about to be committed.
    assert only(run, top).returncode == 1
    git(top, "add", "glost.yaml")
    done = only(run, top)
    assert done.returncode == 0
    assert "glost.yaml is staged to change: every recipe of its collection counts as changed" in done.stderr
    assert "2 recipes checked" in done.stderr
    git(top, "commit", "-qm", "lax")
    git(top, "rm", "-q", "--cached", "glost.yaml")
    assert only(run, top).returncode == 1


def test_own_materials_are_those_that_are_staged(run: Run, top: Path) -> None:
    (top / "glost.yaml").write_text("materials: own.yaml\n", "utf-8")
    own = "materials:\n  - name: tip ash\n    role: ash\n    source: invented\n"
    (top / "own.yaml").write_text(own, "utf-8")
    edit(top / "dune.glost", ("kaolin ", "tip ash"))
    git(top, "add", ".")
    (top / "own.yaml").unlink()
    done = run("lint", "--staged", "--select", "unknown-material", cwd=top)
    assert done.returncode == 0, done.stdout
    git(top, "rm", "-q", "--cached", "own.yaml")
    done = run("lint", "--staged", cwd=top)
    assert done.returncode == 2
    assert "there is no file 'own.yaml' here" in done.stderr


def test_renamed_taken_away_and_only_intended(run: Run, top: Path) -> None:
    git(top, "mv", "dune.glost", "strand.glost")
    git(top, "rm", "-q", "sea/foam.glost")
    (top / "later.glost").write_text("", "utf-8")
    git(top, "add", "-N", "later.glost")
    done = only(run, top)
    assert "1 recipe checked" in done.stderr
    done = run("compare", "--staged", "--output", "json", cwd=top)
    assert '"strand.glost"' in done.stdout or "strand.glost" in done.stdout
    assert "later" not in done.stdout
    git(top, "add", "later.glost")  # an empty page that is really staged
    assert "later.glost" in run("lint", "--staged", "--output", "line", cwd=top).stdout


def test_a_merge_that_is_not_finished_is_told(run: Run, top: Path) -> None:
    git(top, "switch", "-qc", "side")
    edit(top / "dune.glost", ("60", "62"))
    git(top, "commit", "-qam", "side")
    git(top, "switch", "-q", "main")
    edit(top / "dune.glost", ("60", "58"))
    git(top, "commit", "-qam", "main")
    git(top, "merge", "side", check=False)
    for command in (["lint"], ["format", "--check"]):
        done = run(*command, "--staged", cwd=top)
        assert done.returncode == 2
        assert "dune.glost:" in done.stdout + done.stderr
        assert "is not finished" in done.stdout + done.stderr
    done = run("compare", ":2:dune.glost", ":3:dune.glost", cwd=top)
    assert done.returncode == 1
    assert "58 -> 62" in done.stdout
    assert run("compare", ":1:dune.glost", ":2:./dune.glost", cwd=top).returncode == 1


def test_nothing_committed_yet(run: Run, tmp_path: Path) -> None:
    git(tmp_path, "init", "-q")
    (tmp_path / "dune.glost").write_text(page("Dune", "61"), "utf-8")
    assert only(run, tmp_path).returncode == 0
    git(tmp_path, "add", ".")
    assert only(run, tmp_path).returncode == 1
    done = run("compare", "--staged", cwd=tmp_path)
    assert done.returncode == 1
    assert "new here" in done.stdout


def test_a_copy_of_a_page_that_is_not_staged_is_found(run: Run, top: Path) -> None:
    (top / "copy.glost").write_text(page("Dune"), "utf-8")
    git(top, "add", "copy.glost")
    done = run("lint", "--staged", "--select", "same-name", "--output", "line", cwd=top)
    assert "copy.glost" in done.stdout
    assert "dune.glost:1" in done.stdout
    git(top, "rm", "-q", "--cached", "dune.glost")
    assert run("lint", "--staged", "--select", "same-name", "--output", "line", cwd=top).stdout == ""


def test_layout_of_what_is_staged(run: Run, top: Path) -> None:
    laid_out = run("format", "-", stdin=page("Dune"), cwd=top).stdout
    (top / "dune.glost").write_text(laid_out.replace("    whiting", "       whiting"), "utf-8")
    git(top, "add", "dune.glost")
    (top / "dune.glost").write_text(laid_out, "utf-8")
    done = run("format", "--check", "--staged", cwd=top)
    assert (done.returncode, done.stdout) == (1, "dune.glost: would be laid out anew\n")
    assert "-       whiting" in run("format", "--diff", "--staged", cwd=top).stdout
    git(top, "add", "dune.glost")
    assert run("format", "--check", "--staged", cwd=top).returncode == 0


@pytest.mark.parametrize(
    "arguments",
    [
        ["lint", "--staged", "--fix"],
        ["lint", "--staged", "--write-baseline"],
        ["lint", "--staged", "--changed"],
        ["lint", "--staged", "-"],
        ["format", "--staged"],
        ["format", "--staged", "--check", "--changed"],
    ],
)
def test_wrong_usage(run: Run, top: Path, arguments: list[str]) -> None:
    done = run(*arguments, cwd=top)
    assert done.returncode == 2
    assert "--staged" in done.stderr or "standard input" in done.stderr


def test_no_repository(run: Run, tmp_path: Path) -> None:
    for command in (["lint"], ["format", "--check"], ["compare"]):
        done = run(*command, "--staged", cwd=tmp_path)
        assert done.returncode == 2
        assert "repository" in done.stderr


HOOK = f"""#!/bin/sh
exec '{sys.executable}' -m glost lint --staged --select base-total --output line
"""


@pytest.mark.parametrize("second_folder", [False, True])
def test_in_a_hook_the_index_of_the_commit_counts(
    top: Path, tmp_path_factory: pytest.TempPathFactory, second_folder: bool
) -> None:
    """git commit -a and git commit PATH hand an index of their own to the hook (githooks(5), GIT_INDEX_FILE)."""
    hook = top / ".git" / "hooks" / "pre-commit"
    hook.write_text(HOOK, "utf-8")
    hook.chmod(0o755)
    here = top
    if second_folder:
        here = tmp_path_factory.mktemp("beside") / "tree"
        git(top, "worktree", "add", "-q", str(here))

    def commit(*arguments: str) -> int:
        return subprocess.run(
            ["git", "-c", "user.name=Tern", "-c", "user.email=tern@example.org", "commit", "-qm", "x", *arguments],
            cwd=here, capture_output=True, check=False, timeout=HANG_S, env={**os.environ},
        ).returncode  # fmt: skip

    edit(here / "dune.glost", ("60", "61"))
    assert commit("-a") == 1
    assert commit("dune.glost") == 1
    edit(here / "sea" / "foam.glost", ("55", "54"), ("45", "46"))
    assert commit("sea/foam.glost") == 0  # though dune is changed in the folder
    git(here, "add", "dune.glost")
    edit(here / "sea" / "foam.glost", ("54", "53"), ("46", "47"))
    assert commit("sea/foam.glost") == 0  # though dune is staged: this commit leaves it out
    assert commit() == 1


def unfinished(top: Path, name: str, texts: tuple[str, str, str]) -> None:
    """A merge under way in which both sides changed a file."""
    file = top / name
    file.parent.mkdir(exist_ok=True)
    file.write_text(texts[0], "utf-8")
    git(top, "add", ".")
    git(top, "commit", "-q", "-m", "before")
    git(top, "switch", "-q", "-c", "trial")
    file.write_text(texts[1], "utf-8")
    git(top, "commit", "-q", "-a", "-m", "theirs")
    git(top, "switch", "-q", "main")
    file.write_text(texts[2], "utf-8")
    git(top, "commit", "-q", "-a", "-m", "ours")
    done = subprocess.run(["git", "merge", "trial"], cwd=top, capture_output=True, check=False)
    assert done.returncode == 1


@pytest.mark.parametrize("name", ["glost.yaml", "own things.yaml", "glost-baseline.json"])
@pytest.mark.parametrize("command", [("lint",), ("compare", "--brief")])
def test_settings_of_an_unfinished_merge_are_not_passed_over(
    run: Run, top: Path, name: str, command: tuple[str, ...]
) -> None:
    """Without them a page would be judged by settings that nobody has written."""
    (top / "glost.yaml").write_text("materials: own things.yaml\n", "utf-8")
    (top / "own things.yaml").write_text("materials: []\n", "utf-8")
    text = (top / name).read_text("utf-8") if (top / name).exists() else '{"version": 2, "findings": []}\n'
    unfinished(top, name, (text, f"{text}\n\n", f"{text}\n"))
    edit(top / "dune.glost", ("60", "61"), ("40", "39"))
    git(top, "add", "dune.glost")
    done = run(*command, "--staged", cwd=top)
    if command[0] == "compare" and name == "glost-baseline.json":  # it says nothing of a recipe
        assert done.returncode == 1
        return
    assert done.returncode == 2
    assert "the merge of this file is not finished: the index holds both sides" in done.stderr + done.stdout
    if name == "own things.yaml":
        assert "git diff ':2:own things.yaml' ':3:own things.yaml'" in done.stderr


def test_page_of_an_unfinished_merge_is_not_compared_in_silence(run: Run, top: Path) -> None:
    texts = (page("Chalk"), page("Chalk", "70", "30"), page("Chalk", "71", "29"))
    unfinished(top, "über der Tür/chalk 2.glost", texts)
    for command in (("compare",), ("lint",), ("format", "--check")):
        done = run(*command, "--staged", cwd=top)
        assert done.returncode == 2, command
        said = done.stdout + done.stderr
        assert said.count("the merge of this file is not finished: the index holds both sides") == 1
        both = [f"':{stage}:über der Tür/chalk 2.glost'" for stage in (2, 3)]
        assert f"see them with  glost compare {' '.join(both)}  ," in said
    sides = [word.strip("'") for word in both]
    done = run("compare", "--brief", *sides, cwd=top)
    assert (done.returncode, done.stdout) == (1, "Chalk (chalk 2.glost): kaolin 29 -> 30; whiting 71 -> 70\n")
    assert run("compare", "--staged", "dune.glost", cwd=top).returncode == 0
