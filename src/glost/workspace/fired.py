"""Firings that were filled in at the kiln door, put beside the recipes: a page each, and its photos. Nothing is ever
written over."""

from __future__ import annotations

from pathlib import Path
from typing import Final, Literal, NamedTuple

from glost.language.source import DecodeError
from glost.records.fired import MOST_BYTES, PHOTOS, FiredTiles
from glost.workspace.files import read_bytes
from glost.workspace.outputs import write_new

FOLDER: Final = "firings"
"""Of a collection, beside its log."""


class KeptFiring(NamedTuple):
    """What became of it: ``recorded``; ``known`` where the very same is there; ``taken`` where ``path``, its page or a
    photo, holds something else, and nothing was written."""

    path: Path
    outcome: Literal["recorded", "known", "taken"]


def keep(made: FiredTiles, root: Path) -> KeptFiring:
    """Puts a firing into the collection whose top folder that is. The page comes last, so that a run which is stopped
    leaves photos that the next one finds to be its own. Raises OSError."""
    folder = root / FOLDER
    page = folder / made.name
    files = [(folder / PHOTOS / photo.name, photo.data) for photo in made.photos]
    files.append((page, made.text.encode("utf-8")))
    there = [_holds(path, data) for path, data in files]
    for (path, _), same in zip(files, there, strict=True):
        if same is False:
            return KeptFiring(path, "taken")
    for (path, data), same in zip(files, there, strict=True):
        if same is None:
            try:
                write_new(path, data)
            except FileExistsError:
                return KeptFiring(path, "taken")
    return KeptFiring(page, "known" if there[-1] else "recorded")


def _holds(path: Path, data: bytes) -> bool | None:
    """Whether a file holds that; None where there is none."""
    try:
        return read_bytes(path, MOST_BYTES) == data
    except DecodeError:
        return None if not path.exists() and not path.is_symlink() else False
