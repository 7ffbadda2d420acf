"""glost cost."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from decimal import Decimal

import click

from glost.cli import FINDINGS, UNUSABLE
from glost.cli.days import DateType
from glost.cli.entries import Entries
from glost.cli.errors import show_error
from glost.cli.logs import PriceBook
from glost.cli.mass import MassType
from glost.cli.streams import put_form
from glost.cli.tests_option import Chosen
from glost.language.yaml_tree import ConfigError
from glost.linter.reporters import plain
from glost.output.cost import data
from glost.output.cost.account import TestCost, cost_of_test
from glost.output.cost.content import content
from glost.output.model.markdown import as_markdown
from glost.output.model.text import as_text
from glost.recipe.recipe import tests
from glost.workspace.load import job_of

_OUTPUTS: Mapping[str, Callable[[list[TestCost]], str]] = {
    "text": lambda costs: as_text(content(costs)),
    "markdown": lambda costs: as_markdown(content(costs)),
    "csv": data.as_csv,
    "json": data.as_json,
}


EXAMPLES = (
    'glost cost corpus/studio/stoneware/harbour-mist.glost --batch "500 g"',
    "glost cost corpus/studio/stoneware --output csv > costs.csv",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("paths", nargs=-1, type=click.Path())
@click.option(
    "--batch",
    type=MassType(),
    metavar="MASS",
    help='The mass of the base, as "100 g"; else the recipe\'s own batch.',
)
@click.option(
    "--test",
    "labels",
    multiple=True,
    metavar="LABEL",
    help="Only tests of this label: a variation, a step, or a recipe by its name. May be given several times.",
)
@click.option(
    "--on", "day", type=DateType(), metavar="DATE", help="At the prices of this day; else the last."
)
@click.option(
    "--output",
    type=click.Choice(list(_OUTPUTS)),
    default="text",
    show_default=True,
    help="Text for a person, CSV for a spreadsheet, JSON for a program.",
)
def command(
    paths: Sequence[str], batch: Decimal | None, labels: tuple[str, ...], day: date | None, output: str
) -> int:
    """Say what the dry materials of recipes cost: files, folders, or - for standard input (default: this folder).

    Every test of a recipe line by line, together, and for 100 g of the dry mix. Prices are those of materials.yaml,
    else of the deliveries in the log. What has no price is named, and the total is then said to be incomplete; nothing
    is converted from one currency to another.
    """
    entries = Entries(paths, "not counted up")
    chosen = Chosen(*labels)
    book = PriceBook(entries.collections)
    costs: list[TestCost] = []
    status = 0
    try:
        for entry in entries:
            job, prices = job_of(entry, batch), book.of(entry.collection)
            for test in chosen.of(tests(entry.recipe)):
                try:
                    costs.append(cost_of_test(job, test, prices, day, batch))
                except ValueError as error:
                    show_error(error, f"{plain.visible(entry.file)}: not counted up")
                    status = FINDINGS
                    break
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    if not entries.status:
        chosen.check()
    if not costs and output in ("text", "markdown"):
        return max(status, entries.status)
    shown = _OUTPUTS[output](costs)
    put_form(output, shown)
    return max(status, entries.status)
