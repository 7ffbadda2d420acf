"""Every form of a page with a blend, on those of the demo collection: what is printed, what a program gets, and the way
back."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
from decimal import Decimal
from pathlib import Path

import jsonschema
import pytest

from tests.conftest import STUDIO, TOP, Run

BLENDS = sorted(path.name for path in (STUDIO / "blends").glob("*.glost"))
COUNTS = {"ebb-in-colours": 16, "four-moods": 9, "mist-to-ebb": 5, "three-waters": 21}


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    for name in ("stoneware", "blends"):
        shutil.copytree(STUDIO / name, tmp_path / name)
    for name in ("glost.yaml", "materials.yaml"):
        shutil.copy(STUDIO / name, tmp_path / name)
    return tmp_path


def converted(run_here: Run, studio: Path, name: str, form: str, *more: str) -> str:
    made = run_here("convert", f"blends/{name}", "--to", form, *more, cwd=studio)
    assert (made.returncode, made.stderr) == (0, "")
    return made.stdout


@pytest.mark.parametrize("name", BLENDS)
@pytest.mark.parametrize("form", ["sheet", "markdown", "html"])
def test_every_point_has_a_sheet_with_its_cautions(run_here: Run, studio: Path, name: str, form: str) -> None:
    shown = converted(run_here, studio, name, form)
    count = COUNTS[name.removesuffix(".glost")]
    assert all(f"sheet {number} of {count}" in shown for number in range(1, count + 1))
    assert "P100" in shown


@pytest.mark.parametrize("name", BLENDS)
def test_every_point_has_a_label(run_here: Run, studio: Path, name: str) -> None:
    shown = converted(run_here, studio, name, "labels")
    count = COUNTS[name.removesuffix(".glost")]
    assert shown.count('<article class="cup">') == count
    # On the cup and on the tile stands the number of its place on the board.
    points = count - ("colours" in name)
    numbers = re.findall(r'<p class="test"><b>(\d+)</b>: ', shown)
    assert numbers == [f"{number}" for number in range(1, points + 1) for _ in ("cup", "tile")]


@pytest.mark.parametrize("form", ["sheet", "markdown", "html", "labels"])
def test_only_the_points_that_are_asked_for_are_printed(run_here: Run, studio: Path, form: str) -> None:
    shown = converted(run_here, studio, "three-waters.glost", form, "--points", "1, 20/20/60")
    assert "20/20/60" in shown
    assert "100/0/0" in shown
    assert "0/100/0" not in shown.replace("100/0/0", "")


def test_points_that_no_blend_has_are_said(run_here: Run, studio: Path) -> None:
    made = run_here("convert", "blends", "--to", "sheet", "--points", "22", cwd=studio)
    assert made.returncode == 2
    assert "no blend here has a point '22'" in made.stderr
    whole = run_here("convert", "blends", "--to", "csv", "--points", "1", cwd=studio)
    assert whole.returncode == 2
    assert "leave --points out" in whole.stderr


def test_sheets_of_some_points_do_not_take_the_place_of_all(run_here: Run, studio: Path) -> None:
    for more in ((), ("--points", "1-3, 20/20/60"), ("--points", "1-3")):
        made = run_here(
            "convert", "blends/three-waters.glost", "--to", "sheet", "--out", "out/", *more, cwd=studio
        )
        assert made.returncode == 0
    assert len(list((studio / "out").rglob("*.txt"))) == 3


@pytest.mark.parametrize("name", BLENDS)
@pytest.mark.parametrize("form", ["csv", "json", "jsonl"])
def test_what_a_program_gets_comes_back_as_the_same_page(
    run_here: Run, studio: Path, name: str, form: str
) -> None:
    (studio / f"table.{form}").write_text(converted(run_here, studio, name, form), "utf-8")
    back = studio / "stoneware" / "back"
    made = run_here("import", f"table.{form}", "--to", str(back), cwd=studio)
    assert made.returncode == 0, made.stdout
    (page,) = back.glob("*.glost")
    first, second = (
        run_here("batch", path, "--output", "json", cwd=studio).stdout
        for path in (f"blends/{name}", str(page))
    )
    assert [one["lines"] for one in json.loads(first)["tests"]] == [
        one["lines"] for one in json.loads(second)["tests"]
    ]


@pytest.mark.parametrize("name", BLENDS)
@pytest.mark.parametrize("command", ["batch", "session"])
def test_a_plan_for_programs_has_the_number_and_the_shares_of_each_point(
    run_here: Run, studio: Path, name: str, command: str
) -> None:
    made = json.loads(
        run_here(command, f"blends/{name}", "--output", "json", cwd=studio).stdout, parse_float=Decimal
    )
    schema = json.loads((TOP / "schema" / f"{command}.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator(schema).validate(json.loads(json.dumps(made, default=float)))
    tests = made["tests" if command == "batch" else "cups"]
    points = [one["point"] for one in tests if one["label"]]
    assert [one["number"] for one in points] == list(range(1, len(points) + 1))
    assert all(sum(one["shares"]) == 100 for one in points)
    assert all("point" not in one for one in tests if not one["label"])


@pytest.mark.parametrize("name", BLENDS)
def test_every_point_stands_in_the_catalog_the_formulas_and_the_chart(
    run_here: Run, studio: Path, name: str
) -> None:
    count = COUNTS[name.removesuffix(".glost")]
    table = run_here("catalog", f"blends/{name}", "--to", "csv", cwd=studio).stdout
    rows = list(csv.DictReader(io.StringIO(table)))
    assert len(rows) == count
    shown = json.loads(run_here("formula", f"blends/{name}", "--output", "json", cwd=studio).stdout)
    assert len(shown["tests"]) == count
    assert all(one["unity"] for one in shown["tests"])
    made = run_here("plot", f"blends/{name}", "--out", "chart.svg", cwd=studio)
    assert made.returncode == 0, made.stderr


def test_a_point_is_matched_by_its_label(run_here: Run, studio: Path) -> None:
    made = run_here(
        "match", "blends/mist-to-ebb.glost", "--test", "line 75/25", "--output", "json", cwd=studio
    )
    assert made.returncode == 0, made.stderr
    assert "line 75/25" in made.stdout


def test_a_blend_that_is_poured_says_what_to_mix_and_what_to_pour(run_here: Run, studio: Path) -> None:
    made = run_here(
        "blend", "blends/mist-to-ebb.glost", "--wet", "60 ml", "--gravity", "1.45, 1.50", cwd=studio
    )
    assert made.returncode == 0, made.stderr
    lines = made.stdout.splitlines()
    assert lines[0] == "Mist To Ebb, line: 5 cups of 60 ml, poured by volume"
    rows = [line.split() for line in lines if line.startswith("[ ]")]
    assert [row[3] for row in rows] == ["100/0", "75/25", "50/50", "25/75", "0/100"]
    # Rounded each by itself, to half a millilitre: the cup may be half a millilitre off.
    assert all(abs(sum(map(Decimal, row[4:6]), Decimal(-60))) <= Decimal("0.5") for row in rows)
    assert "equal volumes would give" in made.stdout
    assert "safety data sheet" in made.stdout
    some = run_here("blend", "blends/mist-to-ebb.glost", "--wet", "60 ml", "--points", "50/50", cwd=studio)
    assert some.stdout.count("[ ]") == 1
    assert "calculated, water 75 %" in some.stdout


POUR = json.loads((TOP / "schema" / "pour.schema.json").read_text("utf-8"))


@pytest.mark.parametrize("name", BLENDS)
def test_a_program_gets_what_is_poured(run_here: Run, studio: Path, name: str) -> None:
    made = run_here("blend", f"blends/{name}", "--wet", "60 ml", "--output", "json", cwd=studio)
    assert made.returncode == 0, made.stderr
    found = json.loads(made.stdout, parse_float=Decimal)
    jsonschema.Draft202012Validator(POUR).validate(json.loads(made.stdout))
    assert len(found["cups"]) == len(
        [cup for cup in found["cups"] if abs(sum(cup["exact_ml"]) - 60) < Decimal("0.00001")]
    )
    for at, slip in enumerate(found["slips"]):
        poured = sum((cup["poured_ml"][at] for cup in found["cups"]), Decimal(0))
        assert poured == slip["poured_ml"]
        assert slip["mixed_ml"] == poured * (100 + found["margin_percent"]) / 100
        # What is mixed holds as many millilitres as its dry material and its water take up.
        assert abs(slip["dry_g"] / slip["dry_gravity"] + slip["water_g"] - slip["mixed_ml"]) < Decimal(
            "0.001"
        )
        assert abs(slip["dry_g"] + slip["water_g"] - slip["mixed_ml"] * slip["gravity"]) < Decimal("0.001")
    for cup in found["cups"]:
        dry = [ml * slip["dry_g_per_ml"] for ml, slip in zip(cup["exact_ml"], found["slips"], strict=True)]
        assert all(
            abs(sum(cup[which]) - 100) < Decimal("0.0001") for which in ("gives", "equal_volumes_give")
        )
        if "square" not in name and "colours" not in name:
            # Corners of 100 parts each: the shares are those of dry mass.
            for share, grams in zip(cup["point"]["shares"], dry, strict=True):
                assert abs(grams * 100 / sum(dry) - share) < Decimal("0.001")


@pytest.mark.parametrize("form", ["html", "markdown"])
def test_what_is_poured_is_a_page_with_map_masses_and_cautions(
    run_here: Run, studio: Path, form: str
) -> None:
    made = run_here("blend", "blends/mist-to-ebb.glost", "--wet", "60 ml", "--output", form, cwd=studio)
    assert made.returncode == 0, made.stderr
    shown = made.stdout
    order = [
        "Handling and cautions",
        "Mix these slips first",
        "nepheline syenite",
        "Pour, to 0.5 ml",
        "which gives",
    ]
    found = [shown.index(words) for words in order[:2]]
    found += [shown.index(words, found[-1]) for words in order[2:]]
    assert found == sorted(found)
    assert "P100" in shown
    assert "75.2/24.8" in shown
    assert ("<svg" if form == "html" else "```text") in shown


def test_a_corner_is_the_slip_that_its_own_page_says(run_here: Run, studio: Path) -> None:
    """The page of the blend says nothing, or says less than the pages of its corners."""
    ebb = studio / "stoneware" / "clear-ebb.glost"
    text = ebb.read_text("utf-8")
    assert "gravity: 1.45" in text
    mist = studio / "stoneware" / "harbour-mist.glost"
    mist.write_text(mist.read_text("utf-8").replace("cone: 6", "cone: 6\ngravity: 1.52", 1), "utf-8")
    blend = studio / "blends" / "mist-to-ebb.glost"

    def gravities(*more: str) -> list[object]:
        made = run_here("blend", str(blend), "--wet", "60 ml", "--output", "json", *more, cwd=studio)
        assert made.returncode == 0, made.stderr
        return [(slip["gravity"], slip["gravity_from"]) for slip in json.loads(made.stdout)["slips"]]

    own = [(1.52, 'that of "Harbour Mist"'), (1.45, 'that of "Clear Ebb"')]
    assert gravities() == own
    blend.write_text(blend.read_text("utf-8").replace("cone: 6", "cone: 6\ngravity: 1.6", 1), "utf-8")
    assert gravities() == own
    assert gravities("--gravity", "1.48") == [(1.48, "measured")] * 2
    # A corner that is more than a recipe by itself is another slip.
    blend.write_text(
        blend.read_text("utf-8").replace(
            '"Clear Ebb"       0, 100', '"Clear Ebb"       0, 98\n    silica  0, 2'
        ),
        "utf-8",
    )
    assert gravities() == [own[0], (1.6, "as the page has it")]


def test_output_belongs_to_what_is_poured(run_here: Run, studio: Path) -> None:
    made = run_here(
        "blend",
        "blends/mist-to-ebb.glost",
        "--point",
        "3",
        "--out",
        "x.glost",
        "--output",
        "json",
        cwd=studio,
    )
    assert made.returncode == 2
    assert '--wet "60 ml"' in " ".join(made.stderr.split())
    assert not (studio / "x.glost").exists()


@pytest.mark.parametrize(
    ("more", "status", "said"),
    [
        ([], 1, "nothing says how dense the slips are"),
        (["--gravity", "1.45, 1.5, 1.6"], 1, "3 gravities are given, and the blend has 2 corners"),
        (["--gravity", "1.45, 5"], 1, "a slip of gravity 5 cannot be"),
        (["--gravity", "thick"], 2, "'thick' is no gravity"),
        (["--gravity", "1.45", "--points", "9"], 2, "no blend here has a point '9'"),
        (["--by", "20"], 2, "--wet prints a plan"),
        (["--gravity", "1.45", "--test", "square"], 2, "holds no blend of that name"),
    ],
)
def test_a_blend_that_cannot_be_poured_is_told(
    run_here: Run, studio: Path, more: list[str], status: int, said: str
) -> None:
    settings = studio / "glost.yaml"
    lines = settings.read_text("utf-8").splitlines(keepends=True)
    settings.write_text("".join(line for line in lines if not line.startswith("water:")), "utf-8")
    for name in ("harbour-mist", "clear-ebb"):
        corner = studio / "stoneware" / f"{name}.glost"
        lines = corner.read_text("utf-8").splitlines(keepends=True)
        kept = (line for line in lines if not line.startswith(("water:", "gravity:")))
        corner.write_text("".join(kept), "utf-8")
    made = run_here("blend", "blends/mist-to-ebb.glost", "--wet", "60 ml", *more, cwd=studio)
    assert made.returncode == status
    assert said in " ".join(made.stderr.split())


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [
        (
            'base blend "b" by 50 %:\n    silica  90, 80\n',
            'blend "b" by 50 %:\n    tin oxide  1, 2, 3\n',
            "corners",
        ),
        (
            'base blend "b" by 50 %:\n    silica  90, 80, 70\n',
            'blend "b" by 50 %:\n    tin oxide  1, 2\n',
            "corners",
        ),
        ('base series "b":\n    silica  90, 80, 70\n', 'series "b":\n    tin oxide  1, 2\n', "tests"),
        ('base series "b":\n    silica  90, 80\n', 'series "b":\n    tin oxide  1, 2, 3\n', "tests"),
    ],
)
def test_a_pair_of_unequal_columns_is_told_and_stops_nothing(
    run_here: Run, tmp_path: Path, first: str, second: str, said: str
) -> None:
    (tmp_path / "page.glost").write_text(
        f'glaze "Page"\n\nbase:\n    silica  100\n\n{first}\n{second}', "utf-8"
    )
    made = run_here("lint", "page.glost", cwd=tmp_path)
    assert made.returncode == 1
    assert f"{said} in its two blocks" in made.stdout
