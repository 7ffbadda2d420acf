"""glost materials."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import click

from glost.chemistry.firing import Calculator
from glost.cli import CLEAN, UNUSABLE
from glost.cli.common import files, note_partly_read
from glost.cli.errors import show_error
from glost.cli.streams import note, put_text, say
from glost.language.capital import with_capital
from glost.language.source import DecodeError
from glost.language.yaml_tree import ConfigError
from glost.linter.reporters import plain
from glost.output.materials import as_json, text
from glost.output.materials.page import Page, page, relatives, uses
from glost.output.materials.search import in_order, search
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.materials.meant import Meaning, question
from glost.recipe.recipe import Recipe
from glost.workspace.collection import Collections
from glost.workspace.load import load
from glost.workspace.paths import display


def _beginning(_: click.Context, __: click.Parameter, incomplete: str) -> list[str]:
    return sorted(one.name for one in shipped_catalogue() if one.name.startswith(incomplete))


EXAMPLES = (
    "glost materials cobalt",
    'glost materials "nepheline syenite"',
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("name", nargs=-1, shell_complete=_beginning)
@click.option(
    "--output",
    type=click.Choice(["text", "json"]),
    default="text",
    show_default=True,
    help="Text for a person, JSON for a program.",
)
@click.option(
    "--in",
    "folder",
    type=click.Path(),
    default=".",
    metavar="PATH",
    help="The collection whose materials and recipes are looked at.  [default: this folder]",
)
@click.option("--all", "every_use", is_flag=True, help="Name all recipes that use it, not the first 20.")
def command(name: Sequence[str], output: str, folder: str, every_use: bool) -> int:
    """Search the materials: a name, another name for it, part of one, or a role such as flux. Without, list them all.

    One material is shown whole: its composition, its hazard statements and their sources, its nearest relatives, and
    the recipes that use it. What stands here does not take the place of the supplier's safety data sheet.
    """
    collections = Collections()
    words = " ".join(name)
    try:
        paths = files([folder], collections)
        inner = Path(folder) / "x" if Path(folder).is_dir() else Path(folder)
        catalogue = collections.of(inner).catalogue
        kiln = Calculator(catalogue)
        found = search(words, catalogue) if words else None
        if found is None or found.several:
            materials = in_order(catalogue) if found is None else found.several
            shipped = shipped_catalogue()
            _print([page(material, kiln, shipped) for material in materials], output)
            return CLEAN
        if found.one is None:
            raise click.UsageError(_no_such_material(words, found.meaning))
        whole = page(found.one, kiln, shipped_catalogue())
        looked_for = replace(
            whole,
            relatives=relatives(found.one, catalogue, kiln),
            uses=uses(found.one, _recipes(paths, collections)),
        )
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    _print([looked_for], output, every_use)
    if found.role:
        note(f"'{found.role}' is a role as well; 'glost materials' lists the materials of every role.\n")
    return CLEAN


def _print(pages: Sequence[Page], output: str, every_use: bool = False) -> None:
    if output == "json":
        put_text(as_json.as_json(pages))
    else:
        say(text.page_text(pages[0], every_use) if pages[0].uses is not None else text.listing(pages))


def _recipes(paths: Sequence[Path], collections: Collections) -> Iterator[tuple[str, Recipe]]:
    """The recipes that can be read; how many cannot is said, since their lines are not looked at."""
    left_out = 0
    for path in paths:
        try:
            entry = load(path, collections)
        except DecodeError:
            left_out += 1
            continue
        left_out += not entry.resolved.complete
        yield display(path), entry.resolved.recipe
    if left_out:
        note_partly_read(left_out, "may use it where that is not seen; lint them")


def _no_such_material(words: str, meaning: Meaning) -> str:
    asked = with_capital(question(meaning, quoted=True))
    told = (f"there is no material '{words}'.", asked, "'glost materials' lists them all.")
    return plain.visible(" ".join(filter(None, told)))
