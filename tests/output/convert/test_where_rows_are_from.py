"""Every form for programs says of each recipe where it is from, in the words of the table of a collection, so that two
recipes of one name stay two and rows can be joined."""

from __future__ import annotations

import csv
import io
import json
import subprocess
from pathlib import Path
from typing import Any

import pytest

from glost.output.formats.csv import read_csv
from glost.recipe.recipe import labels
from glost.recipe.recipe import tests as every_test
from tests.conftest import Run
from tests.output.convert.bench import recipe_of, studio_jobs
from tests.repository import committed

PAGE = """\
glaze "Flint Bloom"
cone: 04
atmosphere: oxidation

base:
    silica {silica}
    kaolin {kaolin}
variation "green":
    copper carbonate 2
series "iron":
    red iron oxide 1, 2, 4
"""


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    """Two recipes of one name in two folders of one collection; one of them has changed since it was committed."""
    for folder, silica in (("a", 60), ("b", 70)):
        (tmp_path / folder).mkdir()
        text = PAGE.format(silica=silica, kaolin=100 - silica)
        (tmp_path / folder / "flint-bloom.glost").write_text(text)
    (tmp_path / "glost.yaml").write_text("name: Two benches (invented)\n")
    committed(tmp_path, "begin")
    page = tmp_path / "b" / "flint-bloom.glost"
    page.write_text(page.read_text() + "# a word\n")
    return tmp_path


def table(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def short(folder: Path) -> str:
    done = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], cwd=folder, capture_output=True, text=True, check=True
    )
    return done.stdout.strip()


def test_two_recipes_of_one_name_stay_two_in_csv(run: Run, studio: Path) -> None:
    text = run("convert", "--to", "csv", cwd=studio).stdout
    rows = table(text)
    base = {
        file: sum(int(row["amount"]) for row in rows if row["section"] == "base" and row["file"] == file)
        for file in {row["file"] for row in rows}
    }
    assert base == {"a/flint-bloom.glost": 100, "b/flint-bloom.glost": 100}
    assert {row["collection"] for row in rows} == {"Two benches (invented)"}
    assert {row["revision"].removeprefix("'") for row in rows} == {short(studio)}
    assert {(row["file"][0], row["changed since"], row["revision day"]) for row in rows} == {
        ("a", "no", "2026-03-01"), ("b", "yes", "2026-03-01"),
    }  # fmt: skip
    assert [len(read_csv(text)), len({str(recipe.base) for recipe in read_csv(text)})] == [2, 2]


def test_rows_join_with_the_table_of_the_collection(run: Run, studio: Path) -> None:
    """On file and test together, every test of the collection is met, and nothing else."""
    known = {(row["file"], row["test"]) for row in table(run("catalog", "--to", "csv", cwd=studio).stdout)}
    assert len(known) == 2 * 5
    converted = {
        (row["file"], row["test"]) for row in table(run("convert", "--to", "csv", cwd=studio).stdout)
    }
    fired = {
        (row["file"], row["test"]) for row in table(run("formula", "--output", "csv", cwd=studio).stdout)
    }
    assert converted == fired == known
    for form in ("json", "jsonl"):
        told = run("convert", "--to", form, cwd=studio).stdout
        recipes = (
            [json.loads(line) for line in told.splitlines()]
            if form == "jsonl"
            else json.loads(told)["recipes"]
        )
        assert {(recipe["file"], test) for recipe in recipes for test in recipe["tests"]} == known
    formulas = json.loads(run("formula", "--output", "json", cwd=studio).stdout)["tests"]
    assert {(one["file"], one["test"]) for one in formulas} == known


@pytest.mark.parametrize(
    "command",
    ["convert --to json", "convert --to jsonl", "catalog --to jsonl", "formula --output json"],
)
def test_json_says_collection_and_revision_as_the_catalog_does(run: Run, studio: Path, command: str) -> None:
    text = run(*command.split(), cwd=studio).stdout
    if "jsonl" in command:
        found: list[dict[str, Any]] = [json.loads(line) for line in text.splitlines()]
    else:
        found = json.loads(text)["recipes" if "convert" in command else "tests"]
    for one in found:
        changed = one["file"].startswith("b/")
        assert one["revision"] == {"name": short(studio), "day": "2026-03-01", "changed": changed}
        assert one["collection"] == "Two benches (invented)"


