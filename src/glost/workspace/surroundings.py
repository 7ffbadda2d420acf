"""What a check of a firing's page asks of the folder that it lies in."""

from __future__ import annotations

from pathlib import Path

from glost.linter.rule import Weighed
from glost.workspace.collection import Collections
from glost.workspace.paths import lies_within, whole


class FiringSurroundings:
    """What lies around the page of a firing. Files are looked for when they are asked for."""

    def __init__(self, path: Path, collections: Collections) -> None:
        self._path = path
        self._collections = collections

    def has_photo(self, place: str) -> bool:
        folder = whole(self._path).parent
        root = self._collections.root_of(self._path) or folder
        photo = folder / place
        return lies_within(root, str(photo)) and photo.is_file()

    def batch(self, name: str) -> Weighed | None:
        from glost.workspace.firings import batch_called  # what reads firings and records; few pages ask it

        record = batch_called(name, self._path, self._collections)
        return None if record is None else Weighed(record.recipe, record.test, str(record.day))
