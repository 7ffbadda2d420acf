"""glost count."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import click

from glost.cli.days import DateType
from glost.cli.stock_entries import put

EXAMPLES = (
    'glost count "silica=5.2 kg" "kaolin=800 g" --on 2026-04-09 --log log',
    'glost count "tin oxide=0 g" --on 2026-04-09 --by "R. T." --log log',
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("items", nargs=-1, metavar="[MATERIAL=MASS]...")
@click.option("--on", "day", type=DateType(), required=True, metavar="DATE", help="Its day, as 2026-03-14.")
@click.option(
    "--table",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.csv",
    help="Many at once: a table with the columns material,mass,lot.",
)
@click.option("--by", default="", metavar="NAME", help="Who counted.")
@click.option("--remarks", default="", help="What else there is to say.")
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
    lot: str,
    log: Path | None,
) -> int:
    """Put a count into the log: how much of each material stands on the shelf, dry.

    A count holds at the end of its day: what is weighed or comes in on later days moves it. Count all lots of a
    material at one go. Nothing in the log is ever written over.
    """
    return put("count", items, table, day, by, remarks, "", lot, log)
