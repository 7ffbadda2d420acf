"""glost blend: pages of blends, and points as recipes."""

from __future__ import annotations

import json
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from tests.conftest import STUDIO, Run

CORNERS = [STUDIO / "stoneware" / f"{name}.glost" for name in ("harbour-mist", "clear-ebb", "low-cloud")]


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    """Three recipes of the demo collection in one of their own."""
    for path in CORNERS:
        (tmp_path / path.name).write_text(path.read_text("utf-8"), "utf-8")
    for name in ("glost.yaml", "materials.yaml"):
        (tmp_path / name).write_text((STUDIO / name).read_text("utf-8"), "utf-8")
    return tmp_path


def lines_of(test: dict[str, object]) -> dict[str, Fraction]:
    """The exact masses of a test of 100 g base, for 100 g of the whole."""
    found: dict[str, Fraction] = {}
    lines = test["lines"]
    assert isinstance(lines, list)
    for line in lines:
        found[line["material"]] = found.get(line["material"], Fraction(0)) + Fraction(line["exact_g"])
    whole = sum(found.values())
    return {name: round(mass * 100 / whole, 12) for name, mass in found.items() if mass}


def test_a_triangle_is_written_checked_and_planned(run_here: Run, studio: Path) -> None:
    names = [path.name for path in CORNERS]
    made = run_here("blend", *names, "--by", "20 %", "--out", "x.glost", cwd=studio)
    assert made.returncode == 0, made.stderr
    assert run_here("lint", "x.glost", cwd=studio).returncode == 0
    planned = json.loads(
        run_here("batch", "x.glost", "--output", "json", cwd=studio).stdout, parse_float=Decimal
    )
    tests = planned["tests"]
    assert len(tests) == 21
    assert all(test["base_mass_g"] == 100 for test in tests)
    for number, name in zip((1, 16, 21), names, strict=True):
        alone = json.loads(
            run_here("batch", name, "--output", "json", cwd=studio).stdout, parse_float=Decimal
        )
        assert lines_of(tests[number - 1]) == lines_of(alone["tests"][0])


def test_a_point_is_a_recipe_with_a_base_of_exactly_100(run_here: Run, studio: Path) -> None:
    run_here("blend", CORNERS[0].name, CORNERS[1].name, "--by", "25", "--out", "line.glost", cwd=studio)
    made = run_here("blend", "line.glost", "--point", "75/25", "--out", "point.glost", cwd=studio)
    assert made.returncode == 0, made.stderr
    data = json.loads(
        run_here("convert", "point.glost", "--to", "json", cwd=studio).stdout, parse_float=Decimal
    )
    recipe = data["recipes"][0]
    assert recipe["base_total"] == 100
    assert recipe["fields"]["origin"].startswith('point 75/25 of "Line, line"')


def test_a_blend_that_nobody_could_weigh_is_not_written(run_here: Run, studio: Path) -> None:
    """A page may stand for ten thousand lines to weigh: 5,151 points of three glazes are more."""
    made = run_here("blend", *(path.name for path in CORNERS), "--by", "1", "--out", "x.glost", cwd=studio)
    assert made.returncode == 2
    said = " ".join(made.stderr.split())
    assert "5151 points" in said
    assert "take a larger step" in said
    assert not (studio / "x.glost").exists()


def test_a_page_outside_of_the_collection_takes_the_notes_of_the_house_along(
    run_here: Run, studio: Path
) -> None:
    """What is weighed is the same, and outside nobody reads the settings of the house."""
    inside = studio / "house"
    inside.mkdir()
    for path in list(studio.iterdir()):
        if path != inside:
            path.rename(inside / path.name)
    (inside / "glost.yaml").write_text(
        "handling:\n  silica: P100 respirator and gloves, the house says\n  quartz sand: not in any of these\n",
        "utf-8",
    )
    names = [f"house/{path.name}" for path in CORNERS[:2]]
    made = run_here("blend", *names, "--by", "50", "--out", "out.glost", cwd=studio)
    assert made.returncode == 0, made.stderr
    text = (studio / "out.glost").read_text("utf-8")
    assert text.count("the house says") == 1
    assert "not in any" not in text
    made = run_here("blend", "out.glost", "--point", "50/50", "--out", "point.glost", cwd=studio)
    assert (studio / "point.glost").read_text("utf-8").count("the house says") == 1
    made = run_here("blend", *names, "--by", "50", "--out", "house/in.glost", cwd=studio)
    assert made.returncode == 0, made.stderr
    assert "the house says" not in (inside / "in.glost").read_text("utf-8")


def test_no_file_is_written_over(run_here: Run, studio: Path) -> None:
    there = studio / "there.glost"
    there.write_text("mine\n", "utf-8")
    made = run_here(
        "blend", *(path.name for path in CORNERS), "--by", "50", "--out", "there.glost", cwd=studio
    )
    assert made.returncode == 2
    assert "no file is written over" in made.stderr
    assert there.read_text("utf-8") == "mine\n"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["harbour-mist.glost", "--by", "20", "--out", "y.glost"], "2, 3 or 4 corners"),
        (["harbour-mist.glost", "harbour-mist.glost", "--by", "20", "--out", "y.glost"], "corner twice"),
        (
            ["harbour-mist.glost", "clear-ebb.glost", "--by", "33.3 %", "--out", "y.glost"],
            "does not divide 100",
        ),
        (["harbour-mist.glost", "clear-ebb.glost", "--by", "a lot", "--out", "y.glost"], "is no step"),
        (["harbour-mist.glost", "clear-ebb.glost", "--by", "20", "--out", "y.txt"], "does not end in .glost"),
        (["harbour-mist.glost", "--point", "50/50", "--out", "y.glost"], "holds no blend"),
        (["harbour-mist.glost", "clear-ebb.glost", "--out", "y.glost"], "--by STEP"),
    ],
)
def test_what_makes_no_blend_is_said(run_here: Run, studio: Path, arguments: list[str], said: str) -> None:
    made = run_here("blend", *arguments, cwd=studio)
    assert made.returncode == 2
    assert said in " ".join(made.stderr.split())
    assert not (studio / "y.glost").exists()


def test_only_the_points_that_are_asked_for_are_planned(run_here: Run, studio: Path) -> None:
    run_here("blend", *(path.name for path in CORNERS), "--by", "20", "--out", "x.glost", cwd=studio)
    shown = run_here(
        "batch", "x.glost", "--points", "1, 20/20/60, 7-8", "--output", "json", cwd=studio
    ).stdout
    labels = [test["label"] for test in json.loads(shown)["tests"]]
    assert labels == [f"triangle {shares}" for shares in ("100/0/0", "40/60/0", "40/40/20", "20/20/60")]
    missing = run_here("batch", "x.glost", "--points", "22", cwd=studio)
    assert missing.returncode == 2
    assert "no blend here has a point '22'" in missing.stderr
