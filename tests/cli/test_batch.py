"""glost batch as a process."""

from __future__ import annotations

import csv
import io
import json
from decimal import Decimal
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from tests.conftest import STUDIO, TOP, Run

MIST = str(STUDIO / "stoneware" / "harbour-mist.glost")
SCHEMA = Draft202012Validator(json.loads((TOP / "schema" / "batch.schema.json").read_text("utf-8")))
DRY = 'glaze "Dry"\nbase:\n    whiting  60\n    kaolin  40\n'


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def data_of(run: Run, *arguments: str) -> list[dict[str, object]]:
    done = run("batch", *arguments, "--output", "json")
    assert done.returncode == 0, done.stderr
    assert [error.message for error in SCHEMA.iter_errors(json.loads(done.stdout))] == []
    tests: list[dict[str, object]] = json.loads(done.stdout, parse_float=Decimal)["tests"]
    return tests


def test_whole_studio_keeps_the_schema(run: Run) -> None:
    assert len(data_of(run, str(STUDIO), "--batch", "100 g")) > 100


@pytest.mark.parametrize(
    ("mass", "word"), [("250 g", "total on the balance"), ("350 g", "all tipped together")]
)
def test_totals_are_those_of_the_sheets(run: Run, mass: str, word: str) -> None:
    planned = data_of(run, MIST, "--batch", mass)
    *sheets, statements = run("convert", MIST, "--to", "sheet", "--batch", mass).stdout.split("\f")
    assert "hazard statements" in statements
    assert len(planned) == len(sheets) == 6
    for test, sheet in zip(planned, sheets, strict=True):
        line = next(line for line in sheet.splitlines() if word in line)
        assert line.replace(word, "").split()[0] == f"{test['total_target_g']}"


@pytest.mark.parametrize("mass", ["100 g", "350 g", "5 kg", "30 kg"])
def test_vessels_and_what_is_apart_add_up_to_the_whole(run: Run, mass: str) -> None:
    for test in data_of(run, MIST, "--batch", mass):
        lines, vessels = test["lines"], test["vessels"]
        assert isinstance(lines, list)
        assert isinstance(vessels, list)
        weighings = [one for line in lines for one in line["weighings"]]
        apart = sum(one["target_g"] for one in weighings if one["vessel"] is None)
        assert apart + sum(vessel["total_g"] for vessel in vessels) == test["total_target_g"]
        for vessel in vessels:
            inside = [one for one in weighings if one["vessel"] == vessel["number"]]
            assert inside[-1]["running_total_g"] == vessel["total_g"]
        assert [line["target_g"] for line in lines] == [
            sum(one["target_g"] for one in line["weighings"]) for line in lines
        ]


def test_one_test_by_its_label_or_the_recipe_by_its_name(run: Run) -> None:
    assert [test["name"] for test in data_of(run, MIST, "--test", "storm")] == ["Harbour Mist, storm"]
    assert [test["name"] for test in data_of(run, MIST, "--test", "Harbour Mist")] == ["Harbour Mist"]
    done = run("batch", MIST, "--test", "strom")
    assert done.returncode == 2
    assert "Did you mean 'storm'?" in done.stderr


def test_a_line_out_of_tolerance_is_said_and_is_no_failure(run: Run) -> None:
    done = run("batch", MIST, "--batch", "3 g", "--test", "Harbour Mist")
    assert done.returncode == 0
    assert "smallest batch that will do" in done.stdout
    assert "premix" in done.stdout
    assert [test["within"] for test in data_of(run, MIST, "--batch", "3 g", "--test", "Harbour Mist")] == [
        False
    ]


@pytest.mark.parametrize("way", ["tared", "running", "apart"])
def test_the_way_that_is_asked_for(run: Run, way: str) -> None:
    assert {test["way"] for test in data_of(run, MIST, "--way", way)} == {way}


def test_one_balance_for_all(run: Run) -> None:
    (test,) = data_of(run, MIST, "--balance", "floor", "--test", "storm")
    lines = test["lines"]
    assert isinstance(lines, list)
    assert {line["balance"] for line in lines} == {"floor"}
    done = run("batch", MIST, "--balance", "flor")
    assert done.returncode == 2
    assert "did you mean 'floor'?" in done.stderr


def test_only_one_amount_can_be_asked_for(run: Run) -> None:
    done = run("batch", MIST, "--batch", "100 g", "--total", "100 g")
    assert done.returncode == 2
    assert "keep one of them" in done.stderr


@pytest.mark.parametrize(
    ("slip", "status", "said"),
    [
        ("2 l", 0, "slip: 2000 ml"),
        ("1 US pint", 0, "slip: 473 ml"),
        ("1 imperial pint", 0, "slip: 568 ml"),
        ("3 kg", 0, "weigh 3000 g"),
        ("1 pint", 2, "a pint is one of two"),
        ("much", 2, "write one number"),
    ],
)
def test_slip(run: Run, slip: str, status: int, said: str) -> None:
    done = run("batch", MIST, "--slip", slip, "--test", "storm")
    assert done.returncode == status
    assert said in " ".join((done.stdout + done.stderr).split())


def test_slip_of_a_dry_recipe_is_refused_and_the_others_are_planned(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(DRY)
    (tmp_path / "b.glost").write_text(DRY.replace("base:", "water: 70 %\nbase:"))
    done = run("batch", "--slip", "1 l")
    assert done.returncode == 1
    assert done.stderr.startswith("a.glost: not planned: nothing says how much water")
    assert "b.glost" in done.stdout


def test_nothing_to_weigh(run: Run) -> None:
    done = run("batch", "-", stdin='glaze "Empty"\nbase:\n    kaolin  0\n')
    assert done.returncode == 1
    assert "the base is empty; there is nothing to weigh" in done.stderr
    assert done.stdout == ""


def test_recipe_that_cannot_be_read_is_not_planned(run: Run) -> None:
    done = run("batch", "-", stdin=DRY + "    silica\n")
    assert done.returncode == 1
    assert "not planned; fix it first" in done.stderr


def test_csv_is_a_table(run: Run) -> None:
    done = run("batch", MIST, "--output", "csv")
    rows = list(csv.DictReader(io.StringIO(done.stdout)))
    assert {row["test"] for row in rows} >= {"", "storm", "cobalt steps 4"}
    assert all(None not in row and None not in row.values() for row in rows)


def test_text_steers_no_terminal(run: Run) -> None:
    done = run("batch", "-", stdin=DRY)
    assert done.returncode == 0
    assert "\x1b" not in done.stdout
    assert "No balance is listed in glost.yaml" in done.stdout
