"""All that is wrong in a collection's own files is told in one run, and nothing that only follows from it."""

from __future__ import annotations

import pickle
from pathlib import Path

import pytest

import glost
from glost.language.source import Source
from glost.language.yaml_tree import ConfigError, every, read, together
from glost.workspace.collection import Collections
from tests.conftest import Run

PAGE = 'glaze "Chalk"\nbase:\n    whiting  100\n'


def told(folder: Path, settings: str, materials: str | None = None) -> list[str]:
    """Every refusal of a collection with these files, as "file:line:column: message"."""
    (folder / "glost.yaml").write_text(settings)
    if materials is not None:
        (folder / "materials.yaml").write_text(materials)
    (folder / "chalk.glost").write_text(PAGE)
    with pytest.raises(ConfigError) as caught:
        Collections().of(folder / "chalk.glost")
    assert all(one.message and one.hint for one in every(caught.value))
    return [
        f"{Path(one.source.path).name}:{one.position.line}:{one.position.column}: {one.message}"
        for one in every(caught.value)
    ]


def test_several_mistakes_in_the_settings(tmp_path: Path) -> None:
    assert told(
        tmp_path,
        "batch: 100\n"
        "weighing tolerance: 2\n"
        "skip: [old, ../out, /etc]\n"
        "sieve: fine\n"
        "handling: {silica: mask, sillica: mask, flint: gloves}\n"
        "rules: {base-totl: off, base-total: loud, missing-cone: quiet}\n",
    ) == [
        "glost.yaml:1:8: batch: '100' has no unit",
        "glost.yaml:2:21: weighing tolerance: '2' is not a percentage",
        "glost.yaml:3:13: skip: '../out' lies outside the collection",
        "glost.yaml:3:21: skip: '/etc' is not a path below the collection's folder",
        "glost.yaml:4:8: sieve: 'fine' is no mesh number",
        "glost.yaml:5:26: a house note for 'sillica', which is no material that is known here",
        "glost.yaml:5:41: 'silica' and 'flint' are one material, with two house notes",
        "glost.yaml:6:9: 'base-totl' is not a key of rules",
        "glost.yaml:6:37: 'loud' is not a level",
        "glost.yaml:6:57: 'quiet' is not a level",
    ]


def test_mistakes_in_nested_entries(tmp_path: Path) -> None:
    assert told(
        tmp_path,
        "balances:\n"
        "  - {name: fine, capacity: 300, readability: 0.01 g, cup: 5 cups}\n"
        "  - {name: floor, capacity: 6 kg}\n"
        "  - {name: floor, capacity: 0.1 g, readability: 0.1 g}\n"
        "bodies:\n"
        "  red: {expansion: 62, range: warm, source: test}\n"
        "  Red: {expansion: 62e-7/K, range: 20-400 C, source: test}\n"
        "  white: {expansion: 62e-7/K, plus or minus: much}\n",
    ) == [
        "glost.yaml:2:28: capacity: '300' has no unit",
        "glost.yaml:2:59: cup: 'cups' is not a unit of mass here",
        "glost.yaml:3:5: a balance lacks its readability",
        "glost.yaml:4:12: a second balance is called 'floor'",
        "glost.yaml:6:20: expansion: '62' is no expansion",
        "glost.yaml:6:31: range: 'warm' is no range of temperature",
        "glost.yaml:7:3: a second body is called 'Red'",
        "glost.yaml:8:3: the body 'white' lacks its range",
        "glost.yaml:8:3: the body 'white' lacks its source",
        "glost.yaml:8:46: plus or minus: 'much' is no expansion",
    ]


def test_mistakes_in_the_materials(tmp_path: Path) -> None:
    assert told(
        tmp_path,
        "materials: materials.yaml\n",
        "materials:\n"
        "  - name: house clay\n"
        "    role: dirt\n"
        "    source: sheet\n"
        "    cas: [1332-58-7, 1332-58-8, kaolin]\n"
        "    hazards: [H350, X1]\n"
        "    analysis: {SiO2: 60, Stuff: 40}\n"
        "    caustic: perhaps\n"
        "  - name: second clay\n"
        "  - name: flint\n"
        "    aliases: [kaolin]\n"
        "  - name: third\n"
        "    role: frit\n"
        "    source: sheet\n"
        "    charge: {borax: 40, third: 1, nothing such: 2, silica: many}\n",
    ) == [
        "materials.yaml:3:11: 'dirt' is not a role",
        "materials.yaml:5:22: cas: the check figure of '1332-58-8' does not fit its other figures",
        "materials.yaml:5:33: cas: 'kaolin' is not a CAS number",
        "materials.yaml:6:5: hazard statements without a source",
        "materials.yaml:6:21: 'X1' is not a hazard statement",
        "materials.yaml:7:26: 'Stuff' is not an oxide",
        "materials.yaml:8:14: caustic is yes or no, not 'perhaps'",
        "materials.yaml:9:5: the material 'second clay' lacks its role",
        "materials.yaml:9:5: the material 'second clay' lacks its source",
        "materials.yaml:10:11: 'flint' is the catalogue's other name for silica",
        "materials.yaml:15:25: 'third' is melted for third and is itself",
        "materials.yaml:15:35: 'nothing such' is melted for third and is no material that is known here",
        "materials.yaml:15:60: silica: 'many' is not a plain number",
    ]


