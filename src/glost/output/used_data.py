"""The recipes that a recipe uses, as data: what is in each of them, in shares of its whole dry mix."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

from glost.errors import ValueRefusedError
from glost.recipe.recipe import Handling, Used, part_of


def used_data(used: Used) -> dict[str, Any]:
    """As the schema has it. A share is a text, since it need not end in figures."""
    return {
        "kind": used.kind,
        "name": used.name,
        "file": used.file,
        "parts": [
            {"name": part.name, "material": part.material, "share": str(part.exact), "note": part.note}
            for part in used.parts
        ],
        "handling": [{"names": list(one.names), "text": one.text} for one in used.handling],
        "fields": dict(used.fields),
        "through": list(used.through),
        "files": list(used.files),
    }


def read_uses(entries: Sequence[Mapping[str, Any]], path: str) -> dict[str, Used]:
    """Such recipes by the names of the ingredients. Raises ValueError."""
    found: dict[str, Used] = {}
    for at, one in enumerate(entries):
        parts = tuple(
            part_of(
                part["name"],
                part.get("material"),
                _share(part["share"], f"{path}[{at}].parts[{number}].share"),
                part.get("note", ""),
            )
            for number, part in enumerate(one["parts"])
        )
        used = Used(
            one["kind"],
            one["name"],
            one.get("file", ""),
            parts,
            tuple(Handling(tuple(note["names"]), note["text"]) for note in one.get("handling", ())),
            tuple(one.get("fields", {}).items()),
            tuple(one.get("through", ())),
            tuple(one.get("files", ())),
        )
        whole = sum((part.exact for part in parts), Fraction(0))
        if whole != 1:
            raise ValueRefusedError(
                f"{path}[{at}].parts: the shares add up to {whole}, not to 1",
                "write the share of each material in the whole dry mix",
            )
        found[used.written] = used
    return found


def _share(text: str, path: str) -> Fraction:
    above, _, below = text.partition("/")
    if len(text) > _LONGEST or (below and not int(below)):
        raise ValueRefusedError(f"{path}: '{text[:40]}' is no share", "write a fraction such as 9/17")
    return Fraction(int(above), int(below)) if below else Fraction(Decimal(above))


_LONGEST = 2000
"""Characters of a share: as many as those of recipes that use one another to the deepest may have."""
