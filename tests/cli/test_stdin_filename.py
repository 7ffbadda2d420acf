"""--stdin-filename: a text on standard input is judged, and told of, as the file that it is that of."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import Run

PAGE = (
    'glaze "Ebb"\ncone: 6\natmosphere: oxidation\norigin: invented\nbase:\n    silica  60\n    chalky  39\n'
)


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    folder = tmp_path / "studio"
    folder.mkdir()
    (folder / "glost.yaml").write_text(
        "materials: materials.yaml\nrules: {base-total: hint}\nhandling: {all: wear a P100 respirator}\n"
    )
    (folder / "materials.yaml").write_text(
        "materials:\n  - {name: chalky, role: flux, source: invented, formula: CaCO3}\n"
    )
    return folder


def test_lint_takes_the_collection_of_the_named_file(run: Run, tmp_path: Path, studio: Path) -> None:
    alone = run("lint", "-", stdin=PAGE)
    assert "unknown-material" in alone.stdout
    named = run("lint", "-", "--stdin-filename", "studio/ebb.glost", stdin=PAGE)
    assert "unknown-material" not in named.stdout
    assert "studio/ebb.glost:5:1: hint: the base totals 99" in named.stdout
    assert named.returncode == 0
    assert not (studio / "ebb.glost").exists()


def test_lint_says_what_it_says_of_the_saved_file(run: Run, studio: Path) -> None:
    (studio / "other.glost").write_text(PAGE)
    saved = run("lint", "studio/other.glost")
    piped = run("lint", "-", "--stdin-filename", "studio/other.glost", stdin=PAGE)
    assert (piped.stdout, piped.returncode) == (saved.stdout, saved.returncode)
    assert "file-name" in saved.stdout


def test_format_names_the_file_and_does_not_write_it(run: Run, studio: Path) -> None:
    broken = run("format", "-", "--stdin-filename", "studio/ebb.glost", stdin=PAGE.replace("60", "6O"))
    assert broken.returncode == 1
    assert "studio/ebb.glost:6:" in broken.stderr
    good = run("format", "-", "--stdin-filename", "studio/ebb.glost", stdin=PAGE)
    assert "    silica                 60\n" in good.stdout
    assert not (studio / "ebb.glost").exists()


@pytest.mark.parametrize("command", ["lint", "format"])
def test_it_goes_with_standard_input_alone(run: Run, studio: Path, command: str) -> None:
    done = run(command, "studio", "--stdin-filename", "studio/ebb.glost")
    assert done.returncode == 2
    assert "--stdin-filename goes with -" in done.stderr
    done = run(command, "-", "--stdin-filename", "studio", stdin=PAGE)
    assert done.returncode == 2
    assert "is a folder" in done.stderr
