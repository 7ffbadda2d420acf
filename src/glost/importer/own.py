"""A table in the shape that glost itself writes, also where a spreadsheet has parted its cells otherwise."""

from __future__ import annotations

import csv
import io

from glost.errors import ValueRefusedError
from glost.importer.cells import PARTED
from glost.importer.draft import Remark
from glost.importer.firing import firing_in_cell
from glost.importer.gather import Bare
from glost.importer.lost_zero import lost_zeros
from glost.language.csv_cells import record_of
from glost.output.formats.csv import COLUMNS, NEEDED, read_csv
from glost.recipe.recipe import Recipe


def own_separator(text: str) -> str | None:
    """What parts the cells of a table whose heads are those of glost; None for any other table."""
    first = text.partition("\n")[0].rstrip("\r")
    for separator in PARTED:
        head = {cell.strip(' "').lower() for cell in first.split(separator)}
        if set(NEEDED) <= head <= {*COLUMNS, ""}:
            return separator
    return None


def read_own(text: str, separator: str) -> tuple[list[Recipe], list[Remark]]:
    """The recipes of such a table, and the cones in it that may have lost their zero. Raises ValueError."""
    if separator != ",":
        text = "".join(map(record_of, _rows(text, separator)))
    return read_csv(text), _lost_zeros(_rows(text, ","))


def _rows(text: str, separator: str) -> list[list[str]]:
    try:
        return list(csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True))
    except csv.Error as error:
        raise ValueRefusedError(f"{error}", "save the table again as CSV") from None


def _lost_zeros(rows: list[list[str]]) -> list[Remark]:
    head = [cell.strip().lower() for cell in rows[0]]
    if "cone" not in head:
        return []
    name, cone = head.index("recipe"), head.index("cone")
    told: dict[tuple[str, str], Bare] = {}
    whole = False
    for line, row in enumerate(rows[1:], 2):
        if len(row) <= max(name, cone):
            continue
        found = firing_in_cell(row[cone])
        whole |= row[cone].isdigit() and row[cone].startswith("0")
        if found and found.bare:
            told.setdefault((row[name], found.bare), Bare(found.bare, line, row[name]))
    return lost_zeros(list(told.values()), whole)
