"""glost session."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

import click

from glost.cli import UNUSABLE
from glost.cli.common import show_not_known
from glost.cli.entries import Entries
from glost.cli.errors import sentence, show_error, usage_error
from glost.cli.logs import log_of
from glost.cli.mass import MassType
from glost.cli.streams import note, put_form
from glost.cli.tests_option import Chosen, points_option
from glost.language.yaml_tree import ConfigError
from glost.linter.reporters import plain
from glost.output.format import Job
from glost.output.model.markdown import as_markdown
from glost.output.model.text import as_text
from glost.output.session import data
from glost.output.session.content import content
from glost.output.session.page import page
from glost.output.session.session import BenchSession, bench_session
from glost.recipe.points import Points
from glost.recipe.recipe import Test, tests
from glost.recipe.yaml_values import percent
from glost.records.stock import stock
from glost.workspace.collection import Collections
from glost.workspace.git.asked_revisions import Revisions
from glost.workspace.load import Usable, job_of
from glost.workspace.logbook import FOLDER

_OUTPUTS: Mapping[str, Callable[[BenchSession], str]] = {
    "text": lambda made: as_text(content(made)),
    "markdown": lambda made: as_markdown(content(made)),
    "csv": data.as_csv,
    "json": data.as_json,
    "html": page,
}


class PercentType(click.ParamType[Decimal]):
    """Per cent with their sign, as a fraction."""

    name = "percent"

    def convert(self, value: object, param: click.Parameter | None, context: click.Context | None) -> Decimal:
        if isinstance(value, Decimal):
            return value
        try:
            found = percent(str(value))
        except ValueError as error:
            self.fail(sentence(error), param, context)
        if found > 100:
            self.fail("write at most 100 %", param, context)
        return found / 100


def _on_hand(found: Sequence[Usable]) -> Mapping[str, Decimal] | None:
    """What the collection's log says is on hand; None where it counts nothing, or cannot be read, which is said."""
    root = found[0].collection.root if found else None
    if root is None or not (root / FOLDER).is_dir():
        return None
    try:
        log = log_of([str(root / FOLDER)], Collections())
    except ConfigError as error:
        show_error(error)
        log = None
    if log is None:
        note("glost: what is short is not known, since the log cannot be read\n")
        return None
    if all(entry.kind != "count" for entry in log.entries):
        return None
    held = stock(log.batches, log.entries, log.catalogue)
    return (
        {}
        if held is None
        else {one.material: one.on_hand_g for one in held.held if one.on_hand_g is not None}
    )


EXAMPLES = (
    "glost session corpus/studio/stoneware/harbour-mist.glost",
    "glost session corpus/studio/raku --output html > session.html",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("paths", nargs=-1, type=click.Path())
@click.option(
    "--batch", type=MassType(), metavar="MASS", help='The mass of the base in every cup, as "100 g".'
)
@click.option(
    "--margin", type=PercentType(), default="5%", show_default=True, help="What to fetch beyond the sum."
)
@click.option(
    "--test",
    "labels",
    multiple=True,
    metavar="LABEL",
    help="Only tests of this label: a variation, a step, or a recipe by its name. May be given several times.",
)
@points_option
@click.option(
    "--output",
    type=click.Choice(list(_OUTPUTS)),
    default="text",
    show_default=True,
    help="Text or a page for the bench, CSV or JSON for a program.",
)
def command(
    paths: Sequence[str],
    batch: Decimal | None,
    margin: Decimal,
    labels: tuple[str, ...],
    points: Points | None,
    output: str,
) -> int:
    """Plan many tests at one go: files, folders, or - for standard input (default: this folder).

    What to fetch and to set out, the order by jar (each opened once, what colours strongly or is toxic last) and by
    cup, the bases to mix once, the water, and the care that all of it asks for. Every test of a recipe has its cup. No
    plan is made while a recipe cannot be read, since a list that lacks something is worse than none.
    """
    entries = Entries(paths, "not planned")
    chosen = Chosen(*labels, points=points)
    work: list[tuple[Job, Test]] = []
    try:
        found = list(entries)
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    if entries.status:
        note("glost: no plan, since it would lack what cannot be read\n")
        return entries.status
    # The page hands over records, which say the revision of what was weighed.
    revisions = Revisions(entries.found, entries.collections.root_of) if output == "html" else None
    for entry in found:
        if entry.collection.root != found[0].collection.root:
            raise click.UsageError(
                f"{plain.visible(found[0].file)} and {plain.visible(entry.file)} belong to two collections, each with"
                " its own balances and materials: plan them one by one."
            )
        job = job_of(entry, batch)
        if revisions is not None:
            job = replace(job, revision=revisions.of(entry.path), used=revisions.used(entry.recipe))
        work += [(job, test) for test in chosen.of(tests(entry.recipe))]
    chosen.check()
    try:
        made = bench_session(work, batch, margin, _on_hand(found))
    except ValueError as error:
        raise usage_error(error) from None
    if revisions is not None:
        show_not_known(revisions.not_known())
    shown = _OUTPUTS[output](made)
    put_form(output, shown)
    return entries.status
