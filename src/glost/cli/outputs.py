"""Files that a command was asked to write: the option --force, and what is said of those that it does not write."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from glost.cli.errors import usage_error
from glost.linter.reporters import plain
from glost.workspace.outputs import OutputError

force_option = click.option(
    "--force", is_flag=True, help="Write over files that are there and were not written by glost."
)


@contextmanager
def refusing() -> Iterator[None]:
    """Says of an output that is not written why, as of any wrong usage."""
    try:
        yield
    except OutputError as refused:
        raise usage_error(refused) from None


@contextmanager
def beginning(out: Path) -> Iterator[None]:
    """Says of a page that cannot be begun in a file why, as of any wrong usage."""
    try:
        yield
    except FileExistsError:
        raise click.UsageError(
            f"'{plain.visible(str(out))}' is there already, and no file is written over; name another."
        ) from None
    except OSError as error:
        raise click.UsageError(
            f"'{plain.visible(str(out))}' could not be written: {error.strerror or error}."
        ) from None
