"""glost lint --rest: what a second hook checks beside one that has the recipes."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.cli.test_changed import bad, page
from tests.conftest import Run


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    """Two collections of three wrong pages each."""
    for place in ("blue", "red"):
        page(tmp_path / place / "glost.yaml", "materials: materials.yaml\n")
        page(tmp_path / place / "materials.yaml", "materials:\n  - name: kaolin\n    note: ours comes damp\n")
        for name in ("Mist", "Hay", "Straw"):
            page(tmp_path / place / f"{name.lower()}.glost", bad(name))
    return tmp_path


def found(said: str) -> list[str]:
    return sorted(re.findall(r"^(\S+\.glost):6:1: error: ", said, re.M))


@pytest.mark.parametrize("settings", ["glost.yaml", "materials.yaml", "glost-baseline.json"])
def test_all_of_the_collection_but_what_is_named(run: Run, studio: Path, settings: str) -> None:
    paths = ["blue/hay.glost", f"blue/{settings}", "red/hay.glost"]
    if settings.endswith("json"):
        assert run("lint", "blue", "--write-baseline", cwd=studio).returncode == 0
        (studio / "blue" / "glost-baseline.json").write_text('{"version": 2, "findings": []}', "utf-8")
    done = run("lint", "--rest", *paths, cwd=studio)
    assert found(done.stdout) == ["blue/mist.glost", "blue/straw.glost"]
    assert done.returncode == 1
    # Together with the first hook: each finding of the collection once.
    first = run("lint", "--in-collection", *[path for path in paths if path.endswith(".glost")], cwd=studio)
    both = sorted(found(first.stdout) + found(done.stdout))
    assert both == ["blue/hay.glost", "blue/mist.glost", "blue/straw.glost", "red/hay.glost"]


def test_nothing_to_do_without_settings_or_where_all_is_named(run: Run, studio: Path) -> None:
    pages = [f"blue/{name}.glost" for name in ("mist", "hay", "straw")]
    for paths in (pages, [*pages, "blue/glost.yaml"]):
        done = run("lint", "--rest", *paths, cwd=studio)
        assert (done.returncode, found(done.stdout)) == (0, [])


def test_wrong_settings_are_told_where_no_recipe_is_left(run: Run, studio: Path) -> None:
    page(studio / "empty" / "glost.yaml", "no such key: 1\n")
    done = run("lint", "--rest", "empty/glost.yaml", cwd=studio)
    assert done.returncode == 2
    assert "empty/glost.yaml:1:1" in done.stdout + done.stderr


@pytest.mark.parametrize("other", [["--fix"], ["--staged"], ["--in-collection"], ["--changed"]])
def test_what_does_not_go_with_it(run: Run, studio: Path, other: list[str]) -> None:
    assert run("lint", "--rest", "blue/glost.yaml", *other, cwd=studio).returncode == 2
    assert run("lint", "--rest", cwd=studio).returncode == 2
