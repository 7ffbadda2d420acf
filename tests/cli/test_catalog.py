"""glost catalog as a process."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import subprocess
import sys
from collections import Counter
from contextlib import suppress
from decimal import Decimal
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import pytest
from jsonschema import Draft202012Validator

from glost.linter.finding import LEVELS
from glost.recipe import recipe
from glost.workspace.collection import Collections, find
from glost.workspace.load import load
from tests.conftest import STUDIO, TOP, Run

SCHEMA = Draft202012Validator(json.loads((TOP / "schema" / "catalog.schema.json").read_text("utf-8")))
EVERYTHING = (str(STUDIO), str(STUDIO / "needs-work"))
HOSTILE = """\
glaze "</script><img src=x onerror=alert(1)> &amp; =1+1"
surface: =HYPERLINK("x")
colour: <b>blue</b>

base:
    silica    60  (</script> in a note)
    "<i>dust</i>"    40

notes:
    -->]]></style></script><script>alert(2)</script>
"""


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def lines_of(text: str) -> list[dict[str, Any]]:
    found = [json.loads(line, parse_float=Decimal, parse_int=Decimal) for line in text.splitlines()]
    for line, plain in zip(found, text.splitlines(), strict=True):
        assert list(SCHEMA.iter_errors(json.loads(plain))) == [], line["file"]
    return found


def table_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def test_every_recipe_and_test_of_the_demo_collection_is_there(run: Run) -> None:
    done = run("catalog", *EVERYTHING, "--to", "jsonl")
    assert done.returncode == 0
    skipped = f"needs-work is left out by skip in {STUDIO / 'glost.yaml'}; named, it is taken\n"
    assert done.stderr.count("\n") == 1
    assert done.stderr.endswith(skipped)
    collections = Collections()
    expected = [
        (path.as_posix(), test.recipe.name, test.label)
        for path in find(EVERYTHING, collections)
        for test in recipe.tests(load(path, collections).resolved.recipe)
    ]
    assert len(expected) > 150
    lines = lines_of(done.stdout)
    assert [(line["file"], line["recipe"], line["test"]) for line in lines] == expected
    rows = table_of(run("catalog", *EVERYTHING, "--to", "csv").stdout)
    assert [(row["file"], row["recipe"], row["test"]) for row in rows] == expected


def told(name: str) -> str:
    """A name that ends in a figure would run into the amount."""
    return f'"{name}"' if name[-1].isdigit() else name


def test_table_and_lines_say_the_same(run: Run) -> None:
    lines = lines_of(run("catalog", *EVERYTHING, "--to", "jsonl").stdout)
    rows = table_of(run("catalog", *EVERYTHING, "--to", "csv").stdout)
    for line, row in zip(lines, rows, strict=True):
        assert row["cone low"] == ("" if line["cone_low"] is None else str(line["cone_low"]))
        assert row["tags"] == ", ".join(line["tags"])
        for section in ("base", "additions"):
            said = [
                # A page that is not all in its recipe has no base of 100 to go by.
                f"{told(one['material'] or one['name'])} {one['parts'] if one['on_100'] is None else one['on_100']}"
                for one in line["materials"]
                if one["section"] == section
            ]
            assert row[section].split("; ") == (said or [""])
        assert (row["hazards known"] == "yes") is line["hazards_known"]
        assert [code.split(" ")[0] for code in row["hazards"].split("; ") if code] == [
            hazard["code"] for hazard in line["hazards"]
        ]
        assert [row["errors"], row["warnings"], row["hints"]] == [str(line["counts"][one]) for one in LEVELS]
        # A commit that reads as a number (one in fifty: 196e912) is guarded from spreadsheets.
        assert row["revision"].removeprefix("'") == ((line["revision"] or {}).get("name") or "")


def test_findings_are_what_lint_says(run: Run) -> None:
    lines = lines_of(run("catalog", *EVERYTHING, "--to", "jsonl").stdout)
    by_file = {line["file"]: line["findings"] for line in lines}
    said = json.loads(run("lint", *EVERYTHING, "--output", "json").stdout)
    on_recipes = [one for one in said["findings"] if not one["file"].endswith(".firing")]
    assert len(said["findings"]) > len(on_recipes) > 30
    assert Counter((one["file"], one["rule"], one["message"]) for one in on_recipes) == Counter(
        (file, one["rule"], one["message"]) for file, found in by_file.items() for one in found
    )


def test_a_revision_a_file(tmp_path: Path, run: Run) -> None:
    def git(*arguments: str) -> str:
        who = ("-c", "user.name=bench", "-c", "user.email=bench@example.org")
        done = subprocess.run(
            ["git", *who, *arguments], cwd=tmp_path, check=True, capture_output=True, text=True
        )
        return done.stdout.strip()

    git("init", "-q")
    for name in ("kept", "changed"):
        (tmp_path / f"{name}.glost").write_text(f'glaze "{name}"\nbase:\n    silica  100\n')
    git("add", ".")
    git("commit", "-q", "-m", "begin")
    (tmp_path / "changed.glost").write_text('glaze "changed"\nbase:\n    kaolin  100\n')
    (tmp_path / "new.glost").write_text('glaze "new"\nbase:\n    silica  100\n')
    found = {line["recipe"]: line["revision"] for line in lines_of(run("catalog", "--to", "jsonl").stdout)}
    commit = {"name": git("log", "-1", "--format=%h"), "day": git("log", "-1", "--format=%cs")}
    assert found == {
        "kept": {**commit, "changed": False},
        "changed": {**commit, "changed": True},
        "new": None,
    }
    (tmp_path / ".git" / "HEAD").write_text("nonsense")
    done = run("catalog", "--to", "jsonl")
    assert done.returncode == 0
    assert {line["revision"] for line in lines_of(done.stdout)} == {"not known"}


def test_what_cannot_be_read_has_its_row(tmp_path: Path, run: Run) -> None:
    (tmp_path / "part.glost").write_text('glaze "Part"\nbase:\n    silica  60\n    kaolin  4O\n')
    done = run("catalog", "--to", "jsonl")
    assert (done.returncode, done.stderr) == (0, "")
    (tmp_path / "bad.glost").write_bytes(b"\xff\xfe\x00")
    for to in ("jsonl", "csv", "html"):
        done = run("catalog", "--to", to)
        assert done.returncode == 2
        assert "bad.glost:1:1: error: this file is written in UTF-16" in done.stderr
    bad, part = lines_of(run("catalog", "--to", "jsonl").stdout)
    assert (bad["file"], bad["read"], bad["recipe"], bad["materials"]) == ("bad.glost", "not at all", "", [])
    assert [one["rule"] for one in bad["findings"]] == ["unreadable"]
    assert (part["read"], part["hazards_known"]) == ("in part", False)
    assert "syntax" in {one["rule"] for one in part["findings"]}


def test_hostile_names_stay_text(tmp_path: Path, run: Run) -> None:
    (tmp_path / "a.glost").write_text(HOSTILE)
    odd = tmp_path / "\udcff<b>"  # a byte that is not UTF-8
    odd.mkdir()
    (odd / "=1.glost").write_text(HOSTILE)
    line, other = lines_of(run("catalog", "--to", "jsonl").stdout)
    assert line["recipe"] == "</script><img src=x onerror=alert(1)> &amp; =1+1"
    assert other["file"] == "\udcff<b>/=1.glost"
    rows = table_of(run("catalog", "--to", "csv").stdout)
    assert rows[0]["surface"] == '\'=HYPERLINK("x")'
    assert all(not cell.startswith(("=", "+", "@", "-")) for row in rows for cell in row.values())
    page = run("catalog").stdout
    assert page.count("</script>") == page.count("<script") == 3
    assert "<img" not in page
    assert "<b>" not in page


def test_out_is_written_and_never_over_a_recipe(tmp_path: Path, run: Run) -> None:
    page = tmp_path / "a.glost"
    page.write_text('glaze "A"\nbase:\n    silica  100\n')
    done = run("catalog", "--to", "csv", "--out", "table.csv")
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "table.csv: 1 row written\n")
    assert (tmp_path / "table.csv").read_bytes().decode() == run("catalog", "--to", "csv").stdout.replace(
        "\n", "\r\n"
    )
    (tmp_path / "link.html").symlink_to(page)
    for target in ("a.glost", "new.glost", "link.html"):
        done = run("catalog", "--out", target)
        assert done.returncode == 2
        assert "is a recipe, and would be lost" in done.stderr
    assert page.read_text().startswith("glaze")
    done = run("catalog", "--out", "nowhere/table.html")
    assert done.returncode == 2 or (tmp_path / "nowhere" / "table.html").exists()


@pytest.mark.parametrize("arguments", [("nowhere",), ("-",), ("--to", "pdf")])
def test_wrong_usage(run: Run, arguments: tuple[str, ...]) -> None:
    done = run("catalog", *arguments)
    assert (done.returncode, done.stdout) == (2, "")


def test_settings_that_cannot_be_taken(tmp_path: Path, run: Run) -> None:
    (tmp_path / "glost.yaml").write_text("bach: 100 g\n")
    (tmp_path / "a.glost").write_text('glaze "A"\nbase:\n    silica  100\n')
    done = run("catalog", "--to", "csv")
    assert (done.returncode, done.stdout) == (2, "")
    assert "glost.yaml:1:1: error" in done.stderr


def test_an_empty_folder(run: Run) -> None:
    assert len(run("catalog", "--to", "csv").stdout.splitlines()) == 1
    assert run("catalog", "--to", "jsonl").stdout == ""
    assert "0 recipes, 0 rows" in run("catalog").stdout


@pytest.mark.skipif(sys.platform == "win32", reason="a terminal is opened otherwise there")
def test_a_page_is_not_poured_over_a_terminal(tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text('glaze "A"\nbase:\n    silica  100\n')
    ours, terminal = os.openpty()
    command = [sys.executable, "-m", "glost", "catalog"]
    done = subprocess.run(command, cwd=tmp_path, stdout=terminal, stderr=subprocess.PIPE, text=True)
    os.close(terminal)
    assert done.returncode == 2
    assert "give it a file, as  --out table.html" in done.stderr
    with suppress(OSError):  # a terminal whose other end is closed has no more to read
        assert os.read(ours, 1) == b""
    os.close(ours)


def test_rows_lead_to_sheets_that_are_there(run: Run, tmp_path: Path) -> None:
    """Only a sheet that a page really has is linked, by the way from the table to that page."""
    folder = STUDIO / "washes"
    assert run("convert", str(folder), "--to", "html", "--out", f"{tmp_path}/my sheets/").returncode == 0
    (tmp_path / "my sheets" / "other.html").write_text("<p>not ours", encoding="utf-8")
    (tmp_path / "tables").mkdir()
    out = tmp_path / "tables" / "table.html"
    told = run("catalog", str(STUDIO), "--out", str(out), "--sheets", f"{tmp_path}/my sheets")
    assert told.returncode == 0, told.stderr
    held = held_in(out)
    assert 0 < len(held["sheets"]) < len(held["rows"])
    for at, address in held["sheets"].items():
        about = held["abouts"][held["rows"][int(at)][0]]
        path, _, part = address.partition("#")
        page = out.parent / unquote(path)
        assert (tmp_path / "my sheets").resolve() in page.resolve().parents
        assert f'id="{unquote(part)}"' in page.read_text("utf-8")
        assert held["texts"][about[0]].endswith(f"washes/{page.stem}.glost")
    assert (out.parent / unquote(held["folder"])).resolve() == tmp_path.resolve()


@pytest.mark.parametrize(
    ("sheets", "said"),
    [
        ("own.html", "this is no page that glost wrote"),
        ("empty", "no batch sheet is there"),
        ("labels.html", "no batch sheet is there"),
        ("none.html", "does not exist"),
    ],
)
def test_what_holds_no_sheets_is_refused(run: Run, tmp_path: Path, sheets: str, said: str) -> None:
    (tmp_path / "own.html").write_text("<p>mine</p>", encoding="utf-8")
    (tmp_path / "empty").mkdir()
    page = run("convert", str(STUDIO / "washes"), "--to", "labels").stdout
    (tmp_path / "labels.html").write_text(page, encoding="utf-8")
    out = tmp_path / "table.html"
    told = run("catalog", str(STUDIO / "washes"), "--out", str(out), "--sheets", str(tmp_path / sheets))
    assert told.returncode == 2
    assert said in told.stderr
    assert not out.exists()


def test_sheets_of_other_recipes_are_told(run: Run, tmp_path: Path) -> None:
    run("convert", str(STUDIO / "washes"), "--to", "html", "--out", str(tmp_path / "sheets.html"))
    sheets = ("--sheets", str(tmp_path / "sheets.html"))
    told = run("catalog", str(STUDIO / "raku"), "--out", str(tmp_path / "t.html"), *sheets)
    assert told.returncode == 2
    assert "none of these tests has a sheet there" in told.stderr
    told = run("catalog", str(STUDIO / "raku"), "--to", "csv", *sheets)
    assert told.returncode == 2
    assert "--sheets is for the page" in told.stderr


def held_in(page: Path) -> dict[str, Any]:
    found = re.search(r'id="held">(.*?)</script>', page.read_text("utf-8"), re.DOTALL)
    assert found is not None
    held = json.loads(found[1])
    assert isinstance(held, dict)
    return held
