"""Tables that people keep: a row a material (long), a row a recipe (wide), or a column a recipe (turned).

What each column is taken for is always told. Tables of glost's own shape are read elsewhere.
"""

from __future__ import annotations

from collections.abc import Mapping

from glost.errors import ValueRefusedError
from glost.importer import amounts
from glost.importer.cells import PARTED, Record, TableError, read_cells
from glost.importer.columns import ROLES, Layout, find_layout, head_word
from glost.importer.draft import Draft, Remark
from glost.importer.gather import Gatherer
from glost.importer.long import read_long
from glost.importer.lost_zero import lost_zeros
from glost.importer.materials import Names
from glost.importer.wide import is_turned, read_wide, turned, with_recipes


def read_table(
    text: str, name: str, names: Names, asked: Mapping[str, str]
) -> tuple[list[Draft], list[Remark]]:
    """The recipes in a table, and what there is to say. ``name`` is for a recipe that has none; ``asked`` says
    which column (by its head, or its number from 1) is what. Raises TableError."""
    records, separator = read_cells(text)
    if not records:
        raise TableError("there is nothing in this table", "check that it is the one you mean")
    remarks: list[Remark] = []
    if separator != ",":
        remarks.append(Remark("guessed", 0, f"the cells are separated by {PARTED[separator]}"))
    layout = find_layout(records, names, asked)
    is_long = {"material", "amount"} <= set(layout.roles.values())
    title = _skip(layout, is_long and layout.column("recipe") is None, remarks)
    remarks += _heads_that_come_again(layout)
    marks = amounts.marks_of(cell for record in records for cell in record.cells)
    gatherer = Gatherer(name, title, marks, names, remarks)
    if is_long:
        remarks.append(_told(layout, "a row a material", asked))
        read_long(layout, names, gatherer)
    elif is_turned(layout, names):
        remarks.append(_told(layout._replace(roles={}), "a column a recipe", asked))
        read_wide(turned(layout), names, gatherer)
    else:
        layout = with_recipes(layout, names)
        remarks.append(_told(layout, "a row a recipe", asked))
        read_wide(layout, names, gatherer)
    drafts = gatherer.drafts()
    if drafts:
        drafts[0].again += layout.heads  # a name such as 'silica 325 mesh', of a column that no recipe uses
    remarks += lost_zeros(gatherer.cones, gatherer.whole_cones)
    return drafts, remarks


def _skip(layout: Layout, unnamed: bool, remarks: list[Remark]) -> str:
    """Tells the rows above the head; returns the title of the first recipe, which the last of them may be."""
    title = ""
    for record in layout.skipped:
        said = "this row stands above the head of the table and is skipped"
        if unnamed and record is layout.skipped[-1] and _is_title(record):
            said, title = "the row above the head is taken for the name of the recipe", record.text
        remarks.append(Remark("guessed", record.line, said, record.text))
    return title


def _heads_that_come_again(layout: Layout) -> list[Remark]:
    """A table beside a table: only the first is read."""
    taken = {head_word(layout.heads[at]) for at in layout.roles} - {""}
    again = [
        at for at, head in enumerate(layout.heads) if at not in layout.roles and head_word(head) in taken
    ]
    said = "stands here more than once, and only the first is read; part tables that stand beside each other"
    return [Remark("left", 0, f"the head {layout.name(at)} (column {at + 1}) {said}") for at in again]


def _is_title(record: Record) -> bool:
    return len(record.filled) == 1


def _told(layout: Layout, shape: str, asked: Mapping[str, str]) -> Remark:
    told = ", ".join(f"{layout.name(at)} is the {layout.roles[at]}" for at in sorted(layout.roles))
    return Remark(
        "understood" if asked else "guessed", 0, f"read as {shape}: {told}" if told else f"read as {shape}"
    )


def columns_asked(text: str) -> dict[str, str]:
    """The value of --columns, such as "recipe=Glaze,material=2". Raises ValueError with what to write."""
    out: dict[str, str] = {}
    for part in text.split(","):
        role, sign, column = (piece.strip() for piece in part.partition("="))
        if role not in ROLES or not sign or not column or role in out:
            raise ValueRefusedError(
                f"'{part.strip()}' names no column",
                f"write such as recipe=Glaze,material=Name,amount=Parts (each once: {', '.join(ROLES)})",
            )
        out[role] = column
    return out
