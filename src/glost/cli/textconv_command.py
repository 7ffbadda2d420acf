"""glost textconv."""

from __future__ import annotations

from pathlib import Path

import click

from glost.cli import CLEAN
from glost.cli.shown_to_git import show_file
from glost.linter.reporters import plain

EXAMPLES = (
    "glost textconv corpus/studio/stoneware/harbour-mist.glost",
    "git log -p --textconv -- corpus/studio/stoneware/harbour-mist.glost",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
def command(file: Path) -> int:
    """Print a recipe, or a firing, as git's diff should see it: what it means, then how it is written.

    Materials stand under their canonical names and on a base of 100, so that a diff of two recipes shows where they
    differ in meaning, and names another spelling, order or scale as that. What it prints depends on the page alone: git
    keeps it, and does not say which revision of a collection a page belongs to, so a material of the collection's own
    stands under the name that the page has. A file that cannot be read whole, or that is larger than any recipe, is
    printed as it is, so that a diff always has something to show.
    """
    shown = plain.visible(str(file))
    try:
        if not show_file(str(file)):
            raise click.UsageError(f"'{shown}' is no plain file.")
    except OSError as error:
        raise click.UsageError(f"'{shown}' cannot be read: {error.strerror or error}.") from None
    return CLEAN
