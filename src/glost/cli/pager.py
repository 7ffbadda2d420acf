"""Long text on a terminal: as wide as that is, in colour where that is wanted, and through the person's own pager."""

from __future__ import annotations

import os
import shlex
import sys
from pathlib import Path

from glost.cli.streams import on_a_terminal, say
from glost.output.model.text import COLUMNS

_USUAL = ("less", "-FRX")
"""It shows a text that fits on one screen as it is, and colours as colours."""
_LEAST = 40


def columns() -> int:
    """How wide a line may be: what the environment says, else what the terminal has, else what a page has."""
    said = os.environ.get("COLUMNS", "")
    if said.isascii() and said.isdigit() and int(said) > 0:
        return max(_LEAST, int(said))
    if on_a_terminal():
        try:
            return max(_LEAST, os.get_terminal_size(sys.stdout.fileno()).columns)
        except (OSError, ValueError):
            pass
    return COLUMNS


def show(text: str, in_colour: bool = False) -> None:
    """Shows a text to a person, through a pager where it goes to a terminal. Raises StreamError."""
    command = _pager() if text and on_a_terminal() else None
    if command is None or not _shown_by(command, text, in_colour):
        say(text, in_colour)


def _pager() -> list[str] | None:
    """The person's pager by its whole path: PAGER, else less; None where there is none, or none is wanted."""
    said = os.environ.get("PAGER")
    if os.environ.get("TERM", "dumb") == "dumb" or said in ("", "cat"):
        return None
    try:
        words = list(_USUAL) if said is None else shlex.split(said)
    except ValueError:
        return None
    found = _program(words[0]) if words else None
    return None if found is None else [found, *words[1:]]


def _program(name: str) -> str | None:
    """A program by its whole path. One that lies in the working folder, or in the repository that this lies in, came
    with somebody's files, and is not taken."""
    from glost.workspace.git.folders import in_folder, top_of

    here = os.path.realpath(os.curdir)
    top = top_of(Path(here))
    kept = {place for place in (here, None if top is None or top.parent == top else str(top)) if place}
    if os.sep in name:
        places = [name] if os.path.isabs(name) else []  # noqa: PTH117
    else:
        entries = os.environ.get("PATH", os.defpath).split(os.pathsep)
        places = [os.path.join(entry, name) for entry in entries if os.path.isabs(entry)]  # noqa: PTH117, PTH118
    for place in places:
        leads = {os.path.dirname(os.path.realpath(place)), os.path.realpath(os.path.dirname(place))}  # noqa: PTH120
        theirs = any(in_folder(lead, Path(folder)) for lead in leads for folder in kept)
        if not theirs and os.path.isfile(place) and os.access(place, os.X_OK):  # noqa: PTH113
            return place
    return None


def _shown_by(command: list[str], text: str, in_colour: bool) -> bool:
    """Whether the pager could be started and has shown the text."""
    import subprocess

    from glost.cli.streams import as_shown

    env = {**os.environ, "LESS": os.environ.get("LESS", "FRX"), "LESSSECURE": "1"}
    try:
        running = subprocess.Popen(command, stdin=subprocess.PIPE, env=env)
    except OSError:
        return False
    try:
        running.communicate(as_shown(text, in_colour).encode("utf-8", "backslashreplace"))
    except (BrokenPipeError, KeyboardInterrupt):
        running.wait()  # whoever reads has seen enough
    return True
