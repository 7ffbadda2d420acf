"""Whether what was gathered can be a recipe: nonsense is refused, what may be two recipes is told."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from glost.importer.columns import is_any_head
from glost.importer.draft import Draft, Item, Remark, Row, Said, total
from glost.importer.gather import ROUNDED
from glost.importer.marks import is_additions_head
from glost.importer.materials import Names
from glost.recipe.materials.catalogue import key

_MOST_MATERIALS: Final = 40
"""Lines of a recipe, the additions counted; twice what the longest have (common practice: below 20)."""
_MOST_TIMES: Final = 3
"""How often one material stands in a recipe: sieved apart, or once in the base and once added."""
_LARGEST: Final = Decimal(1_000_000)
_FULL: Final = Decimal(100)
_A_BASE: Final = Decimal(50)
_ABSURD: Final = 2
"""Times the base. So much is never added to it."""


def why_not(draft: Draft, names: Names) -> str:
    """Why a draft is no recipe that could be written, or ""."""
    items = draft.items()
    base = [row for row in draft.base if isinstance(row, Item)]
    if is_any_head(draft.name) or is_additions_head(draft.name):
        return f"'{draft.name}' is the head of a column, and no name of a recipe"
    if not base:
        return "no line of its base could be read"
    if not any(names.likely(item.name) for item in items):
        return "none of its materials is known"
    if len(items) > _MOST_MATERIALS:
        return f"it would have {len(items)} lines, more than a recipe has"
    name, times = Counter(_same(item.name, names) for item in base).most_common(1)[0]
    if times > _MOST_TIMES:
        return f"'{name}' would stand in its base {times} times"
    return _absurd_amount(draft, items)


def _absurd_amount(draft: Draft, items: Sequence[Item]) -> str:
    largest = max(items, key=lambda item: item.amount)
    if largest.amount > _LARGEST:
        return f"{largest.amount:f} of {largest.name} is no amount of a recipe"
    base, added = draft.base_total(), _in_parts(draft.additions)
    if base >= _A_BASE and added > _ABSURD * base:
        return f"{added} would be added to a base of {base}"
    return ""


def doubts(draft: Draft, names: Names) -> list[Remark]:
    """What speaks for two recipes in one draft."""
    base, added = draft.base_total(), _in_parts(draft.additions)
    if any(row.unit for row in draft.base if isinstance(row, Item)):
        return []
    if base >= _A_BASE and added >= _A_BASE:
        said = f"the additions of '{draft.name}' come to {added} on a base of {base}; they may be a second recipe"
        return [Remark("wrong", _first_line(draft.additions), said)]
    at = _full_at(draft.base) if base > _FULL + ROUNDED else None
    return [] if at is None else [_second(draft, at, names)]


def _second(draft: Draft, at: int, names: Names) -> Remark:
    """The question about what stands in a base behind its first 100."""
    first, behind = draft.base[:at], draft.base[at:]
    line = _first_line(behind)
    comes = f"the base of '{draft.name}' comes to {draft.base_total()}, and to 100 above line {line}"
    said = f"{comes}; what stands there may"
    held = {_same(row.name, names) for row in first if isinstance(row, Item)}
    again = any(_same(row.name, names) in held for row in behind if isinstance(row, Item))
    if again or isinstance(behind[0], Said):
        return Remark("wrong", line, f"{said} be a second recipe")
    return Remark("guessed", line, f"{said} be additions")


def _full_at(rows: Sequence[Row]) -> int | None:
    """The index in a base behind which it has come to 100 and goes on; None where there is none."""
    come = Decimal(0)
    for at, row in enumerate(rows):
        if abs(come - _FULL) <= ROUNDED:
            return at
        come += row.amount if isinstance(row, Item) else 0
    return None


def _in_parts(rows: Sequence[Row]) -> Decimal:
    return total([row for row in rows if isinstance(row, Item) and row.unit in ("", "%")])


def _first_line(rows: Sequence[Row]) -> int:
    return rows[0].line if rows else 0


def _same(name: str, names: Names) -> str:
    """What two spellings of one material share."""
    found = names.catalogue.find(name)
    return found.name if found else key(name)
