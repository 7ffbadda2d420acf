"""glost version."""

from __future__ import annotations

import click

from glost import __version__
from glost.cli.streams import say

EXAMPLES = (
    "glost version",
    "glost --version",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
def command() -> None:
    """Show which glost this is."""
    say(f"glost {__version__}\n")
