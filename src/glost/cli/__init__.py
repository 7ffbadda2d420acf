"""The command line: it prints and exits; it decides nothing.

``glost lint`` over paths alone, which is what a person types and what a commit hook runs, needs no command-line library
and does not wait for one; everything else is told by app.py.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import NoReturn

from glost.cli import streams

CLEAN, FINDINGS, UNUSABLE, INTERRUPTED = 0, 1, 2, 130
"""Exit status: nothing found; something found; wrong usage or unreadable input; stopped with Ctrl-C."""


def main(arguments: Sequence[str] | None = None) -> None:
    """Runs the command line and exits. No exception reaches the user as a traceback."""
    streams.settle()
    try:
        status = _run(sys.argv[1:] if arguments is None else arguments)
        streams.finish()
    except streams.Unwritten as error:
        streams.note(f"glost: standard output cannot be written: {error}\n")
        status = UNUSABLE
    except KeyboardInterrupt:
        streams.note("glost: stopped\n")
        _leave_at_once()
    except OSError as error:
        streams.give_up()
        streams.note(f"glost: {error.strerror or error}\n")
        status = UNUSABLE
    except RecursionError:
        streams.note("glost: the input is nested too deeply\n")
        status = UNUSABLE
    except Exception as error:
        if os.environ.get("GLOST_DEBUG"):
            raise
        streams.note(
            f"glost: a mistake in glost itself ({type(error).__name__}: {error}). "
            "Please report it; GLOST_DEBUG=1 shows where it happened.\n"
        )
        status = UNUSABLE
    sys.exit(status)


def _run(arguments: Sequence[str]) -> int:
    if arguments[:1] == ["lint"] and not any(word.startswith("-") for word in arguments):
        status = _lint(arguments[1:])
        if status is not None:
            return status
    from glost.cli.app import run

    return run(arguments)


def _lint(paths: Sequence[str]) -> int | None:
    """Checks files and folders as ``glost lint`` does where it has no options; None where that has more to say of
    the paths: one is not there, nor perhaps the folder that this runs in, or the system leaves it to the command to
    find what a pattern means."""
    from glost.cli.common import show_misread
    from glost.cli.linting import lint
    from glost.collection import Collections, NoSuchPath, find
    from glost.runs.wish import Wish
    from glost.yamlfile import Misread

    if sys.platform == "win32":
        return None
    collections = Collections()
    try:
        os.getcwd()  # noqa: PTH109 (a string will do)
        chosen = find(paths or ["."], collections)
    except (NoSuchPath, FileNotFoundError):
        return None
    except Misread as error:
        show_misread(error)
        return UNUSABLE
    return lint(chosen, collections, Wish())


def _leave_at_once() -> NoReturn:
    """Ends this process and those that work for it, without the orderly end of a pool, which can wait for ever
    on a lock that one of them held."""
    pools = sys.modules.get("multiprocessing")
    for process in pools.active_children() if pools else ():
        process.kill()
    os._exit(INTERRUPTED)
