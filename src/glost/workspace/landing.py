"""Where the output of a recipe lies below the folder for all of them: as the recipe lies in its collection, whichever
other recipes are named with it."""

from __future__ import annotations

import os
from pathlib import Path

from glost.workspace.collection import Collections
from glost.workspace.git.folders import top_of
from glost.workspace.paths import whole, whole_text


def base_of(path: Path, collections: Collections) -> Path:
    """The folder from which on an output lies as its recipe does. It is that of the outermost collection around the
    recipe; without one the top of its repository, else the working folder; else the recipe's own folder."""
    root = collections.root_of(path)
    while root is not None and (around := collections.root_of(root)) is not None:
        root = around
    if root is not None:
        return root
    folder = whole(path).parent
    top = top_of(folder)
    here = Path.cwd()
    return next((base for base in (top, here) if base is not None and folder.is_relative_to(base)), folder)


def below(path: Path, base: Path) -> str:
    """The way from there to the recipe, with / between folders."""
    # As texts: to take the paths apart took 12 us a recipe, a tenth of what a sheet takes beside its text.
    text, above = whole_text(path), os.path.join(base, "")  # noqa: PTH118
    way = text.removeprefix(above) if text.startswith(above) else os.path.relpath(text, base)
    return way.replace(os.sep, "/")
