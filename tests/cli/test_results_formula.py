"""What moved in the unity formula between two fired tiles: what can be seen, and what weighing does not leave open."""

from __future__ import annotations

import csv
import io
import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from glost.records.record import Line, Record, Revision
from glost.records.text import text_of
from tests.conftest import STUDIO, TOP, Run

PAGE = """\
glaze "Marram"
cone: 6
atmosphere: oxidation
origin: invented

base:
    potash feldspar  40
    silica           25
    whiting          20
    kaolin           15

additions:
    copper carbonate  1

variation "more":
    copper carbonate  2

variation "a crumb":
    copper carbonate  1.02
"""
PARTS = {"potash feldspar": 40, "silica": 25, "whiting": 20, "kaolin": 15, "copper carbonate": 1}


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    (tmp_path / "glost.yaml").write_text("name: a shelf\n")
    (tmp_path / "marram.glost").write_text(PAGE)
    return tmp_path


def record(day: str, masses: dict[str, tuple[str, str]]) -> Record:
    """A batch with these targets and weighed masses, in grams."""
    lines = tuple(
        Line(name, name, name != "copper carbonate", Decimal(target), Decimal(weighed), "", "")
        for name, (target, weighed) in masses.items()
    )
    total = sum((line.target_g for line in lines if line.base), Decimal(0))
    return Record(
        f"{day}T10:00:00+01:00", "R. T.", "", "Marram", "", "marram.glost", Revision("1a2b3c4", False), total, lines,
        None, "", "", "",
    )  # fmt: skip


def keep(shelf: Path, one: Record) -> str:
    name = f"{one.recorded_at[:10]}T10-00-00-marram-00000000"
    (shelf / "log" / name[:4]).mkdir(parents=True, exist_ok=True)
    (shelf / "log" / name[:4] / f"{name}.batch").write_text(text_of(one), "utf-8")
    return name


def fire(shelf: Path, day: str, *said: str) -> None:
    tiles = "".join(f'\ntile "{at}":\n    {one}\n' for at, one in enumerate(said, 1))
    (shelf / f"{day}.firing").write_text(f'firing "Kiln {day}"\ndate: {day}\n{tiles}')


def results(run: Run, shelf: Path) -> list[dict[str, Any]]:
    said = run("results", "--output", "json", cwd=shelf)
    assert (said.returncode, said.stderr) == (0, "")
    document = json.loads(said.stdout)
    jsonschema.validate(document, json.loads((TOP / "schema" / "results.schema.json").read_text("utf-8")))
    found: list[dict[str, Any]] = document["results"]
    return found


def formula_of(run: Run, shelf: Path, test: str) -> dict[str, float]:
    said = run("formula", "marram.glost", "--output", "json", "--test", test, cwd=shelf)
    found: dict[str, float] = json.loads(said.stdout)["tests"][0]["unity"]
    return found


def test_every_form_has_what_moved(run: Run) -> None:
    rows = list(csv.DictReader(io.StringIO(run("results", str(STUDIO), "--output", "csv").stdout)))
    (storm,) = [row for row in rows if row["tile"].endswith("14-B")]
    assert storm["formula"] == "CoO 0.012 -> 0.024"
    assert [row["formula"] for row in rows if row is not storm] == [""] * (len(rows) - 1)
    text = run("results", str(STUDIO / "firings" / "small-kiln-41.firing")).stdout
    assert "unity formula, mol:" in text
    assert "CoO 0.012 -> 0.024" in run("results", str(STUDIO), "--output", "html").stdout.replace("&gt;", ">")


def test_only_what_can_be_seen_moved(run: Run, shelf: Path) -> None:
    fire(
        shelf,
        "2026-03-01",
        'test: glaze "Marram"',
        'test: glaze "Marram, a crumb"',
        'test: glaze "Marram, more"',
    )
    itself, crumb, more = results(run, shelf)
    assert (itself["changes"], itself["formula"]) == (None, None)
    assert crumb["changes"] == [
        {"where": "additions", "what": "copper carbonate", "old": "1.00", "new": "1.02"}
    ]
    assert crumb["formula"] == []
    assert [one["oxide"] for one in more["formula"]] == ["CuO"]
    assert "moved by nothing that can be seen" in run("results", cwd=shelf).stdout


