"""What the page at the kiln door hands over: a firing with its tiles and their photos, checked, and the page of it.

It comes out of strange hands. Names of files are made here and never taken from it; a photo is a JPEG and nothing else;
and the page that is made of it must say, read again, what was handed over.
"""

from __future__ import annotations

import re
from binascii import Error as Base64Error
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Any, Final, NamedTuple

from glost.errors import ValueRefusedError, refused_at
from glost.language.exact_json import check_against, loaded
from glost.language.layout import format_text
from glost.language.parse import FIRING, parse
from glost.language.source import Source
from glost.recipe.cone import Cone, plain_cone, read_cone
from glost.recipe.firing import Firing, Tile, read_test, resolve_firing
from glost.records.jpeg import check_jpeg
from glost.records.names import slug

VERSION: Final = 1
KIND: Final = "glost fired tiles"
LARGEST: Final = 64 * 1024 * 1024
"""Bytes of a file that was handed over."""
MOST_TILES: Final = 200
LONGEST: Final = 4000
"""Characters of remarks and notes."""
LONGEST_LINE: Final = 200
"""Characters of any other text."""
MOST_BYTES: Final = 2 * 1024 * 1024
"""Of a photo that is taken in."""
MOST_SIDE: Final = 4096
PAGE_BYTES: Final = 250_000
PAGE_SIDE: Final = 1280
"""What the page makes of a photo: at most so many bytes, and dots on its longer side."""
_SCHEMA: Final = "fired.schema.json"
_MARK: Final = re.compile(
    rb'\A(?:\xef\xbb\xbf)?\s*\{\s*"version"\s*:\s*\d+\s*,\s*"kind"\s*:\s*"' + KIND.encode()
)
_LINES: Final = ("body", "place", "surface", "colour", "remarks")
_SIGN: Final = re.compile(r"(?<!\S)#(?!\S)")
"""What would begin a comment on a page."""


class Photo(NamedTuple):
    """The picture of a tile: ``name`` of its file, and its bytes."""

    name: str
    data: bytes


@dataclass(frozen=True, slots=True)
class FiredTiles:
    """``name``: of the page's file. ``text``: the page. ``photos``: what lies in the folder PHOTOS beside it.
    ``batches``: the names of the records that it says were fired. ``reworded``: where a text was changed, since the
    page could not have held it as it was."""

    name: str
    text: str
    photos: tuple[Photo, ...]
    batches: tuple[str, ...]
    reworded: tuple[str, ...]


PHOTOS: Final = "photos"


def is_fired(head: bytes) -> bool:
    """Whether a file that begins so is meant to be one."""
    return _MARK.match(head) is not None


def fired_from(text: str) -> FiredTiles:
    """The firing in what was handed over. Raises ValueError for what is not whole, or is not what the page makes."""
    value = loaded(text, LARGEST)
    check_against(_SCHEMA, value)
    return _Maker(value).make()


