"""Materials that must not be ground or stored together: which groups they belong to, and which groups clash.

A material is told by its hazard statements, by its formula, by burning out, and by the words of its names; a name that
no catalogue holds by its words alone. What is told of no group may clash all the same: local codes, the supplier's
safety data sheet and licensed practice come first.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple

if TYPE_CHECKING:
    from glost.recipe.materials.catalogue import Catalogue, Material

_DATA: Final = Path(__file__).parent / "data" / "incompatible.json"
WATER: Final = "water"
"""A group that is on every page: what is mixed for use is mixed with it."""


class Group(NamedTuple):
    """Materials of one nature: ``called`` with its article. They are told by hazard ``statements``, by what stands in
    a formula, by the kind of a composition, or by ``words`` of a name; never where a phrase of ``no`` is in it.
    ``decides``: a formula without it is proof of the contrary, whatever the name says."""

    name: str
    called: str
    statements: frozenset[str]
    formulas: tuple[str, ...]
    kinds: frozenset[str]
    words: tuple[str, ...]
    no: tuple[str, ...]
    decides: bool


class Pair(NamedTuple):
    """Two groups that must not meet: the ``harm`` where they do, what to ``do``, and where that stands written."""

    first: str
    second: str
    harm: str
    do: str
    source: str
    standing: str


class Clash(NamedTuple):
    """A pair of which both sides are there, each with the names of its materials."""

    pair: Pair
    first: tuple[str, ...]
    second: tuple[str, ...]

    @property
    def text(self) -> str:
        """In one sentence, without the names."""
        meeting = (
            "Must not meet water" if self.pair.second == WATER else "Must not be ground or stored together"
        )
        return f"{meeting}: {self.pair.harm}. What to do: {self.pair.do}."


def clashes(names: Iterable[str], catalogue: Catalogue) -> Iterator[Clash]:
    """The clashes among materials by their names, of which a catalogue need not hold all."""
    told = {name: of for name in names if (of := groups_called(name, catalogue))}
    if told:
        yield from _clashes(told)


def _clashes(told: Mapping[str, frozenset[str]]) -> Iterator[Clash]:
    for pair in pairs():
        first = tuple(name for name, of in told.items() if pair.first in of)
        second = tuple(name for name, of in told.items() if pair.second in of)
        if first and (pair.second == WATER or any(one != other for one in first for other in second)):
            yield Clash(pair, first, second)


def groups_called(name: str, catalogue: Catalogue) -> frozenset[str]:
    """The groups that what a name means belongs to."""
    material = catalogue.find(name)
    return groups_of(name, None) if material is None else catalogue.told_of(material, _groups_of_known)


def _groups_of_known(material: Material) -> frozenset[str]:
    return groups_of(material.name, material)


def groups_of(name: str, material: Material | None) -> frozenset[str]:
    """The groups that a material belongs to. ``name``: as it is called where no catalogue holds it."""
    return frozenset(group.name for group in groups() if _belongs(group, name, material))


def _belongs(group: Group, name: str, material: Material | None) -> bool:
    name = name if material is None else material.name
    if _named(group.no, name):
        return False
    if material is not None:
        if any(code[:4] in group.statements for code in material.statements):
            return True
        composition = material.composition or {}
        if composition.get("kind") in group.kinds:
            return True
        if composition.get("kind") == "formula" and group.formulas:
            # A formula says what a thing is; a word in its name may only say what it looks like.
            if any(_said_by(str(composition["formula"]), sign) for sign in group.formulas):
                return True
            if group.decides:
                return False
    return _named(group.words, name)


def _named(words: Iterable[str], name: str) -> bool:
    said = f" {' '.join(re.findall(r'[a-z]+', name.casefold()))} "
    return any(f" {word} " in said for word in words)


_ELEMENTS: Final = re.compile(r"[A-Z][a-z]?")
_NO_METALS: Final = frozenset({"H", "C", "N", "O", "F", "P", "S", "Cl", "Br", "I", "Se", "B", "As"})


def _said_by(formula: str, sign: str) -> bool:
    """Whether a formula holds a group of atoms, or is of a kind that its elements tell."""
    parts = [re.sub(r"^[0-9.]+", "", part) for part in formula.split("\u00b7")]
    found = set(_ELEMENTS.findall(formula))
    if sign == "carbide":
        return "C" in found and not found & {"O", "H", "N"} and len(found) > 1
    if sign == "sulfide":
        return bool(found & {"S", "Se"}) and "O" not in found
    if sign == "metal":
        return bool(found) and not found & _NO_METALS
    if sign == "burns":
        return bool(found & {"C", "S"}) and found <= {"C", "H", "N", "O", "S"}
    if sign == "burnt lime":
        return "CaO" in parts and set(parts) <= {"CaO", "MgO"}
    return re.search(rf"{sign}(?![0-9a-z])", formula) is not None


@cache
def groups() -> tuple[Group, ...]:
    """The groups of data/incompatible.json. Raises OSError where the file is missing."""
    return tuple(
        Group(
            row["group"],
            row["called"],
            frozenset(row.get("statements", ())),
            tuple(row.get("formulas", ())),
            frozenset(row.get("kinds", ())),
            tuple(row["words"]),
            tuple(row.get("not", ())),
            row.get("formula decides", False),
        )
        for row in _read()["groups"]
    )


@cache
def pairs() -> tuple[Pair, ...]:
    """The pairs of data/incompatible.json. Raises OSError where the file is missing."""
    return tuple(Pair(**row) for row in _read()["pairs"])


@cache
def called(group: str) -> str:
    """What a group is called, with its article."""
    return WATER if group == WATER else next(one.called for one in groups() if one.name == group)


@cache
def _read() -> dict[str, Any]:
    data: dict[str, Any] = json.loads(_DATA.read_text("utf-8"))
    return data
