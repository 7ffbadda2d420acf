"""Every table goes through a spreadsheet and a library for tables, as both are installed, and comes back the same: text
stays text, a cone keeps its zero, and numbers are numbers."""

from __future__ import annotations

import csv
import io
import os
import re
import shutil
import subprocess
import zipfile
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from glost.language.csv_cells import bare, bare_cone, cone_cell, guarded
from glost.output.formats.csv import read_csv
from tests.conftest import Run
from tests.records.bench import MIST, json_of

CALC = shutil.which("soffice") or shutil.which("libreoffice")

AWKWARD = [
    "04", "007", "0123456", "4148871", "12e5", "1e400", "1E+05", "-1.5", "+5", ".5", "5.", "1,234", "1_000",
    "1-2", "5-6", "10-11", "1/2", "1 1/2", "16/80", "2/4", "5–6", "14/3/2026", "3.4.2026", "1.2.", "2026-03",
    "2026-03-14 10:20", "1:30", "12:30 PM", "Mar 5", "5 Mar", "Jan-5", "March 2020", "May 5, 2020", "24 %", "24%",
    "$5", "€5", "TRUE", "false", "NA", "n/a", "None", "null", "NaN", "inf", "-Infinity", "#N/A", "<NA>", "=1+1",
    " =1+1", "\u00a0=1+1", "\ufeff=1+1", "'quoted", "'04", "''", "@x", "-", "１２",
]  # fmt: skip
PLAIN = [
    "Harbour Mist",
    "row 91",
    "f05f43d",
    "iron steps 2",
    "cone 6",
    "5 kg",
    "60 mesh",
    "1st",
    "½",
    "6 white",
]


@pytest.mark.parametrize("text", AWKWARD)
def test_what_could_be_taken_is_guarded_and_comes_back(text: str) -> None:
    assert guarded(text) == f"'{text}"
    assert bare(guarded(text)) == text


@pytest.mark.parametrize("text", PLAIN)
def test_what_nothing_takes_stands_as_it_is(text: str) -> None:
    assert guarded(text) == text


@given(st.text(st.sampled_from("'=+-@ .,:/%0123456789eEaAnNmMrR\u00a0\ufeff\t"), max_size=8))
def test_every_text_comes_back(text: str) -> None:
    assert bare(guarded(text)) == text


@given(st.text(st.sampled_from(".,:/%-+0123456789eE "), min_size=1, max_size=8))
def test_what_python_takes_for_a_number_is_guarded(text: str) -> None:
    try:
        float(text)
    except ValueError:
        return
    assert guarded(text) != text


def test_cones_are_read_in_both_forms() -> None:
    assert [bare_cone(cell) for cell in ("cone 04", "Cone 6", "04", "4", "5-6", "cone  06", "")] == [
        "04", "6", "04", "4", "5-6", "06", ""
    ]  # fmt: skip
    assert cone_cell("") == ""
    head = "recipe,kind,cone,section,name,amount\n"
    for cell in ("cone 04", "04"):
        [recipe] = read_csv(f"{head}A,glaze,{cell},base,whiting,100\n")
        assert str(recipe.fields["cone"]) == "04"


def test_a_cone_that_may_have_lost_its_zero_is_told(run: Run, tmp_path: Path) -> None:
    head = "recipe,kind,cone,section,name,amount\n"
    lost = f"{head}Majolica,glaze,4,base,whiting,100\nTemmoku,glaze,5-6,base,whiting,100\n"
    for kept in (lost.replace(",4,", ",cone 4,"), f"{lost}Raku,glaze,06,base,whiting,100\n"):
        (tmp_path / "kept.csv").write_text(kept)
        assert "zero" not in run("import", "kept.csv", "--dry-run").stdout
    (tmp_path / "all.csv").write_text(lost)
    said = run("import", "all.csv").stdout
    assert "line 2: cone 4 of 'Majolica' may have been 04: a spreadsheet takes the zero away" in said
    assert said.count("zero") == 1


# ---- all tables of the command line --------------------------------------------------------------------


