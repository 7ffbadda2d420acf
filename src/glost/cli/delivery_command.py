"""glost delivery."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import click

from glost.cli.days import DateType
from glost.cli.stock_entries import put

EXAMPLES = (
    'glost delivery "silica=25 kg" --price "31.50 EUR" --lot S-95b --on 2026-04-09 --log log',
    'glost delivery "kaolin=50 lb" --price "0.90 EUR/kg" --on 2026-04-10 --log log',
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("items", nargs=-1, metavar="[MATERIAL=MASS]...")
@click.option("--on", "day", type=DateType(), required=True, metavar="DATE", help="Its day, as 2026-03-14.")
@click.option(
    "--table",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.csv",
    help="Many at once: a table with the columns material,mass,price,lot.",
)
@click.option("--by", default="", metavar="NAME", help="Who took it in.")
@click.option("--remarks", default="", help="What else there is to say.")
@click.option("--price", default="", metavar="PRICE", help='What was paid, as "31.50 EUR", or "1.26 EUR/kg".')
@click.option("--lot", default="", help="The lot of the one material.")
@click.option(
    "--log",
    "log",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help="The folder of the log; otherwise log/ beside the glost.yaml of this collection.",
)
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
