"""From what somebody types to the materials that may be meant."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from glost.recipe.materials.catalogue import ROLES, Catalogue, Material, key
from glost.recipe.materials.meant import Meaning, meant


class Found(NamedTuple):
    """``one`` where a spelling names a material, or only one holds the words; else the materials of a role or those
    that the words may mean and whose spellings hold them, in the order of the listing. With neither, ``meaning`` has
    those that are called alike. ``role``: the role that the word is, "" for none; also beside ``one``, for silica is a
    material and a role."""

    one: Material | None
    several: tuple[Material, ...]
    meaning: Meaning
    role: str


def search(words: str, catalogue: Catalogue) -> Found:
    """What ``words`` may mean."""
    wanted = key(words)
    role = next((one for one in ROLES if wanted in (one, f"{one}s", f"{one}es")), "")
    meaning = meant(words, catalogue)
    if meaning.material is not None:
        return Found(meaning.material, (), meaning, role)
    if role:
        return Found(None, in_order(m for m in catalogue if m.role == role), meaning, role)
    parts = wanted.split()
    may_be = {one.name for one in meaning.candidates} if meaning.how == "ambiguous" else set()
    holding = [
        material
        for material in catalogue
        if material.name in may_be or any(_holds(one, parts, bool(may_be)) for one in _spellings(material))
    ]
    if len(holding) == 1:
        return Found(holding[0], (), meaning, "")
    return Found(None, in_order(holding), meaning, "")


def _spellings(material: Material) -> Iterator[str]:
    return map(key, (material.name, *material.aliases))


def _holds(spelling: str, parts: Sequence[str], whole: bool) -> bool:
    """Whether a spelling holds all of several words; ``whole``: not within others, for 'tin' stands in 'whiting'."""
    held: Sequence[str] = spelling.split() if whole else spelling
    return bool(parts) and all(part in held for part in parts)


def in_order(materials: Iterable[Material]) -> tuple[Material, ...]:
    """Materials by role, in the order of ROLES, and by name."""
    return tuple(sorted(materials, key=lambda one: (ROLES.index(one.role), one.name)))
