"""How far a long run has come, on a terminal and nowhere else."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from typing import TypeVar

from glost.cli.streams import can_show_for_now, show_for_now, take_back

Thing = TypeVar("Thing")

_PATIENCE = 1.0
"""Seconds of work before anything is shown."""
_BETWEEN = 0.2
"""Seconds from one showing to the next at the least."""


def counted(
    things: Iterable[Thing], done: str, total: int, clock: Callable[[], float] = time.monotonic
) -> Iterator[Thing]:
    """The things, with a line on the terminal that says how many are ``done`` ("checked"), once they take long. It is
    gone before anything else is written, and at the end."""
    if not can_show_for_now():
        yield from things
        return
    due = clock() + _PATIENCE
    try:
        for number, thing in enumerate(things, 1):
            yield thing
            if (now := clock()) >= due:
                due = now + _BETWEEN
                show_for_now(f"{done} {number:,} of {total:,}")
    finally:
        take_back()
