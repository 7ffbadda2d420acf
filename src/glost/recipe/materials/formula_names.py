"""Chemical formulas written in the place of a name: Fe2O3, SiO₂, Al2O3.2SiO2.2H2O."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple, TypeAlias

from glost.recipe.materials.catalogue import Material
from glost.recipe.materials.formula import FormulaError, atoms
from glost.recipe.materials.short_words import BY_FORMULA

Composition: TypeAlias = "frozenset[tuple[str, Fraction]]"

_SHAPE = re.compile(r"[0-9.]*[A-Z(][A-Za-z0-9()]*(?:·[0-9.]*[A-Z(][A-Za-z0-9()]*)*")
_DOTS = re.compile(
    r"\s*[*\u22c5\u2022\u2219\u00d7\u00b7]\s*"
    r"|(?:(?<=[A-Za-z)])|(?<=[A-Za-z)][0-9])|(?<=[A-Za-z)][0-9]{2}))\.(?=[0-9]*(?:\.[0-9]+)?[A-Z(])"
)
"""What parts a formula: a raised dot, or a full point behind a symbol; within a coefficient it is decimal."""
_FLAT = re.compile(r"[a-z]+[0-9][a-z0-9()]*")


class ByFormula(NamedTuple):
    """``certain``: the one material of that composition. Else what the formula may mean."""

    certain: Material | None
    several: tuple[Material, ...]


class Formulas:
    """The materials of a catalogue by the composition that their formulas give."""

    def __init__(self, materials: Iterable[Material]) -> None:
        self._by_name: dict[str, Material] = {}
        self._by_composition: dict[Composition, list[Material]] = {}
        self._by_elements: dict[frozenset[str], list[Material]] = {}
        self._flat: dict[str, str] = {}
        for material in materials:
            self._by_name[material.name] = material
            record = material.composition
            if not record or record["kind"] != "formula":
                continue
            try:
                counted = atoms(record["formula"])
            except FormulaError:  # a collection's own: the chemistry says what is wrong with it
                continue
            self._by_composition.setdefault(_composition(counted), []).append(material)
            self._by_elements.setdefault(_telling(counted), []).append(material)
            self._flat.setdefault(record["formula"].casefold(), record["formula"])
        self._said = {_composition(atoms(formula)): names for formula, names in BY_FORMULA.items()}
        self._flat.update((formula.casefold(), formula) for formula in BY_FORMULA)

    def meant(self, name: str) -> ByFormula | None:
        """What a formula means; None for what is none."""
        counted = self._atoms(name)
        if counted is None or len(counted) < 2:
            return None
        at = _composition(counted)
        held = self._by_composition.get(at, [])
        if at in self._said:
            said = tuple(self._by_name[one] for one in self._said[at] if one in self._by_name)
            if len(said) == 1 and said[0] in held:
                return ByFormula(said[0], ())
            return ByFormula(None, said)
        if len(held) == 1:
            return ByFormula(held[0], ())
        near = held or self._by_elements.get(_telling(counted), [])
        return ByFormula(None, tuple(near))

    def _atoms(self, name: str) -> Mapping[str, Decimal] | None:
        text = _DOTS.sub("·", unicodedata.normalize("NFKC", name.strip()))
        flat = text.casefold()
        if text in (flat, text.upper()) and _FLAT.match(flat):
            text = self._flat.get(flat, text)
        if not _SHAPE.fullmatch(text) or (text.isalpha() and sum(map(str.isupper, text)) < 2):
            return None
        try:
            return atoms(text)
        except FormulaError:
            return None


def _composition(counted: Mapping[str, Decimal]) -> Composition:
    """The share of each element, free of how many units the formula counts."""
    total = Fraction(sum(counted.values()))
    return frozenset((element, Fraction(count) / total) for element, count in counted.items())


def _telling(counted: Mapping[str, Decimal]) -> frozenset[str]:
    """The elements of a formula without those of water: a salt and its hydrate share them."""
    return frozenset(counted) - {"H", "O"}
