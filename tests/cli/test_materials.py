"""glost materials as a process."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from syrupy.assertion import SnapshotAssertion

from glost.recipe.materials.catalogue import ROLES, shipped_catalogue
from glost.recipe.safety.statements import statement_text
from tests.conftest import STUDIO, TOP, Run

SCHEMA = Draft202012Validator(
    json.loads((TOP / "schema" / "materials-listing.schema.json").read_text("utf-8"))
)


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def told(run: Run, *arguments: str) -> list[dict[str, Any]]:
    done = run("materials", *arguments, "--output", "json")
    assert done.returncode == 0, done.stderr
    document = json.loads(done.stdout)
    SCHEMA.validate(document)
    found: list[dict[str, Any]] = document["materials"]
    return found


def test_without_a_name_all_are_listed_by_role(run: Run) -> None:
    found = told(run)
    assert {one["name"] for one in found} == {one.name for one in shipped_catalogue()}
    places = [ROLES.index(one["role"]) for one in found]
    assert places == sorted(places)
    text = run("materials").stdout
    assert [line for line in text.splitlines() if line and line[0] != " "] == [
        role for role in ROLES if any(one["role"] == role for one in found)
    ]


@pytest.mark.parametrize("word", ["clay", "clays", "Feldspars"])
def test_a_role_lists_its_materials(run: Run, word: str) -> None:
    found = told(run, word)
    assert len(found) > 3
    assert {one["role"] for one in found} == {word.lower().removesuffix("s")}


@pytest.mark.parametrize(
    ("words", "name"),
    [
        (["kaolin"], "kaolin"),
        (["China", "Clay"], "kaolin"),
        (["neph sy"], "nepheline syenite"),
        (["nepheline"], "nepheline"),
        (["silica"], "silica"),
    ],
)
def test_any_name_finds_its_material(run: Run, words: list[str], name: str) -> None:
    (found,) = told(run, *words)
    assert found["name"] == name
    assert found["used_by"] == []


def test_part_of_a_name_lists_those_that_hold_it(run: Run) -> None:
    names = [one["name"] for one in told(run, "lithium")]
    assert "lithium carbonate" in names
    assert len(names) > 2


@pytest.mark.parametrize(
    ("word", "says"), [("wolastonite", "Did you mean 'wollastonite'?"), ("qqqq", "lists")]
)
def test_what_is_not_there(run: Run, word: str, says: str) -> None:
    done = run("materials", word)
    assert done.returncode == 2
    assert says in done.stderr


def test_a_word_that_may_mean_several_lists_them_and_no_other(run: Run) -> None:
    assert [one["name"] for one in told(run, "copper", "oxide")] == ["black copper oxide", "red copper oxide"]
    tin = [one["name"] for one in told(run, "tin")]
    assert "tin oxide" in tin
    assert "whiting" not in tin  # the letters alone do not count


@pytest.mark.parametrize("word", ["iron oxide red", "Fe2O3", "iron (III) oxide", "red-iron-oxide", "RIO"])
def test_a_certain_spelling_shows_the_material(run: Run, word: str) -> None:
    (found,) = told(run, *word.split())
    assert found["name"] == "red iron oxide"


def test_a_page_names_twenty_recipes_and_counts_the_others(run: Run, tmp_path: Path) -> None:
    for number in range(23):
        (tmp_path / f"test-{number:02}.glost").write_text(f'glaze "Test {number:02}"\nbase:\n    talc  100\n')
    short = run("materials", "talc", "--in", str(tmp_path))
    assert "23 recipes here" in short.stdout
    assert [number for number in range(23) if f"Test {number:02}" in short.stdout] == list(range(20))
    assert short.stdout.endswith("    and 3 more; --all names them\n")
    every = run("materials", "talc", "--in", str(tmp_path), "--all")
    assert all(f"Test {number:02}" in every.stdout for number in range(23))
    assert "more;" not in every.stdout
    assert (
        len(
            json.loads(run("materials", "talc", "--in", str(tmp_path), "--output", "json").stdout)[
                "materials"
            ][0]["used_by"]
        )
        == 23
    )


def test_composition_is_worked_out_from_the_formula(run: Run) -> None:
    (found,) = told(run, "kaolin")
    composition = found["composition"]
    # The theoretical analysis of kaolinite: common practice.
    assert composition["oxides"] == pytest.approx({"Al2O3": 39.50, "SiO2": 46.55}, abs=0.02)
    assert composition["loss_on_ignition"] == pytest.approx(13.96, abs=0.02)
    assert "theoretical" in composition["source"]


def test_the_rock_and_the_mineral_are_two(run: Run) -> None:
    (rock,), (mineral,) = told(run, "nepheline syenite"), told(run, "nepheline")
    assert rock["composition"]["kind"] == "analysis"
    assert rock["composition"]["standing"] == "from memory"
    assert mineral["composition"]["oxides"]["SiO2"] < 42 < 59 < rock["composition"]["oxides"]["SiO2"]


def test_hazards_have_their_official_text_and_source(run: Run) -> None:
    (found,) = told(run, "cobalt carbonate")
    for hazard in found["hazards"]:
        assert hazard["source"]
        for one in hazard["statements"]:
            official = statement_text(one["code"])
            assert official
            # The blanks of the law, which a source may fill, are not shown: "<state route of exposure ...>".
            assert one["text"] == re.sub(r" <[^>]*>", "", official)
    text = run("materials", "cobalt carbonate").stdout
    assert "safety data sheet" in text
    assert "safe " not in text.replace("safety", "")


def test_collection_adds_its_own_and_its_recipes(run: Run) -> None:
    (clay,) = told(run, "ball clay", "--in", str(STUDIO))
    assert clay["of_the_collection"]
    assert clay["composition"]["kind"] == "analysis"
    assert len(clay["used_by"]) > 10
    assert clay["composition"]["bracket"] == []
    (shipped,) = told(run, "ball clay")
    assert not shipped["of_the_collection"]
    assert shipped["composition"]["standing"] == "from memory"
    assert {one["standing"] for one in shipped["composition"]["bracket"]} == {"second-hand", "from memory"}
    (ash,) = told(run, "washed wood ash")
    assert ash["composition"]["kind"] == "unknown"
    assert ash["relatives"] == []
    assert told(run, "orchard ash", "--in", str(STUDIO / "reduction"))


def test_relatives_are_the_nearest_by_the_measure(run: Run) -> None:
    (found,) = told(run, "dolomite")
    distances = [one["distance"] for one in found["relatives"]]
    assert distances == sorted(distances)
    assert found["relatives"][0]["name"].startswith("certified dolomitic limestone")
    # By hand: Al2O3·3H2O against Al2O3. What the water leaves falls to the oxide: 34.64 apart.
    (alumina,) = told(run, "alumina")
    distance = {one["name"]: one["distance"] for one in alumina["relatives"]}["alumina hydrate"]
    assert distance == pytest.approx(34.64, abs=0.01)


def test_composition_that_cannot_be_used_is_refused_with_its_place(run: Run, tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("materials: materials.yaml\n")
    (tmp_path / "materials.yaml").write_text(
        "materials:\n  - {name: odd dust, role: flux, source: a test, formula: CaXx}\n"
    )
    done = run("materials", "odd dust")
    assert done.returncode == 2
    assert done.stderr.startswith("materials.yaml:2:59: error: formula: 'CaXx' is not a chemical formula")
    assert "is no element" in done.stderr


def test_a_file_that_cannot_be_read_is_told(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text('glaze "x"\nbase:\n    kaolin  50\n    silica\n')
    done = run("materials", "kaolin")
    assert done.returncode == 0
    assert "not wholly readable" in done.stderr
    assert "a.glost" in done.stdout


@pytest.mark.parametrize("word", ["cobalt carbonate", "wood ash", "lithium", "nepheline syenite"])
def test_what_is_read(run: Run, word: str, snapshot: SnapshotAssertion) -> None:
    done = run("materials", word, "--in", ".", cwd=STUDIO)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == snapshot


def test_wrong_usage(run: Run) -> None:
    assert run("materials", "kaolin", "--in", "nowhere").returncode == 2
