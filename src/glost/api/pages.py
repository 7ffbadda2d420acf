"""How a notebook shows a recipe, a test, a plan and a formula: plain markup, every text escaped."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from glost.output.batch.plan import BenchPlan
from glost.output.model import Column, Heading, Node, Paragraph, Row, Table, Terms
from glost.output.model.html import as_html
from glost.recipe.fields import text_of
from glost.recipe.recipe import Part, Recipe, Test, tests

CAUTION = "Local codes, the supplier's safety data sheet and licensed practice come first."


def recipe_page(recipe: Recipe) -> str:
    """A recipe: its fields, the amounts of the recipe as it stands, and what its other tests are called."""
    first, *others = tests(recipe)
    return _page(
        [Heading(f"{recipe.kind} {recipe.name}", 3), *_about(recipe), *_amounts(first), *_others(others)]
    )


def test_page(test: Test) -> str:
    """The amounts of one test."""
    return _page([Heading(test.name, 3), *_amounts(test)])


def plan_page(made: BenchPlan) -> str:
    """What to weigh, with the cautions of the sheet above it."""
    rows = [
        Row((line.part.name, f"{line.way.target_g:f}", line.way.balance.name if line.way.balance else ""))
        for line in made.lines
    ]
    columns = (Column("material"), Column("grams", figures=True), Column("balance"))
    attention = [Paragraph(one.text, "attention") for one in made.attention]
    cautions = [Paragraph(caution.text, "attention") for caution in made.sheet.cautions]
    heading = Heading(f"{made.test.name}: {made.amount.base_g:f} g of base", 3)
    return _page([heading, *attention, Table(columns, rows), *cautions, Paragraph(CAUTION)])


def formula_page(
    name: str,
    unity: Mapping[str, float] | None,
    weight: Mapping[str, float],
    mol: Mapping[str, float],
    remarks: Sequence[str],
) -> str:
    """The oxides of what a test fires to."""
    columns = (Column("oxide"), *(Column(head, figures=True) for head in ("unity", "% by mass", "mol %")))
    rows = [
        Row(
            (
                oxide,
                f"{unity[oxide]:.3f}" if unity and oxide in unity else "",
                f"{weight[oxide]:.2f}",
                f"{mol[oxide]:.2f}",
            )
        )
        for oxide in weight
    ]
    return _page([Heading(name, 3), Table(columns, rows), *(Paragraph(one, "aside") for one in remarks)])


def _about(recipe: Recipe) -> Iterator[Node]:
    if recipe.fields:
        yield Terms([(key, text_of(value)) for key, value in recipe.fields.items()])


def _amounts(test: Test) -> Iterator[Node]:
    columns = (Column("material"), Column("parts", figures=True))
    if test.base:
        yield Table(columns, [_row(part) for part in test.base])
    if test.additions:
        yield Paragraph("additions, on top of the base")
        yield Table(columns, [_row(part) for part in test.additions])


def _row(part: Part) -> Row:
    return Row((part.name, f"{part.parts.normalize():f}"), part.note)


def _others(others: Sequence[Test]) -> Iterator[Node]:
    if others:
        yield Paragraph(", ".join(one.label for one in others), lead="Other tests:")


def _page(nodes: Sequence[Node]) -> str:
    return "\n".join(as_html(nodes))
