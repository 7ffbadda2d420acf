"""A recipe of a collection, read whole."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from glost.collection import Collection, Collections
from glost.files import read_text
from glost.language.parse import parse
from glost.language.source import Fault, Source
from glost.places import display
from glost.recipe.resolve import Resolved, resolve


class Entry(NamedTuple):
    """A recipe of a collection: its file as shown, what it means, and the collection's word."""

    path: Path
    file: str
    resolved: Resolved
    collection: Collection


def load(path: Path, collections: Collections) -> Entry:
    """The recipe in a file. Raises Unreadable, Misread."""
    return load_text(display(path), read_text(path), path, collections)


def load_text(shown: str, text: str, path: Path, collections: Collections) -> Entry:
    """The recipe in a text that is shown under one name and belongs to the collection of ``path``."""
    collection = collections.of(path)
    resolved = resolve(parse(Source(shown, text)), collection.catalogue)
    return Entry(path, shown, resolved, collection)


def faults_of(resolved: Resolved) -> tuple[Fault, ...]:
    """All that cannot be read or taken on a page, in order."""
    return tuple(sorted((*resolved.page.faults, *resolved.faults), key=lambda fault: fault.span))
