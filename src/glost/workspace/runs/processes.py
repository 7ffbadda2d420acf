"""Works on many things on every core, with the same results in the same order for any number of processes."""

from __future__ import annotations

import os
import sys
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, TypeVar

from glost.errors import GlostError

if TYPE_CHECKING:
    from concurrent.futures import Future

Thing = TypeVar("Thing")
Result = TypeVar("Result")

WORTH_SHARING = 150
"""Things from which on more processes pay, where one takes about as long as checking a recipe: below, starting them
costs more than they save (measured; see docs/speed.md)."""
_HERE_FIRST = 16
"""Things that are worked on before there are other processes, at the most: what is read, compiled and remembered with
the first of them is then there in each. That saves 3 % of a cold lint of 2,000 pages."""
_AT_ONCE = 64
"""Things handed to a process in one piece."""
_AHEAD = 4
"""Pieces for each process that are worked on, or done and not yet taken: so many that none waits for the one who takes
them, and so few that their results fill no memory."""


class WorkerLostError(GlostError):
    """A process that worked was ended from outside, and with it what it had found."""

    def __init__(self) -> None:
        super().__init__(
            "one of the processes that looked at the files was ended from outside", "try --workers 1"
        )


def each(
    work: Callable[[Thing], Result],
    things: Sequence[Thing],
    workers: int | None = None,
    worth: int = WORTH_SHARING,
) -> Iterator[Result]:
    """What ``work`` makes of every thing, in the order given, each as soon as it and all before it are done.

    ``workers`` None: one process a core from ``worth`` things on, else none but this one. Where it is more than one,
    things and results travel between processes, so they must be picklable; ``work`` comes to them with all it has
    read until then where the system can fork, and must be picklable elsewhere. What ``work`` raises is raised here.
    Raises WorkerLostError.

    A run that is stopped (Ctrl-C, or nobody wants the rest) leaves no process behind: those that work end with the
    piece at hand. The command line ends them at once, wherever they are, so ``work`` must not write what a half of
    would do harm.
    """
    count = workers or (os.cpu_count() or 1 if len(things) >= worth else 1)
    if count == 1 or len(things) < 2:
        yield from map(work, things)
    else:
        first = min(_HERE_FIRST, len(things) // 20)
        yield from map(work, things[:first])
        yield from _shared(work, things[first:], count)


def each_missing(
    work: Callable[[Thing], Result],
    things: Sequence[Thing],
    found: Sequence[Result | None],
    workers: int | None = None,
) -> Iterator[tuple[Result, bool]]:
    """What was ``found`` for every thing, and where that is None what ``work`` makes of it, in the order given; and
    whether it is fresh. ``workers`` as for each(). Raises WorkerLostError."""
    missing = [thing for thing, one in zip(things, found, strict=True) if one is None]
    fresh = each(work, missing, workers)
    for one in found:
        yield (next(fresh), True) if one is None else (one, False)
    next(fresh, None)  # so that the processes end in order


def _shared(work: Callable[[Thing], Result], things: Sequence[Thing], count: int) -> Iterator[Result]:
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool

    methods = multiprocessing.get_all_start_methods()
    context = multiprocessing.get_context("fork" if "fork" in methods else None)
    size = max(1, min(_AT_ONCE, len(things) // (count * 4) or 1))
    # Not a multiprocessing.Pool, which puts others in the place of processes that end, whoever ended them and why.
    executor = ProcessPoolExecutor(min(count, len(things)), context, _begin, (work, things))
    wait = True
    handed_out: deque[Future[list[Any]]] = deque()
    try:
        for at in range(0, len(things), size):
            with _deaf_to_interrupts():
                handed_out.append(executor.submit(_work, at, at + size))
            if len(handed_out) >= count * _AHEAD:
                yield from handed_out.popleft().result()
        while handed_out:
            yield from handed_out.popleft().result()
    except BrokenProcessPool:
        raise WorkerLostError from None
    except (KeyboardInterrupt, SystemExit):
        wait = False  # for the pieces at hand; the command line ends the processes itself
        raise
    finally:
        executor.shutdown(wait, cancel_futures=True)


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


_mine: list[tuple[Callable[[Any], Any], Sequence[Any]]] = []
"""The work of a worker process, and what all of them work on; set once when it starts, since a pool hands work over by
name. A forked process has the things already, as they lie, and is only told which are next: to hand each over took 4 %
of a cold lint."""


def _begin(work: Callable[[Any], Any], things: Sequence[Any]) -> None:
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the parent's to hear; it ends the pool
    if sys.platform != "win32":
        for number in (signal.SIGTERM, signal.SIGHUP):
            signal.signal(number, signal.SIG_DFL)
    # What goes wrong is handed to the parent. Where that was killed, nobody is left who could be told.
    os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
    _mine.append((work, things))


def _work(start: int, end: int) -> list[Any]:
    work, things = _mine[0]
    return [work(thing) for thing in things[start:end]]
