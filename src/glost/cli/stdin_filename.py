"""The file that a text on standard input is that of, as an editor has it before it is saved."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

_Function = TypeVar("_Function", bound=Callable[..., Any])


def stdin_filename_option(command: _Function) -> _Function:
    """Adds --stdin-filename."""
    return click.option(
        "--stdin-filename",
        type=click.Path(path_type=Path),
        metavar="FILE",
        help="With -: take the text as that of this file, and tell of it under that name; the file is not read.",
    )(command)


def check_stdin_filename(given: Path | None, standard: bool) -> None:
    """Raises UsageError where a file is named for a text that is not read."""
    if given is None:
        return
    if not standard:
        raise click.UsageError("--stdin-filename goes with - for standard input.")
    if given.is_dir():
        raise click.UsageError(f"--stdin-filename '{given}' is a folder; name a file.")
