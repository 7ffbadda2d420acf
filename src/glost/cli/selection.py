"""Some recipes of a collection, taken as part of it: what it skips is left out, and what must not be the same in two
recipes is looked for in all of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import partial
from pathlib import Path
from typing import NamedTuple

import click

from glost.cli.common import files, known_by, recipe_files
from glost.workspace.collection import Collections, find
from glost.workspace.paths import PAGES, whole

in_collection_option = click.option(
    "--in-collection",
    is_flag=True,
    help="Leave out hidden files and what their collection skips.",
)


rest_option = click.option(
    "--rest",
    is_flag=True,
    help="Of the settings among PATHS, check all recipes they hold for, but those that PATHS name: another call does.",
)


class Chosen(NamedTuple):
    """The recipes to report on, and the others of their collections that those are compared with."""

    recipes: list[Path]
    others: list[Path]


def chosen_files(
    paths: Sequence[str], collections: Collections, since: str | None, in_collection: bool
) -> Chosen:
    """The recipes that a command is asked to check. Raises UsageError, ConfigError."""
    if since is not None:
        from glost.cli.since import changed_files

        recipes, others = changed_files(paths, collections, since, ending=PAGES)
    elif in_collection:
        recipes, others = files(paths, collections, PAGES, told=False), []
    else:
        return Chosen(recipe_files(paths, collections, PAGES), [])
    return with_the_rest(recipes, others, collections, in_collection)


def with_the_rest(
    recipes: list[Path], others: list[Path], collections: Collections, in_collection: bool
) -> Chosen:
    """The recipes, and what else their collections hold. ``others``: what paths meant besides. ``in_collection``: those
    that their collection skips are left out. Raises ConfigError."""
    walked = {known_by(file): file for file in _walked(recipes, collections)}
    if in_collection:
        recipes = not_skipped(recipes, collections)
    for file in others:
        walked.setdefault(known_by(file), file)
    for file in recipes:
        walked.pop(known_by(file), None)
    roots = {collections.root_of(file) for file in recipes}
    return Chosen(recipes, [file for file in walked.values() if collections.root_of(file) in roots])


def the_rest(paths: Sequence[str], collections: Collections) -> Chosen:
    """The recipes of the collections whose settings (glost.yaml, materials, a baseline) are named, but for those that
    are named themselves. Raises ConfigError."""
    named = [Path(text) for text in paths if text.endswith(PAGES)]
    settings = [Path(text) for text in paths if not text.endswith(PAGES)]
    for file in settings:
        collections.of(file)  # settings may be wrong where they hold for no recipe yet
    roots = {str(collections.root_of(file) or file.parent) for file in settings}
    known = {known_by(file) for file in named}
    rest = {known_by(file): file for file in find(sorted(roots), collections, PAGES)}
    found = [file for at, file in rest.items() if at not in known]
    return Chosen(found, named if found else [])


def chosen_alone(
    paths: Sequence[str], collections: Collections, since: str | None, in_collection: bool
) -> list[Path]:
    """The recipes to look at where each stands by itself, whatever else its collection holds or sets. Raises
    UsageError, ConfigError."""
    if since is not None:
        from glost.cli.since import changed_files

        recipes = changed_files(paths, collections, since, settings_count=False).changed
    else:
        find_all = partial(files, told=False) if in_collection else recipe_files
        recipes = find_all(paths, collections, PAGES)
    return not_skipped(recipes, collections) if in_collection else recipes


def _walked(recipes: Iterable[Path], collections: Collections) -> list[Path]:
    """All that a walk through the collections of those recipes comes by, from the outermost on, since that may skip
    one that lies in it."""
    roots = {root for file in recipes if (root := collections.root_of(file)) is not None}
    outermost = set()
    for root in roots:
        while (around := collections.root_of(root)) is not None:
            root = around
        outermost.add(root)
    return find([str(root) for root in outermost], collections, asked=False)


def not_skipped(recipes: Iterable[Path], collections: Collections) -> list[Path]:
    """Those that belong to the collection they lie in, if they lie in one: nothing that is hidden, or that the folder's
    own collection or one around it skips."""
    met: dict[Path, bool] = {}

    def skipped(folder: Path) -> bool:
        if folder not in met:
            around = folder.parent != folder and skipped(folder.parent)
            met[folder] = around or collections.skipped(folder)
        return met[folder]

    def belongs(file: Path) -> bool:
        root = collections.root_of(file)
        if root is None:
            return True
        at = whole(file)
        hidden = any(part.startswith(".") for part in at.relative_to(root).parts)
        return not hidden and not skipped(at.parent) and not collections.skipped(at)

    return [file for file in recipes if belongs(file)]
