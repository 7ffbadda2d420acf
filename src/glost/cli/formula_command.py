"""glost formula."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import click

from glost.chemistry.expansion import DROPPED, no_such_model
from glost.chemistry.firing import Calculator
from glost.cli import UNUSABLE
from glost.cli.common import show_not_known
from glost.cli.entries import Entries, Origins
from glost.cli.errors import show_error
from glost.cli.streams import put_text, say
from glost.cli.tests_option import Chosen
from glost.language.yaml_tree import ConfigError
from glost.output.formula.account import MODELS, Account, Choice, account
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.materials.oxides import IRON_AS
from glost.recipe.recipe import tests


class _Form(NamedTuple):
    """A form of output: what is kept of each test, and the whole of that. No more is kept, for thousands of tests."""

    part: Callable[[Account], Any]
    whole: Callable[[list[Any]], str]


_OUTPUTS = {"text": "text", "json": "as_json", "csv": "table", "html": "page"}
"""The module of each in output/formula; it is imported where it is asked for, since a form needs nothing of another."""


def _form(steps: bool, spread: bool, output: str) -> _Form:
    part = "working_text" if steps else "spread_text" if spread else _OUTPUTS[output]
    whole = "text" if steps or spread else part
    one, all_ = (importlib.import_module(f"glost.output.formula.{name}") for name in (part, whole))
    return _Form(one.part, all_.whole)


class _Model(click.Choice[str]):
    """The models, with a word for a name that stood among them once."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        if value in DROPPED:
            error = no_such_model(value)
            self.fail(str(error), param, ctx)
        return super().convert(value, param, ctx)


EXAMPLES = (
    "glost formula corpus/studio/stoneware/harbour-mist.glost --steps",
    "glost formula corpus/studio/stoneware --output html > formulas.html",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("paths", nargs=-1, type=click.Path())
@click.option(
    "--output",
    type=click.Choice(list(_OUTPUTS)),
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
    kilns: dict[int, tuple[Catalogue, Calculator]] = {}
    form = _form(steps, spread, output)
    found: list[Any] = []
    chosen = Chosen(*([] if label is None else [label]))
    try:
        for entry in entries:
            catalogue = entry.collection.catalogue
            _, kiln = kilns.setdefault(id(catalogue), (catalogue, choice.calculator(catalogue)))
            all_tests = tests(entry.recipe)
            bodies = entry.collection.settings.bodies
            collection, revision = ("", None) if output == "text" else origins.of(entry)
            found += [
                form.part(
                    replace(
                        account(entry.file, test, kiln, choice, bodies),
                        collection=collection,
                        revision=revision,
                    )
                )
                for test in chosen.of(all_tests)
            ]
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    show_not_known(origins.not_known())
    if not entries.status:
        chosen.check()
    shown = form.whole(found)
    if output == "text":
        say(shown)
    else:
        put_text(shown)
    return entries.status
