"""What each column of a table is, by the word at its head, by what stands below, or as it is said."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import product
from typing import Final, NamedTuple

from glost.importer import amounts
from glost.importer.amounts import UNITS
from glost.importer.cells import Record, TableError
from glost.importer.heading import KEYS
from glost.importer.marks import block_of, is_additions_head, is_base_head
from glost.importer.materials import Names

ROLES: Final = ("recipe", "material", "amount", "added", "unit", "note", "section")
"""What a column may be, beside the fields of a recipe. ``added``: the amounts of what is added to the base."""


def _phrases(*parts: str) -> tuple[str, ...]:
    """Every phrase that has one word of each part; '' is no word."""
    return tuple(" ".join(filter(None, words)) for words in product(*(part.split("|") for part in parts)))


HEADS: Final[Mapping[str, tuple[str, ...]]] = {
    "recipe": (
        *_phrases("recipe|glaze", "|name|title"),
        *_phrases("name of", "|the", "recipe|glaze"),
        *("glaze recipe", "recipe glaze", "title", "test name", "sample name", "name", "test", "sample"),
        *_phrases("recipe|glaze", "no|nr|number|id"),
    ),
    "material": (
        *_phrases("raw material|material|ingredient|component|chemical|constituent|substance", "|name"),
        *("materials", "raw materials", "ingredients", "components", "chemicals", "constituents"),
        *("name of material", "name of ingredient", "mineral", "item", "name"),
    ),
    "note": ("note", "notes", "comment", "comments", "remark", "remarks", "observation", "observations"),
    "section": (
        *(
            "section",
            "part of recipe",
            "base or addition",
            "base addition",
            "base add",
            "block",
            "section name",
        ),
        *("part", "group", "type", "role", "class", "category", "kind", "function", "purpose"),
        *("addition", "additions", "add", "added", "is addition", "colourant", "colorant", "extra"),
    ),
    "unit": ("unit", "units", "uom", "measure unit"),
}
"""The heads of columns as people write them, in small letters and without signs, the likeliest first."""
_AMOUNTS: Final = frozenset(
    [
        "amount",
        "amounts",
        "amt",
        "amts",
        "qty",
        "qtys",
        "qnty",
        "quantity",
        "quantities",
        "part",
        "parts",
        "percent",
        "percentage",
        "percentages",
        "pct",
        "weight",
        "weights",
        "wt",
        "wts",
        "mass",
        "portion",
        "portions",
        "proportion",
        "proportions",
        "share",
        "dose",
    ]
) | {unit for unit in UNITS if " " not in unit}
_BESIDE_AMOUNTS: Final = frozenset(
    ["by", "in", "of", "the", "per", "dry", "recipe", "material", "ingredient", "used", "batch"]
)
_SURE_AMOUNTS: Final = ("amount", "amounts", "amt", "parts", "%", "percent", "percentage", "pct")
"""Of several columns of amounts, one with such a head is the recipe; grams may be those of a batch."""
_DOUBTFUL: Final = HEADS["section"][6:]
"""Heads that may stand over anything: what stands below them decides."""
_BRACKETS: Final = re.compile(r"[(\[](?P<inside>[^()\[\]]*)[)\]]")
_SIGNS: Final = re.compile(r"[^\w%+\s]|_")
_YES: Final = frozenset({"yes", "y", "x", "1", "true", "add", "added", "addition"})
_NO: Final = frozenset({"no", "n", "0", "false", ""})
YES_AND_NO: Final = _YES | _NO
_CONE_SIGNS: Final = frozenset("\u0394\u25b3\u2206\u25b2^")
_FIRED: Final = frozenset({"cone", "firing"})
"""Fields that several columns may fill: 'Firing' and 'Temp'."""
_HEAD_WITHIN: Final = 20
"""Rows from the top among which the head of a table stands."""
_FEWEST_MATERIALS: Final = 2


def head_word(text: str) -> str:
    """A head in small letters, without signs and without a unit in brackets: 'Recipe_name:' is 'recipe name'."""
    if text in _CONE_SIGNS:
        return "cone"
    bare = _BRACKETS.sub(" ", text)
    words = " ".join(_SIGNS.sub(" ", bare).lower().split())
    return words or " ".join(_SIGNS.sub(" ", text).lower().split())


def unit_of_head(text: str) -> str:
    """The unit that a head of amounts names, as the language writes it; "" for none and for parts."""
    words = re.findall(r"%|[^\W\d_]+", text.lower())
    return next((UNITS[word] for word in words if UNITS.get(word)), "")


def is_amounts(word: str) -> bool:
    """Whether a head is that of amounts: 'amt', 'weight g', '% by weight'."""
    words = word.replace("%", " % ").split()
    return any(one in _AMOUNTS for one in words) and all(one in _AMOUNTS | _BESIDE_AMOUNTS for one in words)


def is_any_head(text: str) -> bool:
    """Whether a text is a word that heads a column: no recipe is called so."""
    word = head_word(text)
    words = (word for role in ("material", "note", "unit") for word in HEADS[role])
    told = word in KEYS or is_amounts(word) or word in set(words) - {"name", "mineral", "item"}
    return told and (len(word) > 1 or not word.isalpha())  # a recipe may be called 'G'


class Layout(NamedTuple):
    """A table with its columns told: the heads, the rows below them, what each column is (by index), and the block that
    each column of amounts of a group belongs to. ``skipped``: rows above the head."""

    heads: list[str]
    rows: list[Record]
    roles: dict[int, str]
    groups: dict[int, str]
    skipped: tuple[Record, ...]

    @property
    def width(self) -> int:
        return len(self.heads)

    def column(self, role: str) -> int | None:
        return next((at for at, one in self.roles.items() if one == role), None)

    def name(self, at: int) -> str:
        return f"'{self.heads[at]}'" if self.heads[at] else f"column {at + 1}"


def find_layout(records: Sequence[Record], names: Names, asked: Mapping[str, str]) -> Layout:
    """What the columns of a table are. ``asked`` says it of some, by head or by number. Raises TableError."""
    width = max(len(record.cells) for record in records)
    at = _head_at(records, names, asked)
    heads = [records[at].cell(column) for column in range(width)] if at is not None else [""] * width
    above = list(records[: at or 0])
    groups = _groups(above.pop(), width) if above and _is_group_row(above[-1]) else {}
    rows = [
        row for row in records[0 if at is None else at + 1 :] if row.cells[:width] != heads[: len(row.cells)]
    ]
    layout = Layout(heads, rows, {}, groups, tuple(above))
    return layout._replace(roles=_roles(layout, names, asked))


# ---- where the head is ---------------------------------------------------------------------------------


def _head_at(records: Sequence[Record], names: Names, asked: Mapping[str, str]) -> int | None:
    """The row of the heads, None where there is none."""
    wanted = {word.lower() for word in asked.values() if not word.isdigit()}
    for at, record in enumerate(records[:_HEAD_WITHIN]):
        if wanted <= {cell.lower() for cell in record.cells} if wanted else _is_head(record, names):
            return at
    first = records[0]
    alone = len(first.filled) == 1 and max(len(record.cells) for record in records) > 1
    if wanted or not (alone or any(map(is_number, first.filled))):
        return 0
    return None


def _is_head(record: Record, names: Names) -> bool:
    words = [head_word(cell) for cell in record.filled]
    material = any(word in HEADS["material"] for word in words)
    if material and any(map(is_amounts, words)):
        return True
    if len(words) < _FEWEST_MATERIALS or any(map(is_number, record.filled)):
        return False
    return material or sum(names.is_head(cell) for cell in record.filled) >= _FEWEST_MATERIALS


def is_number(cell: str) -> bool:
    return amounts.in_cell(cell) is not None


def _is_group_row(record: Record) -> bool:
    """Whether a row above the head says which columns are the base, and which are added."""
    return any(map(is_additions_head, record.filled)) and not any(map(is_number, record.filled))


def _groups(record: Record, width: int) -> dict[int, str]:
    """The block of each column under a row such as ',,Base,,,Additions,': a cell holds for those right of it."""
    groups: dict[int, str] = {}
    block = ""
    for at in range(width):
        cell = record.cell(at)
        if is_additions_head(cell):
            block = "additions"
        elif cell:
            block = "base" if is_base_head(cell) else ""
        if block:
            groups[at] = block
    return groups


# ---- what the columns are ------------------------------------------------------------------------------


def _roles(layout: Layout, names: Names, asked: Mapping[str, str]) -> dict[int, str]:
    roles = {_asked_for(layout, role, word): role for role, word in asked.items()}
    words = [head_word(head) for head in layout.heads]
    for role in ("recipe", "material"):
        _give(roles, role, _first_of(HEADS[role], words, roles))
    _give(roles, "amount", _amounts_at(layout, words, roles))
    for role in ("unit", "note", "section"):
        _give(roles, role, next(_columns_of(role, layout, words, roles), None))
    _correct_name(layout, roles, names, asked)
    for at, word in enumerate(words):
        key = _key_of(word)
        again = key in roles.values() and key not in _FIRED
        if at not in roles and key and not again and not _is_clay(layout, at, word):
            roles[at] = key
    if not any(layout.heads):
        return _by_shape(layout, roles, names)
    _complete(layout, roles, names)
    _give(roles, "added", _block_at(layout, roles, is_additions_head))
    if "added" in roles.values():
        _give(roles, "amount", _block_at(layout, roles, is_base_head))
    return roles


def _give(roles: dict[int, str], role: str, at: int | None) -> None:
    if at is not None and at not in roles and role not in roles.values():
        roles[at] = role


def _first_of(phrases: Sequence[str], words: Sequence[str], roles: Mapping[int, str]) -> int | None:
    return next((words.index(one) for one in phrases if one in words and words.index(one) not in roles), None)


def _amounts_at(layout: Layout, words: Sequence[str], roles: Mapping[int, str]) -> int | None:
    """The column of amounts: the surest head first."""
    found = [
        at
        for at, word in enumerate(words)
        if at not in roles
        and is_amounts(word)
        and (word != "part" or all(map(is_number, column_of(layout, at))))
    ]
    sure = [at for one in _SURE_AMOUNTS for at in found if words[at] == one]
    return next(iter([*sure, *found]), None)


def _columns_of(role: str, layout: Layout, words: Sequence[str], roles: Mapping[int, str]) -> Iterator[int]:
    for one in HEADS[role]:
        for at, word in enumerate(words):
            fits = word == one and at not in roles
            cells = column_of(layout, at) if fits else []
            if cells and (one not in _DOUBTFUL or _tells_blocks(cells, one)):
                yield at


def _tells_blocks(cells: Sequence[str], word: str) -> bool:
    """Whether the cells of a column say what is an addition."""
    if is_additions_head(word) or word == "is addition":
        return all(cell.lower() in _YES | _NO or block_of(cell) for cell in cells)
    return any(block_of(cell) == "additions" for cell in cells)


def section_block(head: str, cell: str) -> str | None:
    """The block that a cell of the section's column names; under a head such as 'Added?' it says yes or no."""
    word = head_word(head)
    if is_additions_head(word) or word == "is addition":
        if cell.lower() in _YES:
            return "additions"
        if cell.lower() in _NO:
            return "base"
    return block_of(cell) if cell else None


