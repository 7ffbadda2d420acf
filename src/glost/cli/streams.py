"""Standard input, output and error, whatever they are: a terminal of few characters, a full disk, a pipe whose
reader has left, or nothing at all."""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Callable
from typing import TextIO


class Unwritten(Exception):
    """Standard output takes nothing more; the text says why."""


def settle() -> None:
    """What a stream cannot show is written as an escape; it never stops a run."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def say(text: str) -> None:
    """Writes text for a person to standard output, in the characters that it has, and hands it on at once, so
    that it stands before what is noted after it. Raises Unwritten."""

    def write() -> None:
        sys.stdout.write(text)
        sys.stdout.flush()

    _write(write, bool(text))


def put(data: bytes) -> None:
    """Writes what is a file's content to standard output: the same bytes on every terminal. Raises Unwritten."""

    def write() -> None:
        sys.stdout.flush()
        sys.stdout.buffer.write(data)

    _write(write, bool(data))


def finish() -> None:
    """Hands on what is still kept back. Raises Unwritten."""
    _write(lambda: sys.stdout.flush(), sys.stdout is not None)


def _write(write: Callable[[], object], anything: bool) -> None:
    if not anything:
        return
    if sys.stdout is None:  # closed before we began
        raise Unwritten("it is closed")
    try:
        write()
    except BrokenPipeError:
        # Whoever read our output has left (a pager, head). The work goes on; its exit status says what was found.
        _discard(sys.stdout)
    except OSError as error:
        _discard(sys.stdout)
        raise Unwritten(error.strerror) from None


def give_up() -> None:
    """Lets go of standard output, where something else than the above has failed to write there."""
    if sys.stdout is not None:
        _discard(sys.stdout)


def note(text: str) -> None:
    """Writes text, as it is, to standard error. Where that takes nothing, nobody can be told."""
    if sys.stderr is None:
        return
    try:
        sys.stderr.write(text)
        sys.stderr.flush()
    except OSError:
        _discard(sys.stderr)


def _discard(stream: TextIO) -> None:
    """Sends what the stream still holds nowhere, so that Python has nothing to complain of when it ends."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, stream.fileno())
    os.close(nowhere)


def take(most: int) -> bytes:
    """At most so many bytes of standard input. Raises OSError."""
    if sys.stdin is None:
        raise OSError("it is closed")
    return sys.stdin.buffer.read(most)


def pass_on(data: bytes) -> None:
    """Writes to standard output what was taken of standard input and what is left of it, so that a pipe loses
    nothing. Raises Unwritten, OSError."""
    put(data)
    while data := take(1 << 20):
        put(data)
