"""glost usage as a process."""

from __future__ import annotations

import csv
import io
import json
from decimal import Decimal
from pathlib import Path

import jsonschema
import pytest

from tests.conftest import STUDIO, TOP, Run
from tests.records.bench import at, json_of


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.fixture
def studio(tmp_path: Path, run: Run) -> Path:
    """A collection whose log holds two batches."""
    (tmp_path / "glost.yaml").write_text("materials: materials.yaml\n")
    (tmp_path / "materials.yaml").write_text(
        "materials:\n  - {name: silica, hazards: [H351], hazard source: own sheet of 2026-01}\n"
    )
    for moment, person in (("2026-03-14T10:22:05+01:00", "R. T."), ("2026-04-01T09:00:00+02:00", "M. O.")):
        assert run("record", "-", stdin=json_of(at(moment, person=person))).returncode == 0
    return tmp_path


def test_the_log_of_the_collection_is_meant_from_any_folder_in_it(studio: Path, run: Run) -> None:
    (studio / "stoneware").mkdir()
    here = run("usage", cwd=studio / "stoneware")
    assert (here.returncode, here.stderr) == (0, "")
    assert here.stdout == run("usage", str(studio)).stdout == run("usage", "log").stdout
    assert here.stdout.startswith("Used, all of the log: 2 batches\n")
    assert ["*", "silica", "240.2", "2"] in [line.split() for line in here.stdout.splitlines()]


def test_hazards_are_those_of_the_collection(studio: Path, run: Run) -> None:
    text = run("usage").stdout
    assert "* silica: 240.2 g weighed; lot S-94a\n    used by M. O., R. T.\n    H351\n" in text
    assert "source: own sheet of 2026-01 (studio)" in text


def test_period_person_and_project(studio: Path, run: Run) -> None:
    assert "1 batch\n" in run("usage", "--from", "2026-03-15").stdout
    assert "1 batch\n" in run("usage", "--to", "2026-03-31").stdout
    assert "1 batch\n" in run("usage", "--person", "m. o.").stdout
    assert "2 batches\n" in run("usage", "--project", "Spring tiles").stdout
    slip = run("usage", "--person", "M O")
    assert (slip.returncode, slip.stdout) == (0, "Used by M O, all of the log: 0 batches\n")
    assert slip.stderr == "glost: no record names the person M O; the log names: M. O., R. T.\n"


@pytest.mark.parametrize("by", ["material", "person", "project", "recipe"])
def test_table_and_document_say_the_same(studio: Path, run: Run, by: str) -> None:
    rows = list(csv.DictReader(io.StringIO(run("usage", "--by", by, "--output", "csv").stdout, newline="")))
    document = json.loads(run("usage", "--by", by, "--output", "json").stdout, parse_float=Decimal)
    jsonschema.validate(document, json.loads((TOP / "schema" / "usage.schema.json").read_text("utf-8")))
    assert [(row[by], row["material"], Decimal(row["weighed_g"])) for row in rows] == [
        (row["group"], row["material"], row["weighed_g"]) for row in document["rows"]
    ]
    assert sum(Decimal(row["weighed_g"]) for row in rows) == Decimal("404.02")


def test_a_record_that_cannot_be_read_stops_the_sums(studio: Path, run: Run) -> None:
    page = sorted((studio / "log").rglob("*.batch"))[0]
    page.write_text(page.read_text("utf-8").replace("120.1", "12.01"), "utf-8")
    done = run("usage")
    assert (done.returncode, done.stdout) == (2, "")
    assert f"{page.relative_to(studio)}:26:1: error: what was weighed does not fit the lines" in done.stderr
    assert "hint: correct it" in done.stderr
    page.write_bytes(b"\xff\xfe")
    assert "this file is written in UTF-16" in run("usage").stderr


def test_wrong_usage(studio: Path, run: Run) -> None:
    for arguments in (
        ("--from", "14.3.2026"),
        ("--from", "20260314"),
        ("--from", "2026-02-30"),
        ("--from", "2026-03-02", "--to", "2026-03-01"),
        ("--by", "kiln"),
        ("gone",),
        ("-",),
    ):
        done = run("usage", *arguments)
        assert (done.returncode, done.stdout) == (2, ""), arguments


def test_an_empty_log_is_told(tmp_path: Path, run: Run) -> None:
    done = run("usage")
    assert done.returncode == 0
    assert "there is no record of a batch here" in done.stderr


def test_what_was_being_written_when_somebody_pulled_the_plug_is_no_record(studio: Path, run: Run) -> None:
    (studio / "log" / "2026" / ".2026-03-14T10-22-05-harbour-mist.x.part").write_text("glost batch rec")
    assert "2 batches" in run("usage").stdout


def test_the_demo_has_a_log(run: Run) -> None:
    done = run("usage", str(STUDIO), "--by", "person")
    assert (done.returncode, done.stderr) == (0, "")
    assert "6 batches" in done.stdout
    assert "cobalt carbonate" in done.stdout
