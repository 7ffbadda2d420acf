"""A recipe that is made of others changes with them: compare tells it, history has it, a batch keeps the revisions, and
the results know what was in a tile."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from glost.records.text import record_of
from tests.conftest import Run
from tests.repository import committed

HEAD = "cone: 6\natmosphere: oxidation\norigin: invented\n"
BUOY = """glaze "Buoy White"
{head}
base:
    silica           {silica}
    whiting          {whiting}
    kaolin           20
    potash feldspar  30
"""
KELP = """glaze "Kelp"
{head}
base:
    glaze "Buoy White"  80
    kaolin              20

additions:
    tin oxide            5
"""
DEEP = """glaze "Deep Kelp"
{head}batch: 200 g

base:
    glaze "Kelp"   50
    silica         50
"""
PAIR = """glaze "Pair"
{head}batch: 200 g

base blend "line" by 50 %:
    glaze "Kelp"        100, 0
    glaze "Buoy White"    0, 100
"""


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def write(shelf: Path, name: str, text: str, silica: int = 30) -> None:
    (shelf / name).write_text(text.format(head=HEAD, silica=silica, whiting=50 - silica), "utf-8")


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    """Two commits; the second changes the one page that the others are made of, and nothing else."""
    folder = tmp_path / "shelf"
    folder.mkdir()
    (folder / "glost.yaml").write_text("name: a shelf\n", "utf-8")
    for name, text in (
        ("buoy.glost", BUOY),
        ("kelp.glost", KELP),
        ("deep.glost", DEEP),
        ("pair.glost", PAIR),
    ):
        write(folder, name, text)
    committed(folder, "Begin", "2026-03-01")
    write(folder, "buoy.glost", BUOY, 28)
    committed(folder, "Less silica", "2026-03-10")
    return folder


def revisions(run: Run, shelf: Path) -> list[str]:
    """The short names of both commits, the older one first."""
    rows = run("history", "buoy.glost", "--output", "csv", cwd=shelf).stdout.splitlines()
    return [cell.strip("'").split()[0] for cell in rows[0].split(",")[2:]]


def through(said: str) -> dict[str, dict[str, tuple[str, str]]]:
    """Of each recipe in a comparison what came by the recipes that it uses, exact."""
    return {
        one["name"]: {
            f"{change['within']}, {change['what']}": (change["old"]["exact"][0], change["new"]["exact"][0])
            for change in one["changes"]
            if change["section"] == "through"
        }
        for one in json.loads(said)["recipes"]
    }


@pytest.mark.parametrize(
    "sides",
    [["HEAD~1", "HEAD"], ["HEAD~1"], ["HEAD~1", "HEAD", "--", "kelp.glost", "deep.glost", "pair.glost"]],
)
def test_a_comparison_tells_what_comes_by_an_ingredient(run: Run, shelf: Path, sides: list[str]) -> None:
    at = sides.index("--") if "--" in sides else len(sides)
    said = run("compare", *sides[:at], "--output", "json", *sides[at:], cwd=shelf)
    assert said.returncode == 1
    found = through(said.stdout)
    # 80 of 105 of Kelp are Buoy White, of which 30 of 100 were silica: 24 of 105, and 22.4 of 105.
    assert found["Kelp"] == {
        'glaze "Buoy White", silica': ("30", "28"),
        'glaze "Buoy White", whiting': ("20", "22"),
    }
    assert found["Deep Kelp"] == {
        'glaze "Kelp", silica': ("160/7", "64/3"),
        'glaze "Kelp", whiting': ("320/21", "352/21"),
    }
    assert found["Pair"] == {**found["Deep Kelp"], **found["Kelp"]}


def test_it_says_how_much_that_is_here(run: Run, shelf: Path) -> None:
    said = run("compare", "HEAD~1", "HEAD", "--", "kelp.glost", cwd=shelf).stdout
    assert 'through glaze "Buoy White", for 100 of its mix' in said
    row = next(line for line in said.splitlines() if line.strip().startswith("silica"))
    assert row.split() == ["silica", "30.00", "28.00", "-2.00", "here", "24.00", "->", "22.40"]
    brief = run("compare", "HEAD~1", "HEAD", "--brief", "--", "kelp.glost", cwd=shelf).stdout
    assert 'through glaze "Buoy White", silica 30.00 -> 28.00 (here 24.00 -> 22.40)' in brief
    assert "| " in run("compare", "HEAD~1", "HEAD", "--output", "markdown", cwd=shelf).stdout


def test_own_changes_come_first(run: Run, shelf: Path) -> None:
    write(
        shelf,
        "kelp.glost",
        KELP.replace("kaolin              20", "kaolin              18\n    zinc oxide           2"),
    )
    said = run("compare", "HEAD~1", "--", "kelp.glost", cwd=shelf).stdout
    assert said.index("base, parts of 100") < said.index("through glaze") < said.index("fired")


def test_another_scale_of_the_ingredient_is_no_change(run: Run, shelf: Path) -> None:
    doubled = (
        BUOY.replace("20\n    potash feldspar  30", "40\n    potash feldspar  60")
        .replace("{silica}", "56")
        .replace("{whiting}", "44")
    )
    write(shelf, "buoy.glost", doubled)
    said = run("compare", "HEAD", "--output", "json", cwd=shelf)
    assert said.returncode == 0
    assert all(one["changes"] == [] for one in json.loads(said.stdout)["recipes"])


def test_a_note_that_comes_by_an_ingredient_is_told(run: Run, shelf: Path) -> None:
    write(shelf, "buoy.glost", BUOY + "\nhandling:\n    silica: P100 respirator.\n", 28)
    said = run("compare", "HEAD", "--", "kelp.glost", cwd=shelf).stdout
    assert 'through glaze "Buoy White", silica, handling' in " ".join(said.split())


def test_history_has_the_changes_of_what_it_is_made_of(run: Run, shelf: Path) -> None:
    older, newer = revisions(run, shelf)
    said = run("history", "deep.glost", cwd=shelf)
    assert (said.returncode, said.stderr) == (0, "")
    assert f"{newer}   2026-03-10  Tern Saltmarsh  Less silica" in said.stdout
    assert 'through glaze "Kelp", for 100 of its mix' in said.stdout
    (silica,) = [
        line
        for line in said.stdout[said.stdout.index("through") :].splitlines()
        if "silica" in line and "*" in line
    ]
    assert silica.split() == ["silica", "*21.33", "22.86"]
    # One that changes nothing in it is none of its revisions.
    write(shelf, "buoy.glost", f"# Only a remark.\n{BUOY}", 28)
    committed(shelf, "A remark", "2026-03-11")
    assert "A remark" not in run("history", "deep.glost", cwd=shelf).stdout
    assert older in said.stdout


def test_a_batch_keeps_the_revisions_of_what_it_was_made_of(run: Run, shelf: Path) -> None:
    older, newer = revisions(run, shelf)
    answers = "material,weighed_g\n" + "".join(
        f"{name},ticked\n" for name in ("silica", "whiting", "kaolin", "potash feldspar")
    )
    (shelf / "answers.csv").write_text(answers)
    (shelf / "kelp.glost").write_text((shelf / "kelp.glost").read_text() + "# To be looked at.\n")
    done = run(
        "record", "--from-sheet", "pair.glost", "--test", "line 0/100", "--csv", "answers.csv", "--day", "2026-03-20",
        cwd=shelf,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    (page,) = shelf.glob("log/2026/*.batch")
    record = record_of(page.read_text("utf-8"))
    assert [one.told for one in record.uses] == [f'glaze "Buoy White" at {newer}']
    assert [one.file for one in record.uses] == ["buoy.glost"]
    assert record.revision is not None
    assert record.revision.text == older
    sheet = run("convert", "pair.glost", "--to", "html", cwd=shelf).stdout
    assert (
        f'"uses":[{{"kind":"glaze","name":"Kelp","file":"kelp.glost","revision":{{"text":"{older}","changed":true}}}}'
        in sheet.replace(", ", ",").replace(": ", ":")
    )
    assert f"kelp.glost, revision {older}, changed since" in run(
        "convert", "pair.glost", "--to", "sheet", cwd=shelf
    ).stdout.replace("\n", " ").replace("    ", "")


FIRING = (
    'firing "Kiln {day}"\ndate: {day}\n\ntile "1":\n    test: glaze "Deep Kelp"\n    surface: {surface}\n'
)


def test_results_take_what_the_recipes_among_the_ingredients_were_then(run: Run, shelf: Path) -> None:
    older, newer = revisions(run, shelf)
    for day, surface in (("2026-03-05", "matt"), ("2026-03-10", "satin")):
        (shelf / f"{day}.firing").write_text(FIRING.format(day=day, surface=surface))
    data = json.loads(run("results", "--output", "json", cwd=shelf).stdout)["results"]
    assert [one["uses"] for one in data] == [
        [f'glaze "Kelp" at {older}', f'glaze "Buoy White" at {older}'],
        [f'glaze "Kelp" at {older}', f'glaze "Buoy White" at {newer}, changed that very day'],
    ]
    moved = {one["what"]: (one["old"], one["new"]) for one in data[1]["changes"]}
    # Half of Deep Kelp is Kelp: 80/105 of it Buoy White, and 50 parts of silica stand beside it.
    assert moved == {"silica": ("61.43", "60.67"), "whiting": ("7.62", "8.38")}
    history = run("history", "deep.glost", cwd=shelf).stdout
    assert "satin" in history[history.index("Less silica") : history.index("Begin")]
    assert "matt" in history[history.index("Begin") :]


def test_a_recipe_that_had_another_name_then_is_found_in_its_commit(run: Run, shelf: Path) -> None:
    for file in ("buoy.glost", "kelp.glost", "pair.glost"):
        page = shelf / file
        page.write_text(page.read_text().replace("Buoy White", "Marker White"))
    (shelf / "buoy.glost").rename(shelf / "marker.glost")
    committed(shelf, "Another name", "2026-03-12")
    said = run("history", "kelp.glost", cwd=shelf)
    assert (said.returncode, said.stderr) == (0, "")
    assert "Less silica" in said.stdout


def test_a_rename_that_is_not_committed_shows_the_commits_of_what_it_uses(run: Run, shelf: Path) -> None:
    (shelf / "kelp.glost").rename(shelf / "wrack.glost")
    write(shelf, "wrack.glost", KELP.replace("Kelp", "Wrack"))
    said = json.loads(run("history", "wrack.glost", "--output", "json", cwd=shelf).stdout)["revisions"]
    assert [one["subject"] for one in said] == ["not committed yet", "Less silica", "Begin"]
    assert [one["moves"] for one in said] == [["renamed from kelp.glost"], [], []]
    assert {(change["within"], change["what"]) for change in said[1]["changes"]} == {
        ('glaze "Buoy White"', "silica"),
        ('glaze "Buoy White"', "whiting"),
    }


def test_a_material_of_the_collection_that_comes_by_an_ingredient(run: Run, shelf: Path) -> None:
    own = (
        "materials:\n  - name: tip ash\n    role: ash\n    source: invented\n    hazards: []\n"
        "    analysis: {{CaO: {lime}, K2O: {potash}}}\n    loss: 0\n"
    )
    (shelf / "glost.yaml").write_text("name: a shelf\nmaterials: own.yaml\n", "utf-8")
    (shelf / "own.yaml").write_text(own.format(lime=50, potash=50), "utf-8")
    write(shelf, "buoy.glost", BUOY.replace("kaolin ", "tip ash"), 28)
    committed(shelf, "Ash", "2026-03-11")
    (shelf / "own.yaml").write_text(own.format(lime=60, potash=40), "utf-8")
    committed(shelf, "Analysed anew", "2026-03-12")
    for page in ("buoy", "kelp", "deep"):
        newest = json.loads(run("history", f"{page}.glost", "--output", "json", cwd=shelf).stdout)[
            "revisions"
        ][0]
        assert newest["subject"] == "Analysed anew"
        assert [one["what"] for one in newest["changes"]] == ["analysis"]
