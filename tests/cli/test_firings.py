"""glost firing and glost results: from what was weighed to what came of it."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import jsonschema
import pytest

from tests.conftest import STUDIO, TOP, Run


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


RECIPE = 'glaze "Low Tide"\ncone: 6\n\nbase:\n    silica                 40\n    whiting                60\n'


def firing(number: int, day: str, below: str = "    faults: pinholes\n") -> str:
    return f'firing "Kiln {number}"\ndate: {day}\n\ntile "1":\n    test: glaze "Low Tide"\n{below}'


def test_the_second_tile_says_what_was_changed_in_the_log(run: Run) -> None:
    said = run("results", str(STUDIO), "--output", "json")
    assert said.returncode == 0
    document = json.loads(said.stdout)
    schema = json.loads((TOP / "schema" / "results.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator(schema).validate(document)
    second = document["results"][1]
    assert second["before"] == {"date": "2026-03-21", "tile": "14-A"}
    assert [(one["what"], one["old"], one["new"]) for one in second["changes"]] == [
        ("cobalt carbonate", "0.50", "1.00")
    ]
    assert (second["person"], second["composition"]) == ("R. T.", "weighed")


def test_a_page_that_git_does_not_know_is_taken_as_it_is_and_said_so(tmp_path: Path, run: Run) -> None:
    (tmp_path / "glost.yaml").write_text("name: Test\n")
    (tmp_path / "low-tide.glost").write_text(RECIPE)
    (tmp_path / "a.firing").write_text(firing(1, "2026-05-01"))
    (tmp_path / "b.firing").write_text(firing(2, "2026-05-08", "    colour: grey\n"))
    said = run("results", str(tmp_path / "low-tide.glost"))
    assert said.returncode == 0
    assert "the page as it is now is taken" in said.stdout
    assert "since tile 1 of 2026-05-01, Kiln 1: nothing" in said.stdout
    only = run("results", str(tmp_path), "--fault", "Pinholes", "--output", "csv")
    rows = list(csv.DictReader(io.StringIO(only.stdout)))
    assert [row["firing"] for row in rows] == ["Kiln 1"]


def test_a_firing_that_cannot_be_read_is_left_out_and_told(tmp_path: Path, run: Run) -> None:
    (tmp_path / "low-tide.glost").write_text(RECIPE)
    (tmp_path / "a.firing").write_text(firing(1, "2026-05-01"))
    (tmp_path / "b.firing").write_text(firing(2, "tomorrow"))
    said = run("results", str(tmp_path))
    assert said.returncode == 1
    assert "b.firing:2:7: error: 'tomorrow' is not a date" in said.stderr
    assert "left out" in said.stderr
    assert "Kiln 1" in said.stdout


def test_a_page_is_begun_from_what_waits_and_never_written_over(run: Run, tmp_path: Path) -> None:
    out = tmp_path / "next.firing"
    said = run("firing", "--date", "2026-05-14", "--out", str(out), cwd=STUDIO)
    assert said.returncode == 0
    text = out.read_text("utf-8")
    assert "2026-03-19T18-47-12-tar-barrel-a2d0e81d" in text
    assert 'test: wash "Pencil Cobalt"' in text
    assert "2026-03-14T10-22-05" not in text, "a batch that was fired does not wait"
    assert run("firing", str(out)).returncode == 0
    again = run("firing", "--out", str(out), cwd=STUDIO)
    assert again.returncode == 2
    assert out.read_text("utf-8") == text


def test_a_firing_is_shown_in_every_form(run: Run) -> None:
    page = str(STUDIO / "firings" / "small-kiln-41.firing")
    assert "14 h 36 min, then freely to 100 C" in run("firing", page).stdout
    html = run("firing", page, "--output", "html").stdout
    assert "<polyline" in html
    document = json.loads(run("firing", page, "--output", "json").stdout)
    schema = json.loads((TOP / "schema" / "firing.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator(schema).validate(document)
    assert document["schedule"]["minutes"] == 875.8


def test_a_firing_is_no_recipe_and_a_recipe_no_firing(run: Run) -> None:
    page = str(STUDIO / "firings" / "small-kiln-41.firing")
    said = run("batch", page)
    assert said.returncode == 1
    assert "this page is a firing, and no recipe" in said.stderr
    other = run("firing", str(STUDIO / "stoneware" / "harbour-mist.glost"))
    assert other.returncode != 0
    assert "this page is no firing" in other.stderr


def test_lint_looks_at_the_firings_of_a_folder_with_and_without_options(tmp_path: Path, run: Run) -> None:
    (tmp_path / "low-tide.glost").write_text(RECIPE.replace("cone: 6", "cone: 04"))
    (tmp_path / "a.firing").write_text(firing(1, "2026-05-01").replace("date", "cone: 6\ndate"))
    for options in ((), ("--output", "text")):
        said = run("lint", ".", *options)
        assert 'a.firing:6:11: warning: glaze "Low Tide" is for cone 04' in said.stdout
