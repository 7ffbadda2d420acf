"""glost convert as a process."""

from __future__ import annotations

import json
import re
import subprocess
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest

from glost.output.format import find_format
from glost.recipe.recipe import Recipe
from glost.workspace.collection import Collections, find
from glost.workspace.load import load
from tests.conftest import STUDIO, TOP, Run

RECIPE = """\
glaze "Harbour Mist"
cone: 6

base:
    nepheline syenite      60
    whiting                40

additions:
    tin oxide               2

variation "bare":
    tin oxide               0
"""


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def recipes_of_the_studio() -> list[Recipe]:
    collections = Collections()
    return [
        without_uses(load(path, collections).resolved.recipe) for path in find([str(STUDIO)], collections)
    ]


def without_uses(recipe: Recipe) -> Recipe:
    """A recipe without those that it uses: their paths are shown from where the command runs, and a table has none of
    them. That they come back is held by tests/cli/test_blend_forms.py."""
    return replace(recipe, uses={})


@pytest.mark.parametrize("to", ["json", "csv", "jsonl"])
def test_whole_studio_reads_back_to_equal_recipes(run: Run, tmp_path: Path, to: str) -> None:
    done = run("convert", str(STUDIO), "--to", to, "--out", "out")
    assert done.returncode == 0, done.stderr
    chosen = find_format(to)
    read = chosen.read
    assert read is not None
    files = sorted((tmp_path / "out").rglob(f"*{chosen.ending}"))
    back = {
        recipe.name: without_uses(recipe)
        for file in files
        for recipe in read(file.read_bytes().decode("utf-8"))
    }
    recipes = recipes_of_the_studio()
    assert len(files) == len(recipes) >= 40
    assert sorted(back.values(), key=lambda r: r.name) == sorted(recipes, key=lambda r: r.name)


def test_every_json_file_keeps_the_schema(run: Run, tmp_path: Path) -> None:
    run("convert", str(STUDIO), "--to", "json", "--out", "out")
    schema = json.loads((TOP / "schema" / "recipe.schema.json").read_text("utf-8"))
    files = list((tmp_path / "out").rglob("*.json"))
    assert len(files) >= 40
    for file in files:
        jsonschema.validate(json.loads(file.read_text("utf-8")), schema)


def test_one_file_for_all(run: Run, tmp_path: Path) -> None:
    done = run("convert", str(STUDIO / "washes"), "--to", "jsonl", "--out", "washes.jsonl")
    assert done.returncode == 0
    lines = (tmp_path / "washes.jsonl").read_text("utf-8").splitlines()
    assert len(lines) == len(list((STUDIO / "washes").glob("*.glost")))


