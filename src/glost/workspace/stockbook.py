"""Counts and deliveries on the disk: files of the log, none of which is ever written over."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

from glost.errors import ValueRefusedError
from glost.language.source import Source
from glost.language.yaml_tree import ConfigError
from glost.records.stock_entry import StockEntry, entry_of, text_of
from glost.workspace.config import config_source
from glost.workspace.files import read_text
from glost.workspace.outputs import write_new
from glost.workspace.paths import STOCK

_DIGITS = 8


class KeptEntry(NamedTuple):
    """Where an entry lies in the log. ``new``: it was not there before. ``changed``: the file of its name holds
    something else by now, and was left as it is."""

    path: Path
    new: bool
    changed: bool = False


def keep_entry(entry: StockEntry, folder: Path) -> KeptEntry:
    """Puts a count or a delivery into the log in that folder. Raises ValueError for one that the log could not give
    back, and OSError."""
    for said in (entry.by, entry.remarks, *(line.lot for line in entry.lines)):
        if not said.isprintable():
            raise ValueRefusedError(f"{said!a} holds a character that nobody sees", "type it anew")
    text = text_of(entry)
    try:
        again = entry_of(Source("", text))
    except ConfigError as error:
        raise ValueRefusedError(error.message, error.hint) from None
    if again != entry:
        raise ValueRefusedError(
            "the log could not give back a text of this as it stands", "write it in plain letters"
        )
    path = folder / place_of(entry, text)
    try:
        write_new(path, text)
    except FileExistsError:
        return KeptEntry(path, False, read_text(path) != text)
    return KeptEntry(path, True)


def place_of(entry: StockEntry, text: str) -> str:
    """Where an entry lies in the log: by year, day, kind, and a digest of its text. The same one has the same name on
    every machine, and two that differ do not meet, so that git has nothing to merge."""
    from hashlib import sha256

    digest = sha256(text.encode("utf-8")).hexdigest()[:_DIGITS]
    return f"{entry.day.year:04}/{entry.day}-{entry.kind}-{digest}{STOCK}"


def read_entries(paths: Iterable[Path]) -> list[tuple[Path, StockEntry]]:
    """The counts and deliveries in these files. Raises ConfigError for one that cannot be read."""
    return [(path, entry_of(config_source(path))) for path in paths]
