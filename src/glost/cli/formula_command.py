"""glost formula."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any, NamedTuple

import click

from glost.chemistry.expansion import DROPPED, no_such_model
from glost.chemistry.firing import Calculator
from glost.cli import UNUSABLE
from glost.cli.common import show_not_known, show_worker_lost
from glost.cli.entries import Entries, Origins
from glost.cli.errors import show_error
from glost.cli.streams import put_text, say
from glost.cli.tests_option import Chosen
from glost.cli.workers import workers_option
from glost.language.yaml_tree import ConfigError
from glost.output.formula.account import MODELS, Account, Choice, account
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.materials.oxides import IRON_AS
from glost.recipe.recipe import tests
from glost.workspace.load import Usable
from glost.workspace.runs.processes import WorkerLostError


class _Form(NamedTuple):
    """A form of output: what is kept of each test, and the whole of that. No more is kept, for thousands of tests."""

    part: Callable[[Account], Any]
    whole: Callable[[Iterable[Any]], Iterator[str]]


_OUTPUTS = ("text", "json", "csv", "html")


def _form(steps: bool, spread: bool, output: str) -> _Form:
    """Imports no other form than the one that is asked for."""
    if output == "json":
        from glost.output.formula import as_json

        return _Form(as_json.part, as_json.whole)
    if output == "csv":
        from glost.output.formula import table

        return _Form(table.part, table.whole)
    if output == "html":
        from glost.output.formula import page

        return _Form(page.part, page.whole)
    from glost.output.formula import text

    if steps:
        from glost.output.formula import working_text

        return _Form(working_text.part, text.whole)
    if spread:
        from glost.output.formula import spread_text

        return _Form(spread_text.part, text.whole)
    return _Form(text.part, text.whole)


class _Model(click.Choice[str]):
    """The models, with a word for a name that stood among them once."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        if value in DROPPED:
            error = no_such_model(value)
            self.fail(str(error), param, ctx)
        return super().convert(value, param, ctx)


_WORTH_SHARING = 40
"""Recipes from which on more processes pay: one takes several times as long as checking it."""

EXAMPLES = (
    "glost formula corpus/studio/stoneware/harbour-mist.glost --steps",
    "glost formula corpus/studio/stoneware --output html > formulas.html",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("paths", nargs=-1, type=click.Path())
@click.option(
    "--output",
    type=click.Choice(_OUTPUTS),
    default="text",
    show_default=True,
    help="Text for a person, JSON for a program, CSV for a spreadsheet, HTML with bars.",
)
@click.option("--steps", is_flag=True, help="Show the working, to be followed with a pocket calculator.")
@click.option(
    "--on",
    type=click.Choice(["flux", "alumina"]),
    default="flux",
    show_default=True,
    help="What is taken as 1; bodies are written on alumina.",
)
@click.option(
    "--counting-colourants",
    "colourants",
    is_flag=True,
    help="Count colouring oxides such as CoO and CuO among the fluxes.",
)
@click.option(
    "--expansion",
    "model",
    type=_Model(MODELS),
    default=MODELS[0],
    show_default=True,
    help="The factors of the estimate of expansion.",
)
@click.option(
    "--iron",
    type=click.Choice(list(IRON_AS)),
    default="Fe2O3",
    show_default=True,
    help="The oxide that iron is counted as; in a reducing fire it is nearer to FeO.",
)
@click.option(
    "--spread",
    is_flag=True,
    help="Show how far every figure may lie off, and by which analyses of the materials.",
)
@click.option(
    "--test",
    "label",
    metavar="LABEL",
    help="Only this test: a variation, a step of a series, or the recipe itself by its name.",
)
@workers_option
def command(
    paths: Sequence[str],
    output: str,
    steps: bool,
    on: str,
    colourants: bool,
    model: str,
    iron: str,
    spread: bool,
    label: str | None,
    workers: int | None,
) -> int:
    """Show what recipes fire to: files, folders, or - for standard input (default: this folder).

    Every test of a recipe has its own: the recipe as it stands, its variations, each step of a series. A recipe that
    cannot be read whole is not calculated.
    """
    if steps and output != "text":
        raise click.UsageError("--steps is for a person to read; take it away, or  --output " + output)
    if spread and (steps or output != "text"):
        instead = "--steps" if steps else f"--output {output}, which holds every range"
        raise click.UsageError(f"--spread goes with the table for a person; take it away, or  {instead}")
    choice = Choice("alumina" if on == "alumina" else "flux", colourants, model, iron)
    entries = Entries(paths, "not calculated")
    origins = Origins(entries)
    form = _form(steps, spread, output)
    chosen = Chosen(*([] if label is None else [label]))
    work = _Work(choice, form.part, chosen, None if output == "text" else origins)
    try:
        if output != "text":
            origins.look_up()
        # Which tests a label means is counted over all recipes, so that one process looks at them all.
        made = entries.worked(work, workers if label is None else 1, _WORTH_SHARING)
        parts: Iterable[Any] = (part for of_recipe in made for part in of_recipe)
        if label is not None:
            parts = list(parts)
            if not entries.status:
                chosen.check()
        for shown in form.whole(parts):
            say(shown) if output == "text" else put_text(shown)
    except WorkerLostError:
        show_worker_lost()
        return UNUSABLE
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    show_not_known(origins.not_known())
    return entries.status


class _Work:
    """Calculates the tests of a recipe, and keeps of each what the form needs: in the process that reads the recipe."""

    def __init__(
        self, choice: Choice, part: Callable[[Account], Any], chosen: Chosen, origins: Origins | None
    ) -> None:
        self._choice = choice
        self._part = part
        self._chosen = chosen
        self._origins = origins
        self._kilns: dict[int, tuple[Catalogue, Calculator]] = {}

    def __call__(self, entry: Usable) -> list[Any]:
        catalogue, bodies = entry.collection.catalogue, entry.collection.settings.bodies
        if id(catalogue) not in self._kilns:
            self._kilns[id(catalogue)] = catalogue, self._choice.calculator(catalogue)
        _, kiln = self._kilns[id(catalogue)]
        collection, revision = ("", None) if self._origins is None else self._origins.of(entry)
        return [
            self._part(account(entry.file, test, kiln, self._choice, bodies, collection, revision))
            for test in self._chosen.of(tests(entry.recipe))
        ]
