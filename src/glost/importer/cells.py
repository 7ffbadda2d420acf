"""The rows of a table that was saved as text, whatever parts its cells."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Sequence
from typing import Final, NamedTuple

from glost.errors import GlostError
from glost.importer.draft import plain_line
from glost.language.csv_cells import bare

PARTED: Final = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}
"""What may part the cells, and what it is called."""
_PREFERRED: Final = "\t;|,"
"""Where two part the lines as evenly: a comma may be that of a decimal."""
_SAID: Final = re.compile(r"\s*\"?sep=(?P<sign>[,;|\t])\"?\s*", re.IGNORECASE)
"""The first line by which a spreadsheet may say what parts the cells."""
_LOOKED_AT: Final = 60
_MOST_COLUMNS: Final = 500
_MOST_ROWS: Final = 10_000


class TableError(GlostError, ValueError):
    """The table cannot be made into recipes; the text says why and what to do."""


class Record(NamedTuple):
    """A row that holds something. ``gap``: an empty row stands before it."""

    line: int
    cells: list[str]
    gap: bool = False

    @property
    def filled(self) -> list[str]:
        return [cell for cell in self.cells if cell]

    def cell(self, at: int | None) -> str:
        """The cell of a column; empty where the row is shorter, or where there is no such column."""
        return self.cells[at] if at is not None and at < len(self.cells) else ""

    @property
    def text(self) -> str:
        return "  ".join(self.filled)


class Table(NamedTuple):
    """The rows of a table, and what parts its cells."""

    records: list[Record]
    separator: str


def read_cells(text: str) -> Table:
    """The rows of a table that hold something. Raises TableError."""
    lines = text.split("\n")
    said = _SAID.fullmatch(lines[0])
    separator = said["sign"] if said else _separator(lines)
    if said:
        lines[0] = ""
    records: list[Record] = []
    reader = csv.reader((f"{line}\n" for line in lines), delimiter=separator, strict=True)
    gap = False
    try:
        for cells in reader:
            plain = [" ".join(plain_line(bare(cell).replace("\n", " ")).split()) for cell in cells]
            if not any(plain):
                gap = bool(records)
                continue
            if len(cells) > _MOST_COLUMNS or len(records) >= _MOST_ROWS:
                raise TableError(
                    f"more than {_MOST_COLUMNS} columns or {_MOST_ROWS:,} rows stand here", "part the table"
                )
            records.append(Record(reader.line_num, plain, gap))
            gap = False
    except csv.Error as error:
        raise TableError(f"line {reader.line_num}: {error}", "save the table again as CSV") from None
    return Table(records, separator)


def _separator(lines: Sequence[str]) -> str:
    """The sign that parts most lines into the same number of cells."""
    looked_at = [line for line in lines[: 10 * _LOOKED_AT] if line.strip()][:_LOOKED_AT]

    def evenly(sign: str) -> tuple[int, int, int]:
        counts = Counter(count for line in looked_at if (count := line.count(sign)))
        count, times = counts.most_common(1)[0] if counts else (0, 0)
        return times, count, _PREFERRED[::-1].index(sign)

    return max(PARTED, key=evenly)
