"""Recipes as a table: RFC 4180, a row a material, what holds for the whole recipe repeated in every row.

Several recipes follow each other. A row whose section is empty opens a recipe, a row of a variation or series
without a name opens that; both are written only where the rows alone would not show it: where there is
nothing in it, or where one of the same name has gone before. The last columns say where a row is from: the test that it
belongs to, the file, the collection and the revision. They are not part of the recipe; of them reading takes the file
alone, which tells two recipes of one name apart.

A cell of text that a spreadsheet or a program could take for something else begins with an apostrophe, and a cone
stands behind its word; reading takes both away, and does without them too. A cone of one figure that stands without its
word may have lost a zero on the way, so it is told.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from types import MappingProxyType
from typing import NamedTuple

from glost.errors import GlostError, ValueRefusedError, message_and_hint
from glost.language.csv_cells import bare, bare_cone, cone_cell, day_cell, exact_record_of, guarded
from glost.language.tables import in_words, lexicon
from glost.output.amount import read_amount
from glost.output.format import Format, Job
from glost.output.origin import ORIGIN_COLUMNS, origin_cells
from glost.recipe.blends import SHAPES, divisions
from glost.recipe.fields import FIELDS, OWN_FIELDS, Quantity, Value
from glost.recipe.recipe import (
    Blend,
    Handling,
    Ingredient,
    Recipe,
    Series,
    Step,
    Variation,
    column_labels,
)

_VARIATIONS = ("variation", "base variation", "variation field")
_SEVERAL = ("series", "base series", "blend", "base blend")
SECTIONS = ("base", "additions", *_VARIATIONS, *_SEVERAL, "handling")
HEAD_COLUMNS = ("recipe", "kind", *FIELDS, "notes")
ROW_COLUMNS = ("section", "group", "step", "name", "material", "amount", "unit", "note", "test")
COLUMNS = HEAD_COLUMNS + ROW_COLUMNS + ORIGIN_COLUMNS
NEEDED = ("recipe", "kind", "section", "name", "amount")
"""Columns that a table must have to be read; the others count as empty where they are missing."""

NUMBERS = frozenset({"amount", "step", "gravity"})
"""Columns of numbers, which are never touched."""
_CELLS: Mapping[str, Callable[[str], str]] = MappingProxyType(
    {"cone": cone_cell, "date": day_cell, "revision day": day_cell}
)
"""How a cell that is no plain text is written."""
_CELL_END = re.compile(r"[,\r\n]")


# ---- writing -------------------------------------------------------------------------------------------


def write(jobs: Sequence[Job]) -> str:
    """The table, with its header row. Line ends are CR LF: a file is written without changing them."""
    lines = [exact_record_of(COLUMNS)]
    for of_job in tables(jobs):
        head, tail = _cells(HEAD_COLUMNS, of_job.head), _cells(ORIGIN_COLUMNS, of_job.origin)
        lines += [exact_record_of((*head, *_cells(ROW_COLUMNS, row), *tail)) for row in of_job.rows]
    return "".join(lines)


def _cells(columns: Sequence[str], texts: Iterable[str]) -> list[str]:
    return [
        text if not text or column in NUMBERS else _CELLS.get(column, guarded)(text)
        for column, text in zip(columns, texts, strict=True)
    ]


class Table(NamedTuple):
    """The cells of one recipe as plain text: those that stand in every row, in front and behind, and the rows."""

    head: Sequence[str]
    rows: Sequence[Sequence[str]]
    origin: Sequence[str]


def tables(jobs: Sequence[Job]) -> Iterator[Table]:
    """The cells of each recipe, in the order of COLUMNS."""
    seen: set[tuple[str, str]] = set()
    for job in jobs:
        recipe = job.recipe
        head = [recipe.name, recipe.kind]
        head += [_said(recipe.fields[key]) if key in recipe.fields else "" for key in FIELDS]
        head.append(recipe.notes)
        rows = list(_rows(recipe))
        if not rows or (recipe.kind, recipe.name) in seen:
            rows.insert(0, _Row())
        seen.add((recipe.kind, recipe.name))
        yield Table(head, [row.cells() for row in rows], origin_cells(job))


@dataclass(frozen=True, slots=True)
class _Row:
    """The cells of a row behind those of the recipe, as text."""

    section: str = ""
    group: str = ""
    step: str = ""
    name: str = ""
    material: str = ""
    amount: str = ""
    unit: str = ""
    note: str = ""
    test: str = ""

    def cells(self) -> tuple[str, ...]:
        return tuple(getattr(self, column) for column in ROW_COLUMNS)


def _rows(recipe: Recipe) -> Iterator[_Row]:
    for section, ingredients in (("base", recipe.base), ("additions", recipe.additions)):
        for ingredient in ingredients:
            yield _row(section, "", ingredient)
    before = None
    for variation in recipe.variations:
        if variation.name == before or not (variation.additions or variation.base):
            yield _Row("variation", variation.name, test=variation.name)
        for ingredient in variation.base:
            yield _row("base variation", variation.name, ingredient, variation.name)
        for ingredient in variation.additions:
            yield _row("variation", variation.name, ingredient, variation.name)
        for key, text in variation.fields:
            yield _Row("variation field", variation.name, name=key, note=text, test=variation.name)
        before = variation.name
    for section, several in (
        ("series", [(one.name, one) for one in recipe.series]),
        ("blend", [(f"{one.name} by {one.by:f} %", one) for one in recipe.blends]),
    ):
        before = None
        for group, block in several:
            if group == before or not (block.steps or block.base):
                yield _Row(section, group)
            labels = column_labels(block)
            for head, steps in ((f"base {section}", block.base), (section, block.steps)):
                yield from _steps(head, group, steps, labels)
            before = group
    for handling in recipe.handling:
        yield _Row("handling", name=_joined(handling.names), note=handling.text)


def _steps(section: str, group: str, steps: Iterable[Step], labels: Sequence[str]) -> Iterator[_Row]:
    for step in steps:
        for number, (quantity, test) in enumerate(zip(step.quantities, labels, strict=False), 1):
            line = Ingredient(step.name, step.material, quantity, step.note)
            yield _row(section, group, line, test, number)


def _row(section: str, group: str, ingredient: Ingredient, test: str = "", step: int | None = None) -> _Row:
    quantity = ingredient.quantity
    return _Row(
        section,
        group,
        "" if step is None else str(step),
        ingredient.name,
        ingredient.material or "",
        f"{quantity.amount:f}",
        quantity.unit,
        ingredient.note,
        test,
    )


def _said(value: Value) -> str:
    if isinstance(value, tuple) and not isinstance(value, Quantity):
        return ", ".join(value) or ","  # no tags, which is not the same as none said
    return str(value)


def _joined(names: Iterable[str]) -> str:
    """Names with "; " between them; one that holds a semicolon or a quote, or blanks at its ends, is
    quoted."""
    return "; ".join(
        '"' + name.replace('"', '""') + '"'
        if not name or name != name.strip(" ") or ";" in name or '"' in name
        else name
        for name in names
    )


# ---- reading -------------------------------------------------------------------------------------------


class CellError(GlostError, ValueError):
    """A cell that cannot be taken; without a column, a row."""

    def __init__(self, row: int, column: str, message: str, hint: str = "") -> None:
        place = f"row {row}, column {column}" if column else f"row {row}"
        super().__init__(f"{place}: {message}", hint)


@dataclass(slots=True)
class _Variation:
    name: str
    additions: list[Ingredient] = field(default_factory=list)
    base: list[Ingredient] = field(default_factory=list)
    fields: dict[str, str] = field(default_factory=dict)


@dataclass(slots=True)
class _Several:
    """A series, or a blend, with the lines of its tests or corners."""

    group: str
    name: str
    by: Decimal = Decimal(0)
    steps: list[list[Ingredient]] = field(default_factory=list)
    base: list[list[Ingredient]] = field(default_factory=list)


@dataclass(slots=True)
class _Draft:
    """A recipe that is being gathered from its rows."""

    row: int
    cells: tuple[str, ...]
    kind: str
    name: str
    fields: dict[str, Value]
    notes: str
    base: list[Ingredient] = field(default_factory=list)
    additions: list[Ingredient] = field(default_factory=list)
    handling: list[Handling] = field(default_factory=list)
    variations: list[_Variation] = field(default_factory=list)
    several: dict[str, list[_Several]] = field(default_factory=lambda: {"series": [], "blend": []})
    section: str = ""
    cone: str = ""
    """As the table has it, where it stands without its word."""
    file: str = ""

    def recipe(self) -> Recipe:
        return Recipe(
            kind=self.kind,
            name=self.name,
            fields=self.fields,
            base=tuple(self.base),
            additions=tuple(self.additions),
            handling=tuple(self.handling),
            variations=tuple(
                Variation(one.name, tuple(one.additions), tuple(one.base), tuple(one.fields.items()))
                for one in self.variations
            ),
            series=tuple(
                Series(one.name, tuple(map(_step, one.steps)), tuple(map(_step, one.base)))
                for one in self.several["series"]
            ),
            blends=tuple(
                Blend(one.name, one.by, tuple(map(_step, one.steps)), tuple(map(_step, one.base)))
                for one in self.several["blend"]
            ),
            notes=self.notes,
        )


def _step(tests: list[Ingredient]) -> Step:
    return Step(tests[0].name, tests[0].material, tuple(test.quantity for test in tests), tests[0].note)


def read_csv(text: str) -> list[Recipe]:
    """The recipes of a table. Columns may stand in any order, and rows of empty cells are passed over.

    Raises ValueError that names the row (as a spreadsheet counts, the header being row 1), the column and
    what to write.
    """
    return [draft.recipe() for draft in _drafts(text)]


def _drafts(text: str) -> list[_Draft]:
    """The recipes of a table, gathered. Raises ValueError."""
    records = _records(text.removeprefix("\ufeff"))
    columns = _header(next(records, []))
    drafts: list[_Draft] = []
    seen: set[tuple[str, str, str]] = set()
    for row, record in enumerate(records, 2):
        if not any(record):
            continue
        if len(record) > len(columns) and not any(record[len(columns) :]):
            record = record[: len(columns)]
        if len(record) != len(columns):
            raise CellError(
                row,
                "",
                f"{len(record)} cells stand here under {len(columns)} columns",
                "put a text that holds a comma in double quotes",
            )
        cells = dict.fromkeys(COLUMNS, "")
        for column, cell in zip(columns, record, strict=True):
            cells[column] = bare(cell)
        as_written, cells["cone"] = cells["cone"], bare_cone(cells["cone"])
        _take(row, cells, drafts, seen)
        if row == drafts[-1].row and as_written == cells["cone"]:
            drafts[-1].cone = as_written
    for draft in drafts:
        _check_series(draft)
    return drafts


def _header(record: list[str]) -> list[str]:
    columns = [bare(cell).strip(" ").lower() for cell in record]
    while columns and not columns[-1]:
        columns.pop()
    if len(columns) == 1 and (";" in columns[0] or "\t" in columns[0]):
        raise CellError(
            1,
            "",
            "the columns are separated by semicolons or tabs",
            "save the table with commas between them",
        )
    for at, column in enumerate(columns):
        if column not in COLUMNS:
            raise CellError(
                1, "", f"'{column}' is not a column of this table", f"the columns are: {', '.join(COLUMNS)}"
            )
        if column in columns[:at]:
            raise CellError(1, column, "this column stands here twice", "keep one of them")
    missing = [column for column in NEEDED if column not in columns]
    if missing:
        raise CellError(
            1,
            "",
            f"the column {missing[0]} is missing",
            f"write a first row with at least: {', '.join(NEEDED)}",
        )
    return columns


def _take(row: int, cells: dict[str, str], drafts: list[_Draft], seen: set[tuple[str, str, str]]) -> None:
    section = cells["section"]
    if section not in ("", *SECTIONS):
        raise CellError(
            row, "section", f"'{section}' is not a section", f"write one of: {', '.join(SECTIONS)}"
        )
    head = tuple(cells[column] for column in HEAD_COLUMNS)
    current = drafts[-1] if drafts else None
    # A row that somebody has put in by hand says no file.
    file = cells["file"] or (current.file if current else "")
    known = (file, cells["kind"], cells["recipe"])
    if current is None or not section or known != (current.file, current.kind, current.name):
        if section and known in seen:
            raise CellError(
                row,
                "recipe",
                f"'{cells['recipe']}' goes on here below another recipe",
                "put all rows of a recipe together, in the order of the page",
            )
        seen.add(known)
        current = _opened(row, cells, head)
        drafts.append(current)
    elif head != current.cells:
        at = next(at for at, cell in enumerate(head) if cell != current.cells[at])
        raise CellError(
            row,
            HEAD_COLUMNS[at],
            f"'{_short(head[at])}' stands here and '{_short(current.cells[at])}' on row"
            f" {current.row} of the same recipe",
            "write the same in both",
        )
    if section:
        _take_line(row, cells, current, section)
        current.section = section


def _opened(row: int, cells: dict[str, str], head: tuple[str, ...]) -> _Draft:
    kinds = lexicon().kinds
    if cells["kind"] not in kinds:
        raise CellError(
            row,
            "kind",
            f"'{_short(cells['kind'])}' is not a kind of recipe",
            f"write one of: {', '.join(kinds)}",
        )
    fields: dict[str, Value] = {}
    for key, known in FIELDS.items():
        if cells[key]:
            try:
                fields[key] = known.read(cells[key])
            except ValueError as error:
                raise CellError(row, key, *message_and_hint(error)) from None
    return _Draft(row, head, cells["kind"], cells["recipe"], fields, cells["notes"], file=cells["file"])


def _take_line(row: int, cells: dict[str, str], draft: _Draft, section: str) -> None:
    if section == "handling":
        try:
            names = _parted(cells["name"])
        except ValueError as error:
            raise CellError(row, "name", *message_and_hint(error)) from None
        draft.handling.append(Handling(names, cells["note"]))
        return
    group, opens = cells["group"], not cells["name"] and not cells["amount"]
    if section in ("base", "additions"):
        lines = draft.base if section == "base" else draft.additions
        lines.append(_ingredient(row, cells))
    elif section in _VARIATIONS:
        _take_variation(row, cells, draft, section, opens)
    else:
        kind = section.removeprefix("base ")
        held = draft.several[kind]
        if opens or draft.section.removeprefix("base ") != kind or held[-1].group != group:
            held.append(_several(row, group, kind))
        if not opens:
            _take_test(row, cells, held[-1].steps if section == kind else held[-1].base)


def _take_variation(row: int, cells: dict[str, str], draft: _Draft, section: str, opens: bool) -> None:
    group = cells["group"]
    if section == "variation field":
        opens = False
    if opens or draft.section not in _VARIATIONS or draft.variations[-1].name != group:
        draft.variations.append(_Variation(group))
    here = draft.variations[-1]
    if section == "variation field":
        if cells["name"] not in OWN_FIELDS:
            raise CellError(
                row,
                "name",
                f"'{_short(cells['name'])}' is nothing that a variation says of itself",
                f"write one of: {', '.join(OWN_FIELDS)}",
            )
        here.fields[cells["name"]] = cells["note"]
    elif not opens:
        (here.additions if section == "variation" else here.base).append(_ingredient(row, cells))


def _several(row: int, group: str, kind: str) -> _Several:
    if kind == "series":
        return _Several(group, group)
    name, _, step = group.rpartition(" by ")
    try:
        by = read_amount(step.removesuffix("%").strip(" ")) if step.endswith("%") else Decimal(0)
    except ValueError:
        by = Decimal(0)
    if divisions(by) is None:
        raise CellError(
            row,
            "group",
            f"'{_short(group)}' does not say the step of a blend",
            "write its name and a step that divides 100, such as  colours by 20 %",
        )
    return _Several(group, name, by)


def _take_test(row: int, cells: dict[str, str], steps: list[list[Ingredient]]) -> None:
    step, ingredient = cells["step"], _ingredient(row, cells)
    if step == "1":
        steps.append([ingredient])
        return
    expected = str(len(steps[-1]) + 1) if steps else "1"
    if step != expected:
        raise CellError(
            row,
            "step",
            f"'{_short(step)}' stands here",
            f"write {expected}, as the tests of a series are counted"
            " from 1 for each material, or 1 for the next material",
        )
    first = steps[-1][0]
    for column, here, there in (
        ("name", ingredient.name, first.name),
        ("note", ingredient.note, first.note),
        ("material", ingredient.material, first.material),
    ):
        if here != there:
            raise CellError(
                row,
                column,
                f"'{_short(here or '')}' stands here and '{_short(there or '')}' in test 1 of this"
                " line of the series",
                "write the same in both",
            )
    steps[-1].append(ingredient)


def _check_series(draft: _Draft) -> None:
    for kind, several in draft.several.items():
        for one in several:
            lines = [*one.base, *one.steps]
            for tests in lines:
                if len(tests) != len(lines[0]):
                    raise CellError(
                        draft.row,
                        "step",
                        f"the {kind} '{_short(one.name)}' of this recipe has {len(lines[0])} tests of"
                        f" {_short(lines[0][0].name)} and {len(tests)} of {_short(tests[0].name)}",
                        "write as many rows for each",
                    )
            if kind == "blend" and lines and len(lines[0]) not in SHAPES:
                raise CellError(
                    draft.row,
                    "step",
                    f"the blend '{_short(one.name)}' of this recipe has {len(lines[0])} corners",
                    "write 2, 3 or 4 rows for each material",
                )


def _ingredient(row: int, cells: dict[str, str]) -> Ingredient:
    if not cells["name"]:
        raise CellError(row, "name", "there is no name here", "write that of the material")
    units = lexicon().units
    if cells["unit"] not in ("", *units):
        raise CellError(
            row,
            "unit",
            f"'{_short(cells['unit'])}' is not a unit here",
            f"write {in_words(units)}, or nothing for parts",
        )
    try:
        amount = read_amount(cells["amount"].strip(" "))
    except ValueError as error:
        raise CellError(row, "amount", *message_and_hint(error)) from None
    return Ingredient(
        cells["name"], cells["material"] or None, Quantity(amount, cells["unit"]), cells["note"]
    )


def _parted(text: str) -> tuple[str, ...]:
    """The names that _joined put together. Raises ValueError for a quote that is not closed."""
    names: list[str] = []
    at = 0
    while text and at <= len(text):
        if text[at : at + 1] == '"':
            name, at = _quoted(text, at)
            rest = text[at:].lstrip(" ")
            if rest and not rest.startswith(";"):
                raise ValueRefusedError(
                    f"'{_short(rest)}' stands behind a name in quotes", "write a semicolon between two names"
                )
        else:
            end = text.find(";", at)
            end = len(text) if end < 0 else end
            name, at = text[at:end].strip(" "), end
        names.append(name)
        following = text.find(";", at)
        if following < 0:
            break
        at = following + 1
        at += len(text[at:]) - len(text[at:].lstrip(" "))
    return tuple(names)


def _quoted(text: str, at: int) -> tuple[str, int]:
    """The text in the quotes that open at that index, and the index behind those that close."""
    name = ""
    while True:
        end = text.find('"', at + 1)
        if end < 0:
            raise ValueRefusedError("a double quote is not closed here", "write another behind the name")
        name += text[at + 1 : end]
        if text[end + 1 : end + 2] != '"':
            return name, end + 1
        name += '"'
        at = end + 1


def _short(text: str) -> str:
    line = " ".join(text.split())
    return line if len(line) <= 40 else line[:37] + "..."


def _records(text: str) -> Iterator[list[str]]:
    """The rows of a text in the form of RFC 4180; a lone LF ends a row too. Raises ValueError for misplaced
    quotes."""
    at, row, record = 0, 1, list[str]()
    while at < len(text):
        if text[at] == '"':
            try:
                cell, at = _quoted(text, at)
            except ValueError:
                raise CellError(
                    row,
                    "",
                    "a cell opens with a double quote that is never closed",
                    "close it, and write each quote inside the text twice",
                ) from None
            if at < len(text) and text[at] not in ",\r\n":
                raise CellError(
                    row,
                    "",
                    "something stands behind the closing quote of a cell",
                    "write each quote inside the text twice",
                )
        else:
            found = _CELL_END.search(text, at)
            end = found.start() if found else len(text)
            cell, at = text[at:end], end
            if '"' in cell:
                raise CellError(
                    row,
                    "",
                    f"a double quote stands inside the cell '{_short(cell)}'",
                    "put the cell in double quotes and write each quote inside it twice",
                )
        record.append(cell)
        if text.startswith(",", at):
            at += 1
            if at < len(text):
                continue
            record.append("")
        elif text.startswith("\r\n", at):
            at += 2
        else:
            at += 1
        yield record
        row, record = row + 1, []


FORMAT = Format(
    name="csv",
    ending=".csv",
    summary="a table for a spreadsheet, a row a material (RFC 4180)",
    write=write,
    mark=re.compile(rf"\A{re.escape(','.join(HEAD_COLUMNS))},"),
    together=True,
    read=read_csv,
    tells_errors=False,
)
