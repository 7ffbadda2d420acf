"""glost results."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import click

from glost.changes.results import Result, as_json, csv, results_of, text
from glost.changes.results_page import Picture, html
from glost.cli import CLEAN, UNUSABLE
from glost.cli.colours import note_findings
from glost.cli.common import files, show_undone, status_of
from glost.cli.errors import show_error
from glost.cli.fired_tiles import FiredTiles
from glost.cli.photos import tell_photos
from glost.cli.streams import note, put_form
from glost.errors import ValueRefusedError
from glost.language.yaml_tree import ConfigError
from glost.linter.reporters import plain
from glost.recipe.cone import read_cone
from glost.recipe.names import folded
from glost.workspace.collection import Collections
from glost.workspace.firings import read_firings
from glost.workspace.load import Usable, usable
from glost.workspace.paths import ENDING, FIRING, display

_OUTPUTS: Mapping[str, Callable[[Sequence[Result]], str]] = {
    "text": text,
    "csv": csv,
    "json": as_json,
    "html": html,
}


EXAMPLES = (
    "glost results corpus/studio",
    "glost results corpus/studio/stoneware/harbour-mist.glost --output csv",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("paths", nargs=-1, type=click.Path())
@click.option("--fault", metavar="FAULT", help="Only tiles with this fault, as pinholes.")
@click.option("--cone", metavar="CONE", help="Only firings to, or that reached, this cone.")
@click.option("--kiln", metavar="KILN", help="Only firings of this kiln.")
@click.option("--person", metavar="NAME", help="Only tiles of batches that this person weighed.")
@click.option("--body", metavar="BODY", help="Only tiles of this clay.")
@click.option("--lot", metavar="LOT", help="Only tiles of batches with a material of this lot.")
@click.option(
    "--output",
    type=click.Choice(list(_OUTPUTS)),
    default="text",
    show_default=True,
    help="Text or HTML for a person, CSV for a spreadsheet, JSON for a program.",
)
def command(
    paths: Sequence[str],
    fault: str | None,
    cone: str | None,
    kiln: str | None,
    person: str | None,
    body: str | None,
    lot: str | None,
    output: str,
) -> int:
    """Say what came of the tiles, in the order of firing, and what had been changed since the fired tile before each.

    PATHS are firings, folders with firings in them, or recipes, whose tiles are then looked for in the firings of
    their collection (default: this folder). What was in a tile is taken from the record of its batch; without one,
    from the recipe's page as it was committed last by the day of firing, which is said.
    """
    collections = Collections()
    wanted_cone = None
    if cone is not None:
        try:
            wanted_cone = read_cone(cone)
        except ValueRefusedError as error:
            raise click.UsageError(plain.visible(f"{error.message}; {error.hint}.")) from None
    recipes = [path for path in paths if path.endswith(ENDING)]
    others = [path for path in paths if not path.endswith(ENDING)]
    try:
        pages = files(recipes, collections) if recipes else []
        names, status = _names_of(pages, collections)
        if status != CLEAN:
            return status
        for path in recipes:
            others.append(str(collections.root_of(Path(path)) or Path(path).parent))
        firings, wrong = read_firings(files(others, collections, FIRING))
        fired = FiredTiles(collections)
        earlier = [name for path in pages for name in fired.learn_earlier_names(path)]
        if not recipes:
            fired.learn_names_of(firings)
        tiles = list(fired.of(firings, [*names, *earlier] if recipes else None))
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    if wrong:
        note_findings(wrong)
        note("glost: these firings are left out; fix them first\n")
        status = status_of(wrong)
    if recipes:
        tiles = [one for one in tiles if (one.kind, folded(one.recipe)) in names]
    results = [
        one
        for one in results_of(tiles)
        if (fault is None or folded(fault) in map(folded, one.fired.tile.faults))
        and (wanted_cone is None or wanted_cone in (one.fired.firing.reached, one.fired.firing.cone))
        and (kiln is None or folded(one.fired.firing.kiln) == folded(kiln))
        and (person is None or folded(one.fired.person) == folded(person))
        and (body is None or folded(one.fired.tile.body) == folded(body))
        and (lot is None or folded(lot) in map(folded, one.fired.lots))
    ]
    for option, asked, there in (
        ("fault", fault, [fault for one in tiles for fault in one.tile.faults]),
        ("kiln", kiln, [one.firing.kiln for one in tiles]),
        ("person", person, [one.person for one in tiles]),
        ("body", body, [one.tile.body for one in tiles]),
        ("lot", lot, [lot for one in tiles for lot in one.lots]),
    ):
        _tell_unmatched(option, asked, there)
    if not tiles:
        note("glost: no fired tile is known here; 'glost firing' begins the page of a firing\n")
    shown = html(results, _pictures(results, collections)) if output == "html" else _OUTPUTS[output](results)
    put_form(output, shown)
    return status


def _pictures(results: Sequence[Result], collections: Collections) -> dict[tuple[str, str], Picture]:
    """The photos of the tiles, small ones where Pillow is there."""
    from urllib.parse import quote

    from glost.workspace.photos import Photos, photo_of

    photos, found = Photos(), {}
    for one in results:
        page, tile = Path(one.fired.file), one.fired.tile
        photo = photo_of(page, tile.photo, collections.root_of(page)) if tile.photo else None
        if photo is not None:
            at = quote(display(photo))
            found[one.fired.file, tile.name] = Picture(
                at if at.startswith("/") else f"./{at}", photos.small(photo)
            )
    tell_photos(photos)
    return found


def _names_of(paths: Sequence[Path], collections: Collections) -> tuple[list[tuple[str, str]], int]:
    """The kinds and names of recipes, and the exit status that those ask for that cannot be read whole."""
    found, status = [], CLEAN
    for path in paths:
        one = usable(path, collections)
        if isinstance(one, Usable):
            found.append((one.recipe.kind, folded(one.recipe.name)))
        else:
            status = max(status, show_undone(one.file, one.findings, "its tiles are not looked for"))
    return found, status


def _tell_unmatched(what: str, asked: str | None, there: Sequence[str]) -> None:
    """What stands nowhere is most often a slip."""
    if asked is None or (not there and not asked) or folded(asked) in map(folded, there):
        return
    names = ", ".join(plain.visible(name) for name in sorted(set(there)) if name)
    note(f"glost: no tile here has the {what} {plain.visible(asked)}; there are: {names or 'none'}\n")
