"""glost textconv."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import click

from glost.changes.canonical_text import canonical_text
from glost.changes.firing_text import firing_text
from glost.changes.judgement import told_of
from glost.cli import CLEAN
from glost.cli.streams import put
from glost.language.parse import parse
from glost.language.source import LARGEST_FILE, Source, decode
from glost.linter.reporters import plain
from glost.recipe.firing import resolve_firing
from glost.workspace.load import Withheld, usable_alone
from glost.workspace.paths import display

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
    try:
        if not stat.S_ISREG(file.stat().st_mode):
            # A pipe would be waited for, and a device may never end.
            raise click.UsageError(f"'{plain.visible(str(file))}' is no plain file.")
        with file.open("rb") as opened:
            data = opened.read(LARGEST_FILE + 1)
            if len(data) <= LARGEST_FILE:
                put(_shown(file, data))
                return CLEAN
            while data:
                put(data)
                data = opened.read(_PIECE)
    except OSError as error:
        raise click.UsageError(
            f"'{plain.visible(str(file))}' cannot be read: {error.strerror or error}."
        ) from None
    return CLEAN


_PIECE = 1 << 20


def _shown(file: Path, data: bytes) -> bytes:
    try:
        return _converted(file, data)
    except Exception:  # memory, depth, a mistake of ours: git must have something to show
        if os.environ.get("GLOST_DEBUG"):
            raise
        return data


def _converted(file: Path, data: bytes) -> bytes:
    page = parse(Source(display(file), decode(data)))
    if page.is_firing:
        firing = resolve_firing(page)
        return firing_text(firing).encode("utf-8") if firing.complete else data
    found = usable_alone(display(file), data)
    if isinstance(found, Withheld):
        return data
    return canonical_text(told_of(found), found.page).encode("utf-8")
