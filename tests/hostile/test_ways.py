"""The way to a file, however it is written, leads to one file, its own collection, and never out."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from glost.workspace.collection import Collections, find
from glost.workspace.paths import display, whole
from tests.conftest import Run

PAGE = 'glaze "A"\ncone: 06\natmosphere: oxidation\norigin: x\n\nbase:\n    whiting                100\n'


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.fixture
def two(tmp_path: Path) -> Path:
    """A collection, and beside it a recipe that lies in none."""
    (tmp_path / "col").mkdir()
    (tmp_path / "other").mkdir()
    (tmp_path / "col" / "glost.yaml").write_text("batch: 5 kg\nhandling: {whiting: house note of col}\n")
    (tmp_path / "col" / "y.glost").write_text(PAGE.replace('"A"', '"Y"'))
    (tmp_path / "other" / "a.glost").write_text(PAGE)
    return tmp_path


def test_a_path_with_dots_belongs_where_it_leads(run: Run, two: Path) -> None:
    for command in (
        ("convert", "--to", "markdown"),
        ("lint", "--output", "json"),
        ("catalog", "--to", "csv"),
    ):
        near = run(*command, "../other/a.glost", cwd=two / "col").stdout
        assert "house note of col" not in near
        assert near.replace("../other", "other") == run(*command, "other/a.glost", cwd=two).stdout


def test_convert_writes_nothing_outside_the_folder_it_is_given(run: Run, two: Path) -> None:
    (two / "col" / "other").mkdir()
    precious = two / "col" / "other" / "a.md"
    precious.write_text("precious")
    done = run("convert", "--to", "markdown", "--out", "out", "../other/a.glost", "y.glost", cwd=two / "col")
    assert precious.read_text() == "precious"
    written = {path.relative_to(two).as_posix() for path in two.rglob("*.md")} - {"col/other/a.md"}
    assert all(path.startswith("col/out/") for path in written), (written, done.stderr)


def test_one_file_by_two_ways_is_one(run: Run, two: Path) -> None:
    other = two / "other"
    assert run("lint", ".", "../other", "a.glost", "../other/../other/a.glost", cwd=other).stderr.startswith(
        "1 recipe checked"
    )


@pytest.mark.skipif(sys.platform == "win32", reason="links are made otherwise there")
def test_dots_behind_a_link_go_where_the_system_goes(two: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(two)
    (two / "far" / "deep").mkdir(parents=True)
    (two / "far" / "b.glost").write_text(PAGE)
    (two / "col" / "link").symlink_to(two / "far" / "deep")
    assert whole(Path("col/link/../b.glost")) == two / "far" / "b.glost"
    assert find(["col/link/../b.glost"], Collections()) == [Path("col/link/../b.glost")]
    assert Collections().root_of(Path("col/link/../b.glost")) is None
    assert Collections().root_of(Path("col/link/b.glost")) == two / "col"
    assert whole(Path("col/..")) == two


def test_a_file_called_as_standard_input_is(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is a file like any other, in every folder and with any cache."""
    below = tmp_path / "sub"
    below.mkdir()
    (below / "-").write_text(PAGE)
    said = [
        run("lint", "./-", cwd=below).stdout,
        run("lint", "sub/-", cwd=tmp_path).stdout.replace("sub/-", "./-"),
        run("lint", "sub/-", cwd=tmp_path, GLOST_CACHE="off").stdout.replace("sub/-", "./-"),
    ]
    assert len(set(said)) == 1
    assert "file-name" in said[0]
    monkeypatch.chdir(below)
    assert display(Path("-")) == "./-"


@pytest.mark.parametrize("name", ["glost.yaml", "materials.yaml", "glost-baseline.json"])
@pytest.mark.parametrize(
    "command",
    [("convert", "--to", "csv", "--out", "{}"), ("catalog", "--out", "{}"), ("lint", "--output", "json={}")],
    ids=lambda command: command[0],
)
def test_no_report_takes_the_place_of_the_collection(
    run: Run, tmp_path: Path, command: tuple[str, ...], name: str
) -> None:
    (tmp_path / "a.glost").write_text(PAGE)
    held = '{"version": 1, "findings": []}\n' if name.endswith("json") else "{}\n"
    (tmp_path / name).write_text(held)
    done = run(*(word.format(name) for word in command))
    assert done.returncode == 2
    assert "belongs to the collection, and would be lost" in done.stderr
    assert (tmp_path / name).read_text() == held
