"""Tables that people keep: a row a material (long), a row a recipe (wide), or a column a recipe (turned).

What each column is taken for is always told. Tables of glost's own shape are read elsewhere.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from itertools import pairwise
from typing import Final, NamedTuple

from glost.csvfile import bare
from glost.notebook import amounts
from glost.notebook.draft import Draft, Item, Remark, Row, Said, plain_line
from glost.notebook.heading import KEYS, field_in, taken_out
from glost.notebook.materials import Names

ROLES: Final = ("recipe", "material", "amount", "unit", "note", "section")
"""What a column may be, beside the fields of a recipe."""
_HEADERS: Final[Mapping[str, tuple[str, ...]]] = {
    "recipe": ("recipe", "recipe name", "glaze", "glaze name", "title", "name"),
    "material": ("material", "raw material", "ingredient", "component", "materials", "ingredients", "name"),
    "amount": (
        "amount",
        "parts",
        "%",
        "percent",
        "percentage",
        "quantity",
        "qty",
        "weight",
        "grams",
        "g",
        "amt",
    ),
    "unit": ("unit", "units"),
    "note": ("note", "notes", "comment", "comments", "remark", "remarks"),
    "section": ("section", "part", "group"),
}
_ADDED: Final = re.compile(r"\+|add\w*|colou?rants?|extras?|on top", re.IGNORECASE)
_MARKED: Final = re.compile(
    r"(?:\+|(?:add(?:ed|itions?)?|plus)\b:?) *(?P<first>.+)"
    r"|(?P<last>.+?) *(?:\((?:\+|add(?:ed|itions?)?|plus|extra|colou?rant)\)|\+|[-,:]? (?:add(?:ed|itions?)?|extra))",
    re.IGNORECASE,
)
"""A material with a word that makes it an addition: "+ tin oxide", "tin oxide (add)"."""
_TOTAL: Final = re.compile(r"(?:sub-?|grand )?totals?|sum", re.IGNORECASE)
_MOST_COLUMNS: Final = 500
_MOST_ROWS: Final = 10_000


class Refused(ValueError):
    """The table cannot be made into recipes; the text says why and what to do."""


class _Record(NamedTuple):
    line: int
    cells: list[str]


def read_table(
    text: str, name: str, names: Names, asked: Mapping[str, str]
) -> tuple[list[Draft], list[Remark]]:
    """The recipes in a table, and what there is to say. ``name`` is for a recipe that has none; ``asked`` says
    which column (by its head, or its number from 1) is what. Raises Refused."""
    records, separator = _records(text)
    if not records:
        raise Refused("there is nothing in this table; check that it is the one you mean")
    remarks = (
        [Remark("guessed", 0, f"the cells are parted by {_PARTED[separator]}")] if separator != "," else []
    )
    return _Table(records, name, names, asked, remarks).read()


_PARTED: Final = {",": "commas", ";": "semicolons", "\t": "tabs"}


def _records(text: str) -> tuple[list[_Record], str]:
    import csv

    first = next((line for line in text.split("\n") if line.strip()), "")
    separator = max("\t;,", key=first.count)
    records: list[_Record] = []
    reader = csv.reader(text.split("\n"), delimiter=separator, strict=True)
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                if len(cells) > _MOST_COLUMNS or len(records) >= _MOST_ROWS:
                    raise Refused(
                        f"more than {_MOST_COLUMNS} columns or {_MOST_ROWS:,} rows stand here; part the table"
                    )
                plain = [" ".join(plain_line(bare(cell)).split()) for cell in cells]
                records.append(_Record(reader.line_num, plain))
    except csv.Error as error:
        raise Refused(f"line {reader.line_num}: {error}; save the table again as CSV") from None
    return records, separator


class _Key(NamedTuple):
    """A recipe of the table: its name as the cell has it, and the how many-th of that name it is, from 1."""

    name: str
    nth: int


class _Table:
    def __init__(
        self,
        records: list[_Record],
        name: str,
        names: Names,
        asked: Mapping[str, str],
        remarks: list[Remark],
    ) -> None:
        self._name = name
        self._names = names
        self._asked = asked
        self._remarks = remarks
        self._comma = amounts.commas_are_decimal(cell for record in records for cell in record.cells)
        self._drafts: dict[_Key, Draft] = {}
        has_head = not any(self._number(cell) for cell in records[0].cells if cell) or any(
            not word.isdigit() for word in asked.values()
        )
        self._head = records[0].cells if has_head else []
        self._rows = records[1:] if has_head else records
        self._width = max(len(record.cells) for record in records)
        self._head = self._head + [""] * (self._width - len(self._head))

    def _say(self, kind: str, line: int, said: str, text: str = "") -> None:
        self._remarks.append(Remark(kind, line, said, text))  # type: ignore[arg-type]

    def _number(self, cell: str) -> bool:
        return amounts.WRITTEN.fullmatch(cell) is not None

    def read(self) -> tuple[list[Draft], list[Remark]]:
        roles = self._roles()
        if "material" in roles.values() and "amount" in roles.values():
            self._tell(roles, "a row a material")
            self._read_long(roles)
        elif "material" in roles.values():
            turned = self._turned(roles)
            self._read_wide(turned, next(at for at, role in roles.items() if role == "material"))
        else:
            self._read_wide(roles, None)
        return list(self._drafts.values()), self._remarks

    # ---- what the columns are --------------------------------------------------------------------------

    def _roles(self) -> dict[int, str]:
        """The columns whose meaning is known, by index."""
        roles: dict[int, str] = {}
        for role, word in self._asked.items():
            roles[self._asked_for(role, word)] = role
        lower = [head.strip(" :").lower() for head in self._head]
        for role, words in _HEADERS.items():
            if role in roles.values():
                continue
            at = next(
                (lower.index(word) for word in words if word in lower and lower.index(word) not in roles),
                None,
            )
            if at is not None:
                roles[at] = role
        values = roles.values()
        if "recipe" in values and "material" not in values and "amount" in values:
            # 'name, amount': the name is that of the material.
            at = next(at for at, role in roles.items() if role == "recipe")
            if lower[at] == "name" and "recipe" not in self._asked:
                roles[at] = "material"
        for at, word in enumerate(lower):
            if at not in roles and word in KEYS and KEYS[word] not in roles.values():
                roles[at] = KEYS[word]
        if not any(self._head):
            return self._by_shape(roles)
        return roles

    def _asked_for(self, role: str, word: str) -> int:
        lower = [head.lower() for head in self._head]
        if word.lower() in lower:
            return lower.index(word.lower())
        if word.isdigit() and 1 <= int(word[:6]) <= self._width:
            return int(word) - 1
        heads = ", ".join(f"'{head}'" for head in self._head if head) or f"1 to {self._width}"
        raise Refused(f"there is no column '{word}' to be the {role}; the columns are {heads}")

    def _by_shape(self, roles: dict[int, str]) -> dict[int, str]:
        """Of a table without a head: the column of numbers, that of materials, and that of recipes before it."""
        free = [at for at in range(self._width) if at not in roles]
        columns = {
            at: [row.cells[at] for row in self._rows if at < len(row.cells) and row.cells[at]] for at in free
        }
        if "amount" not in roles.values():
            numeric = [at for at in free if columns[at] and all(map(self._number, columns[at]))]
            if numeric:
                roles[numeric[0]] = "amount"
        if "material" not in roles.values():
            likely = {at: sum(map(self._names.likely, columns[at])) for at in free if at not in roles}
            best = max(likely, key=lambda at: likely[at], default=None)
            if best is not None and likely[best]:
                roles[best] = "material"
        rest = [at for at in free if at not in roles and columns[at]]
        if "recipe" not in roles.values() and rest and rest[0] == 0:
            roles[0] = "recipe"
        if {"material", "amount"} <= set(roles.values()):
            return roles
        raise Refused(
            "what the columns are cannot be guessed; say so, as in  --columns recipe=1,material=2,amount=3"
        )

    def _column(self, at: int) -> str:
        return f"'{self._head[at]}'" if self._head[at] else f"column {at + 1}"

    def _tell(self, roles: Mapping[int, str], shape: str) -> None:
        told = ", ".join(f"{self._column(at)} is the {roles[at]}" for at in sorted(roles))
        kind = "understood" if self._asked else "guessed"
        self._say(kind, 0, f"read as {shape}: {told}")

    # ---- a row a material ------------------------------------------------------------------------------

    def _read_long(self, roles: dict[int, str]) -> None:
        others = [at for at in range(self._width) if at not in roles]
        keys = self._keys(roles)
        marking = self._marking(roles, keys)
        fields = [at for at, role in roles.items() if role not in ROLES]
        for key, (line, cells) in zip(keys, self._rows, strict=True):
            if len(cells) > self._width:
                self._say("left", line, "more cells than columns", "; ".join(cells))
                continue
            cells = cells + [""] * (self._width - len(cells))
            by = {role: cells[at] for at, role in roles.items()}
            carried = not by.get("recipe")
            draft = self._draft(key, line)
            if carried and draft.again:
                draft.again.pop()  # the name does not stand in this row
            for at in fields:
                if cells[at]:
                    self._take_field(draft, roles[at], cells[at], line)
            said = [f"{self._head[at] or f'column {at + 1}'}: {cells[at]}" for at in others if cells[at]]
            material, amount = self._without_mark(by["material"]) or by["material"], by["amount"]
            unit = by.get("unit", "")
            section = by.get("section", "")
            if not material and not amount:
                draft.notes += [*filter(None, (section, by.get("note", ""), *said, unit))]
                continue
            text = "  ".join(
                cell
                for cell in (by["material"], f"{amount} {unit}".strip(), by.get("note", ""), *said)
                if cell
            )
            if _ADDED.match(section) and draft.base:
                added: bool | None = True
            elif section:
                added = False
                if section.lower() not in ("base", "recipe") and not _ADDED.match(section):
                    said.append(section)
            else:
                added = material != by["material"] if key in marking else None
            self._take(
                draft, material, f"{amount} {unit}".strip(), by.get("note", ""), said, line, text, added
            )

    def _keys(self, roles: Mapping[int, str]) -> list[_Key]:
        """The recipe of each row. A name that comes back behind the rows of another recipe begins a new one, unless
        the table is sorted by material. An empty cell carries the name on."""
        column = {role: at for at, role in roles.items()}
        recipes, materials = self._cells(column.get("recipe")), self._cells(column["material"])
        for at, cell in enumerate(recipes[1:], 1):
            recipes[at] = cell or recipes[at - 1]
        begun = [name for at, name in enumerate(recipes) if not at or name != recipes[at - 1]]
        if len(begun) > len(set(begun)) and _changes(materials) < _changes(recipes):
            self._say("guessed", 0, "the rows are sorted by material: all rows of one name are one recipe")
            return [_Key(name, 1) for name in recipes]
        times = Counter[str]()
        keys = []
        for at, name in enumerate(recipes):
            times[name] += not at or name != recipes[at - 1]
            keys.append(_Key(name, times[name]))
        return keys

    def _cells(self, at: int | None) -> list[str]:
        """A column from top to bottom; empty where there is none."""
        return [cells[at] if at is not None and at < len(cells) else "" for _, cells in self._rows]

    def _marking(self, roles: Mapping[int, str], keys: Sequence[_Key]) -> set[_Key]:
        """The recipes that mark their additions, so that what is not marked belongs to the base."""
        materials = self._cells(next(at for at, role in roles.items() if role == "material"))
        return {
            key
            for key, material in zip(keys, materials, strict=True)
            if self._without_mark(material) is not None
        }

    # ---- a row a recipe --------------------------------------------------------------------------------

    def _turned(self, roles: Mapping[int, str]) -> dict[int, str]:
        """Turns a table with a column a recipe round, so that it has a row a recipe; returns its columns."""
        at = next(at for at, role in roles.items() if role == "material")
        table = [_Record(1, self._head), *self._rows]
        full = [[*cells, *[""] * (self._width - len(cells))] for _, cells in table]
        first = [row[at] for row in full]
        columns = [column for column in range(self._width) if column != at]
        self._head = ["", *first[1:]]
        self._rows = [_Record(1, [row[column] for row in full]) for column in columns]
        self._width = len(first)
        out = {0: "recipe"}
        for column, head in enumerate(self._head):
            if head.lower() in KEYS and KEYS[head.lower()] not in out.values():
                out[column] = KEYS[head.lower()]
        return out

    def _read_wide(self, roles: dict[int, str], turned: int | None) -> None:
        free = [at for at in range(self._width) if at not in roles]
        if (
            "recipe" not in roles.values()
            and turned is None
            and 0 in free
            and not self._names.likely(self._head[0])
        ):
            roles[0] = "recipe"
            free.remove(0)
        materials = []
        for at in free:
            cells = [row.cells[at] for row in self._rows if at < len(row.cells) and row.cells[at]]
            numeric = sum(map(self._number, cells))
            if self._head[at] and (
                self._names.known(self._head[at]) or (cells and numeric * 2 >= len(cells))
            ):
                materials.append(at)
        if sum(self._names.likely(self._head[at]) for at in materials) < 2:
            raise Refused(
                "what the columns are cannot be guessed; say so, as in  --columns material=Name,amount=Parts"
            )
        marked = {at: name for at in materials if (name := self._without_mark(self._head[at])) is not None}
        shape = "a row a recipe" if turned is None else "a column a recipe"
        listed = ", ".join(f"'{self._head[at]}'" for at in materials)
        self._tell({} if turned is not None else roles, shape)
        self._say("guessed", 0, f"the materials are {listed}")
        if marked:
            told = ", ".join(f"'{self._head[at]}' is {name}" for at, name in marked.items())
            self._say("guessed", 0, f"the additions are marked as such: {told}")
        times = Counter[str]()
        for line, cells in self._rows:
            cells = cells + [""] * (self._width - len(cells))
            name = next((cells[at] for at, role in roles.items() if role == "recipe"), "")
            if not name and not any(cells):
                continue
            name = name or f"{self._name} {len(self._drafts) + 1}"
            times[name] += 1
            draft = self._draft(_Key(name, times[name]), line)
            for at, cell in enumerate(cells[: self._width]):
                if not cell or roles.get(at) == "recipe":
                    continue
                if at in materials:
                    text = f"{self._head[at]}  {cell}"
                    added = at in marked if marked else None
                    self._take(draft, marked.get(at, self._head[at]), cell, "", [], line, text, added)
                elif at in roles and roles[at] not in ROLES:
                    self._take_field(draft, roles[at], cell, line)
                else:
                    draft.notes.append(f"{self._head[at]}: {cell}" if self._head[at] else cell)
            if len(cells) > self._width:
                self._say("left", line, "more cells than columns", "; ".join(cells[self._width :]))

    def _without_mark(self, material: str) -> str | None:
        """The name of a material that is marked as an addition, None for any other."""
        found = _MARKED.fullmatch(material)
        bare = (found["first"] or found["last"]).strip() if found else ""
        return bare if bare and not self._names.known(material) and self._names.known(bare) else None

    # ---- what goes into a recipe -----------------------------------------------------------------------

    def _draft(self, key: _Key, line: int) -> Draft:
        name = key.name
        if key not in self._drafts:
            bare, fields, guesses = taken_out(name)
            if not bare or '"' in bare or len(bare) > 100:
                bare, fields, guesses = name.replace('"', "'")[:100].strip(), {}, []
            draft = Draft(line, bare or self._name, fields=fields)
            if len(name) > 100:
                draft.notes.append(name)
            if not name:
                self._say("guessed", line, f"a recipe without a name is called '{draft.name}'")
            if key.nth > 1:
                said = f"the name '{draft.name}' comes again; this is taken for a further recipe of that name"
                self._say("guessed", line, said)
            for guess in guesses:
                self._say("guessed", line, guess, name)
            self._drafts[key] = draft
        else:
            self._drafts[key].again.append(name)
        return self._drafts[key]

    def _take_field(self, draft: Draft, key: str, value: str, line: int) -> None:
        found = field_in(f"{key}: {value}")
        if found and found[0] and draft.fields.get(found[0], found[1]) == found[1]:
            if found[0] in draft.fields:
                draft.again.append(value)
            draft.fields[found[0]] = found[1]
            return
        note = f"{key}: {value}"
        if note not in draft.notes:
            self._say("guessed", line, "this cannot be taken as a field; it stands in the notes", note)
            draft.notes.append(note)
        else:
            draft.again.append(value)

    def _take(
        self,
        draft: Draft,
        material: str,
        amount: str,
        note: str,
        said: Iterable[str],
        line: int,
        text: str,
        added: bool | None,
    ) -> None:
        if added is None:
            added = bool(draft.additions) or (draft.base_total() == 100)
            if added and not draft.additions and not _TOTAL.fullmatch(material):
                self._say("guessed", line, "what stands behind a base of 100 is taken for additions", text)
        if _TOTAL.fullmatch(material) and not draft.additions:
            added = False
        rows = draft.additions if added else draft.base
        if _TOTAL.fullmatch(material) or not material:
            self._take_total(draft, rows, amount, line, text)
            return
        found = amounts.WRITTEN.fullmatch(amount)
        if found is None or len(material) > 100:
            why = "there is no amount" if not amount else f"'{amount[:40]}' is no amount"
            self._say("left", line, f"{why}; the line stands as a comment", text)
            rows.append(Said(text, line))
            return
        read = amounts.read(found, self._comma)
        if read.value is None:
            self._say("left", line, f"{read.why}; the line stands as a comment", text)
            rows.append(Said(text, line))
            return
        if read.guess:
            self._say("guessed", line, read.guess, text)
        if not read.value:
            rows.append(Said(text, line))
            return
        comment = text if read.guess else "; ".join(said)
        rows.append(Item(material, read.value, read.unit, line, note, comment))

    def _take_total(self, draft: Draft, rows: list[Row], amount: str, line: int, text: str) -> None:
        rows.append(Said(text, line))
        stated, _ = amounts.number(amount.rstrip("% g"), self._comma)
        base = draft.base_total()
        every = sum((item.amount for item in draft.items()), Decimal(0))
        if stated is not None and stated not in (base, every):
            comes = f"{base}" if base == every else f"{base}, and {every} with the additions"
            self._say("wrong", line, f"a total of {stated} is stated; the lines come to {comes}", text)


def _changes(cells: Sequence[str]) -> int:
    """How often a column changes from one row to the next; a column that the table is sorted by changes least."""
    return sum(cell != before for before, cell in pairwise(cells))


def columns_asked(text: str) -> dict[str, str]:
    """The value of --columns, such as "recipe=Glaze,material=2". Raises ValueError with what to write."""
    out: dict[str, str] = {}
    for part in text.split(","):
        role, sign, column = (piece.strip() for piece in part.partition("="))
        if role not in ROLES or not sign or not column or role in out:
            raise ValueError(
                f"'{part.strip()}' names no column; write such as recipe=Glaze,material=Name,amount=Parts"
                f" (each once: {', '.join(ROLES)})"
            )
        out[role] = column
    return out
