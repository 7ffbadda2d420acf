"""From a page to the batch sheets and the recipes that lie beside it."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path
from typing import Final
from urllib.parse import quote

import click

from glost.cli.errors import usage_error
from glost.errors import ValueRefusedError
from glost.language.source import DecodeError
from glost.linter.reporters import plain
from glost.output.sheet_addresses import addresses_in, is_page
from glost.workspace.files import read_text

_MOST: Final = 256 * 1024 * 1024
"""Bytes of a page of sheets; one of ten thousand tests has about a third of that."""


def addresses_of(pages: Iterable[Path], out: Path | None) -> dict[tuple[str, str], str]:
    """File and test of each sheet on these pages, or on the pages of these folders, with its address from where
    ``out`` lies (None: this folder). Raises UsageError."""
    found: dict[tuple[str, str], str] = {}
    for given in pages:
        inside = sorted(given.rglob("*.html")) if given.is_dir() else [given]
        before = len(found)
        for page in inside:
            try:
                text = read_text(page, _MOST)
                if page is not given and not is_page(text):
                    continue  # a folder may hold pages of other hands
                sheets = addresses_in(text)
            except (DecodeError, ValueRefusedError) as error:
                raise usage_error(error, f"--sheets {plain.visible(str(page))}") from None
            address = address_of(page, out)
            found |= {sheet: f"{address}#{part}" for sheet, part in sheets.items()}
        if len(found) == before:
            raise click.UsageError(
                f"--sheets {plain.visible(str(given))}: no batch sheet is there;"
                " make them with: glost convert PATHS --to html --out SHEETS"
            )
    return found


def address_of(path: Path, out: Path | None) -> str:
    """The address of a file or folder from where ``out`` lies, as a link has it. It begins with a dot, so that no name
    in it is taken for more than a name."""
    folder = os.path.relpath(path, out.parent if out else Path())
    return quote(folder if folder.startswith("..") else f"./{folder}", safe="/.")