def test_mistakes_in_both_files_the_settings_first(tmp_path: Path) -> None:
    assert told(
        tmp_path,
        "batch: some\nmaterials: materials.yaml\nhandling: {house clay: mask, sillica: mask}\n",
        "materials:\n  - {name: house clay, role: clay, source: sheet, price: cheap}\n",
    ) == [
        "glost.yaml:1:8: batch: 'some' does not start with a number",
        "glost.yaml:3:30: a house note for 'sillica', which is no material that is known here",
        "materials.yaml:2:58: price: 'cheap' is no price",
    ]


@pytest.mark.parametrize(
    ("settings", "materials", "alone"),
    [
        # a key in another spelling is no key that is missing
        (
            "balances: [{nmae: fine, capacity: 300 g, readability: 0.1 g}]\n",
            None,
            "'nmae' is not a key of a balance",
        ),
        # a decimal comma cuts a value in two
        (
            "balances: [{name: fine, capacity: 300 g, readability: 0,1 g}]\n",
            None,
            "'1 g' is not a key of a balance",
        ),
        # a balance that is refused is still called as it is, and its figures are not compared
        (
            "balances: [{name: fine, capacity: 1, readability: 3 g}]\n",
            None,
            "capacity: '1' has no unit",
        ),
        # the names of materials that are refused are known
        (
            "materials: materials.yaml\nhandling: {hc: mask}\n",
            "materials:\n  - {name: house clay, aliases: [hc], role: dirt, source: sheet}\n",
            "'dirt' is not a role",
        ),
        # nor is anything unknown where the whole file is missing, is no YAML, or is named by a key that is none
        (
            "materials: gone.yaml\nhandling: {house clay: mask}\n",
            None,
            "there is no file 'gone.yaml' here",
        ),
        (
            "material: materials.yaml\nhandling: {house clay: mask}\n",
            None,
            "'material' is not a key of glost.yaml",
        ),
        (
            "materials: materials.yaml\nhandling: {house clay: mask}\n",
            "materials: [\n",
            "this is not YAML: did not find expected node content",
        ),
        # an analysis that lacks a figure does not add up, nor is a charge empty
        (
            "materials: materials.yaml\n",
            "materials:\n  - {name: c, role: clay, source: s, analysis: {SiO2: much, Al2O3: 20}}\n",
            "SiO2: 'much' is not a plain number",
        ),
        (
            "materials: materials.yaml\n",
            "materials:\n  - {name: c, role: frit, source: s, charge: {silica: x}}\n",
            "silica: 'x' is not a plain number",
        ),
        # a frit of a material that is refused
        (
            "materials: materials.yaml\n",
            "materials:\n  - {name: c, role: dirt, source: s}\n  - {name: f, role: frit, source: s, charge: {c: 2}}\n",
            "'dirt' is not a role",
        ),
        # a key that stands twice is read as it stood first
        ("batch: 100 g\nbatch: 200\n", None, "the key 'batch' stands here a second time (first on line 1)"),
        # hazards that cannot be read are hazards
        (
            "materials: materials.yaml\n",
            "materials:\n  - {name: c, role: clay, source: s, hazards: [X1], hazard source: sheet}\n",
            "'X1' is not a hazard statement",
        ),
    ],
)
def test_one_mistake_makes_one_message(
    tmp_path: Path, settings: str, materials: str | None, alone: str
) -> None:
    assert [line.partition(": ")[2] for line in told(tmp_path, settings, materials)] == [alone]


def test_keys_that_stand_twice_and_values_that_are_wrong(tmp_path: Path) -> None:
    assert told(
        tmp_path, "batch: 100\nname: a\nname: b\nrules: {missing-cone: off, missing-cone: hint}\n"
    ) == [
        "glost.yaml:1:8: batch: '100' has no unit",
        "glost.yaml:3:1: the key 'name' stands here a second time (first on line 2)",
        "glost.yaml:4:28: the key 'missing-cone' stands here a second time (first on line 4)",
    ]


def test_each_line_with_an_invisible_character(tmp_path: Path) -> None:
    assert told(tmp_path, "name: a\x07\x07\nbatch: 100 g\nwater: 60\x08 %\n") == [
        "glost.yaml:1:8: an invisible character (U+0007) stands here",
        "glost.yaml:3:10: an invisible character (U+0008) stands here",
    ]