def _correct_name(layout: Layout, roles: dict[int, str], names: Names, asked: Mapping[str, str]) -> None:
    """In 'Name, Parts' the name is that of the material."""
    at = next((at for at, role in roles.items() if role == "recipe"), None)
    if at is None or "recipe" in asked or "material" in roles.values() or "amount" not in roles.values():
        return
    cells = column_of(layout, at)
    if head_word(layout.heads[at]) == "name" or sum(map(names.likely, cells)) * 2 > len(cells):
        roles[at] = "material"


def _key_of(word: str) -> str:
    """The field that a head names: 'cone atm' holds the cone and more."""
    if word in KEYS:
        return KEYS[word]
    words = word.split()
    return "cone" if words and words[0] in ("cone", "cones") else ""


def _is_clay(layout: Layout, at: int, word: str) -> bool:
    """Whether 'Clay' is a material here, and not the body."""
    cells = column_of(layout, at)
    return KEYS.get(word) == "body" and bool(cells) and all(map(is_number, cells))


def _complete(layout: Layout, roles: dict[int, str], names: Names) -> None:
    """Finds by what stands below what no head tells, where the heads tell enough to know that a row is a material."""
    found = set(roles.values())
    free = [at for at in range(layout.width) if at not in roles and column_of(layout, at)]
    numeric = [at for at in free if all(map(is_number, column_of(layout, at)))]
    if {"recipe", "material"} <= found and "amount" not in found and len(numeric) == 1:
        _give(roles, "amount", numeric[0])
    if {"recipe", "amount"} <= found and "material" not in found:
        _give(roles, "material", _likeliest(layout, names, free))


