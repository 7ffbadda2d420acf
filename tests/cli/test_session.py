"""glost session as a process."""

from __future__ import annotations

import csv
import io
import json
from collections import Counter
from decimal import Decimal
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from glost.recipe import recipe
from glost.workspace.collection import Collections, find
from glost.workspace.load import load
from tests.conftest import STUDIO, TOP, Run

SCHEMA = Draft202012Validator(json.loads((TOP / "schema" / "session.schema.json").read_text("utf-8")))
MIST = str(STUDIO / "stoneware" / "harbour-mist.glost")


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.fixture(scope="module")
def two_dozen() -> list[str]:
    """Recipes of the demo collection that stand for 24 tests together."""
    collections = Collections()
    chosen: list[str] = []
    left = 24
    for path in find([str(STUDIO / "stoneware"), str(STUDIO / "washes")], collections):
        count = len(list(recipe.tests(load(path, collections).resolved.recipe)))
        if count <= left:
            chosen.append(str(path))
            left -= count
    assert left == 0
    return chosen


def data_of(run: Run, *arguments: str) -> dict[str, Any]:
    done = run("session", *arguments, "--output", "json")
    assert done.returncode == 0, done.stderr
    assert [error.message for error in SCHEMA.iter_errors(json.loads(done.stdout))] == []
    data: dict[str, Any] = json.loads(done.stdout, parse_float=Decimal)
    return data


def test_two_dozen_cups_each_jar_once_and_sums_to_the_division(run: Run, two_dozen: list[str]) -> None:
    data = data_of(run, *two_dozen, "--batch", "100 g")
    assert data["set_out"]["cups"] == len(data["cups"]) == 24
    jars = [jar["material"] for jar in data["jars"]]
    assert len(jars) == len(set(jars))
    done = run("batch", *two_dozen, "--batch", "100 g", "--way", "tared", "--output", "json")
    sums: Counter[str] = Counter()
    for test in json.loads(done.stdout, parse_float=Decimal)["tests"]:
        for line in test["lines"]:
            if line["parts"]:
                sums[line["material"]] += line["target_g"]
    assert {pull["material"]: pull["total_g"] for pull in data["pull"]} == dict(sums)
    assert {jar["material"]: jar["total_g"] for jar in data["jars"]} == dict(sums)
    for pull in data["pull"]:
        assert pull["with_margin_g"] >= pull["total_g"] * Decimal("1.05")
    last = [jar["toxic"] or jar["colouring"] or not jar["in_catalogue"] for jar in data["jars"]]
    assert last == sorted(last)
    assert any(last)


def test_margin(run: Run) -> None:
    pulled = {
        pull["material"]: pull for pull in data_of(run, MIST, "--batch", "100 g", "--margin", "0 %")["pull"]
    }
    assert all(pull["with_margin_g"] == pull["total_g"] for pull in pulled.values())
    done = run("session", MIST, "--margin", "5")
    assert done.returncode == 2
    assert "write it with its sign" in done.stderr
    assert run("session", MIST, "--margin", "500%").returncode == 2


def test_only_some_labels(run: Run) -> None:
    data = data_of(run, MIST, "--test", "storm", "--test", "cobalt steps 4")
    assert [cup["label"] for cup in data["cups"]] == ["storm", "cobalt steps 4"]
    done = run("session", MIST, "--test", "storm", "--test", "gale")
    assert done.returncode == 2
    assert "has a test 'gale'" in done.stderr


@pytest.mark.parametrize("output", ["text", "markdown", "html", "csv"])
def test_every_form_is_written(run: Run, output: str) -> None:
    done = run("session", MIST, "--batch", "100 g", "--output", output)
    assert done.returncode == 0, done.stderr
    assert "cobalt carbonate" in done.stdout
    assert "Traceback" not in done.stderr


def test_html_needs_nothing_else(run: Run) -> None:
    page = run("session", str(STUDIO / "stoneware"), "--output", "html").stdout
    assert "connect-src 'none'" in page
    assert "http://" not in page
    assert "src=" not in page
    assert "@media print" in page


def test_csv_is_the_order_jar_by_jar(run: Run) -> None:
    done = run("session", MIST, "--batch", "100 g", "--output", "csv")
    rows = list(csv.DictReader(io.StringIO(done.stdout)))
    assert [int(row["order"]) for row in rows] == list(range(1, len(rows) + 1))
    materials = [row["material"] for row in rows]
    assert sum(one != next_one for one, next_one in pairwise(materials)) == 6


def test_no_plan_that_would_lack_something(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text('glaze "A"\nbase:\n    whiting  100\n')
    (tmp_path / "b.glost").write_text('glaze "B"\nbase:\n    whiting\n')
    done = run("session")
    assert done.returncode == 1
    assert done.stdout == ""
    assert "no plan, since it would lack" in done.stderr


def test_two_collections_are_planned_one_by_one(run: Run, tmp_path: Path) -> None:
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "glost.yaml").write_text("batch: 100 g\n")
        (tmp_path / name / "a.glost").write_text('glaze "A"\nbase:\n    whiting  100\n')
    done = run("session", "one", "two")
    assert done.returncode == 2
    assert "belong to two collections" in done.stderr


def test_nothing_to_weigh(run: Run, tmp_path: Path) -> None:
    (tmp_path / "none").mkdir()
    assert run("session", "none").returncode == 2
    done = run("session", "-", stdin='glaze "Empty"\nbase:\n    kaolin  0\n')
    assert done.returncode == 2
    assert "the base is empty" in done.stderr
