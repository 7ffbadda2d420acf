"""glost count."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import click

from glost.cli.stock_entries import entry_options, put

EXAMPLES = (
    'glost count "silica=5.2 kg" "kaolin=800 g" --on 2026-04-09 --log log',
    'glost count "tin oxide=0 g" --on 2026-04-09 --by "R. T." --log log',
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@entry_options("material,mass,lot", "Who counted.")
def command(
    items: Sequence[str],
    day: date,
    table: Path | None,
    by: str,
    remarks: str,
    lot: str,
    log: Path | None,
) -> int:
    """Put a count into the log: how much of each material stands on the shelf, dry.

    A count holds at the end of its day: what is weighed or comes in on later days moves it. Count all lots of a
    material at one go. Nothing in the log is ever written over.
    """
    return put("count", items, table, day, by, remarks, "", lot, log)
