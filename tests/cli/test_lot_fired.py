"""A lot is followed through its batches to the tiles that were fired of them."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from tests.conftest import STUDIO, TOP, Run


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def test_a_lot_leads_to_its_tiles(run: Run) -> None:
    said = run("usage", str(STUDIO), "--lot", "ns-89A", "--output", "json")
    assert said.returncode == 0, said.stderr
    document = json.loads(said.stdout)
    jsonschema.validate(document, json.loads((TOP / "schema" / "lot.schema.json").read_text("utf-8")))
    assert [(one["firing"], one["tile"], one["faults"]) for one in document["tiles"]] == [
        ("Small kiln 41", "14-A", ["pinholes"]),
        ("Small kiln 41", "14-B", []),
    ]
    assert {one["batch"] for one in document["tiles"]} == {one["file"] for one in document["uses"]}
    text = run("usage", str(STUDIO), "--lot", "NS-89a").stdout
    assert text.index("Went into") < text.index("Fired") < text.index("14-B")


def test_a_batch_that_was_never_fired_is_told(run: Run, tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("name: Test\n", "utf-8")
    (tmp_path / "log").mkdir()
    (tmp_path / "log" / "2026").mkdir()
    for record in (STUDIO / "log" / "2026").glob("*harbour-mist-2b29422a.batch"):
        (tmp_path / "log" / "2026" / record.name).write_bytes(record.read_bytes())
    assert "No fired tile of these batches is known here." in run("usage", ".", "--lot", "NS-89a").stdout
    (tmp_path / "a.firing").write_text('firing "Kiln"\ndate: nonsense\n', "utf-8")
    said = run("usage", ".", "--lot", "NS-89a")
    assert "these firings are left out; fix them first" in said.stderr
    assert "76.00" in said.stdout
