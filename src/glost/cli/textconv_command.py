"""glost textconv."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import click

from glost.cli import CLEAN
from glost.cli.streams import put
from glost.collection import Collections
from glost.compare.canonical_text import canonical_text
from glost.compare.meaning import told
from glost.entry import Usable, usable_bytes
from glost.git.revisions import place_of
from glost.lint.reporters import plain
from glost.places import display
from glost.yamlfile import Misread


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
def command(file: Path) -> int:
    """Print a recipe as git's diff should see it: what it means, then how it is written.

    Materials stand under their canonical names and on a base of 100, so that a diff of two recipes shows where they
    differ in meaning, and names another spelling, order or scale as that. A file that cannot be read whole, or whose
    collection cannot, is printed as it is, so that a diff always has something to show.
    """
    try:
        data = file.read_bytes()
    except OSError as error:
        raise click.UsageError(
            f"'{plain.visible(str(file))}' cannot be read: {error.strerror or error}."
        ) from None
    put(_converted(file, data))
    return CLEAN


def _converted(file: Path, data: bytes) -> bytes:
    with suppress(Misread):
        # git hands over the old side in a temporary file of the same name.
        found = usable_bytes(display(file), data, place_of(file), Collections())
        if isinstance(found, Usable):
            one = told(found.recipe, found.collection.catalogue)
            return canonical_text(one, found.page).encode("utf-8")
    return data
