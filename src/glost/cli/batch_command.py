"""glost batch."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal

import click

from glost.cli import FINDINGS, UNUSABLE
from glost.cli.entries import Entries
from glost.cli.errors import sentence, show_error
from glost.cli.jobs import check_balance
from glost.cli.mass import MassType
from glost.cli.streams import put_form
from glost.cli.tests_option import Chosen, points_option
from glost.language.yaml_tree import ConfigError
from glost.linter.reporters import plain
from glost.output.batch import data, text
from glost.output.batch.amount import Asked, BaseMass, SlipMass, SlipVolume, TotalMass, read_slip
from glost.output.batch.plan import WAYS, BenchPlan, bench_plan
from glost.recipe.points import Points
from glost.recipe.recipe import tests
from glost.workspace.load import job_of

_OUTPUTS: Mapping[str, Callable[[list[BenchPlan]], str]] = {
    "text": text.text,
    "json": data.as_json,
    "csv": data.as_csv,
}


class SlipType(click.ParamType[SlipVolume | SlipMass]):
    """A volume or a mass of slip."""

    name = "slip"

    def convert(
        self, value: object, param: click.Parameter | None, context: click.Context | None
    ) -> SlipVolume | SlipMass:
        if isinstance(value, (SlipVolume, SlipMass)):
            return value
        try:
            return read_slip(str(value))
        except ValueError as error:
            self.fail(sentence(error), param, context)


EXAMPLES = (
    'glost batch corpus/studio/stoneware/harbour-mist.glost --batch "250 g"',
    'glost batch corpus/studio/stoneware/harbour-mist.glost --test storm --slip "2 l"',
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("paths", nargs=-1, type=click.Path())
@click.option("--batch", type=MassType(), metavar="MASS", help='The mass of the base, as "100 g".')
@click.option("--total", type=MassType(), metavar="MASS", help="The mass of base and additions together.")
@click.option(
    "--slip", type=SlipType(), metavar="VOLUME-OR-MASS", help='The finished slip, as "2 l" or "3 kg".'
)
@click.option("--balance", metavar="NAME", help="Weigh everything on this balance of glost.yaml.")
@click.option("--way", type=click.Choice(list(WAYS)), help="How to weigh; otherwise the surest of the three.")
@click.option(
    "--test", "label", metavar="LABEL", help="Only this test: a variation, a step, or the recipe by its name."
)
@points_option
@click.option(
    "--output",
    type=click.Choice(list(_OUTPUTS)),
    default="text",
    show_default=True,
    help="Text for the bench, JSON for a program, CSV for a spreadsheet.",
)
def command(
    paths: Sequence[str],
    batch: Decimal | None,
    total: Decimal | None,
    slip: SlipVolume | SlipMass | None,
    balance: str | None,
    way: str | None,
    label: str | None,
    points: Points | None,
    output: str,
) -> int:
    """Plan how to weigh a batch: files, folders, or - for standard input (default: this folder).

    Which balance for which line, what its display has to show, how far rounding puts a line off, how sure it is, and
    what helps where a line is too small to weigh. A line out of tolerance is said, and is no failure: the exit status
    is 1 only where a recipe could not be planned.
    """
    given: list[Asked] = [] if slip is None else [slip]
    given += [] if batch is None else [BaseMass(batch)]
    given += [] if total is None else [TotalMass(total)]
    if len(given) > 1:
        raise click.UsageError("--batch, --total and --slip each say how much to weigh: keep one of them.")
    asked = given[0] if given else None
    entries = Entries(paths, "not planned")
    chosen = Chosen(*([] if label is None else [label]), points=points)
    plans: list[BenchPlan] = []
    status = 0
    try:
        for entry in entries:
            job = job_of(entry, batch)
            for test in chosen.of(tests(entry.recipe)):
                if balance is not None:
                    check_balance(entry, balance)
                try:
                    plans.append(bench_plan(job, test, asked, WAYS[way] if way else None, balance))
                except ValueError as error:
                    show_error(error, f"{plain.visible(entry.file)}: not planned")
                    status = FINDINGS
                    break
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    if not entries.status:
        chosen.check()
    shown = _OUTPUTS[output](plans)
    put_form(output, shown)
    return max(status, entries.status)