def numbered_commit(folder: Path) -> str:
    """A commit whose short name is all figures, as one in about thirty is; it is looked for with fixed dates."""
    env = {
        **os.environ, "GIT_AUTHOR_DATE": "2026-03-14T10:00:00Z", "GIT_COMMITTER_DATE": "2026-03-14T10:00:00Z",
        "GIT_AUTHOR_NAME": "x", "GIT_AUTHOR_EMAIL": "x@example.org", "GIT_COMMITTER_NAME": "x",
        "GIT_COMMITTER_EMAIL": "x@example.org",
    }  # fmt: skip

    def git(*words: str) -> str:
        return subprocess.run(
            ["git", "-C", str(folder), *words], env=env, capture_output=True, text=True, check=True
        ).stdout.strip()

    git("init", "-q", "-b", "main")
    git("add", "-A")
    tree = git("write-tree")
    for number in range(2_000):
        commit = git("commit-tree", "-m", f"try {number}", tree)
        if commit[:7].isdigit():
            git("reset", "-q", "--soft", commit)
            return commit[:7]
    raise AssertionError("no such name was met")


@pytest.fixture
def tables(tmp_path: Path, run: Run) -> Path:
    """A collection in which every text is awkward, and its tables, one for each command that writes any."""
    studio = tmp_path / "1-2"
    studio.mkdir()
    (studio / "glost.yaml").write_text("balances: [{name: 5-6, capacity: 3 kg, readability: 0.01 g}]\n")
    for number, text in enumerate(AWKWARD):
        told = text.strip().strip("\u00a0\ufeff") or "x"
        if '"' in told or told.startswith("'") or "<" in told:
            continue
        (studio / f"{number}-1.glost").write_text(
            f'glaze "{told}"\ncone: 0{number % 9 + 1}\natmosphere: oxidation\ndate: 2026-03-{number % 27 + 1:02}\n'
            f"surface: {told}\norigin: {number}/3\nwater: 33.333 %\ngravity: 1.{number % 9 + 10}\nsieve: 80 mesh\n\n"
            f'base:\n    silica 50.250 ({number % 12 + 1}-2)\n    kaolin 49.750\nvariation "{told}":\n'
            '    tin oxide 0.125\nseries "7":\n    rutile 1, 2\n'
        )
    commit = numbered_commit(studio)
    record = replace(
        MIST, recipe="1-2", person="04", lines=tuple(replace(line, lot="007") for line in MIST.lines)
    )
    (studio / "saved.json").write_text(json_of(record))
    run("record", "saved.json", cwd=studio)
    out = tmp_path / "tables"
    out.mkdir()
    page = sorted(studio.glob("*.glost"))[0].name
    for name, command in {
        "convert": ("convert", "--to", "csv"),
        "catalog": ("catalog", "--to", "csv"),
        "formula": ("formula", "--output", "csv"),
        "batch": ("batch", "--output", "csv"),
        "session": ("session", "--output", "csv"),
        "usage": ("usage", "--by", "person", "--from", "2026-03-01", "--output", "csv"),
        "history": ("history", page, "--output", "csv"),
    }.items():
        done = run(*command, cwd=studio)
        assert done.returncode < 2, done.stderr
        (out / f"{name}.csv").write_bytes(done.stdout.replace("\r\n", "\n").replace("\n", "\r\n").encode())
        assert len(list(csv.reader(io.StringIO(done.stdout)))) > 1, name
    assert commit in (out / "catalog.csv").read_text()
    return out


def cells_of(path: Path) -> list[list[str]]:
    return list(csv.reader(io.StringIO(path.read_bytes().decode(), newline="")))


NUMBER = re.compile(r"-?\d+(\.\d+)?", re.ASCII)
DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


def numbers_in(rows: list[list[str]]) -> dict[str, bool]:
    """For each column whether it is one of numbers: each cell in it is one or empty."""
    return {
        head: all(NUMBER.fullmatch(row[at]) for row in rows[1:] if row[at])
        and any(row[at] for row in rows[1:])
        for at, head in enumerate(rows[0])
    }


NUMBERS = {
    "convert": {"gravity", "step", "amount"},
    "batch": {"base_mass_g", "parts", "target_g", "running_total_g", "relative_uncertainty_percent"},
    "session": {"order", "cup", "target_g", "division_g"},
    "usage": {"weighed_g", "batches"},
    "catalog": {"line", "cone low", "cone high", "errors"},
    "formula": {"fired wt % SiO2", "loss on ignition %"},
}


