"""Slips of somebody who writes a first blend: each is told with what to write."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import Run

ALDER = 'glaze "Alder"\ncone: 6\n\nbase:\n    soda feldspar   55\n    whiting         45\n'
BIRCH = 'glaze "Birch"\ncone: 6\n\nbase:\n    silica          70\n    kaolin          30\n'
LINE = 'base blend "line" by 50 %:\n    glaze "Alder"   100, 0\n    glaze "Birch"   0, 100\n'


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    for name, text in (
        ("glost.yaml", "name: Test\n"), ("alder.glost", ALDER), ("birch.glost", BIRCH),
        ("between.glost", f'glaze "Between"\ncone: 6\n\n{LINE}'),
    ):  # fmt: skip
        (tmp_path / name).write_text(text, "utf-8")
    return tmp_path


@pytest.mark.parametrize(
    "text",
    [
        'glaze "Elm"\ncone: 6\n\nbase:\n    glaze "Between"  50\n    silica  50\n',
        'glaze "Elm"\ncone: 6\n\n' + LINE.replace("Birch", "between"),
    ],
)
def test_a_page_of_points_is_no_recipe_by_itself(run: Run, shelf: Path, text: str) -> None:
    (shelf / "elm.glost").write_text(text, "utf-8")
    said = run("lint", "elm.glost", cwd=shelf)
    assert said.returncode == 1
    assert (
        "is the name of a page whose tests each set the base, so that it is no recipe by itself"
        in said.stdout
    )
    assert 'hint: write one of its tests, such as  glaze "Between, line 100/0"' in said.stdout
    fixed = text.replace('"Between"', '"Between, line 50/50"').replace('"between"', '"Between, line 50/50"')
    (shelf / "elm.glost").write_text(fixed, "utf-8")
    assert "(syntax)" not in run("lint", "elm.glost", cwd=shelf).stdout


def test_a_blend_of_its_own_page(run: Run, shelf: Path) -> None:
    (shelf / "between.glost").write_text(
        f'glaze "Between"\ncone: 6\n\n{LINE.replace("Birch", "Between")}', "utf-8"
    )
    said = run("lint", "between.glost", cwd=shelf)
    assert "'Between' is the name of a page whose tests each set the base" in said.stdout
    assert "did you mean  Between  ?" not in said.stdout


def test_a_blend_without_a_base(run: Run, shelf: Path) -> None:
    (shelf / "between.glost").write_text(f'glaze "Between"\ncone: 6\n\n{LINE.removeprefix("base ")}', "utf-8")
    assert "a blend of whole recipes is a  base blend" in run("lint", "between.glost", cwd=shelf).stdout
    (shelf / "between.glost").write_text('glaze "Between"\ncone: 6\n', "utf-8")
    assert "base blend" not in run("lint", "between.glost", cwd=shelf).stdout


@pytest.mark.parametrize("out", ["alder.glost", "birch.glost", "between.glost"])
def test_a_blend_is_never_written_over_one_of_its_corners(run: Run, shelf: Path, out: str) -> None:
    before = (shelf / out).read_bytes()
    said = run("blend", "alder.glost", "birch.glost", "--by", "25 %", "--out", out, cwd=shelf)
    assert said.returncode == 2
    assert f"'{out}' is there already, and no file is written over; name another." in said.stderr
    assert (shelf / out).read_bytes() == before


def test_a_point_that_is_not_there(run: Run, shelf: Path) -> None:
    for words in (("batch",), ("blend", "--wet", "50 ml", "--gravity", "1.4, 1.5")):
        said = run(words[0], "between.glost", *words[1:], "--points", "9", cwd=shelf)
        assert said.returncode == 2
        assert (
            "no blend here has a point '9'; write numbers or shares as they stand on the map" in said.stderr
        )
