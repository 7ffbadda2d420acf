"""What a change looks like: each test that is made of something else or fires to something else, on both sides."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from glost.chemistry.firing import Calculator
from glost.chemistry.unity import Unity
from glost.output.formula.account import Choice, account
from glost.output.parts_bar import Slice, slices_of
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.recipe import Recipe, Test, tests


class Kiln(NamedTuple):
    """What a side is read with: its catalogue, and what calculates with it."""

    catalogue: Catalogue
    calculator: Calculator


class Made(NamedTuple):
    """A test on one side: what it is made of, and its unity formula, None where something in it is not known or
    nothing in it is a flux."""

    slices: tuple[Slice, ...]
    unity: Unity | None


class Picture(NamedTuple):
    """A test, "" for the recipe as it stands; None on a side where it is not."""

    label: str
    old: Made | None
    new: Made | None


def pictures(old: tuple[Recipe, Kiln] | None, new: tuple[Recipe, Kiln] | None) -> Iterator[Picture]:
    """The tests that are not the same on both sides, in the order of the new one; those that are gone stand last."""
    before, after = ({test.label: test for test in tests(side[0])} if side else {} for side in (old, new))
    for label in [*after, *(gone for gone in before if gone not in after)]:
        made = [
            _made(found[label], side[1]) if side and label in found else None
            for found, side in ((before, old), (after, new))
        ]
        if _shape(made[0]) != _shape(made[1]):
            yield Picture(label, *made)


def _made(test: Test, kiln: Kiln) -> Made:
    unity = account("", test, kiln.calculator, Choice()).fired.unity
    return Made(slices_of(test.base, test.additions, kiln.catalogue), unity)


def _shape(made: Made | None) -> object:
    """What is seen of it: a recipe that is only written at another scale looks the same."""
    if made is None:
        return None
    base = sum((one.parts for one in made.slices if one.base), Fraction(0)) or Fraction(1)
    terms = made.unity.terms if made.unity else ()
    return (
        [(one.name, one.base, one.parts / base) for one in made.slices],
        [(term.oxide, round(term.equivalents, 6)) for term in terms],
    )
