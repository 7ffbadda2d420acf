"""glost delivery."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import click

from glost.cli.stock_entries import entry_options, put

EXAMPLES = (
    'glost delivery "silica=25 kg" --price "31.50 EUR" --lot S-95b --on 2026-04-09 --log log',
    'glost delivery "kaolin=50 lb" --price "0.90 EUR/kg" --on 2026-04-10 --log log',
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@entry_options("material,mass,price,lot", "Who took it in.")
@click.option("--price", default="", metavar="PRICE", help='What was paid, as "31.50 EUR", or "1.26 EUR/kg".')
def command(
    items: Sequence[str],
    day: date,
    table: Path | None,
    by: str,
    remarks: str,
    price: str,
    lot: str,
    log: Path | None,
) -> int:
    """Put a delivery into the log: what came in, its lot, and what was paid for it.

    Amounts of money have a currency by ISO 4217, and are never converted. Nothing in the log is ever written over.
    """
    return put("delivery", items, table, day, by, remarks, price, lot, log)
