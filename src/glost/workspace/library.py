"""The recipes of a collection, where its files are read, for pages that use them. Nothing outside of its folder
is read."""

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
from glost.workspace.paths import STANDARD_INPUT
from glost.workspace.reading import Files, text_in

if TYPE_CHECKING:
    from glost.workspace.collection import Collections


def library_of(folder: Path, catalogue: Catalogue, collections: Collections) -> Library:
    """The recipes that a page of a folder may use. In a collection these are its own, what its glost.yaml skips left
    out. A page that belongs to none may use the pages beside it and those of the collections below. The files are
    looked for when the first recipe is asked for."""
    return Library(partial(_pages, folder, collections), partial(read_own, catalogue))


def _pages(folder: Path, collections: Collections) -> Iterator[Kept]:
    from glost.workspace.collection import find

    own = collections.root_of(folder / STANDARD_INPUT)
    for path in find([str(folder)], collections):
        root = collections.root_of(path)
        near = root == own if own is not None else root is not None or path.parent == folder
        if near and not collections.files.leads_out(folder, str(path.relative_to(folder))):
            yield Kept(collections.files.shown(path), partial(_text, collections.files, path))


def _text(files: Files, path: Path) -> str | None:
    try:
        return text_in(files, path)
    except DecodeError:
        return None


def read_own(catalogue: Catalogue, page: tree.Page) -> Read:
    """What a page of a library means by itself."""
    own = resolve_own(page, catalogue)
    return Read(page, own.recipe, own.complete)
