"""The table for a spreadsheet: a row a line. Lists stand in one cell with semicolons; whoever needs them exactly takes
the JSON."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Final

from glost.language.csv_cells import cone_cell, day_cell, guarded, record_of
from glost.output.catalog.rows import NEVER, NOT_KNOWN, OTHERS, Row, amount_text
from glost.output.escape import visible

COLUMNS: Final = (
    "file",
    "line",
    "read",
    "kind",
    "recipe",
    "test",
    "cone",
    "cone low",
    "cone high",
    "atmosphere",
    "surface",
    "colour",
    "use",
    "date",
    "tags",
    "base",
    "additions",
    "hazards known",
    "hazards",
    "materials not known",
    "no statement on record",
    "restricted",
    "revision",
    "revision day",
    "changed since",
    "errors",
    "warnings",
    "hints",
    "findings",
    "sets",
    *OTHERS,
    "collection",
    "fired",
    "fired in",
    "tile",
    "cone of the firing",
    "fired surface",
    "fired colour",
    "faults",
    "remarks",
    "photo",
)
MARK: Final = re.compile(rf"\A{','.join(COLUMNS[:8])},")
"""What begins every such table, and hardly any other."""
_DECIMALS: Final = 6


def as_csv(rows: Iterable[Row]) -> Iterator[str]:
    """The columns of COLUMNS, and a line for each row."""
    yield record_of(COLUMNS)
    for row in rows:
        yield record_of(_cells(row))


def _cells(row: Row) -> Iterable[str]:
    about, hazards, revision = row.about, row.hazards, row.revision
    yield guarded(visible(about.file))
    yield str(row.line)
    yield about.read
    for text in (about.kind, about.name, row.test):
        yield guarded(text)
    yield cone_cell(about.cone)
    yield _number(about.cone_low)
    yield _number(about.cone_high)
    for text in (about.atmosphere, about.surface, about.colour, about.use):
        yield guarded(text)
    yield day_cell(about.date)
    yield guarded(", ".join(about.tags))
    for base in (True, False):
        yield _list(f"{one.told} {amount_text(one, _DECIMALS)}" for one in row.weighed if one.base is base)
    yield "yes" if row.hazards_known else "no"
    yield _list(f"{code} ({', '.join(materials)})" for code, materials in row.statements.items())
    yield _list(hazards.unknown)
    yield _list(hazards.silent)
    yield _list(f"{name} ({what})" for name, what in hazards.restricted)
    yield guarded(revision.short if revision else "")
    yield day_cell(revision.day) if revision else ""
    yield ("yes" if revision.changed else "no") if revision and revision != NOT_KNOWN else ""
    yield from map(str, row.counts.values())
    yield _list(f"{one.rule}, line {one.line}: {one.message}" for one in row.findings)
    yield guarded(row.sets)
    others = dict(about.others)
    yield from (guarded(others.get(key, "")) for key in OTHERS)
    yield guarded(about.collection)
    fired = row.fired
    if fired is None:
        yield NEVER if about.read == "whole" else ""
        yield from ("",) * 8
        return
    yield day_cell(fired.date)
    yield guarded(fired.firing)
    yield guarded(fired.tile)
    yield cone_cell(fired.cone) if fired.cone else ""
    yield guarded(fired.surface)
    yield guarded(fired.colour)
    yield _list(fired.faults)
    yield guarded(fired.remarks)
    yield guarded(fired.photo)


def _list(texts: Iterable[str]) -> str:
    return guarded("; ".join(texts))


def _number(number: Decimal | None) -> str:
    return "" if number is None else f"{number:f}"
