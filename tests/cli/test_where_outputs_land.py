"""Where outputs land, and what becomes of those whose recipe is gone."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from glost.workspace.manifest import NAME
from tests.conftest import Run

PAGE = 'glaze "{}"\ncone: 6\natmosphere: oxidation\norigin: own\n\nbase:\n    silica 60\n    kaolin 40\n'


def page(path: Path, name: str = "Dune") -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(PAGE.format(name))
    return path


def lies(folder: Path) -> set[str]:
    return {
        path.relative_to(folder).as_posix()
        for path in folder.rglob("*")
        if path.is_file() and path.name != NAME
    }


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    folder = tmp_path / "studio"
    page(folder / "raku" / "dune.glost")
    page(folder / "soda" / "tern.glost", "Tern")
    return folder


@pytest.mark.parametrize("settings", [[], ["glost.yaml"], ["glost.yaml", "raku/glost.yaml"]], ids=str)
@pytest.mark.parametrize(
    "named", [["raku"], ["raku/dune.glost"], ["raku", "soda"], ["."], ["raku/../raku"]], ids=" ".join
)
def test_where_it_lands_does_not_depend_on_what_is_named(
    run: Run, studio: Path, settings: list[str], named: list[str]
) -> None:
    for name in settings:
        (studio / name).write_text("")
    assert run("convert", *named, "--to", "sheet", "--out", "out", cwd=studio).returncode == 0
    assert "raku/dune.txt" in lies(studio / "out")
    assert lies(studio / "out") <= {"raku/dune.txt", "soda/tern.txt"}


def test_nor_on_where_one_stands(run: Run, studio: Path) -> None:
    (studio / "glost.yaml").write_text("")
    assert run("convert", "--to", "sheet", "--out", "../out", cwd=studio / "raku").returncode == 0
    assert lies(studio / "out") == {"raku/dune.txt"}


def test_a_name_that_ends_in_a_slash_is_a_folder(run: Run, studio: Path) -> None:
    assert run("convert", "--to", "csv", "--out", "sheets-v1.3/", cwd=studio).returncode == 0
    assert lies(studio / "sheets-v1.3") == {"raku/dune.csv", "soda/tern.csv"}


def test_two_collections_of_one_name_are_told_apart(run: Run, tmp_path: Path) -> None:
    for name in ("one", "two"):
        page(tmp_path / name / "dune.glost")
        (tmp_path / name / "glost.yaml").write_text("")
    done = run("convert", "one", "two", "--to", "sheet", "--out", "out")
    assert done.returncode == 2
    assert "convert each collection into a folder of its own" in done.stderr
    assert not (tmp_path / "out").exists()


def test_nor_does_one_take_the_place_of_the_other_in_another_run(run: Run, tmp_path: Path) -> None:
    """Whoever looks for the sheet of the one would weigh the other."""
    for name in ("one", "two"):
        page(tmp_path / name / "shelf a" / "dune.glost", f"Dune of {name}")
        (tmp_path / name / "glost.yaml").write_text("")
    words = ("convert", "--to", "sheet", "--out", "out")
    assert run(*words, "one").returncode == 0
    sheet = tmp_path / "out" / "shelf a" / "dune.txt"
    before = sheet.read_bytes()
    done = run(*words, "two")
    assert done.returncode == 2
    assert "is what was made of one/shelf a/dune.glost, and would be lost" in done.stderr
    assert sheet.read_bytes() == before
    assert run(*words, "one").returncode == 0  # its own is not in its way
    assert run(*words, "two", "--force").returncode == 0
    assert "Dune of two" in sheet.read_text("utf-8")
    # A recipe that is gone claims nothing, and a collection around both is where both lie from.
    (tmp_path / "two" / "shelf a" / "dune.glost").unlink()
    assert run(*words, "one").returncode == 0
    page(tmp_path / "two" / "shelf b" / "tern.glost", "Tern")
    (tmp_path / "glost.yaml").write_text("")
    assert run(*words, ".").returncode == 0
    assert {"one/shelf a/dune.txt", "two/shelf b/tern.txt"} <= lies(tmp_path / "out")


# ---- what is stale ---------------------------------------------------------------------------------------


def test_stale_outputs_are_named_and_taken_away_when_asked(run: Run, studio: Path) -> None:
    (studio / "glost.yaml").write_text("")
    run("convert", "--to", "sheet", "--out", "out", cwd=studio)
    (studio / "raku" / "dune.glost").rename(studio / "raku" / "dune-2.glost")
    said = run("convert", "soda", "--to", "html", "--out", "out", cwd=studio)
    assert said.returncode == 0
    assert "out/raku/dune.txt: stale, since there is no raku/dune.glost any more\n" in said.stderr
    assert "out: --prune takes 1 stale output away\n" in said.stderr
    assert "raku/dune.txt" in lies(studio / "out")
    said = run("convert", "--to", "sheet", "--out", "out", "--prune", cwd=studio)
    assert "out/raku/dune.txt: taken away, since there is no raku/dune.glost any more\n" in said.stderr
    assert lies(studio / "out") == {"raku/dune-2.txt", "soda/tern.txt", "soda/tern.html"}
    shutil.rmtree(studio / "raku")
    run("convert", "--to", "sheet", "--out", "out", "--prune", cwd=studio)
    assert not (studio / "out" / "raku").exists()
    assert "stale" not in run("convert", "--to", "sheet", "--out", "out", cwd=studio).stderr


def test_what_was_changed_by_hand_stays(run: Run, studio: Path) -> None:
    run("convert", "--to", "sheet", "--out", "out", cwd=studio)
    sheet = studio / "out" / "raku" / "dune.txt"
    sheet.write_text(sheet.read_text() + "a note of mine\n")
    (studio / "raku" / "dune.glost").unlink()
    for _ in range(2):
        said = run("convert", "--to", "sheet", "--out", "out", "--prune", cwd=studio)
        assert "it is not as it was written, so it stays" in said.stderr
        assert sheet.read_text().endswith("a note of mine\n")


def test_what_the_list_does_not_know_stays(run: Run, studio: Path) -> None:
    run("convert", "--to", "sheet", "--out", "out", cwd=studio)
    mine = studio / "out" / "raku" / "mine.txt"
    shutil.copy(studio / "out" / "raku" / "dune.txt", mine)
    (studio / "raku" / "dune.glost").unlink()
    run("convert", "--to", "sheet", "--out", "out", "--prune", cwd=studio)
    assert lies(studio / "out") == {"raku/mine.txt", "soda/tern.txt"}


def test_other_collections_in_one_folder_are_left_alone(run: Run, tmp_path: Path) -> None:
    for name in ("one", "two"):
        page(tmp_path / name / f"{name}.glost")
        (tmp_path / name / "glost.yaml").write_text("")
        run("convert", name, "--to", "sheet", "--out", "out")
    (tmp_path / "one" / "one.glost").unlink()
    page(tmp_path / "one" / "three.glost")
    said = run("convert", "two", "--to", "sheet", "--out", "out", "--prune")
    assert "stale" not in said.stderr
    assert "one.txt" in lies(tmp_path / "out")
    run("convert", "one", "--to", "sheet", "--out", "out", "--prune")
    assert lies(tmp_path / "out") == {"two.txt", "three.txt"}


def test_a_sheet_of_one_test_goes_with_its_recipe_alone(run: Run, studio: Path) -> None:
    with (studio / "raku" / "dune.glost").open("a") as file:
        file.write('variation "storm":\n    tin oxide 2\n')
    run("convert", "raku", "--to", "sheet", "--out", "out", "--test", "storm", cwd=studio)
    run("convert", "raku", "--to", "sheet", "--out", "out", "--prune", cwd=studio)
    assert lies(studio / "out") == {"raku/dune.storm.txt", "raku/dune.txt"}


def test_the_list_is_the_same_in_every_clone(run: Run, studio: Path, tmp_path: Path) -> None:
    (studio / "glost.yaml").write_text("")
    clone = tmp_path / "elsewhere" / "clone"
    shutil.copytree(studio, clone)
    for folder in (studio, clone):
        run("convert", "--to", "sheet", "--out", "out", cwd=folder)
    assert (studio / "out" / NAME).read_bytes() == (clone / "out" / NAME).read_bytes()
    listed = json.loads((studio / "out" / NAME).read_text())
    assert [entry["file"] for entry in listed["outputs"]] == ["raku/dune.txt", "soda/tern.txt"]


@pytest.mark.parametrize(
    "text", ["", "{}", "[1]", "<<<<<<< ours\n", '{"version": 9, "kind": "glost outputs", "outputs": []}', "\x00",
             '{"version": 1, "kind": "glost outputs", "outputs": [{}]}'],
)  # fmt: skip
def test_a_list_that_cannot_be_read_is_told_before_anything_is_written(
    run: Run, studio: Path, text: str
) -> None:
    (studio / "out").mkdir()
    (studio / "out" / NAME).write_text(text)
    done = run("convert", "--to", "sheet", "--out", "out", "--prune", cwd=studio)
    assert done.returncode == 2
    assert "cannot be read as the list of what was written here; take it away" in done.stderr
    assert lies(studio / "out") == set()


@pytest.mark.parametrize("file", ["../raku/dune.glost", "/etc/hostname", "a/../../x.txt", "./x.txt", ""])
def test_a_list_that_leads_out_is_refused(run: Run, studio: Path, file: str) -> None:
    entry = {"file": file, "form": "sheet", "tests": "", "base": "..", "recipe": "x.glost", "sha256": ""}
    (studio / "out").mkdir()
    (studio / "out" / NAME).write_text(
        json.dumps({"version": 1, "kind": "glost outputs", "outputs": [entry]})
    )
    done = run("convert", "--to", "sheet", "--out", "out", "--prune", cwd=studio)
    assert (done.returncode, lies(studio / "out")) == (2, set())


def test_a_strange_list_takes_no_page_and_nothing_through_a_link(
    run: Run, studio: Path, tmp_path: Path
) -> None:
    """Whoever writes a list knows what the files of a clone hold; a page is no output for all that."""
    from hashlib import sha256

    (studio / "glost.yaml").write_text("")
    sheet = run("convert", "raku", "--to", "sheet", cwd=studio).stdout
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "kept.txt").write_text(sheet)
    (studio / "leads-out").symlink_to(tmp_path / "mine")
    entries = [
        {"file": file, "form": "sheet", "tests": "", "base": ".", "recipe": "gone.glost",
         "sha256": sha256((studio / file).read_bytes()).hexdigest()}
        for file in ("soda/tern.glost", "glost.yaml", "leads-out/kept.txt")
    ]  # fmt: skip
    (studio / NAME).write_text(json.dumps({"version": 1, "kind": "glost outputs", "outputs": entries}))
    said = run("convert", "raku", "--to", "sheet", "--out", ".", "--prune", cwd=studio).stderr
    assert said.count("so it stays") == 3
    assert (studio / "soda" / "tern.glost").exists()
    assert (studio / "glost.yaml").exists()
    assert (tmp_path / "mine" / "kept.txt").exists()


def test_prune_asks_for_a_folder(run: Run, studio: Path) -> None:
    for out in ([], ["--out", "all.txt"]):
        done = run("convert", "--to", "sheet", "--prune", *out, cwd=studio)
        assert done.returncode == 2
        assert "name one with --out" in done.stderr
