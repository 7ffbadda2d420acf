"""One batch in every form that has masses: sheet, page, plan, session. All show the same vessels and figures."""

from __future__ import annotations

import csv
import io
import json
import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from tests.conftest import TOP, Run

D = Decimal
HOUSE = """\
name: invented
balances:
  - {name: pocket, capacity: 100 g, readability: 0.01 g}
  - {name: counter, capacity: 2 kg, readability: 1 g, cup: 120 g}
"""
PAGE = """\
glaze "Quay Mat"
cone: 6
atmosphere: oxidation
origin: own
base:
    soda feldspar          52
    dolomite               20
    kaolin                 18
    silica                 10
additions:
    zinc oxide              3
handling:
    all: P100 respirator and gloves
variation "tide":
    copper carbonate        1.5
series "drift":
    manganese dioxide       0.5, 2
    rutile                  0 %, 3 %
"""
CAPACITY = {"pocket": D(100), "counter": D(2000)}
CUP = {"pocket": D(0), "counter": D(120)}


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    (tmp_path / "glost.yaml").write_text(HOUSE, encoding="utf-8")
    (tmp_path / "quay-mat.glost").write_text(PAGE, encoding="utf-8")
    return tmp_path


def json_of(run: Run, studio: Path, command: str, mass: str) -> Any:
    done = run(command, "--batch", mass, "--output", "json", cwd=studio)
    assert done.returncode == 0, done.stderr
    schema = json.loads((TOP / "schema" / f"{command}.schema.json").read_text("utf-8"))
    errors = Draft202012Validator(schema).iter_errors(json.loads(done.stdout))
    assert [error.message for error in errors] == []
    return json.loads(done.stdout, parse_float=D, parse_int=D)


Row = tuple[str, Any, Any, Any]
"""Material, grams, vessel (None for apart), what it then holds (None for apart)."""


def of_lines(lines: list[dict[str, Any]]) -> list[Row]:
    return [
        (
            line["material"],
            one["target_g"],
            one["vessel"],
            one["running_total_g"] if one["vessel"] else None,
        )
        for line in lines
        for one in line["weighings"]
    ]


def of_sheet(text: str) -> list[Row]:
    """Read off the plain sheet as a person does."""
    rows: list[Row] = []
    vessel = 1
    for line in text.splitlines():
        head = re.match(r"vessel ([0-9]+) of [0-9]+: ", line)
        if head:
            vessel = int(head[1])
        if line.startswith("[ ]"):
            name, *rest = re.split(r" {2,}", line[4:].split("____")[0].strip())
            on = next((at for at, cell in enumerate(rest) if cell in CAPACITY), None)
            if on is None:
                grams, holds = rest[-2:]
            else:
                grams, holds = rest[on - 1], "".join(rest[on + 1 :])
            rows.append((name, D(grams), vessel if holds else None, D(holds) if holds else None))
    return rows


@pytest.mark.parametrize("mass", ["150 g", "1 kg", "4 kg", "6.5 kg"])
def test_every_form_has_the_same_figures(run: Run, studio: Path, mass: str) -> None:
    planned = json_of(run, studio, "batch", mass)["tests"]
    cups = json_of(run, studio, "session", mass)["cups"]
    *sheets, statements = run("convert", "--to", "sheet", "--batch", mass, cwd=studio).stdout.split("\f")
    assert "hazard statements" in statements
    page = run("convert", "--to", "html", "--batch", mass, cwd=studio).stdout
    held = json.loads(
        re.findall(r'<script type="application/json" id="held">(.*?)</script>', page, re.DOTALL)[0]
    )
    assert len(planned) == len(cups) == len(sheets) == len(held) == 4
    for test, cup, sheet, on_page in zip(planned, cups, sheets, held, strict=True):
        rows = of_lines(test["lines"])
        assert rows == of_lines(cup["lines"]) == of_sheet(sheet)
        assert [row[:3] for row in rows] == [
            (line["material"], D(line["target"]), line["vessel"] or None) for line in on_page["lines"]
        ]
        assert test["vessels"] == cup["vessels"]
        assert on_page["vessels"] == len(test["vessels"])
        assert sum(row[1] for row in rows) == test["total_target_g"] == cup["total_target_g"]
        assert test["sets"] == cup["sets"] == on_page["sets"]
        assert {line["balance"] for line in test["lines"]} <= set(CAPACITY)
        for line in test["lines"]:
            for one in line["weighings"]:
                assert one["display_g"] + CUP[line["balance"]] <= CAPACITY[line["balance"]]


