"""The option of commands that work on many recipes: how many processes do."""

from __future__ import annotations

import click

workers_option = click.option(
    "--workers", type=click.IntRange(1, 64), metavar="N", help="Processes to use.  [default: one a core]"
)
