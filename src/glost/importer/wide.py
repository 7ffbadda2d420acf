"""Tables with a row a recipe, and those with a column a recipe, which are turned round first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Final, NamedTuple

from glost.importer.cells import Record, TableError
from glost.importer.columns import ROLES, Layout, column_of, head_word, is_any_head, is_number
from glost.importer.draft import Draft
from glost.importer.gather import NOTHING, TOTAL, Entry, Gatherer, Key
from glost.importer.heading import KEYS
from glost.importer.marks import is_additions_head, is_base_head
from glost.importer.materials import Names

_FEWEST: Final = 2
"""Materials that make a table of recipes."""


class _Column(NamedTuple):
    """A column of amounts: the material, the unit that its head names, whether it is marked as an addition."""

    name: str
    unit: str
    added: bool


# ---- what the columns are ------------------------------------------------------------------------------


def is_turned(layout: Layout, names: Names) -> bool:
    """Whether the materials stand below each other and the recipes beside each other. Raises
    TableError."""
    if layout.column("material") is not None:
        if layout.column("recipe") is not None:
            raise TableError(
                "which column holds the amounts cannot be guessed", "say so, as in  --columns amount=Parts"
            )
        return True
    first = [cell for row in layout.rows if (cell := row.cell(0))]
    likely = sum(names.is_head(cell) for cell in first)
    heads = sum(names.is_head(head) for head in layout.heads if head)
    return likely >= _FEWEST and likely * 2 >= len(first) and heads < _FEWEST


def turned(layout: Layout) -> Layout:
    """The table turned round, so that it has a row a recipe."""
    materials = layout.column("material") or 0
    rows = [row for row in layout.rows if len(row.cells) <= layout.width]
    heads = ["", *(row.cell(materials) for row in rows)]
    columns = [at for at in range(layout.width) if at != materials]
    turned_rows = [Record(1, [layout.heads[at], *(row.cell(at) for row in rows)]) for at in columns]
    roles = {0: "recipe"}
    for at, head in enumerate(heads):
        key = KEYS.get(head_word(head))
        if key and key not in roles.values():
            roles[at] = key
    return Layout(heads, turned_rows, roles, {}, layout.skipped)


def with_recipes(layout: Layout, names: Names) -> Layout:
    """The table with the first column for the names of the recipes, where nothing else is said of it."""
    if layout.column("recipe") is None and 0 not in layout.roles and not names.is_head(layout.heads[0]):
        return layout._replace(roles={**layout.roles, 0: "recipe"})
    return layout


def _columns(layout: Layout, names: Names) -> dict[int, _Column]:
    """The columns that hold amounts, totals among them. One under a group, or behind a column whose head says that
    additions follow, is as marked as one with a sign."""
    columns: dict[int, _Column] = {}
    block = ""
    for at, text in enumerate(layout.heads):
        if at in layout.roles or not text:
            continue
        cells = column_of(layout, at)
        if not cells and (is_additions_head(text) or is_base_head(text)):
            block = "additions" if is_additions_head(text) else "base"
            continue
        if is_any_head(text):
            continue
        head = names.read_head(text)
        if names.known(head.name) or (cells and sum(map(is_number, cells)) * 2 >= len(cells)):
            added = head.added or layout.groups.get(at, block) == "additions"
            columns[at] = _Column(head.name, head.unit, added)
    return columns


# ---- what the rows say ---------------------------------------------------------------------------------


def read_wide(layout: Layout, names: Names, gatherer: Gatherer) -> None:
    """Takes a table whose columns are told, a row a recipe, into the gatherer. Raises TableError."""
    columns = _columns(layout, names)
    materials = {at: one for at, one in columns.items() if not TOTAL.fullmatch(one.name)}
    if sum(names.likely(one.name) for one in materials.values()) < _FEWEST:
        raise TableError(
            "what the columns are cannot be guessed", "say so, as in  --columns material=Name,amount=Parts"
        )
    _tell(layout, materials, gatherer)
    reader = _Reader(layout, columns, gatherer)
    for row in layout.rows:
        if any(row.cells):
            reader.take(row)


def _tell(layout: Layout, materials: Mapping[int, _Column], gatherer: Gatherer) -> None:
    listed = ", ".join(f"'{layout.heads[at]}'" for at in materials)
    gatherer.say("guessed", 0, f"the materials are {listed}")
    marked = [f"'{layout.heads[at]}' is {one.name}" for at, one in materials.items() if one.added]
    if marked:
        gatherer.say("guessed", 0, f"the additions are marked as such: {', '.join(marked)}")


class _Reader:
    """Takes the rows of a table, each a recipe."""

    def __init__(self, layout: Layout, columns: Mapping[int, _Column], gatherer: Gatherer) -> None:
        self._layout = layout
        self._columns = columns
        self._gatherer = gatherer
        self._marking = any(one.added for one in columns.values())
        self._times = Counter[str]()

    def take(self, row: Record) -> None:
        name = row.cell(self._layout.column("recipe")) or f"{self._gatherer.name} {self._gatherer.count + 1}"
        self._times[name] += 1
        key = Key(name, self._times[name])
        draft = self._gatherer.draft(key, row.line)
        for at, cell in enumerate(row.cells[: self._layout.width]):
            if cell and self._layout.roles.get(at) != "recipe":
                self._take_cell(key, draft, row, at)
        if over := row.cells[self._layout.width :]:
            self._gatherer.say("left", row.line, "more cells than columns", "; ".join(over))

    def _take_cell(self, key: Key, draft: Draft, row: Record, at: int) -> None:
        cell, head, role = row.cell(at), self._layout.heads[at], self._layout.roles.get(at)
        if column := self._columns.get(at):
            if cell.lower() not in NOTHING:
                added = self._is_added(column, cell)
                entry = Entry(column.name, cell, row.line, f"{head}  {cell}", added, column.unit)
                self._gatherer.take(key, entry)
        elif role and role not in ROLES:
            self._gatherer.take_field(draft, role, cell, row.line)
        else:
            draft.notes.append(f"{head}: {cell}" if head else cell)

    def _is_added(self, column: _Column, cell: str) -> bool | None:
        if column.added or cell.startswith("+"):
            return True
        return False if self._marking else None
