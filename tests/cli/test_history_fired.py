"""What came of the tiles, beside the revisions that they were of."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from tests.cli.test_history import recipe
from tests.conftest import Run
from tests.repository import committed

FIRING = """\
firing "Kiln {number}"
date: {day}

tile "{number}":
    test: glaze "Marram"
    surface: {surface}
    faults: pinholes
"""


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    """A recipe of two revisions; each was fired once, and once before there was any."""
    folder = tmp_path / "shelf"
    folder.mkdir()
    (folder / "glost.yaml").write_text("name: a shelf\n", "utf-8")
    for silica, day in ((25, "2026-03-01"), (30, "2026-03-10")):
        (folder / "marram.glost").write_text(recipe(silica=silica), "utf-8")
        committed(folder, f"Silica {silica}", day)
    for number, day, surface in ((1, "2026-03-05", "matt"), (2, "2026-03-12", "satin")):
        (folder / f"{number}.firing").write_text(FIRING.format(number=number, day=day, surface=surface))
    return folder


def test_each_revision_has_its_tiles(run: Run, shelf: Path) -> None:
    said = run("history", "marram.glost", cwd=shelf)
    assert (said.returncode, said.stderr) == (0, "")
    newer, older = said.stdout[said.stdout.index("Silica 30") :].split("Silica 25")
    assert "fired 2026-03-12  Kiln 2, tile 2: satin; pinholes" in " ".join(newer.split()).replace(
        " Kiln", "  Kiln"
    )
    assert "matt" not in newer
    assert "matt; pinholes" in " ".join(older.split())
    rows = list(csv.reader(io.StringIO(run("history", "marram.glost", "--output", "csv", cwd=shelf).stdout)))
    assert rows[-1][:2] == ["fired", "tiles"]
    assert ["matt" in rows[-1][2], "satin" in rows[-1][3]] == [True, True]
    assert "Kiln 2, tile 2: satin" in run("history", "marram.glost", "--output", "html", cwd=shelf).stdout


def test_a_tile_of_no_known_revision_is_told(run: Run, shelf: Path) -> None:
    (shelf / "0.firing").write_text(FIRING.format(number=0, day="2026-01-01", surface="glossy"))
    said = run("history", "marram.glost", cwd=shelf)
    assert said.returncode == 0
    assert "of 1 fired tile no revision is known here; glost results shows it" in said.stderr
    assert "glossy" not in said.stdout


def test_another_recipe_keeps_its_tiles(run: Run, shelf: Path) -> None:
    text = (shelf / "1.firing").read_text().replace("Marram", "Marram Grass")
    (shelf / "1.firing").write_text(text)
    assert "matt" not in run("history", "marram.glost", cwd=shelf).stdout
