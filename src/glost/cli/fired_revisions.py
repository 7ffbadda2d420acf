"""The tiles that were fired of each revision of a recipe."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from glost.changes.history import NOT_COMMITTED, Revision
from glost.changes.results import FiredTile, outcome_text
from glost.cli.common import number_of
from glost.cli.fired_tiles import FiredTiles
from glost.cli.streams import note
from glost.linter.reporters import plain
from glost.recipe.names import folded
from glost.workspace.collection import Collections, find
from glost.workspace.firings import read_firings
from glost.workspace.paths import FIRING


def with_outcomes(revisions: Sequence[Revision], path: Path, collections: Collections) -> list[Revision]:
    """The revisions, each with what came of the tiles that were fired of it; a tile of which no revision is known is
    told of. Raises ConfigError."""
    root = collections.root_of(path)
    found = find([str(root)], collections, FIRING) if root is not None and root.is_dir() else []
    if not found:
        return list(revisions)
    firings, wrong = read_firings(found)
    if wrong:
        note(plain.text(wrong))
        note("glost: these firings are left out; fix them first\n")
    names = list(dict.fromkeys((one.told.kind, folded(one.told.name)) for one in revisions if one.told))
    outcomes: dict[int, list[str]] = {}
    unknown = 0
    tiles = FiredTiles(collections)
    tiles.learn_earlier_names(path)
    for tile in tiles.of(firings, names):
        if (tile.kind, folded(tile.recipe)) not in names:
            continue
        at = _revision_of(tile, revisions)
        if at is None:
            unknown += 1
        else:
            outcomes.setdefault(at, []).append(outcome_text(tile))
    if unknown:
        note(
            f"glost: of {number_of(unknown, 'fired tile')} no revision is known here; glost results shows"
            f" {'it' if unknown == 1 else 'them'}\n"
        )
    return [one._replace(outcomes=tuple(outcomes.get(at, ()))) for at, one in enumerate(revisions)]


def _revision_of(tile: FiredTile, revisions: Sequence[Revision]) -> int | None:
    """The place of the revision that a tile was of: the newest of its page and of those that it was made of. Short
    names of one commit may differ in their length."""
    if tile.source == "page now":
        return next((at for at, one in enumerate(revisions) if one.short == NOT_COMMITTED), None)
    own = tile.revision.partition(",")[0]
    places = [at for at, one in enumerate(revisions) if own and _is_one(one.short, own)]
    if not places:
        return None
    used = [one.rpartition(" at ")[2].partition(",")[0] for one in tile.uses if " at " in one]
    return max(
        at for at, one in enumerate(revisions) if any(_is_one(one.short, name) for name in (own, *used))
    )


def _is_one(one: str, other: str) -> bool:
    return one.startswith(other) or other.startswith(one)