class _Maker:
    def __init__(self, value: dict[str, Any]) -> None:
        self._said: dict[str, Any] = value["firing"]
        self._tiles: list[dict[str, Any]] = value["tiles"]
        self._photos: list[Photo] = []
        self._reworded: list[str] = []

    def make(self) -> FiredTiles:
        said = self._said
        name = self._name("the firing", said["name"])
        try:
            day = date.fromisoformat(said["date"]).isoformat()
        except ValueError:
            raise ValueRefusedError(
                f"the firing: '{said['date']}' is no day", "write such as 2026-05-14"
            ) from None
        place = f"{day}-{slug(name, 'x')}"
        firing = Firing(
            name,
            day,
            self._line("kiln", said["kiln"]),
            self._cone("cone", said["cone"]),
            self._cone("reached", said["reached"]),
            self._line("atmosphere", said["atmosphere"]),
            self._line("body", said["body"]),
            None,
            tuple(self._tile(tile, place) for tile in self._tiles),
            "\n".join(filter(None, (self._line("notes", line) for line in said["notes"].splitlines()))),
        )
        return FiredTiles(
            f"{place}{FIRING}",
            _proven(firing),
            tuple(self._photos),
            tuple(tile.batch for tile in firing.tiles if tile.batch),
            tuple(self._reworded),
        )

    def _tile(self, said: dict[str, Any], place: str) -> Tile:
        name = self._name("a tile", said["name"])
        where = f"tile {name}"
        try:
            test = read_test(said["test"])
        except ValueError as error:
            raise refused_at(where, error) from None
        photo = self._photo(where, said["photo"], f"{place}-{slug(name, 'x')}")
        said_of = {key: self._line(f"{where}, {key}", said[key]) for key in _LINES}
        return Tile(
            name,
            test,
            said["batch"],
            body=said_of["body"],
            place=said_of["place"],
            surface=said_of["surface"],
            colour=said_of["colour"],
            flow=None if said["flow_mm"] is None else Decimal(said["flow_mm"]),
            faults=self._faults(where, said["faults"]),
            photo=photo,
            remarks=said_of["remarks"],
        )

    def _faults(self, where: str, said: list[str]) -> tuple[str, ...]:
        words = (self._line(f"{where}, faults", one.replace(",", " ")).lower() for one in said)
        return tuple(dict.fromkeys(filter(None, words)))

    def _photo(self, where: str, said: dict[str, Any] | None, wanted: str) -> str:
        """Where the picture of a tile lies, seen from the page; "" where it has none."""
        from base64 import b64decode

        if said is None:
            return ""
        try:
            data = b64decode(said["data"], validate=True)
        except (Base64Error, ValueError):
            raise ValueRefusedError(
                f"{where}: its photo is broken: it is no base64", "hand it over anew from the page"
            ) from None
        if len(data) > MOST_BYTES:
            raise ValueRefusedError(
                f"{where}: its photo holds {len(data):,} bytes",
                f"{MOST_BYTES:,} are taken at most; the page makes a picture smaller than that",
            )
        try:
            wide, high = check_jpeg(data)
        except ValueError as error:
            raise refused_at(f"{where}, photo", error) from None
        if max(wide, high) > MOST_SIDE:
            raise ValueRefusedError(
                f"{where}: its photo is {wide} x {high} dots",
                f"{MOST_SIDE} a side are taken at most; the page makes a picture smaller than that",
            )
        taken = {photo.name for photo in self._photos}
        name, count = f"{wanted}.jpg", 1
        while name in taken:
            count += 1
            name = f"{wanted}-{count}.jpg"
        self._photos.append(Photo(name, data))
        return f"{PHOTOS}/{name}"

    def _name(self, what: str, text: str) -> str:
        name = self._line(f"the name of {what}", text)
        if not name or '"' in name:
            raise ValueRefusedError(
                f"'{name}' cannot be the name of {what}", "write words without quotation marks"
            )
        return name

    def _line(self, where: str, text: str) -> str:
        """A text on one line; blanks of any kind are one blank, and a # that would begin a comment is a word."""
        line = " ".join(text.split())
        changed = " ".join(_SIGN.sub("no.", line).split())
        if changed != line:
            self._reworded.append(
                f"{where}: '{changed}' stands for '{line}', since # and a blank begin a comment"
            )
        return changed

    def _cone(self, what: str, text: str) -> Cone | None:
        bare = self._line(what, text)
        if not bare:
            return None
        try:
            return read_cone(plain_cone(bare) or bare)
        except ValueError as error:
            raise refused_at(what, error) from None


# ---- the page ------------------------------------------------------------------------------------------


def _proven(firing: Firing) -> str:
    """The text of the page; read again it says the same. Raises ValueError where a text cannot stand on a page."""
    page = parse(Source(f"page{FIRING}", _text(firing)))
    resolved = resolve_firing(page)
    wrong = next(iter((*page.diagnostics, *resolved.diagnostics)), None)
    if wrong is not None:
        line = page.source.position(wrong.span.start).line
        written = page.source.text.split("\n")[line - 1].strip()
        raise ValueRefusedError(f"'{written}' cannot stand on the page: {wrong.message}", wrong.hint)
    own = replace(firing, tiles=tuple(replace(tile, body=tile.body or firing.body) for tile in firing.tiles))
    if resolved.firing != own:
        raise ValueRefusedError(
            "a text of it would read otherwise on the page", "take signs such as quotes away from its texts"
        )
    return format_text(page)


def _text(firing: Firing) -> str:
    lines = [f'firing "{firing.name}"', f"date: {firing.date}"]
    for key, value in (
        ("kiln", firing.kiln),
        ("cone", firing.cone),
        ("reached", firing.reached),
        ("atmosphere", firing.atmosphere),
        ("body", firing.body),
    ):
        lines += [f"{key}: {value}"] if value else []
    for tile in firing.tiles:
        lines += ["", f'tile "{tile.name}":']
        for key, value in (
            ("test", tile.test.written if tile.test else ""),
            ("batch", tile.batch),
            ("body", tile.body),
            ("place", tile.place),
            ("surface", tile.surface),
            ("colour", tile.colour),
            ("flow", f"{tile.flow:f} mm" if tile.flow is not None else ""),
            ("faults", ", ".join(tile.faults)),
            ("photo", tile.photo),
            ("remarks", tile.remarks),
        ):
            lines += [f"    {key}: {value}"] if value else []
    if firing.notes:
        lines += ["", "notes:", *(f"    {line}" for line in firing.notes.split("\n"))]
    return "\n".join(lines) + "\n"
