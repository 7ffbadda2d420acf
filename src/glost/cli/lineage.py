"""A recipe, or REV:PATH, through its commits: what a recipe means is brought to the walk through them."""

from __future__ import annotations

import os
from collections.abc import Hashable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path

import click

from glost.changes.around import seen_with
from glost.changes.comparison import compare
from glost.changes.judgement import told_of
from glost.changes.meaning import Place, Told
from glost.changes.pairs import Page, are_alike, paired
from glost.linter.reporters import plain
from glost.workspace.collection import Collections
from glost.workspace.git.folders import Places, top_of
from glost.workspace.git.revision_words import revision_and_path
from glost.workspace.git.run import HEAD, commit_of
from glost.workspace.load import Usable
from glost.workspace.paths import display
from glost.workspace.runs import lineage
from glost.workspace.runs.lineage import Lineage, Meanings, inner_path

Version = lineage.Version[Told]


def versions_of(named: Path, collections: Collections) -> tuple[Path, list[Version]]:
    """A recipe, or REV:PATH, as the path of its file and its versions, the newest first; the first is the file as it
    lies in its folder, where that is not what was committed last. Among them are the commits that changed only what a
    recipe among its ingredients brings, or what its collection says of it. Raises UsageError, GitError, ConfigError."""
    path, start = _meant(named)
    shown = plain.visible(str(named))
    top, own = Places(collections.root_of).of(path)
    if own is not None:
        raise click.UsageError(
            f"'{shown}' lies in {plain.visible(display(own))}, a repository of its own, which is not asked about a "
            "collection that begins outside of it."
        )
    if top is None:
        if not os.path.lexists(path):
            raise click.UsageError(f"there is no file '{shown}'.")
        raise click.UsageError(
            f"'{shown}' lies in no git repository, so that it has no history: 'git init' begins one, and each "
            "commit of the page is a revision of it."
        )
    versions = versions_in(top, path, collections, start)
    if not versions:
        raise click.UsageError(f"there is no file '{shown}', and no commit has one.")
    return path, versions


def versions_in(
    top: Path, path: Path, collections: Collections, start: str = HEAD, mainline: bool = False
) -> list[Version]:
    """The versions of a file of the repository with that top. ``mainline``: of a merge its first parent alone goes on.
    Raises GitError, ConfigError."""
    walk = Lineage(top, MEANINGS, mainline)
    commit = commit_of(top, start)
    inner = inner_path(path, top)
    versions = [] if commit is None else walk.with_around(commit, walk.of(commit, inner))
    return walk.with_now(path, inner, commit, versions, collections) if start == HEAD else versions


def _meant(named: Path) -> tuple[Path, str]:
    """The path of a file, and the commit up to which its history is meant."""
    revision, inner = revision_and_path(str(named)) or ("", "")
    if revision and not os.path.lexists(named):
        top = top_of(Path.cwd())
        if top is not None and commit_of(top, revision) is not None:
            here = inner.startswith(("./", "../"))
            return Path(inner) if here else Path(os.path.relpath(top / inner)), revision
    return named, HEAD


# ---- what a recipe means -----------------------------------------------------------------------------------


def seen_together(old: Version, new: Version, apart: bool = False) -> tuple[Told, Told]:
    """What two versions that can be read say, each with what its collection says of both; where both collections say
    the same, only if ``apart`` is wanted. Raises GitError, ConfigError."""
    before, after = old.told, new.told
    assert before is not None
    assert after is not None
    if isinstance(old.found, Usable) and isinstance(new.found, Usable):
        then, now = old.found.collection, new.found.collection
        if apart or (then.says, then.root is None) != (now.says, now.root is None):
            recipes = old.found.recipe, new.found.recipe
            before = seen_with(before, recipes, then.settings, then.catalogue)
            after = seen_with(after, recipes, now.settings, now.catalogue)
            before, after = _with_materials_of(before, after), _with_materials_of(after, before)
    return before, after


def _with_materials_of(one: Told, other: Told) -> Told:
    """Without what its collection says of materials that the other does not have, by whatever name: that they came or
    went is told where the recipe has them."""
    both = {place.within for place in other.around if _is_of_material(place)}
    kept = {
        place: fact
        for place, fact in one.around.items()
        if not _is_of_material(place) or place.within in both
    }
    return replace(one, around=kept)


def _is_of_material(place: Place) -> bool:
    return place.section == "materials" and place.what != "means"


def _changed(old: Version, new: Version) -> frozenset[Hashable]:
    changes = compare(*seen_together(old, new)).real
    return frozenset(change.place for change in changes if not change.follows)


def _pairs(old: Mapping[str, Told | None], new: Mapping[str, Told | None]) -> Iterator[tuple[str, str]]:
    sides = [[Page(path, path, told) for path, told in side.items()] for side in (old, new)]
    for pair in paired(sides[0], sides[1], named=False):
        if pair.old is not None and pair.new is not None:
            yield pair.old.path, pair.new.path


def _told(found: Usable) -> Told:
    return told_of(found)


MEANINGS: Meanings[Told] = Meanings(_told, _pairs, are_alike, _changed)
