"""Firings that were filled in at the kiln door, put beside the recipes: a page each, and its photos. Nothing is ever
written over, and a firing that is there is known by what it is, whatever its file is called."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Final, Literal, NamedTuple

from glost.language.parse import FIRING, parse
from glost.language.source import DecodeError, Source, decode
from glost.recipe.firing import Firing, resolve_firing
from glost.recipe.names import folded
from glost.records.fired import MOST_BYTES, PHOTOS, FiredTiles
from glost.workspace.files import read_bytes
from glost.workspace.outputs import write_new

FOLDER: Final = "firings"
"""Of a collection, beside its log."""


class KeptFiring(NamedTuple):
    """What became of it: ``recorded``; ``known`` where the very same is there; ``taken`` where ``path``, its page or a
    photo, holds something else, and nothing was written. ``twins`` are firings that differ from it only in what they
    are called."""

    path: Path
    outcome: Literal["recorded", "known", "taken"]
    twins: tuple[Path, ...] = ()


class _Kept(NamedTuple):
    """A firing that lies there."""

    path: Path
    firing: Firing


def keep(made: FiredTiles, root: Path) -> KeptFiring:
    """Puts a firing into the collection whose top folder that is. The page comes last, so that a run which is stopped
    leaves photos that the next one finds to be its own. Raises OSError."""
    folder = root / FOLDER
    page = folder / made.name
    own = _firing_of(made.text)
    of_that_day = list(_of_the_day(folder, own.date))
    same = [one for one in of_that_day if _is_that(one.firing, own)]
    for one in same:
        if _says_the_same(one, own, made):
            return KeptFiring(one.path, "known")
    if same:
        return KeptFiring(next((one.path for one in same if one.path == page), same[0].path), "taken")
    files = [(folder / PHOTOS / photo.name, photo.data) for photo in made.photos]
    files.append((page, made.text.encode("utf-8")))
    there = [_holds(path, data) for path, data in files]
    for (path, _), equal in zip(files, there, strict=True):
        if equal is False:
            return KeptFiring(path, "taken")
    for (path, data), equal in zip(files, there, strict=True):
        if equal is None:
            try:
                write_new(path, data)
            except FileExistsError:
                return KeptFiring(path, "taken")
    if there[-1]:
        return KeptFiring(page, "known")
    anyhow = _but_for_its_files(replace(own, name=""))
    twins = (one.path for one in of_that_day if _but_for_its_files(replace(one.firing, name="")) == anyhow)
    return KeptFiring(page, "recorded", tuple(twins))


def _firing_of(text: str) -> Firing:
    return resolve_firing(parse(Source(f"page{FIRING}", text))).firing


def _of_the_day(folder: Path, day: str) -> Iterator[_Kept]:
    """The firings of a day that can be read whole, wherever in that folder they lie; no link is followed."""
    for where, inner, names in () if folder.is_symlink() else os.walk(folder):
        inner.sort()
        for name in sorted(names):
            path = Path(where) / name
            if path.suffix != FIRING or path.is_symlink():
                continue
            try:
                text = decode(read_bytes(path))
            except DecodeError:
                continue
            if day not in text:
                continue
            resolved = resolve_firing(parse(Source(name, text)))
            if resolved.complete and resolved.page.is_firing and resolved.firing.date == day:
                yield _Kept(path, resolved.firing)


def _is_that(one: Firing, other: Firing) -> bool:
    """Whether two firings of a day are one: a kiln that is lit twice has two, with a name each."""
    return folded(one.name) == folded(other.name) and folded(one.kiln) == folded(other.kiln)


def _says_the_same(there: _Kept, own: Firing, made: FiredTiles) -> bool:
    """Whether a page says what was handed over, and has its photos, whatever these are called there."""
    if _but_for_its_files(there.firing) != _but_for_its_files(own):
        return False
    photos = {f"{PHOTOS}/{photo.name}": photo.data for photo in made.photos}
    return all(
        _holds(there.path.parent / kept.photo, photos[tile.photo])
        for kept, tile in zip(there.firing.tiles, own.tiles, strict=True)
        if tile.photo
    )


def _but_for_its_files(firing: Firing) -> Firing:
    """A firing in which it counts that a tile has a photo, and not where that lies."""
    tiles = (replace(tile, photo="there" if tile.photo else "") for tile in firing.tiles)
    return replace(firing, tiles=tuple(tiles))


def _holds(path: Path, data: bytes) -> bool | None:
    """Whether a file holds that; None where there is none."""
    try:
        return read_bytes(path, MOST_BYTES) == data
    except DecodeError:
        return None if not path.exists() and not path.is_symlink() else False
