"""The recipe: what a page means, free of how it is written."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal, localcontext
from itertools import chain
from typing import NamedTuple

from glost.language.tables import lexicon
from glost.recipe.fields import Quantity, Value
from glost.weighing.units import grams

_EXACT = 60
"""Decimal places enough for any product of amounts that the language can write, so that none is rounded."""


class Ingredient(NamedTuple):
    """A material and how much of it. ``name`` is as the recipe writes it, ``material`` the canonical name,
    or None where the catalogue does not know it. ``quantity`` is as written: parts (unit ""), % or a mass."""

    name: str
    material: str | None
    quantity: Quantity
    note: str = ""

    @property
    def called(self) -> str:
        """The canonical name where there is one, else the name as written."""
        return self.material or self.name


class Handling(NamedTuple):
    """How some materials, or all, are handled. ``names`` are as written; "all" stands for every one."""

    names: tuple[str, ...]
    text: str


class Variation(NamedTuple):
    """Additions set anew on the same base."""

    name: str
    additions: tuple[Ingredient, ...]


class Step(NamedTuple):
    """A material of a series and its amount in each of the series' tests."""

    name: str
    material: str | None
    quantities: tuple[Quantity, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Series:
    """Several tests in one block: every step holds one quantity a test."""

    name: str
    steps: tuple[Step, ...]

    def __len__(self) -> int:
        return len(self.steps[0].quantities) if self.steps else 0


@dataclass(frozen=True, slots=True)
class Recipe:
    """One recipe. ``fields`` holds the typed values by key (see recipe.fields)."""

    kind: str
    name: str
    fields: Mapping[str, Value] = field(default_factory=dict)
    base: tuple[Ingredient, ...] = ()
    additions: tuple[Ingredient, ...] = ()
    handling: tuple[Handling, ...] = ()
    variations: tuple[Variation, ...] = ()
    series: tuple[Series, ...] = ()
    notes: str = ""

    @property
    def base_total(self) -> Decimal:
        """The sum of the base in parts; of a base in masses, in grams."""
        return total(self.base)

    @property
    def in_masses(self) -> bool:
        """Whether the base is written in masses rather than parts."""
        return bool(self.base) and self.base[0].quantity.unit in lexicon().masses


class Part(NamedTuple):
    """A line of a test: ``parts`` in the same parts as the base, exact."""

    name: str
    material: str | None
    parts: Decimal
    note: str = ""

    @property
    def called(self) -> str:
        return self.material or self.name


@dataclass(frozen=True, slots=True)
class Test:
    """One thing to weigh, mix and fire: the recipe as it stands, a variation of it, or one step of a series.
    ``label`` is "" for the recipe itself. ``sets``: what the variation or step sets, as it is written there."""

    __test__ = False  # a name that pytest would otherwise collect

    recipe: Recipe
    label: str
    base: tuple[Part, ...]
    additions: tuple[Part, ...]
    sets: tuple[Ingredient, ...] = ()

    @property
    def name(self) -> str:
        return f"{self.recipe.name}, {self.label}" if self.label else self.recipe.name

    @property
    def base_total(self) -> Decimal:
        return sum((part.parts for part in self.base), Decimal(0))


def parts(quantity: Quantity, base_total: Decimal) -> Decimal:
    """A quantity in the parts of a base with that total: a percentage is of the base, a mass is in grams."""
    if quantity.unit == "":
        return quantity.amount
    with localcontext() as context:
        context.prec = _EXACT
        if quantity.unit == "%":
            return quantity.amount * base_total / 100
        return grams(quantity.amount, quantity.unit)


def total(ingredients: tuple[Ingredient, ...]) -> Decimal:
    """The sum of base ingredients, in parts or grams."""
    with localcontext() as context:
        context.prec = _EXACT
        return sum((parts(i.quantity, Decimal(0)) for i in ingredients), Decimal(0))


def tests(recipe: Recipe) -> Iterator[Test]:
    """Every test that the recipe stands for, in the order of the page: itself, its variations, its series.
    A variation or step sets the additions it names anew, keeps the others, and takes out what it sets to 0."""
    base_total = recipe.base_total
    base = tuple(Part(i.name, i.material, parts(i.quantity, base_total), i.note) for i in recipe.base)
    plain = tuple(Part(i.name, i.material, parts(i.quantity, base_total), i.note) for i in recipe.additions)
    yield Test(recipe, "", base, plain)
    for variation in recipe.variations:
        set_anew = [
            Part(i.name, i.material, parts(i.quantity, base_total), i.note) for i in variation.additions
        ]
        yield Test(recipe, variation.name, base, _set_anew(plain, set_anew), variation.additions)
    for series in recipe.series:
        for at in range(len(series)):
            set_anew = [
                Part(s.name, s.material, parts(s.quantities[at], base_total), s.note) for s in series.steps
            ]
            sets = tuple(Ingredient(s.name, s.material, s.quantities[at], s.note) for s in series.steps)
            yield Test(recipe, f"{series.name} {at + 1}", base, _set_anew(plain, set_anew), sets)


def sets_said(test: Test) -> str:
    """What a variation or step sets, as it is written: "cobalt carbonate 0.5, rutile 2 %"; a material that is set to
    0 is said to be left out. "" for the recipe itself, and for a variation that sets nothing."""
    return ", ".join(
        f"{one.name} {one.quantity}" if one.quantity.amount else f"no {one.name}" for one in test.sets
    )


def _set_anew(additions: tuple[Part, ...], changes: list[Part]) -> tuple[Part, ...]:
    """All lines of a material are set anew together, and all that set it are weighed."""
    by_name: dict[str, list[Part]] = {}
    for part in changes:
        by_name.setdefault(part.called, []).append(part)
    waiting = dict(by_name)
    out: list[Part] = []
    for part in additions:
        out += waiting.pop(part.called, []) if part.called in by_name else [part]
    return tuple(part for part in chain(out, *waiting.values()) if part.parts)


def batch_g(recipe: Recipe) -> Decimal | None:
    """The recipe's own batch in grams: its field, or the sum of a base in masses; None where it says neither."""
    batch = recipe.fields.get("batch")
    if isinstance(batch, Quantity):
        return grams(batch.amount, batch.unit)
    return recipe.base_total or None if recipe.in_masses else None
