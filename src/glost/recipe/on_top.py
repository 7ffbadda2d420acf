"""A material that stands in the base and comes on top of it once more: said wherever it is weighed, since a hand that
ticks off names would pass over one of the two."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction

from glost.recipe.recipe import Part, Test, part_of
from glost.weighing.rounding import exact_sum, plain


def on_top(part: Part, test: Test) -> str:
    """What is said beside an addition of a test; "" where its material is not in the base. The sum is of all lines of
    that material."""
    in_base = [one for one in test.base if one.called == part.called]
    if not any(one.parts for one in in_base):
        return ""
    added = [one for one in test.additions if one.called == part.called]
    return words(_total(in_base), _total(added), test.recipe.in_masses)


def _total(parts: Iterable[Part]) -> Decimal:
    return part_of("", None, sum((part.exact for part in parts), Fraction(0))).shown


def words(in_base: Decimal, added: Decimal, in_masses: bool) -> str:
    """How much a material makes in all, in the parts of the base or in grams."""
    unit = " g" if in_masses else ""
    whole = plain(exact_sum((in_base, added)))
    return f"on top of the {plain(in_base):f}{unit} in the base, {whole:f}{unit} in all"
