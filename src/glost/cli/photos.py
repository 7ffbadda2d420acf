"""What is said of photos of which there is no small picture."""

from __future__ import annotations

from glost.cli.streams import note
from glost.linter.reporters import plain
from glost.workspace.paths import display
from glost.workspace.photos import Photos


def tell_photos(photos: Photos) -> None:
    """Says which pictures are only linked, and why."""
    if photos.missing:
        note("glost: small pictures need Pillow, pip install 'glost[photos]'; photos are linked\n")
    for photo in photos.refused:
        note(f"{plain.visible(display(photo))}: no picture that can be shown; it is linked\n")