def test_pandas_reads_text_as_text_and_numbers_as_numbers(tables: Path) -> None:
    for path in sorted(tables.iterdir()):
        rows = cells_of(path)
        read = pd.read_csv(path)
        numbers = numbers_in(rows)
        assert {head for head, is_number in numbers.items() if is_number} >= NUMBERS.get(path.stem, set())
        assert list(read.columns) == rows[0]
        for at, head in enumerate(rows[0]):
            before, after = [row[at] for row in rows[1:]], read[head]
            if numbers[head]:
                assert pd.api.types.is_numeric_dtype(after), (path.name, head)
                assert [float(cell) for cell in before if cell] == list(after.dropna())
            elif any(before):
                assert list(after.fillna("")) == [cell.replace("\r\n", "\n") for cell in before], (
                    path.name,
                    head,
                )
    cones = pd.read_csv(tables / "convert.csv")["cone"]
    assert set(cones) == {f"cone 0{number}" for number in range(1, 10)}


@pytest.mark.skipif(CALC is None, reason="LibreOffice is not installed")
@pytest.mark.parametrize(
    "reading", ["44,34,76,1", "44,34,76,1,,1033,false,true"], ids=["usual", "special numbers"]
)
def test_calc_gives_every_table_back(tables: Path, tmp_path: Path, reading: str) -> None:
    """Opened and saved again with the settings that it is installed with; then with all that looks like a number or a
    day to be taken for one. The tokens: LibreOffice Help, "Filter Options for CSV"."""

    def soffice(*words: str) -> None:
        subprocess.run(
            [str(CALC), f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}", "--headless", *words],
            cwd=tmp_path, check=True, capture_output=True, timeout=300, stdin=subprocess.DEVNULL,
        )  # fmt: skip

    paths = sorted(tables.iterdir())
    soffice(f"--infilter=CSV:{reading}", "--convert-to", "ods", "--outdir", "ods", *map(str, paths))
    sheets = [str(tmp_path / "ods" / f"{path.stem}.ods") for path in paths]
    soffice("--convert-to", "csv:Text - txt - csv (StarCalc):44,34,76,1", "--outdir", "back", *sheets)
    for path in paths:
        before, after = cells_of(path), cells_of(tmp_path / "back" / path.name)
        for number, (row, again) in enumerate(zip(before, after, strict=True), 1):
            assert len(row) == len(again)
            for head, cell, other in zip(before[0], row, again, strict=True):
                place = (path.name, number, head)
                if NUMBER.fullmatch(cell):
                    assert float(other) == pytest.approx(float(cell), rel=1e-12), place
                else:
                    assert other.replace("\r\n", "\n") == cell.replace("\r\n", "\n"), place
        kinds = kinds_of(tmp_path / "ods" / f"{path.stem}.ods")
        cells = [cell for row in before for cell in row if cell]
        assert len(cells) == len(kinds)
        for cell, kind in zip(cells, kinds, strict=True):
            expected = "float" if NUMBER.fullmatch(cell) else "date" if DAY.fullmatch(cell) else "string"
            assert kind == expected or (expected, kind) == ("date", "string"), (path.name, cell, kind)


def kinds_of(sheet: Path) -> list[str]:
    """What each cell that holds anything was taken for (Open Document Format 1.3, office:value-type)."""
    office = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
    table = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
    content = ElementTree.fromstring(zipfile.ZipFile(sheet).read("content.xml"))
    kinds = []
    for row in content.iter(f"{table}table-row"):
        of_row = []
        for cell in row.iter(f"{table}table-cell"):
            kind = cell.get(f"{office}value-type")
            if kind is not None:
                of_row += [kind] * int(cell.get(f"{table}number-columns-repeated", "1"))
        kinds += of_row * int(row.get(f"{table}number-rows-repeated", "1"))
    return kinds


@pytest.mark.skipif(CALC is None, reason="LibreOffice is not installed")
def test_recipes_come_back_from_calc(tables: Path, tmp_path: Path) -> None:
    """What matters in the end: the recipes that are read from the table that was saved are those that were written."""
    subprocess.run(
        [str(CALC), f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}", "--headless",
         "--infilter=CSV:44,34,76,1,,1033,false,true",
         "--convert-to", "csv:Text - txt - csv (StarCalc):44,34,76,1", "--outdir", "back",
         str(tables / "convert.csv")],
        cwd=tmp_path, check=True, capture_output=True, timeout=300, stdin=subprocess.DEVNULL,
    )  # fmt: skip
    assert read_csv((tmp_path / "back" / "convert.csv").read_text()) == read_csv(
        (tables / "convert.csv").read_bytes().decode()
    )
