"""glost stock."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from decimal import Decimal

import click

from glost.cli import CLEAN, FINDINGS, UNUSABLE
from glost.cli.days import DateType
from glost.cli.errors import sentence, show_error
from glost.cli.logs import log_of
from glost.cli.streams import note, put_form
from glost.language.yaml_tree import ConfigError
from glost.output.model.markdown import as_markdown
from glost.output.model.text import as_text
from glost.output.stock import data
from glost.output.stock.content import content
from glost.output.stock.report import Report, report
from glost.recipe.yaml_values import plain_number
from glost.records.prices import Prices
from glost.records.stock import MONTHS, stock
from glost.workspace.collection import Collections

_OUTPUTS: Mapping[str, Callable[[Report], str]] = {
    "text": lambda made: as_text(content(made)),
    "markdown": lambda made: as_markdown(content(made)),
    "csv": data.as_csv,
    "json": data.as_json,
}
_MOST_MONTHS = 120


class MonthsType(click.ParamType[Decimal]):
    """A number of months."""

    name = "months"

    def convert(self, value: object, param: click.Parameter | None, context: click.Context | None) -> Decimal:
        try:
            found = value if isinstance(value, Decimal) else plain_number(str(value))
        except ValueError as error:
            self.fail(sentence(error), param, context)
        if found > _MOST_MONTHS:
            self.fail(f"write at most {_MOST_MONTHS} months", param, context)
        return found


EXAMPLES = (
    "glost stock corpus/studio",
    "glost stock corpus/studio --on 2026-03-31 --output csv",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("paths", nargs=-1, type=click.Path())
@click.option(
    "--on", "day", type=DateType(), metavar="DATE", help="At the end of which day; else the log's last."
)
@click.option(
    "--months",
    type=MonthsType(),
    default=str(MONTHS),
    show_default=True,
    help="How long an order is to last.",
)
@click.option(
    "--output",
    type=click.Choice(list(_OUTPUTS)),
    default="text",
    show_default=True,
    help="Text for a person, CSV for a spreadsheet, JSON for a program.",
)
def command(paths: Sequence[str], day: date | None, months: Decimal, output: str) -> int:
    """Say what is on hand, what a month uses, when it runs out and what to order, from the log: its folder or a
    collection (default: the log of this collection).

    On hand is the last count, with what came since and without what was weighed since. What was never counted has no
    figure. The exit status is 1 where the log cannot be right: counts of a day that do not agree, or more weighed
    than there was.
    """
    try:
        log = log_of(paths, Collections())
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    if log is None:
        note("glost: no figures, since they would lack what cannot be read\n")
        return UNUSABLE
    found = stock(log.batches, log.entries, log.catalogue, day, months)
    if found is None:
        note("glost: the log is empty; 'glost count' puts a count into it, 'glost record' a batch\n")
        return CLEAN
    made = report(found, Prices(log.catalogue, log.entries))
    shown = _OUTPUTS[output](made)
    put_form(output, shown)
    return FINDINGS if made.wrong else CLEAN
