"""glost match."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

import click

from glost.chemistry.firing import Calculator
from glost.chemistry.stock import Stock, usual_stock
from glost.chemistry.substitution import Matched, MatchError, match
from glost.cli import FINDINGS, UNUSABLE
from glost.cli.common import note_partly_read
from glost.cli.entries import Entries
from glost.cli.errors import show_error
from glost.cli.streams import note, put_text, say
from glost.cli.tests_option import the_test
from glost.language.capital import with_capital
from glost.language.yaml_tree import ConfigError
from glost.linter.reporters import plain
from glost.output.match.as_json import as_json
from glost.output.match.recipe_text import names_unknown_to, recipe_text
from glost.output.match.text import text
from glost.recipe.materials.catalogue import Catalogue
from glost.workspace.collection import Collections
from glost.workspace.config import config_source
from glost.workspace.load import Usable
from glost.workspace.outputs import write_new
from glost.workspace.paths import ENDING, display
from glost.workspace.used import used_by

EXAMPLES = (
    'glost match corpus/studio/stoneware/clear-ebb.glost --using-materials "whiting, kaolin, silica"',
    "glost match corpus/studio/stoneware/clear-ebb.glost --output json",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("target", type=click.Path())
@click.option(
    "--using",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="A materials.yaml: what it lists is at hand, with the analyses it gives.",
)
@click.option(
    "--using-materials", "listed", metavar="NAMES", help='What is at hand, with commas: "silica, kaolin".'
)
@click.option(
    "--without", multiple=True, metavar="NAME", help="What is not at hand; may be given several times."
)
@click.option(
    "--whole-catalogue", "whole", is_flag=True, help="At hand is also what the collection uses nowhere."
)
@click.option(
    "--alkalis",
    is_flag=True,
    help="Soda and potash may stand in for each other.",
)
@click.option("--keep", multiple=True, metavar="NAME", help="A material of the base that stays as it is.")
@click.option(
    "--test", "label", metavar="LABEL", help="A variation, or a step of a series, instead of the recipe."
)
@click.option("--out", type=click.Path(path_type=Path), metavar="FILE", help="The recipe file to write.")
@click.option(
    "--output",
    type=click.Choice(["text", "json"]),
    default="text",
    show_default=True,
    help="Text for a person, JSON for a program.",
)
def command(
    target: str,
    using: Path | None,
    listed: str | None,
    without: Sequence[str],
    whole: bool,
    alkalis: bool,
    keep: Sequence[str],
    label: str | None,
    out: Path | None,
    output: str,
) -> int:
    """Bring the fired oxides of a recipe out of other materials, as nearly as they can.

    Without --using and --using-materials what the recipes of this collection use is at hand (without a glost.yaml, what
    potters weigh of the catalogue): not what dissolves in the glaze water, is restricted or has a made-up composition,
    unless the recipe holds it. Additions stay additions.

    Exit status: 0 every oxide is reached, 1 something is not or the recipe cannot be read whole, 2 nothing could be
    matched.
    """
    if out is not None:
        if out.suffix != ENDING:
            raise click.UsageError(f"a recipe is written to a file that ends in {ENDING}.")
        _keep_from_overwriting(out)
    entries = Entries([target], "not matched")
    try:
        entry = entries.one()
        if entry is None:
            return entries.status
        if whole and (using is not None or listed is not None):
            raise click.UsageError(
                "--whole-catalogue widens what the collection uses; name materials, or take it."
            )
        stock = _stock(entry, using, listed, whole, entries.collections)
        catalogues = (stock.catalogue, entry.collection.catalogue)
        matched = match(
            the_test(entry, label),
            Calculator(entry.collection.catalogue),
            stock,
            [_material(name, catalogues) for name in without],
            frozenset(_material(name, catalogues) for name in keep),
            alkalis,
        )
        if out is not None:
            _write(matched, entry, entries.collections, out)
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    except MatchError as error:
        show_error(error, "glost")
        return UNUSABLE
    if output == "json":
        put_text(as_json(matched, entry.file, None if out is None else display(out)))
    else:
        say(text(matched, entry.file))
    if out is not None:
        note(f"{plain.visible(display(out))} written\n")
    return FINDINGS if matched.missed else 0


def _keep_from_overwriting(out: Path) -> None:
    if os.path.lexists(out):
        raise click.UsageError(f"there is a file '{plain.visible(str(out))}' already; name a new one.")


def _stock(
    entry: Usable, using: Path | None, listed: str | None, whole: bool, collections: Collections
) -> Stock:
    """What is at hand. Raises UsageError, ConfigError."""
    catalogue = entry.collection.catalogue
    if using is None and listed is None:
        used = None if whole else used_by(entry.collection, collections)
        if used is not None and used.unreadable:
            note_partly_read(used.unreadable, "may use more than is at hand here")
        return usual_stock(catalogue, None if used is None else used.materials)
    names: list[str] = []
    for name in (listed or "").split(","):
        if name.strip():
            names.append(_material(name.strip(), (catalogue,)))
    if using is not None:
        catalogue, in_file = _from_file(using, catalogue)
        names += in_file
    if not names:
        raise click.UsageError("no material is named that is at hand.")
    return Stock(catalogue, tuple(dict.fromkeys(names)), True)


def _from_file(path: Path, catalogue: Catalogue) -> tuple[Catalogue, list[str]]:
    """The catalogue with what a materials.yaml says of its own, and the names that stand in it. Raises ConfigError."""
    from glost.language.yaml_tree import read
    from glost.recipe.materials.own import with_own_materials
    from glost.recipe.yaml_values import Reader

    source = config_source(path)
    root = read(source)
    with_these = with_own_materials(catalogue, source, root)
    reader = Reader(source)
    top = reader.mapping(root, "materials.yaml", ("materials",))
    listed = reader.items(top["materials"].node, "materials") if "materials" in top else []
    names = [reader.text(reader.mapping(node, "a material")["name"].node, "a name") for node in listed]
    return with_these, names


def _material(name: str, catalogues: Sequence[Catalogue]) -> str:
    """The canonical name of a material. Raises UsageError for one that is not known."""
    for catalogue in catalogues:
        found = catalogue.find(name)
        if found is not None:
            return found.name
    from glost.recipe.materials.meant import meant, not_meant

    message, hint = not_meant(name, meant(name, catalogues[0]), quoted=True)
    raise click.UsageError(plain.visible(f"{message}. {with_capital(hint)}."))


def _write(matched: Matched, entry: Usable, collections: Collections, out: Path) -> None:
    collection = collections.of(out)
    page = recipe_text(
        matched,
        entry.file,
        out.name.removesuffix(ENDING),
        collection.catalogue,
        frozenset(collection.settings.handling),
    )
    try:
        write_new(out, page)
    except FileExistsError:
        _keep_from_overwriting(out)
    except OSError as error:
        raise click.UsageError(
            f"'{plain.visible(str(out))}' could not be written: {error.strerror or error}."
        ) from None
    unknown = names_unknown_to(collection.catalogue, (*matched.base, *matched.additions))
    if unknown:
        note(
            plain.visible(
                f"{', '.join(unknown)}: not known where {display(out)} lies; enter it in the materials.yaml there"
            )
            + "\n"
        )
