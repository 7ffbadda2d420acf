"""The log that a command is given: batches, counts and deliveries of one collection."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import click

from glost.cli.colours import note_findings
from glost.cli.common import files
from glost.linter.finding import unreadable
from glost.recipe.materials.catalogue import Catalogue
from glost.records.prices import Prices
from glost.records.record import Record
from glost.records.stock_entry import StockEntry
from glost.workspace.collection import Collection, Collections, find
from glost.workspace.logbook import ENDING, FOLDER, folder_of, read
from glost.workspace.paths import STOCK
from glost.workspace.stockbook import read_entries


class Log(NamedTuple):
    batches: list[Record]
    entries: list[StockEntry]
    catalogue: Catalogue


def log_of(paths: Sequence[str], collections: Collections) -> Log | None:
    """All records that paths mean, by default those of this collection; None where one cannot be read, which is said.
    Raises UsageError for a path that is not there and where they belong to two collections, ConfigError."""
    folder = None if paths else folder_of(Path.cwd(), collections)
    meant = [str(folder)] if folder is not None and folder.is_dir() else list(paths) or ["."]
    records = [path for path in meant if not path.endswith(STOCK)]
    others = [path for path in meant if not path.endswith(ENDING)]
    logged, broken = read(files(records, collections, ENDING) if records else [], collections)
    if broken:
        note_findings(unreadable(file, error) for file, error in broken)
        return None
    entries = read_entries(files(others, collections, STOCK) if others else [])
    roots = {
        collections.root_of(path) for path in [*(one.path for one in logged), *(path for path, _ in entries)]
    }
    if len(roots) > 1:
        raise click.UsageError(
            "these records belong to several collections, each with its own shelf: one by one."
        )
    at = next(iter([*(one.path for one in logged), *(path for path, _ in entries), Path(meant[0]) / "log"]))
    return Log([one.record for one in logged], [one for _, one in entries], collections.of(at).catalogue)


class PriceBook:
    """The prices of the collections of one run, each read once."""

    def __init__(self, collections: Collections) -> None:
        self._collections = collections
        self._prices: dict[Path | None, Prices] = {}

    def of(self, collection: Collection) -> Prices:
        """Those of a collection, out of its materials.yaml and the deliveries in its log. Raises ConfigError."""
        root = collection.root
        if root not in self._prices:
            folder = None if root is None else root / FOLDER
            paths = find([str(folder)], self._collections, STOCK) if folder and folder.is_dir() else []
            entries = [entry for _, entry in read_entries(paths)]
            self._prices[root] = Prices(collection.catalogue, entries)
        return self._prices[root]
