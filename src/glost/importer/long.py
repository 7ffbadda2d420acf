"""Tables with a row a material."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import pairwise
from typing import Final, NamedTuple

from glost.importer import amounts
from glost.importer.cells import Record
from glost.importer.classify import BASE_AT_LEAST
from glost.importer.columns import ROLES, YES_AND_NO, Layout, section_block, unit_of_head
from glost.importer.gather import TOTAL, Entry, Gatherer, Key
from glost.importer.marks import block_of, is_additions_head, is_base_head, is_mark, without_mark
from glost.importer.materials import Names

_LOOK_AHEAD: Final = 60
"""Rows. No base has more."""


class _Row(NamedTuple):
    """A row taken apart: what it says in each of its columns, and what it says beside them. ``opens`` is the block that
    begins below it, ``added`` what its own marks say of it."""

    line: int
    gap: bool
    recipe: str
    material: str
    amount: str
    unit: str
    note: str
    section: str
    said: tuple[str, ...]
    text: str
    fields: tuple[tuple[str, str], ...]
    opens: str = ""
    added: bool | None = None

    @property
    def is_item(self) -> bool:
        return bool(self.material or self.amount)


def read_long(layout: Layout, names: Names, gatherer: Gatherer) -> None:
    """Takes a table whose columns are told, a row a material, into the gatherer."""
    rows = list(_rows(layout, names, gatherer))
    if layout.column("recipe") is None:
        rows = _titled(rows, names, gatherer)
    _interpret(rows, _keys(rows, gatherer), layout, gatherer)


# ---- what each row is ----------------------------------------------------------------------------------


def _rows(layout: Layout, names: Names, gatherer: Gatherer) -> Iterator[_Row]:
    for record in layout.rows:
        if len(record.cells) > layout.width:
            gatherer.say("left", record.line, "more cells than columns", "; ".join(record.cells))
            continue
        row = _classified(_row(record, layout), layout, names)
        if is_mark(record.cell(layout.column("note"))):
            said = f"'{record.cell(layout.column('note'))}' is taken for the mark of an addition"
            gatherer.say("guessed", record.line, said, row.text)
        yield row


def _row(record: Record, layout: Layout) -> _Row:
    by = {role: record.cell(at) for at, role in layout.roles.items()}
    others = [at for at in range(layout.width) if at not in layout.roles and record.cell(at)]
    said = tuple(f"{layout.heads[at] or f'column {at + 1}'}: {record.cell(at)}" for at in others)
    fields = tuple(
        (role, cell) for at, role in layout.roles.items() if role not in ROLES and (cell := record.cell(at))
    )
    amount, extra = by.get("amount", ""), by.get("added", "")
    material = by["material"]
    unit = by.get("unit", "")
    parts = (material, f"{extra or amount} {unit}".strip(), by.get("note", ""), *said)
    row = _Row(
        *(record.line, record.gap, by.get("recipe", ""), material, amount or extra, unit),
        *(by.get("note", ""), by.get("section", ""), said, "  ".join(filter(None, parts)), fields),
    )
    marked = any(is_mark(record.cell(at)) for at in others)
    return row._replace(added=True) if marked or (extra and not amount) else row


def _classified(row: _Row, layout: Layout, names: Names) -> _Row:
    """What the marks of a row say: it opens a block, or it is an addition by itself."""
    if row.recipe and not row.material and TOTAL.fullmatch(row.recipe):
        return row._replace(recipe="", material=row.recipe, text=f"{row.recipe}  {row.text}")
    if not row.amount and is_head_of_block(row.material):
        return row._replace(material="", opens=_block_below(row.material), text=row.text)
    if row.recipe and is_head_of_block(row.recipe):
        row = row._replace(recipe="", opens=_block_below(row.recipe))
    return _marked(row, layout, names)


def is_head_of_block(cell: str) -> bool:
    return is_additions_head(cell) or is_base_head(cell)


def _block_below(cell: str) -> str:
    return "additions" if is_additions_head(cell) else "base"


def _marked(row: _Row, layout: Layout, names: Names) -> _Row:
    """A row without the marks of its material, and what it says of being an addition."""
    bare = without_mark(row.material)
    if bare and names.known(row.material) and not names.known(bare):
        bare = None
    signed = amounts.in_cell(row.amount)
    by_note = is_mark(row.note)
    if bare or by_note or (signed and signed["sign"] == "+"):
        return row._replace(material=bare or row.material, added=True, note="" if by_note else row.note)
    section = layout.column("section")
    if row.added is None and section is not None and row.is_item:
        block = section_block(layout.heads[section], row.section)
        if block or row.section:
            return row._replace(added=block == "additions")
    return row


# ---- where each recipe begins --------------------------------------------------------------------------


def _keys(rows: Sequence[_Row], gatherer: Gatherer) -> list[Key]:
    """The recipe of each row. A name that comes back behind the rows of another recipe begins a new one, unless
    the table is sorted by material. An empty cell carries the name on."""
    recipes = _carried([row.recipe for row in rows])
    begun = [name for at, name in enumerate(recipes) if not at or name != recipes[at - 1]]
    if len(begun) > len(set(begun)) and _changes([row.material for row in rows]) < _changes(recipes):
        gatherer.say("guessed", 0, "the rows are sorted by material: all rows of one name are one recipe")
        return [Key(name, 1) for name in recipes]
    times = Counter[str]()
    keys = []
    for at, name in enumerate(recipes):
        times[name] += not at or name != recipes[at - 1]
        keys.append(Key(name, times[name]))
    return keys


def _carried(cells: Sequence[str]) -> list[str]:
    out: list[str] = []
    for cell in cells:
        out.append(cell or (out[-1] if out else ""))
    return out


def _changes(cells: Sequence[str]) -> int:
    """How often a column changes from one row to the next; a column that the table is sorted by changes least."""
    return sum(cell != before for before, cell in pairwise(cells))


def _titled(rows: Sequence[_Row], names: Names, gatherer: Gatherer) -> list[_Row]:
    """The rows of a table without a column for the recipe: a row with nothing but a title, or an empty row with a base
    below it, begins one."""
    out: list[_Row] = []
    unnamed = 1
    for at, row in enumerate(rows):
        if _is_title(rows, at, names):
            said = "a row without an amount is taken for the name of a recipe"
            gatherer.say("guessed", row.line, said, row.text)
            row = row._replace(recipe=row.material, material="")
        elif at and row.gap and not rows[at - 1].recipe and _is_base(rows, at):
            unnamed += 1
            said = "an empty row with a base below it is taken for the beginning of a recipe"
            gatherer.say("guessed", row.line, said, row.text)
            row = row._replace(recipe=f"{gatherer.name} {unnamed}")
        out.append(row)
    return out


def _is_title(rows: Sequence[_Row], at: int, names: Names) -> bool:
    row = rows[at]
    alone = bool(row.material) and not (row.amount or row.unit or row.note or row.said)
    if not alone or row.opens or row.added or names.likely(row.material) or TOTAL.fullmatch(row.material):
        return False
    first = at == 0 or row.gap or bool(TOTAL.fullmatch(rows[at - 1].material)) or _is_base(rows, at + 1)
    return first and at + 1 < len(rows) and bool(rows[at + 1].amount)


def _is_base(rows: Sequence[_Row], at: int) -> bool:
    """Whether the rows from there to the next empty one come to as much as a base."""
    come = Decimal(0)
    for number, row in enumerate(rows[at : at + _LOOK_AHEAD]):
        if (number and row.gap) or row.opens or row.added:
            return False
        found = amounts.in_cell(row.amount)
        if found and not TOTAL.fullmatch(row.material):
            come += amounts.read(found, True).value or 0
        if come >= BASE_AT_LEAST:
            return True
    return False


# ---- what each row says --------------------------------------------------------------------------------


def _interpret(rows: Sequence[_Row], keys: Sequence[Key], layout: Layout, gatherer: Gatherer) -> None:
    marking = {key for key, row in zip(keys, rows, strict=True) if row.added}
    amount = layout.column("amount")
    unit = unit_of_head(layout.heads[amount]) if amount is not None else ""
    blocks: dict[Key, str] = {}
    for key, row in zip(keys, rows, strict=True):
        draft = gatherer.draft(key, row.line, carried=not row.recipe)
        for role, cell in row.fields:
            gatherer.take_field(draft, role, cell, row.line)
        blocks[key] = row.opens or blocks.get(key, "")
        if row.is_item:
            gatherer.take(key, _entry(row, _is_added(row, blocks[key], key in marking), unit))
        else:
            draft.notes += [*filter(None, (row.section, row.note, *row.said, row.unit))]


def _is_added(row: _Row, block: str, marking: bool) -> bool | None:
    """Whether a row is an addition: by its own mark, by the block it stands in, or because others are marked."""
    if row.added is not None:
        return row.added
    if block:
        return block == "additions"
    return False if marking else None


def _entry(row: _Row, added: bool | None, unit: str) -> Entry:
    amount = f"{row.amount} {row.unit}".strip()
    said = row.said
    if row.section and block_of(row.section) is None and row.section.lower() not in YES_AND_NO:
        said = (*said, row.section)
    unit = "" if unit == "%" else unit  # of the base and of the additions alike
    return Entry(row.material, amount, row.line, row.text, added, unit, row.note, said)