@pytest.mark.parametrize(
    "command", [("lint",), ("convert", "--to", "sheet"), ("batch",), ("formula",), ("catalog",)]
)
def test_every_command_tells_all_of_it_with_a_caret(
    run_here: Run, tmp_path: Path, command: tuple[str, ...]
) -> None:
    told(
        tmp_path,
        "batch: 100\nmaterials: materials.yaml\n",
        "materials:\n  - {name: x, role: clay, sorce: y}\n",
    )
    done = run_here(*command, "chalk.glost" if command[0] != "catalog" else ".", cwd=tmp_path)
    assert done.returncode == 2
    assert "glost.yaml:1:8: error: batch: '100' has no unit (unreadable)" in done.stderr
    assert "materials.yaml:2:27: error: 'sorce' is not a key of a material (unreadable)" in done.stderr
    assert done.stderr.count("      | ") == 2
    assert "lacks its source" not in done.stderr


def test_reports_for_programs_hold_all_of_it(run_here: Run, tmp_path: Path) -> None:
    told(tmp_path, "batch: 100\nsieve: fine\n")
    done = run_here("lint", "--output", "json", "chalk.glost", cwd=tmp_path)
    assert done.returncode == 2
    assert done.stdout.count('"file": "glost.yaml"') == 2


def test_python_gets_the_first_and_the_others(tmp_path: Path) -> None:
    told(tmp_path, "batch: 100\nsieve: fine\n")
    with pytest.raises(glost.ConfigError) as caught:
        glost.collection(tmp_path)
    assert caught.value.position == (1, 8)
    assert [other.position for other in caught.value.others] == [(2, 8)]


def test_errors_that_are_one_travel_from_process_to_process() -> None:
    source = Source("glost.yaml", "a: 1\na: 2\na: 3\n")
    with pytest.raises(ConfigError) as caught:
        read(source)
    again = pickle.loads(pickle.dumps(caught.value))
    assert [one.position.line for one in every(again)] == [2, 3]
    assert [one.position.line for one in every(together([again, again]))] == [2, 3]


# ---- several collections -----------------------------------------------------------------------------------------


def broken_collections(folder: Path, *names: str) -> None:
    for at, name in enumerate(names, 1):
        (folder / name).mkdir(parents=True)
        (folder / name / "glost.yaml").write_text(f"batch: {at} cups\nsieve: fine\n")
        (folder / name / f"{name.replace('/', '-')}.glost").write_text(PAGE.replace("Chalk", name))


@pytest.mark.parametrize(
    "words",
    [
        ["lint", "a", "b", "c", "good"],
        ["lint", "good", "c", "a", "b"],
        ["lint", "."],
        ["lint", "--workers", "2", "a", "b", "c"],
        ["lint", "a/a.glost", "b/b.glost", "c/c.glost"],
        ["convert", "--to", "csv", "a", "b", "c"],
        ["catalog", "."],
        ["find", "a", "b", "c"],
        ["session", "a", "b", "c"],
        ["formula", "a/a.glost", "b/b.glost", "c/c.glost"],
        ["cost", "a/a.glost", "b/b.glost", "c/c.glost"],
    ],
    ids=" ".join,
)
def test_all_collections_of_a_run_are_told_of(run_here: Run, tmp_path: Path, words: list[str]) -> None:
    broken_collections(tmp_path, "a", "b", "c")
    (tmp_path / "good").mkdir()
    (tmp_path / "good" / "glost.yaml").write_text("batch: 100 g\n")
    (tmp_path / "good" / "good.glost").write_text(PAGE.replace("Chalk", "Good"))
    done = run_here(*words)
    assert done.returncode == 2
    said = done.stdout + done.stderr
    for name in "abc":
        assert said.count(f"{name}/glost.yaml:1:8: ") == 1, name
        assert said.count(f"{name}/glost.yaml:2:8: ") == 1, name
    assert "good" not in said.replace("glost", "")


def test_collections_within_each_other_are_told_of(run_here: Run, tmp_path: Path) -> None:
    broken_collections(tmp_path, "a", "a/old", "a/old/older")
    for words in (["lint", "a"], ["lint", "."], ["catalog", "a"]):
        done = run_here(*words)
        said = done.stdout + done.stderr
        for name in ("a", "a/old", "a/old/older"):
            assert said.count(f"\n{name}/glost.yaml:1:8: ") + said.startswith(f"{name}/glost.yaml:1:8: ") == 1


def test_a_collection_that_nobody_asked_for_is_not_told_of(run_here: Run, tmp_path: Path) -> None:
    broken_collections(tmp_path, "a", "b")
    said = run_here("lint", "a")
    assert "b/glost.yaml" not in said.stdout + said.stderr
