"""The recipes of a collection on the disk, for pages that use them. Nothing outside of its folder is read."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from glost.language import tree
from glost.language.source import DecodeError
from glost.recipe.library import Kept, Library, Read
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.resolve import resolve_own
from glost.workspace.files import read_text
from glost.workspace.paths import display, leads_out

if TYPE_CHECKING:
    from glost.workspace.collection import Collections


def library_of(folder: Path, catalogue: Catalogue, collections: Collections) -> Library:
    """The recipes in a folder and below; what its glost.yaml skips is left out. The files are looked for when the first
    recipe is asked for."""
    return Library(partial(_pages, folder, collections), partial(_read, catalogue))


def _pages(folder: Path, collections: Collections) -> Iterator[Kept]:
    from glost.workspace.collection import find

    for path in find([str(folder)], collections):
        inner = path.relative_to(folder)
        if collections.root_of(path) in (None, folder) and not leads_out(folder, str(inner)):
            yield Kept(display(path), partial(_text, path))


def _text(path: Path) -> str | None:
    try:
        return read_text(path)
    except DecodeError:
        return None


def _read(catalogue: Catalogue, page: tree.Page) -> Read:
    own = resolve_own(page, catalogue)
    return Read(page, own.recipe, own.complete)
