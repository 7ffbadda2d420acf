"""What tests cost, as a report."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Final

from glost.output.batch.figures import to_places
from glost.output.cost.account import CostLine, TestCost
from glost.output.model import Column, Heading, Node, Paragraph, Row, Table
from glost.recipe.money import told_sums
from glost.recipe.water import ASSUMED_GRAVITY


def content(costs: Sequence[TestCost]) -> Iterator[Node]:
    """The whole report."""
    yield Heading("What the dry materials cost", 1)
    for one in costs:
        yield Heading(f"{one.name}: {one.base_g:f} g of base, {_grams(one.total_g)} g in all")
        yield Table(
            [
                Column("material"),
                Column("grams", True),
                Column("a kg"),
                Column("costs", strong=True),
                Column("price from"),
            ],
            [Row(_cells(line)) for line in one.lines],
        )
        together = told_sums(one.cost)
        if together:
            yield Paragraph(
                f"{together}; 100 g of the dry mix {told_sums(one.cost_of_100_g)}",
                lead="Together" if one.complete else "Incomplete: together without what has no price",
            )
        yield from _litre(one)
        if not one.complete:
            missing = sum((line.grams for line in one.lines if line.price is None), Fraction(0))
            yield Paragraph(
                f"No price is on record for {', '.join(one.unpriced)}: {_grams(missing)} g of"
                f" {_grams(one.total_g)} g. "
                + ("What it costs is not known." if not together else "It costs more than this.")
            )


_LITRE: Final = "A litre mixed with water"


def _litre(one: TestCost) -> Iterator[Node]:
    if one.litre is None:
        yield Paragraph(f"{one.no_litre}.", lead="No figure for a litre")
        return
    together = told_sums(one.cost_of_litre)
    if not together:
        return
    by = "as the recipe says" if one.litre.measured else "worked out from its water"
    said = f"{together}; {to_places(Fraction(one.litre.dry_g), 0):f} g dry, gravity {one.litre.gravity:.2f}, {by}"
    if one.litre.assumed:
        said += (
            f". No density is on record for {', '.join(one.litre.assumed)}: {ASSUMED_GRAVITY} is assumed (common"
            " practice)"
        )
    yield Paragraph(
        said,
        lead=_LITRE
        if one.complete
        else f"Incomplete: {_LITRE[0].lower()}{_LITRE[1:]}, without what has no price",
    )


def _cells(line: CostLine) -> tuple[str, ...]:
    return (
        line.material,
        _grams(line.grams),
        line.price.per_kg.told if line.price else "",
        line.cost.told if line.cost else "no price",
        line.price.source if line.price else "",
    )


def _grams(mass: Fraction) -> str:
    """Hundredths are enough to read; what is worked out of a mass takes all of it."""
    return f"{to_places(mass, 2):f}"