def test_tables_have_the_weighings_of_the_plan(run: Run, studio: Path) -> None:
    planned = json_of(run, studio, "batch", "4 kg")["tests"]
    rows = [row for test in planned for row in of_lines(test["lines"])]
    table = list(
        csv.DictReader(io.StringIO(run("batch", "--batch", "4 kg", "--output", "csv", cwd=studio).stdout))
    )
    assert [(row["material"], D(row["target_g"]), row["vessel"]) for row in table] == [
        (material, grams, f"{vessel}" if vessel else "") for material, grams, vessel, _ in rows
    ]
    assert {row["sets"] for row in table} == {
        "",
        "copper carbonate 1.5",
        "manganese dioxide 0.5, no rutile",
        "manganese dioxide 2, rutile 3 %",
    }
    jars = list(
        csv.DictReader(io.StringIO(run("session", "--batch", "4 kg", "--output", "csv", cwd=studio).stdout))
    )
    assert sorted((row["material"], D(row["target_g"]), row["vessel"]) for row in jars) == sorted(
        (row["material"], D(row["target_g"]), row["vessel"]) for row in table
    )
    for row in (*table, *jars):
        assert D(row["running_total_g"]) + CUP[row["balance"]] <= CAPACITY[row["balance"]]


@pytest.mark.parametrize("output", ["text", "markdown", "html"])
def test_a_session_names_vessels_and_what_goes_apart(run: Run, studio: Path, output: str) -> None:
    done = run("session", "--batch", "4 kg", "--test", "tide", "--output", output, cwd=studio)
    assert done.returncode == 0, done.stderr
    words = " ".join(done.stdout.split())
    assert "vessel 2" in words
    assert "apart, tip in" in words
    assert "tide: copper carbonate 1.5" in words


def test_lint_sheet_and_plan_agree_on_what_can_be_weighed(run: Run, studio: Path) -> None:
    """Every line that lint finds is marked on sheet and plan, and no other: base, additions, variations, series."""
    for mass in ("20 g", "60 g", "150 g", "2 kg"):
        found = json.loads(
            run(
                "lint", "--batch", mass, "--select", "below-readability", "--output", "json", cwd=studio
            ).stdout
        )
        lines = PAGE.splitlines()
        named = {lines[one["line"] - 1].split("  ")[2].strip() for one in found["findings"]}
        planned = json_of(run, studio, "batch", mass)["tests"]
        marked = {line["as_written"] for test in planned for line in test["lines"] if not line["within"]}
        assert named == marked
        assert all(line["why_not"] for test in planned for line in test["lines"] if not line["within"])
        sheets = run("convert", "--to", "sheet", "--batch", mass, cwd=studio).stdout
        starts = [line[4:] for line in sheets.splitlines() if line.startswith("[ ]!")]
        assert {re.split(r" {2,}", line)[0] for line in starts} == marked


def test_two_grams_on_a_coarse_balance_make_a_plan_that_says_so(run: Run, tmp_path: Path) -> None:
    """Bases that are alike, of which the balance reads nothing: no refusal over a batch of 0 g."""
    (tmp_path / "glost.yaml").write_text(
        "name: invented\nbalances:\n  - {name: barn, capacity: 30 kg, readability: 5 g}\n", encoding="utf-8"
    )
    for name in ("One", "Two"):
        (tmp_path / f"{name}.glost").write_text(
            f'glaze "{name}"\ncone: 6\nbase:\n    whiting 60\n    kaolin 40\n', encoding="utf-8"
        )
    for mass in ("2 g", "1 g", "0.1 g", "3 g", "7 g"):
        done = run("session", "One.glost", "Two.glost", "--batch", mass, cwd=tmp_path)
        assert done.returncode == 0, done.stderr
        assert "cannot be weighed to 2 % here" in " ".join(done.stdout.split())
        assert "Bases to mix once" not in done.stdout
