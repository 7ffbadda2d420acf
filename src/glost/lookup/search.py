"""From what somebody types to the materials that may be meant."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from glost.materials.catalogue import ROLES, Catalogue, Material, key


class Found(NamedTuple):
    """``one`` where a spelling names a material, or only one holds the word; else the materials of a role or those
    whose spellings hold the word, in the order of the listing. With neither, ``near`` has names that may be meant.
    ``role``: the role that the word is, "" for none; also beside ``one``, for silica is a material and a role."""

    one: Material | None
    several: tuple[Material, ...]
    near: tuple[str, ...]
    role: str


def search(words: str, catalogue: Catalogue) -> Found:
    """What ``words`` may mean."""
    wanted = key(words)
    role = next((one for one in ROLES if wanted in (one, f"{one}s", f"{one}es")), "")
    exact = catalogue.find(words)
    if exact is not None:
        return Found(exact, (), (), role)
    if role:
        return Found(None, in_order(m for m in catalogue if m.role == role), (), role)
    holding = [
        material
        for material in catalogue
        if wanted and any(wanted in key(spelling) for spelling in (material.name, *material.aliases))
    ]
    if len(holding) == 1:
        return Found(holding[0], (), (), "")
    return Found(None, in_order(holding), () if holding else tuple(catalogue.nearest(words)), "")


def in_order(materials: Iterable[Material]) -> tuple[Material, ...]:
    """Materials by role, in the order of ROLES, and by name."""
    return tuple(sorted(materials, key=lambda one: (ROLES.index(one.role), one.name)))
