"""What tests cost, as a report."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from glost.output.batch.figures import to_places
from glost.output.cost.account import CostLine, TestCost
from glost.output.model import Column, Heading, Node, Paragraph, Row, Table
from glost.recipe.money import told_sums


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
        if not one.complete:
            missing = sum((line.grams for line in one.lines if line.price is None), Fraction(0))
            yield Paragraph(
                f"No price is on record for {', '.join(one.unpriced)}: {_grams(missing)} g of"
                f" {_grams(one.total_g)} g. "
                + ("What it costs is not known." if not together else "It costs more than this.")
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
