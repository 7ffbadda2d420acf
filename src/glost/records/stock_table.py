"""A table of many lines of a count or a delivery, as a spreadsheet saves it."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import Final

from glost.errors import Position, ValueRefusedError
from glost.language.csv_cells import bare
from glost.language.nearest import nearest
from glost.language.source import Source
from glost.language.yaml_tree import ConfigError
from glost.recipe.materials.catalogue import Catalogue, key
from glost.records.stock_entry import Kind, StockLine, line_for

COLUMNS: Final[Mapping[Kind, tuple[str, ...]]] = {
    "count": ("material", "mass", "mass_g", "lot"),
    "delivery": ("material", "mass", "mass_g", "price", "lot"),
}
_SIGNS: Final = (",", ";", "\t")
_MOST_ROWS: Final = 10_000


def lines_of(source: Source, kind: Kind, catalogue: Catalogue) -> tuple[StockLine, ...]:
    """The lines of a table whose first row names its columns. Raises ConfigError, which knows the place."""
    text = source.text.removeprefix("\ufeff")
    head = text.split("\n", 1)[0].rstrip("\r")
    sign = max(_SIGNS, key=head.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=sign, strict=True)
    lines: list[StockLine] = []
    met: set[tuple[str, str]] = set()
    names: list[str] = []
    begins = 1
    try:
        for cells in reader:
            row = _Row(source, begins, [bare(cell).strip() for cell in cells])
            begins = reader.line_num + 1
            if not any(row.cells):
                continue
            if not names:
                names = _head(row, kind)
                continue
            if len(lines) == _MOST_ROWS:
                raise row.refuse(
                    0, f"more than {_MOST_ROWS:,} rows stand here", "split the table into several"
                )
            line = _line(row, names, kind, catalogue)
            same = key(line.material), line.lot
            if kind == "count" and same in met:
                raise row.refuse(
                    names.index("material"),
                    f"'{line.material}'{f', lot {line.lot},' if line.lot else ''} is counted here a second time",
                    "add the two up, or give each its lot",
                )
            met.add(same)
            lines.append(line)
    except csv.Error:
        raise ConfigError(
            source,
            Position(begins, 1),
            "a quotation mark on this row is not closed, or stands inside a cell",
            'put the whole cell in double quotes, and write  ""  for one inside it',
        ) from None
    if not lines:
        raise ConfigError(
            source,
            Position(1, 1),
            "no row stands in this table",
            f"write a row that names the columns, such as  {_example(kind)}  and a row a material",
        )
    return tuple(lines)


class _Row:
    """One row, and where its cells stand."""

    def __init__(self, source: Source, line: int, cells: list[str]) -> None:
        self._source = source
        self._line = line
        self.cells = cells

    def refuse(self, at: int, message: str, hint: str) -> ConfigError:
        written = self._source.text.split("\n")[self._line - 1]
        column = 0
        for cell in self.cells[: at + 1]:
            found = written.find(cell, column)
            column = column if found < 0 else found + (len(cell) if cell is not self.cells[at] else 0)
        return ConfigError(self._source, Position(self._line, column + 1), message, hint)


def _example(kind: Kind) -> str:
    return "material,mass,lot" if kind == "count" else "material,mass,price,lot"


def _head(row: _Row, kind: Kind) -> list[str]:
    names = [" ".join(cell.lower().split()) for cell in row.cells]
    while names and not names[-1]:
        names.pop()
    for at, name in enumerate(names):
        if name not in COLUMNS[kind]:
            near = nearest(name, COLUMNS[kind], 1)
            raise row.refuse(
                at,
                f"'{row.cells[at][:40]}' is no column of a {kind}",
                f"{f'did you mean {near[0]}? ' if near else ''}the first row names the columns:"
                f" {', '.join(COLUMNS[kind])}",
            )
        if name in names[:at]:
            raise row.refuse(at, f"the column '{name}' stands here a second time", "take one of them away")
    if "material" not in names or ("mass" in names) == ("mass_g" in names):
        raise row.refuse(
            0,
            "a table has a column 'material', and either 'mass', with its unit, or 'mass_g'",
            f"write such as  {_example(kind)}",
        )
    return names


def _line(row: _Row, names: Sequence[str], kind: Kind, catalogue: Catalogue) -> StockLine:
    if len(row.cells) > len(names) and any(row.cells[len(names) :]):
        raise row.refuse(
            len(names),
            f"{len(row.cells)} cells stand on this row, and the first row names {len(names)} columns",
            "put a cell that holds the sign between cells in double quotes; write a point before decimals",
        )
    cells = dict(zip(names, row.cells, strict=False))
    mass_in = "mass" if "mass" in names else "mass_g"
    mass = cells.get(mass_in, "")
    for word, said in (("material", cells.get("material", "")), (mass_in, mass)):
        if not said:
            raise row.refuse(
                0,
                f"this row has no {'mass' if word != 'material' else word}",
                "write  0 g  where nothing is left, or take the row away"
                if word != "material" and kind == "count"
                else "write it, or take the row away",
            )
    written = f"{mass} g" if mass_in == "mass_g" else mass
    try:
        return line_for(
            kind, catalogue, cells["material"], written, cells.get("price", ""), cells.get("lot", "")
        )
    except ValueRefusedError as error:
        raise row.refuse(_where(error, names, mass_in, row, catalogue), error.message, error.hint) from None


def _where(
    error: ValueRefusedError, names: Sequence[str], mass_in: str, row: _Row, catalogue: Catalogue
) -> int:
    """The cell that an error is about."""
    if catalogue.find(row.cells[names.index("material")]) is None:
        return names.index("material")
    if "price" in names and names.index("price") < len(row.cells):
        price = row.cells[names.index("price")]
        from glost.recipe.money import read_price

        try:
            if price:
                read_price(price)
        except ValueRefusedError as refused:
            if refused.message == error.message:
                return names.index("price")
    return names.index(mass_in)
