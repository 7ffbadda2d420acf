"""Looks at the files that are not known yet: reads, checks, and mends them where that is wished."""

from __future__ import annotations

from pathlib import Path

from glost.collection import Collections
from glost.files import ChangedMeanwhile, read_text, write_text
from glost.kept import content_of
from glost.language.source import Source, Unreadable
from glost.lint.engine import Bench, examine, mend
from glost.lint.finding import unreadable
from glost.lint.report import Report
from glost.places import display
from glost.runs.wish import Looked, Wish


class Examiner:
    """Checks files one by one, with the collections it has met."""

    def __init__(self, wish: Wish, collections: Collections) -> None:
        self.wish = wish
        self.collections = collections

    def bench(self, path: Path) -> Bench:
        """What is needed to check a file. Raises Misread."""
        collection = self.collections.of(path)
        wish = self.wish
        return Bench(collection.catalogue, collection.settings, wish.batch_g, None, wish.select, wish.ignore)

    def look(self, path: Path) -> Looked:
        """The report of one file, mended first where that is wished. Raises Misread, nothing else."""
        shown = display(path)
        try:
            source = Source(shown, read_text(path))
            bench = self.bench(path)
            if not self.wish.fix:
                return self._looked(path, source.text, examine(source, bench))
            mended = mend(source, bench)
            if mended.text != source.text:
                write_text(path, mended.text, expected=source.text)
            return self._looked(path, mended.text, mended.left, mended.count)
        except Unreadable as error:
            return _failed(path, shown, error)
        except ChangedMeanwhile:
            return _failed(
                path,
                shown,
                Unreadable(
                    "this file was changed while it was looked at; it is left as it is",
                    "run the command again",
                ),
            )
        except OSError as error:
            return _failed(
                path,
                shown,
                Unreadable(
                    f"this file could not be written: {error.strerror}; it is left as it was",
                    "check the disk and the permissions",
                ),
            )

    def _looked(self, path: Path, text: str, report: Report, mended: int = 0) -> Looked:
        return Looked(path, report, mended, content_of(text), self.collections.of(path).says)


def _failed(path: Path, shown: str, error: Unreadable) -> Looked:
    return Looked(path, Report([unreadable(shown, error)], []))
