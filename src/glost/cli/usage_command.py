"""glost usage."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import cast

import click

from glost.cli import CLEAN, UNUSABLE
from glost.cli.colours import note_findings
from glost.cli.common import files
from glost.cli.days import DateType
from glost.cli.errors import show_error
from glost.cli.logs import PriceBook
from glost.cli.streams import note, put_form
from glost.language.nearest import nearest
from glost.language.yaml_tree import ConfigError
from glost.linter.finding import unreadable
from glost.output.lot import data
from glost.output.lot.content import content
from glost.output.model.text import as_text
from glost.output.usage import reports
from glost.recipe.materials.catalogue import key
from glost.records.lots import Lot, LotTile, where_it_went
from glost.records.prices import Found, Prices
from glost.records.record import Line, Record
from glost.records.text import shown
from glost.records.usage import BY, Asked, By, Usage, usage
from glost.workspace.collection import Collections, find
from glost.workspace.firings import read_firings
from glost.workspace.logbook import ENDING, Logged, folder_of, read
from glost.workspace.paths import FIRING, STOCK, display
from glost.workspace.stockbook import read_entries

_REPORTS: Mapping[str, Callable[[Usage], str]] = {
    "text": reports.as_text,
    "csv": reports.as_csv,
    "json": reports.as_json,
}
_LOTS: Mapping[str, Callable[[Lot], str]] = {
    "text": lambda lot: as_text(content(lot)),
    "csv": data.as_csv,
    "json": data.as_json,
}


EXAMPLES = (
    "glost usage corpus/studio/log",
    "glost usage corpus/studio/log --by person",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("paths", nargs=-1, type=click.Path())
@click.option("--from", "start", type=DateType(), metavar="DATE", help="The first day, as 2026-03-01.")
@click.option("--to", "end", type=DateType(), metavar="DATE", help="The last day, as 2026-03-31.")
@click.option("--by", type=click.Choice(BY), default="material", show_default=True, help="How to group.")
@click.option("--person", help="Only what this person weighed.")
@click.option("--project", help="Only what was weighed for this project.")
@click.option("--cost", is_flag=True, help="What it cost, by the prices of materials.yaml and of deliveries.")
@click.option("--lot", metavar="LOT", help="Instead: which batches and tests this lot went into.")
@click.option(
    "--output",
    type=click.Choice(list(_REPORTS)),
    default="text",
    show_default=True,
    help="Text for people, a table for whoever writes the bill, or JSON.",
)
def command(
    paths: Sequence[str],
    start: date | None,
    end: date | None,
    by: str,
    person: str | None,
    project: str | None,
    cost: bool,
    lot: str | None,
    output: str,
) -> int:
    """Say what was used over a time, from the log: its folder, a collection, or single records (default: the log of
    this collection).

    A record that cannot be read stops it, since a sum that lacks one is worse than none.
    """
    if start is not None and end is not None and start > end:
        raise click.UsageError(f"--from {start} lies behind --to {end}.")
    if lot is not None and (cost or by != "material"):
        raise click.UsageError(
            "--lot lists batches, which are neither grouped nor paid: take --by and --cost away."
        )
    collections = Collections()
    try:
        log = None if paths else folder_of(Path.cwd(), collections)
        here = [str(log)] if log is not None and log.is_dir() else list(paths)
        meant = [path for path in here or ["."] if not path.endswith(ENDING)]
        found = files(here, collections, ENDING)
        logged, broken = read(found, collections)
        book = PriceBook(collections)
        prices = {id(entry.record): book.of(collections.of(entry.path)) for entry in logged} if cost else {}
        entries = read_entries(files(meant, collections, STOCK)) if lot is not None and meant else []
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    if broken:
        note_findings(unreadable(file, error) for file, error in broken)
        note("glost: no sums, since they would lack what cannot be read\n")
        return UNUSABLE
    asked = Asked(start, end, cast(By, by), person, project)
    if not logged:
        note("glost: there is no record of a batch here; 'glost record' puts them into the log\n")
    else:
        _tell_unmatched("person", person, [entry.record.person for entry in logged])
        _tell_unmatched("project", project, [entry.record.project for entry in logged])
    if lot is None:
        pairs = ((entry.record, entry.catalogue) for entry in logged)
        text = _REPORTS[output](usage(pairs, asked, _price_of(prices) if cost else None))
    else:
        went = where_it_went(
            ((entry.record, entry.catalogue, display(entry.path)) for entry in logged),
            ((entry, collections.of(path).catalogue) for path, entry in entries),
            lot,
            asked,
        )
        if logged and key(lot) not in map(key, went.known):
            near = nearest(lot, went.known, 3)
            told = (
                f"is it one of these: {', '.join(map(shown, near))}?"
                if near
                else f"it names {len(went.known)} lots"
            )
            note(f"glost: the log names no lot {shown(lot)}; {told}\n")
        try:
            tiles = _fired_of(went, logged, collections)
        except ConfigError as error:
            show_error(error)
            return UNUSABLE
        text = _LOTS[output](replace(went, tiles=tiles))
    put_form(output, text)
    return CLEAN


def _price_of(prices: Mapping[int, Prices]) -> Callable[[Record, Line], Found | None]:
    def price_of(record: Record, line: Line) -> Found | None:
        return prices[id(record)].of(line.material, record.day, line.lot)

    return price_of


def _tell_unmatched(what: str, asked: str | None, there: Sequence[str]) -> None:
    """A name that stands nowhere in the log is most often a slip."""
    if asked is not None and key(asked) not in map(key, there):
        names = ", ".join(shown(name) for name in sorted(set(there)) if name)
        note(f"glost: no record names the {what} {shown(asked)}; the log names: {names or 'none'}\n")


def _fired_of(lot: Lot, logged: Sequence[Logged], collections: Collections) -> tuple[LotTile, ...]:
    """The tiles of its batches, in the order of firing. Raises ConfigError."""
    meant = {use.file for use in lot.uses}
    batches = {
        (collections.root_of(entry.path), entry.path.stem): display(entry.path)
        for entry in logged
        if display(entry.path) in meant
    }
    roots = sorted({str(root) for root, _ in batches if root is not None})
    firings, wrong = read_firings(find(roots, collections, FIRING)) if roots else ([], [])
    if wrong:
        note_findings(wrong)
        note("glost: these firings are left out; fix them first\n")
    return tuple(
        LotTile(one.firing.date, one.firing.name, tile.name, batch, tile.faults, one.file)
        for one in firings
        for tile in one.firing.tiles
        if (batch := batches.get((collections.root_of(one.path), tile.batch)))
    )
