"""glost server."""

from __future__ import annotations

import os

import click

from glost.cli import CLEAN, UNUSABLE
from glost.cli.streams import note

EXAMPLES = (
    "glost server --help",
    "glost server < /dev/null",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.option("--stdio", is_flag=True, help="What it does anyway; some editors say so.")
def command(stdio: bool) -> int:  # noqa: ARG001 (there is no other way)
    """Serve an editor: findings while one writes, fixes, layout, completion, amounts.

    It speaks the Language Server Protocol on standard input and output, and is started by the editor: docs/editors.md
    says how. It reads the pages below the folder that is open there, starts no program and writes no file.
    """
    from glost.editor.needed import is_installed

    if not is_installed():
        note(
            "error: the server for editors needs the package pygls, which is not installed here\n"
            "       hint: install it with  pip install 'glost[editor]'\n"
        )
        return UNUSABLE
    # What others keep in the cache is neither read nor written: an opened folder leaves no trace.
    os.environ["GLOST_CACHE"] = "off"
    from glost.editor.server import serve

    serve()
    return CLEAN
