"""The workbook, read by two programs that are none of ours: a library for it and a spreadsheet."""

from __future__ import annotations

import csv
import dataclasses
import io
import subprocess
import sys
from pathlib import Path

import openpyxl
import pytest

from glost.output.format import find_format
from glost.output.formats.csv import COLUMNS, NUMBERS, read_csv, tables
from glost.recipe.fields import Quantity
from glost.recipe.recipe import Ingredient, Recipe
from tests.conftest import Run
from tests.output.convert.bench import D, job_of, studio_jobs
from tests.output.convert.test_csv_table import FORMULAS
from tests.output.convert.test_tables_travel import AWKWARD, CALC

XLSX = find_format("xlsx")


def jobs_of_all() -> list[object]:
    awkward = [
        Recipe(
            "glaze",
            text,
            {"surface": text},
            (Ingredient(text, text, Quantity(D("0.5"), ""), text),),
            notes=text,
        )
        for text in (*AWKWARD, *FORMULAS)
        if "\r" not in text and "\t" not in text  # no page holds them
    ]
    return [*studio_jobs(), *map(job_of, awkward)]


def expected() -> list[tuple[str, ...]]:
    rows = [COLUMNS]
    for table in tables(jobs_of_all()):  # type: ignore[arg-type]
        rows += [(*table.head, *row, *table.origin) for row in table.rows]
    return rows


def written(path: Path) -> Path:
    made = XLSX.write(jobs_of_all())  # type: ignore[arg-type]
    assert isinstance(made, bytes)
    path.write_bytes(made)
    return path


def test_every_cell_is_what_it_is_meant_to_be(tmp_path: Path) -> None:
    book = openpyxl.load_workbook(written(tmp_path / "all.xlsx"))
    assert book.sheetnames == ["recipes"]
    rows = list(book["recipes"].iter_rows())
    told = expected()
    assert len(rows) == len(told)
    for row, texts in zip(rows, told, strict=True):
        for cell, column, text in zip(row, COLUMNS, texts, strict=True):
            if not text:
                assert cell.value is None
            elif column in NUMBERS and row is not rows[0]:
                assert (cell.data_type, D(str(cell.value))) == ("n", D(text)), (column, text)
            else:
                assert (cell.data_type, cell.value) == ("s", text), (column, text)


def test_nothing_of_it_is_a_formula_or_a_link(tmp_path: Path) -> None:
    import zipfile

    with zipfile.ZipFile(written(tmp_path / "all.xlsx")) as book:
        sheet = book.read("xl/worksheets/sheet1.xml").decode()
        assert "<f>" not in sheet
        assert "<f " not in sheet
        assert "hyperlink" not in sheet
        assert not any("external" in name.lower() or "vba" in name.lower() for name in book.namelist())


@pytest.mark.skipif(CALC is None, reason="LibreOffice is not installed")
def test_calc_reads_the_same(tmp_path: Path) -> None:
    """Opened and saved as CSV: a cone keeps its zero, a text that looks like a formula is that text."""
    written(tmp_path / "all.xlsx")
    subprocess.run(
        [str(CALC), f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}", "--headless", "--convert-to",
         "csv:Text - txt - csv (StarCalc):44,34,76,1", "--outdir", "back", "all.xlsx"],
        cwd=tmp_path, check=True, capture_output=True, timeout=300, stdin=subprocess.DEVNULL,
    )  # fmt: skip
    text = (tmp_path / "back" / "all.csv").read_bytes().decode()
    back = list(csv.reader(io.StringIO(text, newline="")))
    for number, (row, texts) in enumerate(zip(back, expected(), strict=True)):
        for cell, column, told in zip(row, COLUMNS, texts, strict=True):
            if number and column in NUMBERS and told:
                assert float(cell) == pytest.approx(float(told), rel=1e-12), (number, column)
            else:
                assert cell.replace("\r\n", "\n") == told, (number, column)


def test_a_workbook_saved_as_csv_is_read_back(tmp_path: Path) -> None:
    """As a table of plain cells, which nothing guards."""
    jobs = studio_jobs()
    made = XLSX.write(jobs)
    assert isinstance(made, bytes)
    sheet = openpyxl.load_workbook(io.BytesIO(made))["recipes"]
    out = io.StringIO()
    csv.writer(out).writerows([["" if cell is None else cell for cell in row] for row in sheet.values])
    csv_form = find_format("csv").write(jobs)
    assert isinstance(csv_form, str)
    assert read_csv(out.getvalue()) == read_csv(csv_form)


def test_it_is_the_same_every_time_and_known_as_ours(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text('glaze "A"\ncone: 04\nbase:\n    silica 60\n    kaolin 40\n')
    assert run("convert", "--to", "xlsx", "--out", "all.xlsx").returncode == 0
    first = (tmp_path / "all.xlsx").read_bytes()
    assert run("convert", "--to", "xlsx", "--out", "all.xlsx").stderr == "all.xlsx: 1 recipe unchanged\n"
    (tmp_path / "a.glost").write_text('glaze "A"\ncone: 05\nbase:\n    silica 60\n    kaolin 40\n')
    assert run("convert", "--to", "xlsx", "--out", "all.xlsx").returncode == 0
    assert (tmp_path / "all.xlsx").read_bytes() != first
    book = openpyxl.Workbook()
    book.save(tmp_path / "mine.xlsx")
    held = (tmp_path / "mine.xlsx").read_bytes()
    done = run("convert", "--to", "xlsx", "--out", "mine.xlsx")
    assert done.returncode == 2
    assert "not written by glost" in done.stderr
    assert (tmp_path / "mine.xlsx").read_bytes() == held


def test_without_the_library_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "xlsxwriter", None)
    with pytest.raises(ValueError, match=r"pip install 'glost\[xlsx\]'"):
        XLSX.write([])


def test_a_text_that_no_cell_holds_is_told() -> None:
    recipe = Recipe("glaze", "A", notes="x" * 32_768)
    jobs = [job_of(Recipe("glaze", "B")), dataclasses.replace(job_of(recipe), file="raku/a.glost")]
    said = r"raku/a\.glost: 'notes' has 32,768 characters, and a cell holds 32,767"
    with pytest.raises(ValueError, match=said):
        XLSX.write(jobs)
    assert XLSX.write([job_of(Recipe("glaze", "A", notes="x" * 32_767))])


def test_a_program_takes_it_as_bytes(tmp_path: Path) -> None:
    import glost

    recipe = glost.parse('glaze "A"\ncone: 04\nbase:\n    silica 60\n    kaolin 40\n')
    assert glost.write_bytes(recipe, "xlsx").startswith(b"PK")
    assert glost.write_bytes(recipe, "csv").decode() == glost.write(recipe, "csv")
    with pytest.raises(ValueError, match="xlsx is no text; take it as bytes, with write_bytes"):
        glost.write(recipe, "xlsx")