def test_a_collection_without_a_name_is_its_folder(run: Run, studio: Path) -> None:
    (studio / "glost.yaml").write_text("")
    rows = table(run("catalog", "a", "--to", "csv", cwd=studio).stdout)
    assert {row["collection"] for row in rows} == {"."}
    rows = table(run("convert", "flint-bloom.glost", "--to", "csv", cwd=studio / "a").stdout)
    assert {row["collection"] for row in rows} == {".."}
    (studio / "glost.yaml").unlink()
    rows = table(run("convert", "--to", "csv", cwd=studio).stdout)
    assert {row["collection"] for row in rows} == {""}


def test_what_no_commit_holds_has_no_revision(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(PAGE.format(silica=60, kaolin=40))
    [recipe] = json.loads(run("convert", "--to", "json").stdout)["recipes"]
    assert recipe["revision"] is None
    rows = table(run("convert", "--to", "csv").stdout)
    assert {row["revision"] + row["revision day"] + row["changed since"] for row in rows} == {""}


def test_tables_and_documents_of_before_are_still_read(run: Run, studio: Path, tmp_path: Path) -> None:
    new = run("convert", "a", "--to", "csv", cwd=studio).stdout
    rows = list(csv.reader(io.StringIO(new, newline="")))
    before = rows[0].index("test")
    old = io.StringIO()
    csv.writer(old).writerows(row[:before] for row in rows)
    assert read_csv(old.getvalue()) == read_csv(new)


def test_a_row_put_in_by_hand_needs_no_file(run: Run, studio: Path) -> None:
    head, *rows = list(
        csv.reader(io.StringIO(run("convert", "a", "--to", "csv", cwd=studio).stdout, newline=""))
    )
    added = list(rows[1])
    for column, text in (("name", "whiting"), ("material", "whiting"), ("amount", "5"), ("file", "")):
        added[head.index(column)] = text
    out = io.StringIO()
    csv.writer(out).writerows([head, rows[0], rows[1], added, *rows[2:]])
    [recipe] = read_csv(out.getvalue())
    assert [one.name for one in recipe.base] == ["silica", "kaolin", "whiting"]


def test_labels_are_those_of_the_tests() -> None:
    for job in studio_jobs():
        assert list(labels(job.recipe)) == [test.label for test in every_test(job.recipe)]
    blend = recipe_of(
        'glaze "B"\ncone: 6\nbase:\n    silica 60\n    kaolin 40\n'
        'blend "colours" by 50 %:\n    red iron oxide 1, 0, 0\n    rutile 0, 2, 0\n    tin oxide 0, 0, 3\n'
    )
    assert list(labels(blend)) == [test.label for test in every_test(blend)]


def test_a_shallow_clone_says_that_revisions_are_not_known(run: Run, studio: Path, tmp_path: Path) -> None:
    """What the first commit of a shallow clone seems to have brought may be far older; what came behind it is known."""
    (studio / "b" / "flint-bloom.glost").write_text(PAGE.format(silica=50, kaolin=50))
    committed(studio, "another base", "2026-03-02")
    clone = tmp_path / "clone"
    for depth, known in ((1, set()), (2, {"b/flint-bloom.glost", "a/flint-bloom.glost"})):
        subprocess.run(
            ["git", "clone", "-q", "--depth", str(depth), studio.as_uri(), f"{clone}{depth}"], check=True
        )
        here = Path(f"{clone}{depth}")
        done = run("convert", "--to", "json", cwd=here)
        told = {one["file"]: one["revision"] for one in json.loads(done.stdout)["recipes"]}
        assert {file for file, revision in told.items() if revision != "not known"} == known
        assert ("this clone is shallow" in done.stderr) == (depth == 1)
        if depth == 1:
            assert "the revision of 2 recipes is not known" in done.stderr
            assert "git fetch --unshallow" in done.stderr
            sheet = run("convert", "a", "--to", "sheet", cwd=here).stdout
            assert "revision not known" in sheet


def test_only_what_lies_at_the_edge_of_a_shallow_clone_is_not_known(
    run: Run, studio: Path, tmp_path: Path
) -> None:
    for day in (2, 3):
        (studio / "b" / "flint-bloom.glost").write_text(PAGE.format(silica=50 + day, kaolin=50 - day))
        committed(studio, "another base", f"2026-03-0{day}")
    clone = tmp_path / "clone"
    subprocess.run(["git", "clone", "-q", "--depth", "2", studio.as_uri(), str(clone)], check=True)
    for paths in ([], ["a", "b"], ["a/flint-bloom.glost"], ["b/flint-bloom.glost"]):
        done = run("convert", *paths, "--to", "jsonl", cwd=clone)
        told = {one["file"][0]: one["revision"] for one in map(json.loads, done.stdout.splitlines())}
        if "a" in told:
            assert told["a"] == "not known"
        if "b" in told:
            assert told["b"]["name"] == short(clone)
