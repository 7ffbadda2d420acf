"""glost plot."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import click

from glost.chemistry.firing import Calculator
from glost.cli import UNUSABLE
from glost.cli.common import keep_recipes
from glost.cli.entries import Entries
from glost.cli.errors import show_error, usage_error
from glost.cli.outputs import force_option, refusing
from glost.cli.streams import note
from glost.language.yaml_tree import ConfigError
from glost.linter.reporters import plain
from glost.output.plot.chart import chart
from glost.output.plot.page import page
from glost.output.plot.points import Wanted, points, wanted_cones
from glost.output.plot.svg import DRAWN, svg
from glost.output.web import GENERATED
from glost.recipe.cone import read_cone
from glost.recipe.fields import ATMOSPHERES
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.recipe import Recipe
from glost.workspace.load import Usable
from glost.workspace.outputs import OneOutput

_FORMS = {".svg": (svg, DRAWN), ".html": (page, GENERATED)}


@click.command()
@click.argument("paths", nargs=-1, type=click.Path())
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="FILE",
    required=True,
    help="The file to write: .svg is a drawing, .html a page with a filter.",
)
@click.option("--cone", metavar="CONES", help='Only glazes for these cones, such as "6" or "5-7".')
@click.option(
    "--atmosphere",
    "atmospheres",
    type=click.Choice(ATMOSPHERES),
    multiple=True,
    help="Only glazes for this atmosphere; may be given again.",
)
@force_option
def command(
    paths: Sequence[str], out: Path, cone: str | None, atmospheres: Sequence[str], force: bool
) -> int:
    """Draw the glazes of a collection by silica and alumina: files, folders, or - for standard input (default: this
    folder).

    Each is drawn as it stands, without its variations. A recipe that cannot be read whole, or that holds a
    material of which nothing is known, has no place on the chart.
    """
    if out.suffix.lower() not in _FORMS:
        raise click.UsageError(f"'{plain.visible(str(out))}' ends neither in .svg nor in .html.")
    wanted = _wanted(cone, atmospheres)
    form, mark = _FORMS[out.suffix.lower()]
    entries = Entries(paths, "not drawn")
    try:
        found = list(entries)
        keep_recipes([out], (entry.path for entry in found), entries.collections)
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    drawn, left_out = points(_recipes(found), wanted)
    meant = ", ".join(filter(None, (f"Cone {cone}" if cone else "", " or ".join(atmospheres))))
    try:
        with refusing():
            OneOutput(out, mark, force).write(form(chart(drawn, left_out, meant[:1].upper() + meant[1:])))
    except OSError as error:
        note(f"glost: {plain.visible(str(out))} could not be written: {error.strerror}\n")
        return UNUSABLE
    for one in left_out:
        note(f"{plain.visible(one.name)}: not on the chart; {plain.visible(one.why)}\n")
    note(f"{plain.visible(str(out))}: {len(drawn)} glaze{'' if len(drawn) == 1 else 's'} drawn\n")
    return entries.status


def _wanted(cone: str | None, atmospheres: Sequence[str]) -> Wanted:
    try:
        cones = wanted_cones(read_cone(cone)) if cone is not None else None
    except ValueError as error:
        raise usage_error(error) from None
    return Wanted(cones, tuple(atmospheres))


def _recipes(entries: Sequence[Usable]) -> Iterator[tuple[str, Recipe, Calculator]]:
    kilns: dict[int, tuple[Catalogue, Calculator]] = {}
    for entry in entries:
        catalogue = entry.collection.catalogue
        _, kiln = kilns.setdefault(id(catalogue), (catalogue, Calculator(catalogue)))
        yield entry.file, entry.recipe, kiln