def _block_at(layout: Layout, roles: Mapping[int, str], is_block: Callable[[str], bool]) -> int | None:
    """A column of amounts of one block: 'Material, Base, Additions'."""
    for at, head in enumerate(layout.heads):
        if at not in roles and is_block(_BRACKETS.sub("", head).strip(" %")):
            cells = column_of(layout, at)
            return at if cells and all(map(is_number, cells)) else None
    return None


def _likeliest(layout: Layout, names: Names, free: Sequence[int]) -> int | None:
    """The column that holds the most names of materials."""
    likely = {at: sum(map(names.likely, column_of(layout, at))) for at in free}
    best = max(likely, key=lambda at: likely[at], default=None)
    return best if best is not None and likely[best] else None


def _by_shape(layout: Layout, roles: dict[int, str], names: Names) -> dict[int, str]:
    """Of a table without a head: the column of numbers, that of materials, and that of recipes before it."""
    free = [at for at in range(layout.width) if at not in roles]
    numeric = [at for at in free if column_of(layout, at) and all(map(is_number, column_of(layout, at)))]
    _give(roles, "amount", numeric[0] if numeric else None)
    _give(roles, "material", _likeliest(layout, names, [at for at in free if at not in roles]))
    rest = [at for at in free if at not in roles and column_of(layout, at)]
    if rest and rest[0] == 0:
        _give(roles, "recipe", 0)
    if {"material", "amount"} <= set(roles.values()):
        return roles
    raise TableError(
        "what the columns are cannot be guessed", "say so, as in  --columns recipe=1,material=2,amount=3"
    )


def _asked_for(layout: Layout, role: str, word: str) -> int:
    lower = [head.lower() for head in layout.heads]
    if word.lower() in lower:
        return lower.index(word.lower())
    if word.isdigit() and 1 <= int(word[:6]) <= layout.width:
        return int(word) - 1
    heads = ", ".join(f"'{head}'" for head in layout.heads if head) or f"1 to {layout.width}"
    raise TableError(f"there is no column '{word}' to be the {role}", f"the columns are {heads}")


def column_of(layout: Layout, at: int) -> list[str]:
    """The filled cells of a column."""
    return [cell for row in layout.rows if (cell := row.cell(at))]
