"""What a user wrote with semicolons in it stays whole in what is said of it, and so does the advice."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import Run
from tests.records.bench import json_of

GLAZE = 'glaze "Invented"\n{field}\n\nbase:\n  silica    60\n  kaolin    40\n'


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.mark.parametrize(
    ("field", "message", "hint"),
    [
        (
            "cone: 6; oxidation",
            "'6; oxidation' is not a cone",
            "write  cone: 6  and on a line of its own  atmosphere",
        ),
        ("date: March 3; 2026", "'March 3; 2026' is not a date", "write year-month-day"),
        ("batch: 5 g; 6 g", "'5 g; 6 g'", "write such as 500 g"),
        (
            "water: 60 %; did you mean 50",
            "'60 %; did you mean 50' is not a percentage",
            "write such as 60 %",
        ),
    ],
)
def test_a_field(run: Run, tmp_path: Path, field: str, message: str, hint: str) -> None:
    (tmp_path / "a.glost").write_text(GLAZE.format(field=field))
    done = run("lint", "a.glost")
    assert f"{message}" in done.stdout
    assert "(syntax)\n" in done.stdout.split(message)[1].split("\n")[0] + "\n"
    assert f"hint: {hint}" in done.stdout


@pytest.mark.parametrize(
    ("line", "message", "hint"),
    [
        ('batch: "5 g; 6 g"', "'g; 6 g' is not a unit of mass here", "write one number and g, kg, oz or lb"),
        ('weighing tolerance: "2; 3 %"', "'2; 3' is not a plain number", "write figures and a decimal point"),
        (
            'materials: "../a; write b.yaml"',
            "'../a; write b.yaml' lies outside the collection",
            "name a place",
        ),
        ("what; ever: 1", "'what; ever' is not a key of", "the keys are"),
    ],
)
def test_settings(run: Run, tmp_path: Path, line: str, message: str, hint: str) -> None:
    (tmp_path / "glost.yaml").write_text(f"{line}\n")
    (tmp_path / "a.glost").write_text(GLAZE.format(field="cone: 6"))
    done = run("lint", ".")
    assert done.returncode == 2
    assert message in done.stderr
    assert f"hint: {hint}" in done.stderr


@pytest.mark.parametrize(
    ("entry", "message", "hint"),
    [
        (
            'cas: ["1332-58-7; 1344-28-1"]',
            "'1332-58-7; 1344-28-1' is not a CAS number",
            "write such as 1332-58-7",
        ),
        ('formula: "SiO2; write CaO"', "'SiO2; write CaO' is not a chemical formula", ""),
    ],
)
def test_materials(run: Run, tmp_path: Path, entry: str, message: str, hint: str) -> None:
    (tmp_path / "glost.yaml").write_text("name: invented\nmaterials: materials.yaml\n")
    (tmp_path / "materials.yaml").write_text(
        f"materials:\n  - name: quarry spar\n    role: clay\n    source: invented\n    {entry}\n"
    )
    (tmp_path / "a.glost").write_text(GLAZE.format(field="cone: 6"))
    done = run("lint", ".")
    assert done.returncode == 2
    assert message in done.stderr
    assert f"hint: {hint}" in done.stderr


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("weighed by:", "weighd by:", "did you mean 'weighed by'?"),
        ("recorded:", "record; ed:", "'record; ed' is no key of a batch record"),
    ],
)
def test_a_slip_in_a_record_of_the_log_gets_its_own_advice(
    run: Run, tmp_path: Path, old: str, new: str, says: str
) -> None:
    (tmp_path / "glost.yaml").write_text("name: invented\n")
    (tmp_path / "saved.json").write_text(json_of())
    run("record", "saved.json")
    (page,) = tmp_path.rglob("*.batch")
    text = page.read_text("utf-8")
    assert f"\n{old}" in text
    page.write_text(text.replace(f"\n{old}", f"\n{new}"))
    done = run("usage", str(page))
    assert says in done.stdout + done.stderr
    assert "check that it is a record of the log" not in done.stdout + done.stderr


def test_a_file_that_is_no_record_is_told_as_one(run: Run, tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("name: invented\n")
    (tmp_path / "a.batch").write_bytes(b"a\x00b")
    (tmp_path / "b.json").write_bytes(b"a\x00b")
    assert "check that it is a record of the log" in run("usage", "a.batch").stderr
    assert "check that it is the record that you mean" in run("record", "b.json").stderr
    assert "check that it is the file of notes that you mean" in run("import", "b.json").stdout


def test_json_of_a_record(run: Run, tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("name: invented\n")
    (tmp_path / "saved.json").write_text(
        json_of().replace('"recorded_at": "', '"recorded_at": "line 1; write ')
    )
    said = run("record", "saved.json").stderr
    assert "saved.json: not recorded: " in said
    assert "'line 1; write " in said


def test_json_lines_lose_nothing_of_a_name_that_speaks_of_lines(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.jsonl").write_text('{"line 1, line 1: x; y": 1}\n')
    said = run("import", "a.jsonl").stderr + run("import", "a.jsonl").stdout
    assert "line 1, line 1: x; y" in said


@pytest.mark.parametrize("mass", ["5 g; 6 g", "5 \x1b[2J; 6"])
def test_a_value_of_the_command_line(run: Run, tmp_path: Path, mass: str) -> None:
    (tmp_path / "a.glost").write_text(GLAZE.format(field="cone: 6"))
    done = run("convert", "a.glost", "--to", "sheet", "--batch", mass)
    assert done.returncode == 2
    assert "; 6" in done.stderr
    assert "\x1b" not in done.stderr
