"""glost rescue."""

from __future__ import annotations

from decimal import Decimal

import click

from glost.cli import CLEAN, UNUSABLE
from glost.cli.entries import Entries
from glost.cli.errors import sentence, show_error, usage_error
from glost.cli.jobs import check_balance
from glost.cli.mass import MassType
from glost.cli.streams import put_text, say
from glost.cli.tests_option import the_test
from glost.language.yaml_tree import ConfigError
from glost.output.batch.amount import Asked, BaseMass
from glost.output.rescue import forms
from glost.output.rescue.rescue import InCup, bench_rescue, read_weighed
from glost.workspace.load import job_of


class WeighedType(click.ParamType[list[InCup]]):
    """What is in the cup: names and masses."""

    name = "weighed"

    def convert(
        self, value: object, param: click.Parameter | None, context: click.Context | None
    ) -> list[InCup]:
        if isinstance(value, list):
            return value
        try:
            return read_weighed(str(value))
        except ValueError as error:
            self.fail(sentence(error), param, context)


EXAMPLES = (
    'glost rescue corpus/studio/stoneware/harbour-mist.glost --weighed "nepheline syenite=76, silica=50"',
    'glost rescue corpus/studio/stoneware/harbour-mist.glost --weighed "kaolin=36.5" --output json',
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("recipe", type=click.Path())
@click.option("--batch", type=MassType(), metavar="MASS", help='The mass of the base, as "100 g".')
@click.option(
    "--weighed",
    type=WeighedType(),
    required=True,
    metavar="MATERIAL=GRAMS,...",
    help='All that is in the cup, as "silica=24.6, kaolin=16".',
)
@click.option("--test", "label", metavar="LABEL", help="Which test: a variation, or a step of a series.")
@click.option("--balance", metavar="NAME", help="Weigh everything on this balance of glost.yaml.")
@click.option(
    "--output",
    type=click.Choice(["text", "json"]),
    default="text",
    show_default=True,
    help="Text for the bench, or JSON for a program.",
)
def command(
    recipe: str,
    batch: Decimal | None,
    weighed: list[InCup],
    label: str | None,
    balance: str | None,
    output: str,
) -> int:
    """Say what to do when too much of a material went in: leave it, or go on as a larger batch, with what to add.

    RECIPE is one file, or - for standard input. Nothing is ever taken out of the cup again.
    """
    entries = Entries([recipe], "no rescue")
    try:
        entry = entries.one()
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    if entry is None:
        return entries.status
    meant = the_test(entry, label)
    if balance is not None:
        check_balance(entry, balance)
    asked: Asked = None if batch is None else BaseMass(batch)
    try:
        rescued = bench_rescue(job_of(entry, batch), meant, asked, weighed, balance)
    except ValueError as error:
        raise usage_error(error) from None
    if output == "json":
        put_text(forms.as_json(rescued))
    else:
        say(forms.as_text(rescued))
    return CLEAN
