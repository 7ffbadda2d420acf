"""The questions of docs/scale.md, asked of DuckDB: findings and table of the demo collection as JSON Lines.

Source: the PyPI package duckdb reads the files and runs the SQL; each answer is worked out a second time in Python.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from tests.conftest import TOP

if os.environ.get("CI"):
    import duckdb
else:
    duckdb = pytest.importorskip("duckdb")

PAGE = (TOP / "docs" / "scale.md").read_text("utf-8")
TABLES, *QUERIES = re.findall(r"^```sql\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
Rows = list[dict[str, Any]]


class Studio:
    """The demo collection in a database, and as Python has it."""

    def __init__(self, folder: Path) -> None:
        self.tests, self.findings = (
            [json.loads(line) for line in (folder / f"{name}.jsonl").read_text("utf-8").splitlines()]
            for name in ("catalog", "findings")
        )
        self.database = duckdb.connect(config={"threads": 1})
        for name in ("catalog", "findings"):
            held = TABLES.replace(f"'{name}.jsonl'", f"'{folder / name}.jsonl'")
            self.database.execute(next(line for line in held.split(";") if f"/{name}.jsonl" in line))

    def used(self) -> list[tuple[str, str, dict[str, Any]]]:
        return [(one["file"], one["test"], used) for one in self.tests for used in one["materials"]]


@pytest.fixture(scope="module")
def studio(tmp_path_factory: pytest.TempPathFactory) -> Studio:
    folder = tmp_path_factory.mktemp("data")
    environment = {**os.environ, "GLOST_CACHE": str(folder / "cache")}
    for words in (
        ("catalog", "--to", "jsonl", "--out", "catalog.jsonl"),
        ("lint", "--output", "jsonl=findings.jsonl"),
    ):
        *options, file = words
        named = file.replace("=", f"={folder}/") if "=" in file else str(folder / file)
        command = [
            sys.executable,
            "-m",
            "glost",
            *options,
            named,
            "corpus/studio",
            "corpus/studio/needs-work",
        ]
        subprocess.run(command, cwd=TOP, env=environment, check=False, capture_output=True)
    return Studio(folder)


def test_there_are_ten() -> None:
    assert len(QUERIES) == 10


def rules(studio: Studio) -> list[tuple[Any, ...]]:
    times = Counter((one["rule"], one["level"]) for one in studio.findings)
    files = {
        key: {one["file"] for one in studio.findings if (one["rule"], one["level"]) == key} for key in times
    }
    rows = [(rule, level, count, len(files[rule, level])) for (rule, level), count in times.items()]
    return sorted(rows, key=lambda row: (-row[2], row[0]))


def worst(studio: Studio) -> list[tuple[Any, ...]]:
    errors = Counter(one["file"] for one in studio.findings if one["level"] == "error")
    return sorted(errors.items(), key=lambda row: (-row[1], row[0]))


def cones(studio: Studio) -> list[tuple[Any, ...]]:
    rows = [one for one in studio.tests if one["cone"]]
    heat = {one["cone"]: one["cone_low"] for one in rows}
    tests = Counter(one["cone"] for one in rows)
    files = {cone: {one["file"] for one in rows if one["cone"] == cone} for cone in heat}
    return [
        (cone, len(files[cone]), tests[cone])
        for cone in sorted(heat, key=lambda cone: (heat[cone] is None, heat[cone] or 0, cone))
    ]


def together(studio: Studio) -> list[tuple[Any, ...]]:
    return sorted(
        (one["file"], one["recipe"], one["test"])
        for one in studio.tests
        if one["cone_low"] is not None
        and one["cone_low"] <= 6 <= one["cone_high"]
        and one["atmosphere"] == "oxidation"
    )


def cobalt(studio: Studio) -> list[tuple[Any, ...]]:
    found = [
        (file, test, used["parts"])
        for file, test, used in studio.used()
        if used["material"] == "cobalt carbonate"
    ]
    return sorted(found, key=lambda row: (-row[2], row[0], row[1]))


def shared(studio: Studio) -> list[tuple[Any, ...]]:
    files: dict[str, set[str]] = {}
    for one in studio.tests:
        files.setdefault(one["recipe"].lower(), set()).add(one["file"])
    return [(name, sorted(held)) for name, held in sorted(files.items()) if len(held) > 1]


def eaten(studio: Studio) -> list[tuple[Any, ...]]:
    food = {one["file"] for one in studio.tests if one["use"] == "food"}
    found = {(one["file"], one["rule"], one["message"]) for one in studio.findings if one["level"] != "hint"}
    return sorted(row for row in found if row[0] in food)


def uncommitted(studio: Studio) -> list[tuple[Any, ...]]:
    found = {
        (one["file"], one["revision"] and one["revision"]["name"])
        for one in studio.tests
        if one["revision"] is None or one["revision"]["changed"]
    }
    return sorted(found)


ANSWERS: dict[int, Callable[[Studio], list[tuple[Any, ...]]]] = {
    0: rules, 1: worst, 2: cones, 3: together, 5: cobalt, 6: shared, 8: eaten, 9: uncommitted,
}  # fmt: skip


@pytest.mark.parametrize("at", range(len(QUERIES)))
def test_each_question_has_its_answer(studio: Studio, at: int) -> None:
    answer = studio.database.execute(QUERIES[at]).fetchall()
    if at in ANSWERS:
        assert answer == ANSWERS[at](studio)
    if at not in (8, 9):  # of these the demo collection may have none
        assert answer


def test_the_materials_used_most(studio: Studio) -> None:
    answer = studio.database.execute(QUERIES[4]).fetchall()
    counts = Counter(used["material"] for _, _, used in studio.used() if used["material"])
    assert {name: count for name, count, _ in answer} == counts
    parts = [used["parts"] for _, _, used in studio.used() if used["material"] == "silica"]
    assert next(mean for name, _, mean in answer if name == "silica") == pytest.approx(
        sum(parts) / len(parts), abs=0.006
    )


def test_tests_of_the_same_materials(studio: Studio) -> None:
    answer = studio.database.execute(QUERIES[7]).fetchall()
    sets = Counter(tuple(sorted(used["name"] for used in one["materials"])) for one in studio.tests)
    assert {tuple(used): count for used, count, _ in answer} == {
        used: count for used, count in sets.items() if count > 1
    }


def test_a_cone_is_text_and_keeps_its_zero(studio: Studio) -> None:
    assert studio.database.execute("SELECT DISTINCT typeof(cone) FROM tests").fetchall() == [("VARCHAR",)]
    held = {cone for (cone,) in studio.database.execute("SELECT DISTINCT cone FROM tests").fetchall()}
    assert {one["cone"] for one in studio.tests} == held
    assert any(cone and cone.startswith("0") for cone in held)


def _git(folder: Path, *words: str) -> None:
    who = ["-c", "user.name=a", "-c", "user.email=a@example.org"]
    subprocess.run(["git", *who, *words], cwd=folder, check=True, capture_output=True)


def _collection(tmp_path: Path, how: str) -> Path:
    """A collection of two pages: the second one is edited where git knows of it."""
    first = tmp_path / "first"
    first.mkdir()
    (first / "glost.yaml").write_text("name: A shed (invented)\n", "utf-8")
    if how == "empty":
        return first
    for name, amount in (("fog", 60), ("ünder", 55)):
        text = f'glaze "{name}"\ncone: 04\nbase:\n    silica  {amount}\n    whiting  {100 - amount}\n'
        (first / f"{name}.glost").write_text(text, "utf-8")
    if how == "no repository":
        return first
    _git(first, "init", "-q", "-b", "main")
    _git(first, "add", ".")
    _git(first, "commit", "-q", "-m", "a")
    folder = first
    if how == "shallow":
        _git(tmp_path, "clone", "-q", "--depth", "1", first.as_uri(), "second")
        folder = tmp_path / "second"
        with (folder / "ünder.glost").open("a", encoding="utf-8") as page:
            page.write("# once more\n")
        _git(folder, "commit", "-q", "-a", "-m", "b")
    with (folder / "ünder.glost").open("a", encoding="utf-8") as page:
        page.write("# and again\n")
    return folder


@pytest.mark.parametrize(
    ("how", "uncommitted"),
    [
        ("empty", []),
        ("no repository", ["fog.glost", "ünder.glost"]),
        ("committed", ["ünder.glost"]),
        ("shallow", ["ünder.glost"]),
    ],
)
def test_each_question_has_an_answer_in_any_collection(
    tmp_path: Path, how: str, uncommitted: list[str]
) -> None:
    """As somebody new types them: in their own folder, the statements as they stand there."""
    folder = _collection(tmp_path, how)
    environment = {**os.environ, "GLOST_CACHE": "off"}
    for words in (["catalog", "--to", "jsonl", "--out"], ["lint", "--output"]):
        file = "jsonl=findings.jsonl" if words[0] == "lint" else "catalog.jsonl"
        command = [sys.executable, "-m", "glost", *words, file]
        subprocess.run(command, cwd=folder, env=environment, check=False, capture_output=True)
    database = duckdb.connect(config={"threads": 1})
    held = TABLES
    for name in ("catalog", "findings"):
        held = held.replace(f"'{name}.jsonl'", f"'{folder / name}.jsonl'")
    database.execute(held)
    answers = [database.execute(query).fetchall() for query in QUERIES]
    assert [file for file, _ in answers[9]] == uncommitted
    assert all(revision is None or re.fullmatch("[0-9a-f]{7,}", revision) for _, revision in answers[9])
    assert [row[0] for row in answers[2]] == ([] if how == "empty" else ["04"])
