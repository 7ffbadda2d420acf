"""Files that a command was asked to write: the option --force, and what is said of those that it does not write."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import click

from glost.cli.errors import usage_error
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