def test_recipe_that_cannot_be_read_is_not_converted_and_the_others_are(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(RECIPE + "    kaolin\n")
    (tmp_path / "b.glost").write_text(RECIPE)
    done = run("convert", "--to", "sheet", "--out", "out")
    assert done.returncode == 1
    assert "a.glost: not converted; fix it first" in done.stderr
    assert [path.name for path in (tmp_path / "out").glob("*.txt")] == ["b.txt"]


def test_a_sheet_for_each_test_at_the_batch_asked_for(run: Run) -> None:
    done = run("convert", "-", "--to", "sheet", "--batch", "500 g", stdin=RECIPE)
    assert done.returncode == 0
    plain, bare, statements = done.stdout.split("\f")
    assert statements.startswith("\nHarbour Mist: hazard statements\n")
    assert "510.0 g" in plain  # base 500 g and 2 parts of 100 on top (common practice)
    assert "500.0 g" in bare


def test_revision_is_printed_and_a_change_since_is_said(run: Run, tmp_path: Path) -> None:
    def git(*arguments: str) -> str:
        command = ["git", "-c", "user.name=a", "-c", "user.email=a@example.org", *arguments]
        return subprocess.run(
            command, cwd=tmp_path, check=True, capture_output=True, text=True
        ).stdout.strip()

    git("init", "--quiet")
    (tmp_path / "a.glost").write_text(RECIPE)
    assert "not under version control" in run("convert", "a.glost", "--to", "sheet").stdout
    git("add", "a.glost")
    git("commit", "--quiet", "-m", "a")
    commit = git("log", "-1", "--format=%h")
    sheet = run("convert", "a.glost", "--to", "sheet").stdout
    assert f"revision {commit}" in " ".join(sheet.split())
    assert "changed since" not in sheet
    (tmp_path / "a.glost").write_text(RECIPE.replace("60", "61").replace("40", "39"))
    assert "changed since" in run("convert", "a.glost", "--to", "sheet").stdout


def test_out_file_in_a_folder_that_cannot_be_made(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(RECIPE)
    (tmp_path / "file").write_text("")
    done = run("convert", "a.glost", "--to", "csv", "--out", "file/x.csv")
    assert done.returncode == 2
    assert "Traceback" not in done.stderr


# ---- single tests --------------------------------------------------------------------------------------

TESTED = """\
glaze "Harbour Mist"
cone: 6

base:
    nepheline syenite      60
    whiting                40

variation "storm":
    cobalt carbonate        1

series "steps":
    rutile                  1, 2, 4
"""
PLAIN = TESTED.partition("\nvariation")[0].replace("Harbour Mist", "Dune") + "\n"


@pytest.fixture
def tested(tmp_path: Path) -> Path:
    (tmp_path / "mist.glost").write_text(TESTED)
    (tmp_path / "dune.glost").write_text(PLAIN)
    return tmp_path


@pytest.mark.parametrize("to", ["sheet", "markdown", "html", "labels"])
def test_only_the_tests_that_are_asked_for(run: Run, tested: Path, to: str) -> None:
    whole = run("convert", "--to", to).stdout
    done = run("convert", "--to", to, "--test", "storm", "--test", "steps 2")
    assert (done.returncode, done.stderr) == (0, "")
    for text in (whole, done.stdout):
        assert "storm" in text
        assert "steps 2" in text
    for other in ("steps 1", "steps 3", "Dune"):
        assert other in whole
        assert other not in done.stdout


def test_sheets_of_single_tests_say_which_they_are(run: Run, tested: Path) -> None:
    """The sheet of all tests stays beside them, and what is kept from run to run takes none for another."""
    assert run("convert", "--to", "sheet", "--out", "out").stderr == "out: 2 recipes written\n"
    for _ in range(2):
        assert run("convert", "--to", "sheet", "--out", "out", "--test", "storm").returncode == 0
        assert run("convert", "--to", "sheet", "--out", "out", "--test", "harbour mist").returncode == 0
    held = {path.name: path.read_text() for path in (tested / "out").glob("*.txt")}
    assert sorted(held) == ["dune.txt", "mist.harbour-mist.txt", "mist.storm.txt", "mist.txt"]
    assert re.findall(r"^\[ \].*?(?=  )", held["mist.storm.txt"], re.MULTILINE) == [
        "[ ] nepheline syenite",
        "[ ] whiting",
        "[ ]!cobalt carbonate",  # 1 g, of which the assumed balance is not sure to 2 %
    ]
    assert "  test      storm: cobalt carbonate 1" in held["mist.storm.txt"].splitlines()[:4]
    assert held["mist.harbour-mist.txt"].count("[ ] ") == 2
    assert held["mist.txt"].startswith(held["mist.harbour-mist.txt"].partition("\n")[0])


def test_a_test_that_is_not_there(run: Run, tested: Path) -> None:
    done = run("convert", "--to", "sheet", "--test", "strom", "--out", "out")
    assert done.returncode == 2
    assert "no recipe here has a test 'strom'. Did you mean 'storm'?" in done.stderr
    assert not (tested / "out").exists()


@pytest.mark.parametrize("to", ["csv", "json", "jsonl"])
def test_whole_recipes_have_no_single_tests(run: Run, tested: Path, to: str) -> None:
    done = run("convert", "--to", to, "--test", "storm")
    assert done.returncode == 2
    assert f"{to} holds whole recipes, with all of their tests: leave --test out" in done.stderr
