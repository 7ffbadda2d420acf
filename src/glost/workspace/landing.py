"""Where the output of a recipe lies below the folder for all of them: as the recipe lies in its collection, whichever
other recipes are named with it."""

from __future__ import annotations

import os
from pathlib import Path

from glost.workspace.collection import Collections
from glost.workspace.git.folders import top_of
from glost.workspace.paths import whole


def base_of(path: Path, collections: Collections) -> Path:
    """The folder from which on an output lies as its recipe does. It is that of the outermost collection around the
    recipe; without one the top of its repository, else the working folder; else the recipe's own folder."""
    root = collections.root_of(path)
    while root is not None and (around := collections.root_of(root)) is not None:
        root = around
    folder = whole(path).parent
    if root is not None:
        return root
    top = top_of(folder)
    here = Path.cwd()
    return next((base for base in (top, here) if base is not None and folder.is_relative_to(base)), folder)


def below(path: Path, base: Path) -> Path:
    """The way from there to the recipe."""
    return Path(os.path.relpath(whole(path), base))
