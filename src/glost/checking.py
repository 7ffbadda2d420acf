"""Checks many recipes: on every core where that pays, with the same answer in the same order for any number."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

from glost.collection import Collections, display, unreadable
from glost.files import ChangedMeanwhile, read_text, write_text
from glost.language.source import Source, Unreadable
from glost.lint.engine import Bench, Report, examine, mend

WORTH_SHARING = 150
"""Files from which on more processes pay: below, starting them costs more than they save (measured; see
docs/speed.md)."""
_AT_ONCE = 64
"""Files handed to a process in one piece."""


_PATIENCE = 2
"""Seconds without an answer after which the processes are counted."""


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
    """Looks at every file, in the order given. ``workers`` None: as many as there are cores, one for few files."""
    count = workers or (os.cpu_count() or 1 if len(paths) >= WORTH_SHARING else 1)
    if count == 1 or len(paths) < 2:
        yield from map(checker.look, paths)
    else:
        yield from _shared(paths, checker, count)


def _shared(paths: Sequence[Path], checker: Checker, count: int) -> Iterator[Looked]:
    import multiprocessing

    methods = multiprocessing.get_all_start_methods()
    context = multiprocessing.get_context("fork" if "fork" in methods else None)
    checker.collections.of(paths[0])  # read once here; a forked process has it already
    with _deaf_to_interrupts():
        pool = context.Pool(min(count, len(paths)), _begin, (checker.wish, checker.collections))
    try:
        size = max(1, min(_AT_ONCE, len(paths) // (count * 4) or 1))
        pieces = pool.imap(_look, (paths[at : at + size] for at in range(0, len(paths), size)))
        begun = {process.pid for process in multiprocessing.active_children()}
        while True:
            try:
                yield from pieces.next(_PATIENCE)
            except StopIteration:
                break
            except multiprocessing.TimeoutError:
                # The pool puts another in the place of a process that was killed, and waits for ever.
                if begun - {process.pid for process in multiprocessing.active_children()}:
                    raise WorkerLost from None
        pool.close()
    except (KeyboardInterrupt, GeneratorExit):
        # Ending a pool in order can wait for ever on a lock that a process held when it was stopped; whoever
        # stopped the run is leaving anyway.
        # Its thread would put others in the place of those that end, so it is told first.
        vars(pool)["_worker_handler"]._state = "TERMINATE"
        for process in multiprocessing.active_children():
            process.kill()
        raise
    except BaseException:
        pool.terminate()
        pool.join()
        raise
    pool.join()


@contextmanager
def _deaf_to_interrupts() -> Iterator[None]:
    """Holds Ctrl-C back, so that no process begins with half an ear for it: the parent alone hears it."""
    if sys.platform == "win32":
        yield
        return
    import signal

    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


_mine: list[Callable[[Path], Looked]] = []
"""The checker of a worker process; set once when it starts, since a pool hands work over by name."""


def _begin(wish: Wish, collections: Collections) -> None:
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the parent's to hear; it ends the pool
    # What goes wrong is handed to the parent. Where that was killed, nobody is left who could be told.
    os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
    checker = Checker(wish)
    checker.collections = collections
    _mine.append(checker.look)


def _look(paths: Sequence[Path]) -> list[Looked]:
    return [_mine[0](path) for path in paths]


class WorkerLost(Exception):
    """A process that looked at files was ended from outside, and with it what it had found."""
