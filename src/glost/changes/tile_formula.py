"""What was in a fired tile as a unity formula, and where two of them differ by more than can be seen.

The materials are the same on both sides, so that what their analyses leave open does not part them; what does is how
finely their amounts were weighed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Final, NamedTuple

from glost.changes.rounding import SHARE
from glost.chemistry.firing import Calculator
from glost.chemistry.unity import place
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.recipe import Ingredient, Recipe, tests

LEAST: Final = Decimal("0.001")
"""The last decimal that is shown of a formula, in mol."""


@dataclass(frozen=True, slots=True)
class Made:
    """What was in a tile, in raw materials. ``halves``: how far an amount may lie off, in its own unit, by the name
    that the recipe writes: half a division of what it was weighed on; none where a page says it exactly."""

    recipe: Recipe
    catalogue: Catalogue
    halves: Mapping[str, Decimal] = field(default_factory=dict)


class TermMoved(NamedTuple):
    """An oxide, in mol where the fluxes are 1; 0 on the side that has it not."""

    oxide: str
    old: Decimal
    new: Decimal


class Formulas:
    """Makes formulas; the calculator of a catalogue, and a formula that several ask for, are made once."""

    def __init__(self) -> None:
        self._kilns: dict[int, tuple[Catalogue, Calculator]] = {}
        self._known: dict[int, tuple[Made, Mapping[str, Decimal] | None]] = {}

    def moved(self, old: Made | None, new: Made | None) -> tuple[TermMoved, ...] | None:
        """The oxides that moved by more than can be seen, and by more than weighing leaves open; None where one of the
        two has no formula."""
        was, now = (self._formula(one) for one in (old, new))
        if old is None or new is None or was is None or now is None:
            return None
        nothing = Decimal(0)
        terms = [
            TermMoved(oxide, was.get(oxide, nothing), now.get(oxide, nothing))
            for oxide in sorted({*was, *now}, key=place)
        ]
        seen = [one for one in terms if _is_seen(one)]
        if not seen:
            return ()
        open_ = [self._left_open(one) for one in (old, new)]
        return tuple(
            one
            for one in seen
            if abs(one.new - one.old) > sum((side.get(one.oxide, nothing) for side in open_), nothing)
        )

    def _formula(self, made: Made | None) -> Mapping[str, Decimal] | None:
        if made is None:
            return None
        if id(made) not in self._known:
            self._known[id(made)] = made, self._fired(made.recipe, made.catalogue)
        return self._known[id(made)][1]

    def _fired(self, recipe: Recipe, catalogue: Catalogue) -> Mapping[str, Decimal] | None:
        kiln = self._kilns.setdefault(id(catalogue), (catalogue, Calculator(catalogue)))[1]
        fired = kiln.fire(next(tests(recipe)))
        return None if fired.partial or fired.unity is None else fired.unity.as_mapping()

    def _left_open(self, made: Made) -> dict[str, Decimal]:
        """How far each term may lie off by what the balances do not show."""
        formula = self._formula(made)
        assert formula is not None
        total: dict[str, Decimal] = {}
        for name, half in made.halves.items():
            other = self._fired(_with_more(made.recipe, name, half), made.catalogue) or {}
            for oxide in {*formula, *other}:
                moved = abs(other.get(oxide, Decimal(0)) - formula.get(oxide, Decimal(0)))
                total[oxide] = total.get(oxide, Decimal(0)) + moved
        return total


def _is_seen(one: TermMoved) -> bool:
    moved = abs(one.new - one.old)
    return moved >= LEAST and moved > Decimal(SHARE.numerator) / SHARE.denominator * max(one.old, one.new)


def _with_more(recipe: Recipe, name: str, more: Decimal) -> Recipe:
    def lines(those: tuple[Ingredient, ...]) -> tuple[Ingredient, ...]:
        return tuple(
            one._replace(quantity=one.quantity._replace(amount=one.quantity.amount + more))
            if one.name == name
            else one
            for one in those
        )

    return replace(recipe, base=lines(recipe.base), additions=lines(recipe.additions))
