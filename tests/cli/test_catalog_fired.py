"""The newest tile of each test in the table of a collection."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from tests.cli.test_catalog import SCHEMA
from tests.conftest import STUDIO, Run

RECIPE = """\
glaze "Low Tide"
surface: meant to be satin

base:
    silica                 40
    whiting                60

variation "storm":
    cobalt carbonate        1
"""
FIRING = """\
firing "Kiln {number}"
date: {day}
cone: 6

tile "{number}":
    test: glaze "{test}"
    surface: {surface}
    faults: {faults}
    photo: photos/a#{number}.jpg
"""


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    (tmp_path / "glost.yaml").write_text("name: Test\n")
    (tmp_path / "low-tide.glost").write_text(RECIPE)
    fire(tmp_path, 2, "2026-06-01", "low  TIDE", "matt", "crawling, pinholes")
    fire(tmp_path, 3, "2026-05-01", "Low Tide", "glossy", "speck")
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "a#2.jpg").touch()
    return tmp_path


def fire(folder: Path, number: int, day: str, test: str, surface: str, faults: str) -> None:
    text = FIRING.format(number=number, day=day, test=test, surface=surface, faults=faults)
    (folder / f"{number}.firing").write_text(text)


def test_the_newest_tile_stands_beside_its_test_and_never_fired_is_said(run: Run, studio: Path) -> None:
    said = run("catalog", "--to", "csv", "--out", "out.csv")
    assert said.returncode == 0
    rows = list(csv.DictReader(io.StringIO((studio / "out.csv").read_text("utf-8"), newline="")))
    first, second = rows
    kept = ("fired", "fired in", "tile", "cone of the firing", "fired surface", "faults", "photo", "surface")
    assert [first[key] for key in kept] == [
        "2026-06-01", "Kiln 2", "'2", "cone 6", "matt", "crawling; pinholes", "photos/a#2.jpg", "meant to be satin",
    ]  # fmt: skip
    assert [second[key] for key in kept[:7]] == ["never fired", "", "", "", "", "", ""]


def test_a_picture_is_named_by_the_way_from_the_table(run: Run, studio: Path) -> None:
    (studio / "tables").mkdir()
    assert run("catalog", "--to", "jsonl", "--out", "tables/t.jsonl").returncode == 0
    rows = [json.loads(line) for line in (studio / "tables" / "t.jsonl").read_text("utf-8").splitlines()]
    assert [list(SCHEMA.iter_errors(row)) for row in rows] == [[], []]
    assert rows[0]["fired"]["photo"] == "../photos/a#2.jpg"
    assert rows[1]["fired"] is None
    assert run("catalog", "--out", "tables/t.html").returncode == 0
    assert "./../photos/a%232.jpg" in (studio / "tables" / "t.html").read_text("utf-8")


def test_a_firing_that_cannot_be_read_is_left_out_and_told(run: Run, studio: Path) -> None:
    (studio / "2.firing").write_text((studio / "2.firing").read_text().replace("2026-06-01", "June"))
    said = run("catalog", "--to", "jsonl")
    assert said.returncode == 0
    assert "2.firing:2:7: error: 'June' is not a date" in said.stderr
    assert "left out of the table" in said.stderr
    assert json.loads(said.stdout.splitlines()[0])["fired"]["surface"] == "glossy"


def test_a_tile_that_names_its_batch_alone_is_found(run: Run) -> None:
    rows = [json.loads(line) for line in run("catalog", str(STUDIO), "--to", "jsonl").stdout.splitlines()]
    found = {(row["recipe"], row["test"]): row["fired"] for row in rows}
    curd = found["Curd White", ""]
    assert (curd["date"], curd["faults"]) == ("2026-04-18", ["crawling", "pinholes"])
    assert found["Harbour Mist", "storm"]["colour"] == "storm blue, milky where thick"
    assert found["Tar Barrel", ""] is None
