"""What somebody is told who has just begun: the wrong folder, a word that is not there, something left out."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import Run

PAGE = """\
glaze "Lee Shore"
cone: 6
atmosphere: oxidation
use: test
tags: tile, wall

base:
    nepheline syenite      60
    whiting                40
"""


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.mark.parametrize(
    "words",
    [
        ["lint"],
        ["lint", "."],
        ["lint", "--level", "error"],
        ["format", "--check"],
        ["convert", "--to", "sheet"],
        ["catalog", "--to", "csv"],
        ["find", "--kind", "glaze"],
        ["formula"],
        ["formula", "--output", "json"],
        ["batch"],
        ["cost"],
        ["plot", "--out", "plot.svg"],
    ],
    ids=" ".join,
)
def test_a_folder_without_recipes_is_told_once(run: Run, tmp_path: Path, words: list[str]) -> None:
    (tmp_path / "notes.txt").write_text(PAGE)
    done = run(*words, cwd=tmp_path)
    assert done.returncode == 0
    assert (
        done.stderr.count("glost: no recipe found in this folder: a recipe is a file that ends in .glost")
        == 1
    )
    (tmp_path / "lee-shore.glost").write_text(PAGE)
    assert "no recipe found" not in run(*words, cwd=tmp_path).stderr


def test_folders_are_named_in_which_no_recipe_was_found(run: Run, tmp_path: Path) -> None:
    for name in ("blue", "red"):
        (tmp_path / name).mkdir()
    assert "no recipe found in blue, red:" in run("lint", "blue", "red", cwd=tmp_path).stderr


@pytest.mark.parametrize("word", ["lint", "LINT", "Batch", "hlep", "git_setup"])
def test_a_command_that_is_spelt_otherwise_is_offered(run: Run, word: str) -> None:
    meant = {"hlep": "help", "git_setup": "git-setup"}.get(word, word.lower())
    done = run(word, "nothing-is-here")
    assert done.returncode == 2
    assert (f"Did you mean '{meant}'?" in done.stderr) is (word != meant)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["count", "silica=5 kg"], "Missing option '--on'. Its day, as 2026-03-14."),
        (["rescue", "x.glost"], "Missing option '--weighed'. All that is in the cup"),
        (["plot"], "Missing option '--out'. The file to write"),
        (["convert"], "Missing option '--to'. Choose from:"),
    ],
    ids=lambda one: " ".join(one) if isinstance(one, list) else "",
)
def test_an_option_that_has_to_be_given_is_told_with_its_help(run: Run, words: list[str], says: str) -> None:
    done = run(*words)
    assert done.returncode == 2
    assert says in done.stderr


@pytest.mark.parametrize("command", ["history", "blame"])
def test_without_git_it_is_said_how_a_page_gets_a_history(run: Run, tmp_path: Path, command: str) -> None:
    (tmp_path / "lee-shore.glost").write_text(PAGE)
    assert "'git init' begins one" in run(command, "lee-shore.glost", cwd=tmp_path).stderr
    assert "there is no file 'lee.glost'" in run(command, "lee.glost", cwd=tmp_path).stderr


@pytest.mark.parametrize(
    ("option", "word", "says"),
    [
        (
            "--atmosphere",
            "oxydation",
            "no recipe here says 'oxydation'; did you mean 'oxidation'? There are: oxidation",
        ),
        (
            "--atmosphere",
            "Oxidation",
            "no recipe here says 'Oxidation'; did you mean 'oxidation'? There are: oxidation",
        ),
        ("--use", "food", "no recipe here says 'food'; There are: test"),
        ("--tag", "wal", "no recipe here says 'wal'"),
        ("--tag", "Tile", ""),
        ("--atmosphere", "oxidation", ""),
    ],
)
def test_a_word_that_no_recipe_says_is_told(
    run: Run, tmp_path: Path, option: str, word: str, says: str
) -> None:
    (tmp_path / "lee-shore.glost").write_text(PAGE)
    done = run("find", option, word, cwd=tmp_path)
    assert (done.returncode, done.stdout) == (0, "" if says else "lee-shore.glost\n")
    assert done.stderr.startswith(f"{option}: {says}" if says else "")
    assert bool(done.stderr) is bool(says)
