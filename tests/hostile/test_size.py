"""Too much of everything: bytes, lines, figures, findings, materials, tests."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from glost.workspace.collection import Collections
from glost.workspace.runs.lint_file import FileLinter
from glost.workspace.runs.lint_options import LintOptions
from tests.hostile.conftest import Tame
from tests.hostile.pages import BAD, BASE, GOOD, HEAD

LONG = 250_000


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"a" * 50_000_000, "50,000,000 bytes; 262,144 are read at most"),
        (b"\n" * 1_000_000, "1,000,000 bytes"),
        (b"base:\n    " + b"a" * 10_000_000, "10,000,010 bytes"),
        (b"a\n" * 10_001, "more than 10,000 lines"),
    ],
    ids=["50 MB", "a million lines", "a line of 10 MB", "10,001 lines"],
)
def test_too_large_a_file_is_refused_unread(tame: Tame, tmp_path: Path, data: bytes, said: str) -> None:
    (tmp_path / "a.glost").write_bytes(data)
    assert said in tame(2, "lint").stdout
    assert said in tame(2, "format").stderr
    assert said in tame(2, "convert", "--to", "sheet").stderr


def test_too_long_a_standard_input_passes_whole_through_a_pipe(tame: Tame) -> None:
    text = GOOD * 4000
    assert "more than 262,144 bytes" in tame(2, "lint", "-", stdin=text).stdout
    assert tame(2, "format", "-", stdin=text).stdout == text
    assert tame(2, "lint", "--fix", "-", stdin=text).stdout == text


@pytest.mark.slow
@pytest.mark.parametrize("head", ["base:\n    ", "notes:\n    ", "handling:\n    ", 'series "x":\n    ', ""])
def test_one_endless_line(tmp_path: Path, head: str) -> None:
    page = tmp_path / "a.glost"
    for unit in (" ", '"', "7", "a", 'a1 ("#,:.% ', "\u00e9 "):
        for end in ("", "\x07"):
            page.write_text(HEAD + head + unit * (LONG // len(unit.encode())) + end + "\n", "utf-8")
            report = FileLinter(LintOptions(), Collections()).look(page).report
            assert 1 <= len(report.findings) <= 5


@pytest.mark.slow
@pytest.mark.parametrize("unit", [" ", "#", '"', "7", "a", " #a"])
def test_one_endless_line_as_a_command(tame: Tame, tmp_path: Path, unit: str) -> None:
    (tmp_path / "a.glost").write_text(HEAD + "notes:\n    " + unit * (LONG // len(unit)) + "\x07\n")
    for form in ("text", "json", "sarif"):
        assert len(tame(1, "lint", "--output", form).stdout) < 100_000
    tame(1, "format")
    tame(1, "convert", "--to", "sheet")


def test_number_of_10_000_figures(tame: Tame, tmp_path: Path) -> None:
    figures = "7" * 10_000
    fields = f"water: {figures} %\nbatch: {figures} g\ngravity: 1.{figures}\nsieve: {figures} mesh\ndate: {figures}\n"
    (tmp_path / "a.glost").write_text(f'glaze "A"\ncone: {figures}\n{fields}base:\n    silica {figures}\n')
    tame(1, "lint")
    tame(1, "lint", "--fix")
    tame(1, "convert", "--to", "sheet")
    done = tame(2, "lint", "--batch", f"{figures} g")
    assert "Error:" in done.stderr


@pytest.mark.slow
@pytest.mark.parametrize(
    "line", ["    silica,", "    silica 1,5", "\tsilica 1", "    silica \uff11", "colr: x"], ids=ascii
)
def test_page_with_10_000_findings(tame: Tame, tmp_path: Path, line: str) -> None:
    page = HEAD + BASE + f"{line}\n" * ((LONG - len(HEAD + BASE)) // len(f"{line}\n".encode()))
    page = "\n".join(page.splitlines()[:9_990]) + "\n"
    (tmp_path / "a.glost").write_text(page, "utf-8")
    found = json.loads(tame(1, "lint", "--output", "json").stdout)["findings"]
    assert len(found) >= 9_900
    assert tame(1, "lint").stdout.count(" | ") >= 2 * 9_900


@pytest.mark.slow
def test_page_with_10_000_fixes(tame: Tame, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(HEAD + "base:\n" + "    silica 1,5\n" * 9_900)
    done = tame(1, "lint", "--fix", "--output", "line")
    assert done.stderr.count(": fixed: ") == 9_900
    assert "more than 500 amounts" in done.stdout


@pytest.mark.slow
def test_collection_with_100_000_findings(tame: Tame, tmp_path: Path) -> None:
    for number in range(20):
        (tmp_path / f"{number}.glost").write_text(HEAD + BASE + "    silica,\n" * 5_000)
    done = tame(1, "lint", "--output", "json=found.json", "--output", "text")
    assert "20 recipes checked: 100000 errors" in done.stderr
    listed = json.loads((tmp_path / "found.json").read_text())["findings"]
    # The level of a finding may be called hint too; what helps stands on a line of its own.
    assert len(re.findall(r"^ +(?:hint|fix): ", done.stdout, re.MULTILINE)) == len(listed)


def test_amounts_beyond_a_recipe_are_told_and_no_more_is_looked_at(tame: Tame, tmp_path: Path) -> None:
    page = tmp_path / "a.glost"
    page.write_text(HEAD + "base:\n" + "".join(f"    material{number}x  1\n" for number in range(501)))
    done = tame(1, "lint", "--output", "line")
    assert (
        done.stdout
        == "a.glost:5:1: error: this page holds more than 500 amounts; a recipe is a page (syntax)\n"
    )
    assert "not converted" in tame(1, "convert", "--to", "sheet").stderr
    page.write_text(HEAD + BASE + 'series "x":\n    tin oxide  ' + ", ".join(["1"] * 600) + "\n")
    assert "more than 500 amounts" in tame(1, "lint").stdout


def test_more_sheets_than_anybody_weighs_are_told(tame: Tame, tmp_path: Path) -> None:
    base = "base:\n" + "    silica  1\n" * 200
    (tmp_path / "a.glost").write_text(
        HEAD + base + "".join(f'variation "{n}":\n    talc  1\n' for n in range(200))
    )
    assert "200 tests of 200 materials" in tame(1, "lint").stdout
    assert "not converted" in tame(1, "convert", "--to", "sheet").stderr


@pytest.mark.slow
def test_largest_recipe_becomes_sheets(tame: Tame, tmp_path: Path) -> None:
    base = "base:\n" + "    silica  1\n" * 20
    (tmp_path / "a.glost").write_text(
        HEAD + base + 'series "x":\n    tin oxide  ' + ", ".join(["1"] * 450) + "\n"
    )
    for form in ("sheet", "markdown", "csv", "json", "jsonl"):
        tame(0, "convert", "--to", form)


def test_endless_name_moves_no_other_line(tame: Tame, tmp_path: Path) -> None:
    page = tmp_path / "a.glost"
    page.write_text(HEAD + f"base:\n    {'a' * 200_000}  5\n" + "    silica  1\n" * 400)
    tame(0, "format")
    assert page.stat().st_size < 220_000
    assert tame(0, "format").stdout == ""
    tame(0, "convert", "--to", "sheet")


def test_empty_collection(tame: Tame) -> None:
    for command, said in (
        ("lint", "0 recipes checked, nothing found"),
        ("format", "0 recipes looked at, 0 changed"),
    ):
        told, summary = tame(0, command).stderr.splitlines()
        assert told.startswith("glost: no recipe found in this folder: ")
        assert summary == said
    for form in ("sheet", "csv", "json"):
        tame(0, "convert", "--to", form)


def test_baseline_of_many_findings(tame: Tame, tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("name: x\n")
    for number in range(300):
        (tmp_path / f"{number}.glost").write_text(BAD.replace('"A"', f'"A {number}"'))
    tame(0, "lint", "--write-baseline")
    tame(0, "lint")