def test_the_figures_are_those_of_the_formula(run: Run, shelf: Path) -> None:
    fire(shelf, "2026-03-01", 'test: glaze "Marram"', 'test: glaze "Marram, more"')
    (moved,) = results(run, shelf)[1]["formula"]
    told = [formula_of(run, shelf, test)["CuO"] for test in ("Marram", "more")]
    assert [moved["old"], moved["new"]] == pytest.approx(told, abs=2e-6)
    assert moved["new"] == pytest.approx(2 * moved["old"], rel=1e-4)  # twice as much on the same fluxes


def test_another_batch_weighed_on_coarser_balances_is_the_same(run: Run, shelf: Path) -> None:
    fine = {name: (f"{3 * part}.00", f"{3 * part}.00") for name, part in PARTS.items()}
    # 230 g of base, whole grams on the floor balance: 34.5 of kaolin is weighed as 35 or 34.
    coarse = {"potash feldspar": ("92", "92"), "silica": ("57", "57"), "whiting": ("46", "46"),
              "kaolin": ("35", "35"), "copper carbonate": ("2.30", "2.30")}  # fmt: skip
    for day, masses in (("2026-03-01", fine), ("2026-03-10", coarse)):
        fire(shelf, day, f"batch: {keep(shelf, record(day, masses))}")
    assert [one["changes"] for one in results(run, shelf)] == [None, []]


def test_a_mass_that_lies_off_counts_as_it_was_weighed(run: Run, shelf: Path) -> None:
    right = {name: (f"{3 * part}.00", f"{3 * part}.03") for name, part in PARTS.items()}
    wrong = {**right, "copper carbonate": ("3.00", "6.10")}
    for day, masses in (("2026-03-01", right), ("2026-03-10", wrong)):
        fire(shelf, day, f"batch: {keep(shelf, record(day, masses))}")
    second = results(run, shelf)[1]
    assert [(one["what"], one["old"], one["new"]) for one in second["changes"]] == [
        ("copper carbonate", "1.00", "2.03")
    ]
    assert [one["oxide"] for one in second["formula"]] == ["CuO"]


def test_what_weighing_leaves_open_is_no_change_of_the_formula(run: Run, shelf: Path) -> None:
    """0.1 g more whiting in 5 g on a balance of 0.1 g: the part moved by more than both halves, and nothing else."""
    small = {"potash feldspar": ("2.0", "2.0"), "silica": ("1.2", "1.2"), "whiting": ("1.0", "1.0"),
             "kaolin": ("0.8", "0.8"), "copper carbonate": ("0.05", "0.05")}  # fmt: skip
    more = {**small, "whiting": ("1.2", "1.2")}
    for day, masses in (("2026-03-01", small), ("2026-03-10", more)):
        fire(shelf, day, f"batch: {keep(shelf, record(day, masses))}")
    second = results(run, shelf)[1]
    assert "whiting" in [one["what"] for one in second["changes"]]
    oxides = [one["oxide"] for one in second["formula"]]
    assert "CuO" not in oxides  # it moved by some per cent, and 0.05 g is known to 10 % alone


def test_without_a_formula_of_one_nothing_is_said_of_it(run: Run, shelf: Path) -> None:
    page = shelf / "marram.glost"
    page.write_text(f'{PAGE}\nvariation "with sand":\n    beach find        3\n')
    fire(shelf, "2026-03-01", 'test: glaze "Marram"', 'test: glaze "Marram, with sand"')
    second = results(run, shelf)[1]
    assert [one["what"] for one in second["changes"]] == ["beach find"]
    assert second["formula"] is None
    assert "no unity formula of one of the two" in " ".join(run("results", cwd=shelf).stdout.split())


def test_the_cone_asked_for_is_the_one_fired_to_or_reached(run: Run, shelf: Path) -> None:
    fire(shelf, "2026-03-01", 'test: glaze "Marram"')
    page = shelf / "2026-03-01.firing"
    page.write_text(page.read_text().replace("date: 2026-03-01\n", "date: 2026-03-01\ncone: 6\nreached: 7\n"))
    for cone, count in (("6", 1), ("7", 1), ("5", 0)):
        said = run("results", "--cone", cone, "--output", "json", cwd=shelf)
        assert len(json.loads(said.stdout)["results"]) == count
