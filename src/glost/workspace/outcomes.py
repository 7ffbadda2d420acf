"""What came of the newest tile of each test, out of the firings of its collection."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from glost.linter.finding import Finding
from glost.output.catalog.rows import Fired
from glost.recipe.names import folded
from glost.workspace.collection import Collections, find
from glost.workspace.firings import batch_called, read_firings
from glost.workspace.paths import FIRING, lies_within


class Outcomes:
    """The newest tiles in the collections of some recipes. ``findings``: what is wrong with firings that are left out,
    since they cannot be read whole."""

    def __init__(self, roots: Iterable[Path], collections: Collections) -> None:
        """Raises ConfigError."""
        self.findings: list[Finding] = []
        self._newest: dict[tuple[Path, str, str], Fired] = {}
        for root in dict.fromkeys(roots):
            self._read(root, collections)

    def of(self, root: Path | None, kind: str, name: str) -> Fired | None:
        """The newest tile of the test of that name; None where it was never fired."""
        if root is None:
            return None
        found = [self._newest.get((root, one, folded(name))) for one in (kind, "")]
        return max((one for one in found if one is not None), key=lambda one: one.date, default=None)

    def _read(self, root: Path, collections: Collections) -> None:
        firings, wrong = read_firings(find([str(root)], collections, FIRING))
        self.findings += wrong
        for read in firings:  # in the order of their days, so that the last one stays
            firing = read.firing
            for tile in read.firing.tiles:
                kind, name = (tile.test.kind, tile.test.name) if tile.test else ("", "")
                if not name:
                    record = batch_called(tile.batch, read.path, collections)
                    if record is None:
                        continue
                    name = f"{record.recipe}, {record.test}" if record.test else record.recipe
                photo = read.path.parent / tile.photo if tile.photo else None
                there = photo is not None and lies_within(root, str(photo.absolute())) and photo.is_file()
                self._newest[root, kind, folded(name)] = Fired(
                    firing.date,
                    firing.name,
                    tile.name,
                    str(firing.reached or firing.cone or ""),
                    tile.surface,
                    tile.colour,
                    tile.faults,
                    tile.remarks,
                    str(photo) if there else "",
                )
