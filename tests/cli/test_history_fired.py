"""What came of the tiles, beside the revisions that they were of."""

from __future__ import annotations

import csv
import io
import json
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


# ---- a recipe that was given another name since ---------------------------------------------------------

BLUE = '\nvariation "blue":\n    cobalt carbonate   {cobalt}\n'


@pytest.fixture
def renamed(tmp_path: Path) -> Path:
    """Two revisions with a variation, tiles of both by the old name, then another file and another name."""
    folder = tmp_path / "renamed"
    folder.mkdir()
    (folder / "glost.yaml").write_text("name: a shelf\n", "utf-8")
    for cobalt, day in ((1, "2026-03-01"), (2, "2026-03-10")):
        (folder / "marram.glost").write_text(recipe(more=BLUE.format(cobalt=cobalt)), "utf-8")
        committed(folder, f"Cobalt {cobalt}", day)
    for number, day, surface in ((1, "2026-03-05", "matt"), (2, "2026-03-12", "satin")):
        text = FIRING.format(number=number, day=day, surface=surface).replace("Marram", "Marram, blue")
        (folder / f"{number}.firing").write_text(text)
    (folder / "marram.glost").unlink()
    (folder / "sea-lyme.glost").write_text(recipe("Sea Lyme", more=BLUE.format(cobalt=2)), "utf-8")
    committed(folder, "Call it Sea Lyme", "2026-03-20")
    return folder


@pytest.mark.parametrize("name", ["Marram", "Sea Lyme"])
def test_a_recipe_of_another_name_keeps_its_tiles(run: Run, renamed: Path, name: str) -> None:
    """By the old name in the pages of the firings, and by the new one, as unknown-test asks for."""
    for page in renamed.glob("*.firing"):
        page.write_text(page.read_text().replace("Marram", name))
    said = run("results", "sea-lyme.glost", cwd=renamed)
    assert (said.returncode, said.stderr) == (0, "")
    assert said.stdout.startswith('glaze "Sea Lyme"\n')
    assert said.stdout.count("inferred: the page as committed last by that day") == 2
    assert said.stdout.count("tile 1, blue") == 1
    second = said.stdout.partition("tile 2, blue")[2]
    assert "since tile 1 of 2026-03-05, Kiln 1, for 100 of the base:" in second
    assert "cobalt carbonate 1.00 -> 2.00" in second
    told = run("history", "sea-lyme.glost", cwd=renamed)
    assert (told.returncode, told.stderr) == (0, "")
    newer, older = told.stdout[told.stdout.rindex("Cobalt 2") :].split("Cobalt 1")
    assert "satin" in newer
    assert "matt" in older


def test_a_recipe_that_is_not_named_keeps_its_tiles_too(run: Run, renamed: Path) -> None:
    """Once more renamed, and once more in its file alone; a tile of a name that no page ever had stays by itself."""
    (renamed / "sea-lyme.glost").rename(renamed / "lyme.glost")
    committed(renamed, "Another file", "2026-03-22")
    (renamed / "lyme.glost").write_text(recipe("Lyme Grass", more=BLUE.format(cobalt=2)), "utf-8")
    committed(renamed, "Another name", "2026-03-24")
    (renamed / "3.firing").write_text(
        FIRING.format(number=3, day="2026-03-25", surface="dry").replace("Marram", "Nobody")
    )
    said = run("results", cwd=renamed)
    assert said.returncode == 0
    assert said.stdout.count('glaze "Lyme Grass"\n') == 1
    assert 'glaze "Marram' not in said.stdout
    assert said.stdout.count("inferred: the page as committed last by that day") == 2
    assert "cobalt carbonate 1.00 -> 2.00" in said.stdout
    assert 'glaze "Nobody"' in said.stdout
    named = run("results", "lyme.glost", cwd=renamed).stdout
    assert named in said.stdout


def test_a_rename_that_is_not_committed_keeps_tiles_and_history(run: Run, renamed: Path) -> None:
    (renamed / "sea-lyme.glost").rename(renamed / "lyme.glost")
    (renamed / "lyme.glost").write_text(recipe("Lyme Grass", more=BLUE.format(cobalt=2)), "utf-8")
    said = run("results", "lyme.glost", cwd=renamed).stdout
    assert said.startswith('glaze "Lyme Grass"\n')
    assert said.count("inferred: the page as committed last by that day") == 2


def test_a_name_that_another_page_bears_now_is_that_page(run: Run, renamed: Path) -> None:
    (renamed / "other.glost").write_text(recipe("Marram", more=BLUE.format(cobalt=3)), "utf-8")
    said = run("results", "sea-lyme.glost", cwd=renamed)
    assert said.returncode == 0
    assert said.stdout == ""
    assert run("results", "other.glost", cwd=renamed).stdout.count("tile ") >= 2


def test_a_batch_keeps_the_name_that_its_recipe_had(run: Run, tmp_path: Path) -> None:
    """A tile of the new name with a batch of the old one is no slip, as long as no page has the old name."""
    lines = [
        {"material": "whiting", "name": "whiting", "base": True, "target_g": 90, "actual_g": 90, "lot": "",
         "balance": ""}
    ]  # fmt: skip
    batch = {
        "version": 1, "kind": "glost record", "recorded_at": "2026-03-04T09:30:00+01:00", "person": "N. O.",
        "project": "", "recipe": "Marram", "test": "", "file": "marram.glost", "revision": None,
        "batch": {"base_mass_g": 90, "total_mass_g": 90}, "lines": lines, "water_g": None, "sieve": "",
        "remarks": "", "checked_by": "", "total_actual_g": 90,
    }  # fmt: skip
    (tmp_path / "glost.yaml").write_text("name: a shelf\n", "utf-8")
    (tmp_path / "r.json").write_text(json.dumps(batch), "utf-8")
    assert run("record", "r.json", cwd=tmp_path).returncode == 0
    (name,) = (path.stem for path in tmp_path.glob("log/*/*.batch"))
    (tmp_path / "sea-lyme.glost").write_text(recipe("Sea Lyme"), "utf-8")
    page = FIRING.format(number=1, day="2026-03-05", surface="matt").replace("Marram", "Sea Lyme")
    (tmp_path / "1.firing").write_text(f"{page}    batch: {name}\n", "utf-8")
    assert run("lint", "1.firing", cwd=tmp_path).stdout == ""
    assert 'glaze "Sea Lyme"' in run("results", "sea-lyme.glost", cwd=tmp_path).stdout
    (tmp_path / "marram.glost").write_text(recipe(), "utf-8")
    assert (
        "this batch was one of 'Marram', and the tile is a test of 'Sea Lyme'"
        in run("lint", "1.firing", cwd=tmp_path).stdout
    )
