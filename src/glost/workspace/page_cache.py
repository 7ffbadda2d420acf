"""What was made of each of many pages, kept from one run to the next.

It lies in so many parts by the path of the page, that a run over one page reads little.
"""

from __future__ import annotations

import os
from binascii import crc32
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from glost.language.source import DecodeError
from glost.workspace import cache
from glost.workspace.paths import whole_text
from glost.workspace.reading import DISK, Files

_FOLDER = "pages"
_PARTS = 256


def by_part(pages: Iterable[Path]) -> list[list[Path]]:
    """The pages of each part together, so that a run over many need hold no more than one part."""
    parts: dict[int, list[Path]] = {}
    for page in pages:
        parts.setdefault(part_of(page), []).append(page)
    return list(parts.values())


def part_of(page: Path) -> int:
    """The part in which that is kept which is kept of a page."""
    return _named(page)[1]


class PageCache:
    """Something that JSON can hold for each page, such as what was found there. ``about`` tells all that it depends on
    besides the page and the build of glost; what was kept under the same ``place`` about something else is replaced."""

    def __init__(self, place: str, about: str) -> None:
        self._place = f"{_FOLDER}/{place}"
        self._about = about
        self._parts: dict[int, dict[str, list[Any]]] = {}
        self._changed: set[int] = set()
        self._seen: set[str] = set()
        self._swept = False

    def knows(self, page: Path) -> bool:
        """Whether something was kept for a page at that path, whatever it held."""
        name, part = _named(page)
        return name in self._part(part)

    def find(self, page: Path, *besides: str, files: Files = DISK) -> Any:
        """What was kept for that page as it now lies there, with what it depends on ``besides``; None where nothing
        was. A page that is not known is not read."""
        name, part = _named(page)
        try:
            known_as, kept = self._part(part)[name]
            content = content_of(files.read(page), *besides)
        except (DecodeError, KeyError, ValueError, TypeError):
            return None
        return kept if known_as == content else None

    def keep(self, page: Path, content: str, kept: Any) -> None:
        """Keeps something for the page with that content_of()."""
        name, part = _named(page)
        self._part(part)[name] = [content, kept]
        self._changed.add(part)
        self._seen.add(name)

    def save(self) -> None:
        """Puts what is new where the next run finds it, and holds nothing more of it; of pages that are gone nothing is
        kept."""
        for part in sorted(self._changed):
            there = {
                name: kept
                for name, kept in self._parts[part].items()
                if name in self._seen or os.path.exists(name)  # noqa: PTH110
            }
            cache.put(f"{self._place}/{part:02x}", self._about, there)
        if self._changed and not self._swept:
            cache.sweep(_FOLDER)
            self._swept = True
        self._changed.clear()
        self._seen.clear()
        self._parts.clear()

    def _part(self, number: int) -> dict[str, list[Any]]:
        if number not in self._parts:
            kept = cache.take(f"{self._place}/{number:02x}", self._about)
            self._parts[number] = kept if isinstance(kept, dict) else {}
        return self._parts[number]


class CollectionCache:
    """A PageCache for each of several collections. ``kind`` and ``asked`` tell what is kept, and what it depends on
    besides page and collection."""

    def __init__(self, kind: str, *asked: str) -> None:
        self._asked = (kind, *asked)
        self._by_root: dict[Path | None, PageCache] = {}

    def of(self, root: Path | None, says: str) -> PageCache:
        """What is kept of the collection in that folder, as long as it says the same."""
        if root not in self._by_root:
            place = cache.digest(cache.build(), str(root), *self._asked)
            self._by_root[root] = PageCache(place, says)
        return self._by_root[root]

    def save(self) -> None:
        """Puts what is new where the next run finds it, and holds nothing more of it."""
        for pages in self._by_root.values():
            pages.save()


def content_of(page: str | bytes, *besides: str) -> str:
    """What a page is known by: a digest of its text, and of what else was made use of that other pages do not
    share."""
    return cache.digest(page, *besides)


def _named(page: Path) -> tuple[str, int]:
    name = whole_text(page)
    return name, crc32(name.encode("utf-8", "surrogatepass")) % _PARTS
