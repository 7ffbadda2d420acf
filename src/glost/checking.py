"""Checks many recipes: on every core where that pays, with the same answer in the same order for any number."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

from glost.collection import Collections, display, unreadable
from glost.cores import each
from glost.files import ChangedMeanwhile, read_text, write_text
from glost.language.source import Source, Unreadable
from glost.lint.engine import Bench, Report, examine, mend


class Wish(NamedTuple):
    """What a run asks of every file."""

    batch_g: Decimal | None = None
    select: frozenset[str] = frozenset()
    ignore: frozenset[str] = frozenset()
    fix: bool = False


class Looked(NamedTuple):
    """One file's report, and how many of its findings were mended."""

    path: Path
    report: Report
    mended: int = 0


class Checker:
    """Checks files one by one, with the collections it has met."""

    def __init__(self, wish: Wish) -> None:
        self.wish = wish
        self.collections = Collections()

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
                return Looked(path, examine(source, bench))
            mended = mend(source, bench)
            if mended.text != source.text:
                write_text(path, mended.text, expected=source.text)
            return Looked(path, mended.left, mended.count)
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


def _failed(path: Path, shown: str, error: Unreadable) -> Looked:
    return Looked(path, Report([unreadable(shown, error)], []))


def look_at(paths: Sequence[Path], checker: Checker, workers: int | None = None) -> Iterator[Looked]:
    """Looks at every file, in the order given; ``workers`` as for ``glost.cores.each``. Raises Misread, WorkerLost."""
    if paths:
        checker.collections.of(paths[0])  # read once here; a forked process has it already
    return each(checker.look, paths, workers)
