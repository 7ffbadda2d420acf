"""How a count and a delivery get into the log: the same for both, but for the price."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import TypeVar

import click

from glost.cli import CLEAN, FINDINGS, UNUSABLE
from glost.cli.common import no_collection
from glost.cli.days import DateType
from glost.cli.errors import show_error, usage_error
from glost.cli.streams import note, say
from glost.errors import ValueRefusedError, refused_at
from glost.language.yaml_tree import ConfigError
from glost.linter.reporters.plain import visible
from glost.recipe.materials.catalogue import Catalogue
from glost.records.stock_entry import Kind, StockEntry, StockLine, line_for
from glost.records.stock_table import lines_of
from glost.workspace.collection import Collections
from glost.workspace.config import config_source
from glost.workspace.logbook import folder_of
from glost.workspace.paths import display
from glost.workspace.stockbook import keep_entry

_Command = TypeVar("_Command", bound=Callable[..., object])


def entry_options(columns: str, by: str) -> Callable[[_Command], _Command]:
    """Adds what both commands take: the materials, or a table with these columns, the day, who (``by`` says what for),
    remarks, a lot and the log."""
    options = (
        click.argument("items", nargs=-1, metavar="[MATERIAL=MASS]..."),
        click.option(
            "--on", "day", type=DateType(), required=True, metavar="DATE", help="Its day, as 2026-03-14."
        ),
        click.option(
            "--table",
            type=click.Path(path_type=Path, dir_okay=False),
            metavar="FILE.csv",
            help=f"Many at once: a table with the columns {columns}.",
        ),
        click.option("--by", default="", metavar="NAME", help=by),
        click.option("--remarks", default="", help="What else there is to say."),
        click.option("--lot", default="", help="The lot of the one material."),
        click.option(
            "--log",
            "log",
            type=click.Path(path_type=Path, file_okay=False),
            metavar="DIR",
            help="The folder of the log; otherwise log/ beside the glost.yaml of this collection.",
        ),
    )

    def added(command: _Command) -> _Command:
        for option in reversed(options):
            command = option(command)
        return command

    return added


def put(
    kind: Kind,
    items: Sequence[str],
    table: Path | None,
    day: date,
    by: str,
    remarks: str,
    price: str,
    lot: str,
    log: Path | None,
) -> int:
    """Puts it into the log, and says where. The exit status."""
    if (table is None) == (not items):
        raise click.UsageError(
            f'say what came in this {kind}, as "silica=25 kg", or name a table of many with --table: one of the two.'
        )
    if (price or lot) and len(items) != 1:
        raise click.UsageError("--price and --lot are of one material; a table has a column for each.")
    collections = Collections()
    try:
        folder = log or folder_of(Path.cwd(), collections)
        if folder is None:
            raise no_collection("or name the folder of the log with --log")
        catalogue = collections.of(folder.absolute() / kind).catalogue
        lines = (
            [_line(kind, catalogue, item, price, lot) for item in items]
            if table is None
            else lines_of(config_source(table), kind, catalogue)
        )
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    _check_twice(kind, lines)
    entry = StockEntry(kind, day, _one_line(by), _one_line(remarks), tuple(lines))
    try:
        kept = keep_entry(entry, folder)
    except ValueError as error:
        raise usage_error(error) from None
    except OSError as error:
        note(f"not recorded: {visible(display(folder))} cannot be written to: {error.strerror}\n")
        return UNUSABLE
    file = visible(display(kept.path))
    if kept.changed:
        note(f"{file}: in the log already, and changed there since; it is left as it is\n")
        return FINDINGS
    say(f"{file}: {'recorded' if kept.new else 'in the log already'}\n")
    if not kept.new and kind == "delivery":
        note("glost: nothing was written; if the same came twice on that day, say so with --remarks\n")
    return CLEAN


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _line(kind: Kind, catalogue: Catalogue, item: str, price: str, lot: str) -> StockLine:
    name, sign, mass = item.rpartition("=")
    if not sign or not name.strip() or not mass.strip():
        raise click.UsageError(
            f"'{visible(item)}' is no material with its mass: write such as \"silica=25 kg\"."
        )
    try:
        return line_for(kind, catalogue, name.strip(), mass.strip(), price, lot)
    except ValueRefusedError as error:
        raise usage_error(refused_at(item, error)) from None


def _check_twice(kind: Kind, lines: Sequence[StockLine]) -> None:
    met: set[tuple[str, str]] = set()
    for line in lines:
        if kind == "count" and (line.material, line.lot) in met:
            raise click.UsageError(
                f"'{visible(line.material)}' is counted here a second time: add the two up."
            )
        met.add((line.material, line.lot))
