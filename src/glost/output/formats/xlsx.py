"""Recipes as a workbook: the columns of the CSV, in cells that say themselves what they hold. A cone, a day, a name is
text and stays as it is; an amount is a number; nothing is ever a formula.

The same recipes give the same bytes. The first part of the file is not packed, so that an earlier output is known by
it.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Final

from glost.errors import ValueRefusedError
from glost.output.format import Format, Job
from glost.output.formats.csv import COLUMNS, NUMBERS, tables

if TYPE_CHECKING:
    from xlsxwriter.worksheet import Worksheet

_SHEET: Final = "recipes"
_MOST_ROWS: Final = 1_048_576
_MOST_CHARACTERS: Final = 32_767
"""What one sheet, and one cell, may hold (Ecma-376 sets no bound; that of the common spreadsheets, from memory)."""
_FIRST: Final = "docProps/core.xml"
_ALWAYS: Final = (1980, 1, 1, 0, 0, 0)
"""The day of every part: the first that the packing can say."""
_WIDEST: Final = 40
_NUMBER: Final = re.compile(r"-?[0-9]+(?:\.[0-9]+)?", re.ASCII)


def write(jobs: Sequence[Job]) -> bytes:
    """A workbook with one sheet. Raises ValueError where XlsxWriter is not installed, or where a sheet does not hold
    that much."""
    try:
        from xlsxwriter import Workbook
    except ImportError:
        raise ValueRefusedError(
            "a workbook needs XlsxWriter", "install it with: pip install 'glost[xlsx]'"
        ) from None
    held = io.BytesIO()
    rows = [COLUMNS, *_rows(jobs)]
    if len(rows) > _MOST_ROWS:
        raise ValueRefusedError(
            f"these recipes have {len(rows):,} rows, and a sheet holds {_MOST_ROWS:,}",
            "convert fewer at a time, or write CSV",
        )
    # Every cell is written as what it is meant to be; these are for whoever changes that.
    book = Workbook(
        held,
        {
            "in_memory": True,
            "strings_to_formulas": False,
            "strings_to_numbers": False,
            "strings_to_urls": False,
        },
    )
    book.set_properties({"author": "glost", "created": datetime(1980, 1, 1, tzinfo=UTC).replace(tzinfo=None)})
    sheet = book.add_worksheet(_SHEET)
    bold = book.add_format({"bold": True})
    for at, row in enumerate(rows):
        for column, (name, text) in enumerate(zip(COLUMNS, row, strict=True)):
            if at == 0:
                sheet.write_string(at, column, text, bold)
            else:
                _cell(sheet, at, column, name, text)
    for column, texts in enumerate(zip(*rows, strict=True)):
        sheet.set_column(column, column, min(_WIDEST, max(map(len, texts)) + 2))
    sheet.freeze_panes(1, 1)
    sheet.autofilter(0, 0, len(rows) - 1, len(COLUMNS) - 1)
    book.close()
    return _same_every_time(held.getvalue())


def _rows(jobs: Sequence[Job]) -> Iterable[tuple[str, ...]]:
    for job, table in zip(jobs, tables(jobs), strict=True):
        for row in table.rows:
            cells = (*table.head, *row, *table.origin)
            _fits(job.file, cells)
            yield cells


def _fits(file: str, cells: Sequence[str]) -> None:
    """Raises ValueError where a cell cannot hold its text: the rest of it would be lost."""
    for name, text in zip(COLUMNS, cells, strict=True):
        if len(text) > _MOST_CHARACTERS:
            raise ValueRefusedError(
                f"{file}: '{name}' has {len(text):,} characters, and a cell holds {_MOST_CHARACTERS:,}",
                "shorten it, or write CSV",
            )


def _cell(sheet: Worksheet, row: int, column: int, name: str, text: str) -> None:
    if not text:
        return
    if name in NUMBERS and _NUMBER.fullmatch(text):
        sheet.write_number(row, column, float(text))
        return
    # The bytes of a file name that are no text come as halves of a character, which no cell holds.
    sheet.write_string(row, column, text.encode("utf-8", "backslashreplace").decode("utf-8"))


def _same_every_time(data: bytes) -> bytes:
    """The workbook with its first part readable, and with no day in it."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as before, zipfile.ZipFile(made, "w") as after:
        for name in sorted(before.namelist(), key=lambda name: (name != _FIRST, name)):
            packing = zipfile.ZIP_STORED if name == _FIRST else zipfile.ZIP_DEFLATED
            after.writestr(zipfile.ZipInfo(name, _ALWAYS), before.read(name), packing)
    return made.getvalue()


FORMAT = Format(
    name="xlsx",
    ending=".xlsx",
    summary="a workbook for a spreadsheet, a row a material, its cells typed (Office Open XML)",
    write=write,
    mark=re.compile(
        rf"\APK\x03\x04.{{0,64}}{re.escape(_FIRST)}.{{0,800}}<dc:creator>glost</dc:creator>", re.DOTALL
    ),
    together=True,
    tells_errors=False,
    binary=True,
)
