"""Standard input, output and error, whatever they are: a terminal of few characters, a full disk, a pipe whose
reader has left, or nothing at all."""

from __future__ import annotations

import io
import os
import re
import sys
from collections.abc import Callable
from typing import TextIO

from glost.errors import GlostError


class StreamError(GlostError):
    """Standard output takes nothing more; the text says why."""


def settle() -> None:
    """What a stream cannot show is written as an escape; it never stops a run."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


_OBEYED_SIGN = re.compile(
    r"[\x00-\x08\x0b-\x1f\x7f-\x9f\xad\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u2069\ufeff\ufff9-\ufffb]"
)
_OBEYED = re.compile(
    rf"{_OBEYED_SIGN.pattern}"
    r"|^(?:[^\S\n]*):(?=:)"
    r"|\#(?=\#[A-Za-z]*\[)",
    re.MULTILINE,
)
"""What a terminal obeys, and what the machine that keeps the log of a pipeline takes for a command to itself: a line
that begins with two colons, and two hashes with a bracket (from memory, of how such machines read a log)."""
_COLOUR = re.compile(r"(?P<colour>\x1b\[(?:0|1|3[1236])m)|[^\x1b]+|\x1b")


def shown(text: str) -> str:
    """``text`` with every sign written out that would be obeyed in the place of being shown, wherever it came from: the
    name of a file, a word of the command line, a line of a page."""
    # Three searches that find nothing take a fifth of the time of one for all three at once.
    if not _OBEYED_SIGN.search(text) and "::" not in text and "##" not in text:
        return text
    return _OBEYED.sub(_written_out, text)


def _but_for_colours(text: str) -> str:
    return _COLOUR.sub(lambda part: part["colour"] or shown(part[0]), text)


def as_shown(text: str, in_colour: bool = False) -> str:
    """``text`` as a terminal may have it: what would be obeyed is written out, but for colours where it has them."""
    return _but_for_colours(text) if in_colour else shown(text)


def _written_out(found: re.Match[str]) -> str:
    return f"{found[0][:-1]}\\u{{{ord(found[0][-1]):04x}}}"


def say(text: str, in_colour: bool = False) -> None:
    """Writes text for a person to standard output, in the characters that it has, and hands it on at once, so
    that it stands before what is noted after it. What would be obeyed is written out, but for colours where the
    text has them. Raises StreamError."""
    text = as_shown(text, in_colour)

    def write() -> None:
        sys.stdout.write(text)
        sys.stdout.flush()

    _write(write, bool(text))


def put(data: bytes) -> None:
    """Writes what is a file's content to standard output: the same bytes on every terminal. Raises StreamError."""

    def write() -> None:
        sys.stdout.flush()
        sys.stdout.buffer.write(data)

    _write(write, bool(data))


def put_text(text: str) -> None:
    """As put, for a text: the bytes of a file name that are not UTF-8 come as halves of a character, which nothing can
    hold, and are written out. Raises StreamError."""
    put(text.encode("utf-8", "backslashreplace"))


def put_form(form: str, text: str) -> None:
    """Prints what a command made: "text" as people read it, every other form sign by sign."""
    if form == "text":
        say(text)
    else:
        put_text(text)


def on_a_terminal() -> bool:
    """Whether what goes to standard output is shown to a person as it comes."""
    return sys.stdout is not None and sys.stdout.isatty()


def can_show_for_now() -> bool:
    """Whether standard error is a terminal on which a line can be taken back."""
    return sys.stderr is not None and sys.stderr.isatty() and os.environ.get("TERM") != "dumb"


_ECHO = len("^C")
"""Columns that a terminal fills behind a line when a run is stopped."""


class _Passing:
    """The line that stands on the terminal for now: how many columns it fills, 0 for none."""

    def __init__(self) -> None:
        self.columns = 0


_PASSING = _Passing()
"""Of the one terminal that a process has, as its streams are."""


def show_for_now(text: str) -> None:
    """Shows a line, of characters one column wide each, on the terminal of standard error until anything else is
    written. It takes the place of the one before. Raises StreamError."""
    if sys.stderr is None:
        return
    if not _PASSING.columns and sys.stdout is not None:
        _write(sys.stdout.flush, True)  # what is kept back must not come out behind the line
    try:
        room = os.get_terminal_size(sys.stderr.fileno()).columns or 80
    except (OSError, ValueError):
        room = 80
    shown = text[: max(0, room - 1 - _ECHO)]  # in the last column a terminal may go on to the next line
    blank = " " * (_PASSING.columns - len(shown))
    _PASSING.columns = len(shown)
    _to_error(f"\r{shown}{blank}")


def take_back() -> None:
    """Takes the line away that is shown for now."""
    columns, _PASSING.columns = _PASSING.columns, 0
    if columns:
        _to_error(f"\r{' ' * (columns + _ECHO)}\r")


def finish() -> None:
    """Hands on what is still kept back. Raises StreamError."""
    _write(lambda: sys.stdout.flush(), sys.stdout is not None)


def _write(write: Callable[[], object], anything: bool) -> None:
    if not anything:
        return
    take_back()
    if sys.stdout is None:  # closed before we began
        raise StreamError("it is closed")
    try:
        write()
    except BrokenPipeError:
        # Whoever read our output has left (a pager, head). The work goes on; its exit status says what was found.
        _discard(sys.stdout)
    except OSError as error:
        _discard(sys.stdout)
        raise StreamError(error.strerror or str(error)) from None


def give_up() -> None:
    """Lets go of standard output, where something else than the above has failed to write there."""
    if sys.stdout is not None:
        _discard(sys.stdout)


def note(text: str, in_colour: bool = False) -> None:
    """Writes text for a person to standard error; what would be obeyed is written out, but for colours where the text
    has them. Where that takes nothing, nobody can be told."""
    put_beside(as_shown(text, in_colour))


def put_beside(text: str) -> None:
    """Writes what a program reads, as it is, to standard error, since standard output holds something else."""
    if sys.stderr is None:
        return
    take_back()
    _to_error(text)


def _to_error(text: str) -> None:
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
    nothing. Raises StreamError, OSError."""
    put(data)
    while data := take(1 << 20):
        put(data)
