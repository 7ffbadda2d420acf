"""glost catalog."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Final

import click

from glost.cli import CLEAN, UNUSABLE
from glost.cli.colours import note_findings
from glost.cli.common import keep_recipes, number_of, recipe_files, show_not_known, show_worker_lost
from glost.cli.errors import show_error
from glost.cli.outputs import force_option, refusing
from glost.cli.progress import counted
from glost.cli.streams import note, on_a_terminal, put_text
from glost.cli.workers import workers_option
from glost.language.yaml_tree import ConfigError
from glost.linter.finding import UNREADABLE
from glost.linter.reporters import plain
from glost.output.catalog.rows import Row
from glost.workspace.collection import Collections
from glost.workspace.outputs import OneOutput
from glost.workspace.runs.catalog import Beside, Gathered, gather, see_all
from glost.workspace.runs.processes import WorkerLostError


def _data_form(to: str) -> Callable[[Iterable[Row]], Iterator[str]]:
    """What turns rows into text one by one."""
    if to == "csv":
        from glost.output.catalog.as_csv import as_csv

        return as_csv
    from glost.output.catalog.as_jsonl import as_jsonl

    return as_jsonl


def _html(gathered: Gathered, whole_rows: Iterable[Row], out: Path | None, sheets: Sequence[Path]) -> str:
    from glost.cli.photos import tell_photos
    from glost.cli.sheet_links import address_of, addresses_of
    from glost.output.catalog.page import Links, page
    from glost.workspace.photos import Photos

    names = ", ".join(gathered.names)
    title = f"{names}: recipes and tests" if names else "Recipes and tests"
    links = Links(addresses_of(sheets, out), address_of(Path(), out))
    if sheets and not any((row.about.file, row.test) in links.sheets for row in gathered.rows):
        raise click.UsageError(
            "none of these tests has a sheet there; convert the same files, from this folder, to --to html"
        )
    rows, photos = list(_placed(whole_rows, out)), Photos()
    small = {
        one.fired.photo: photos.small(Path(own.fired.photo))
        for one, own in zip(rows, gathered.rows, strict=True)
        if one.fired and own.fired and one.fired.photo
    }
    tell_photos(photos)
    return page(rows, gathered.aliases, title, date.today().isoformat(), gathered.tones, links, small)


def _placed(rows: Iterable[Row], out: Path | None) -> Iterator[Row]:
    """The rows, in which a picture is named by the way to it from where the table lies."""
    import os.path

    beside = Path.cwd() if out is None else out.absolute().parent
    for row in rows:
        if row.fired is not None and row.fired.photo:
            photo = os.path.relpath(row.fired.photo, beside).replace(os.sep, "/")
            yield replace(row, fired=row.fired._replace(photo=photo))
        else:
            yield row


class _Count:
    """How many rows went by, and whether a file among them could not be read at all."""

    def __init__(self) -> None:
        self.rows = 0
        self.broken = False

    def passing(self, rows: Iterable[Row]) -> Iterator[Row]:
        for row in rows:
            self.rows += 1
            self.broken = self.broken or row.about.read == "not at all"
            yield row


def _mark(to: str) -> re.Pattern[str]:
    """What an earlier table of that form is known by."""
    if to == "csv":
        from glost.output.catalog.as_csv import MARK
    elif to == "jsonl":
        from glost.output.catalog.as_jsonl import MARK
    else:
        from glost.output.web import GENERATED as MARK
    return MARK


_FORMS: Final = ("html", "csv", "jsonl")


EXAMPLES = (
    "glost catalog corpus/studio --out table.html",
    "glost catalog corpus/studio --to csv --out table.csv",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("paths", nargs=-1, type=click.Path())
@click.option(
    "--to",
    "to",
    type=click.Choice(_FORMS),
    default="html",
    show_default=True,
    help="The form to write.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The file to write; otherwise standard output.",
)
@click.option(
    "--sheets",
    type=click.Path(path_type=Path, exists=True),
    metavar="PAGE-OR-FOLDER",
    multiple=True,
    help="Batch sheets that convert --to html wrote; rows lead to theirs. May be given several times.",
)
@force_option
@workers_option
def command(
    paths: Sequence[str],
    to: str,
    out: Path | None,
    sheets: Sequence[Path],
    force: bool,
    workers: int | None,
) -> int:
    """Lay out every recipe and test of a collection in one table (default: this folder).

    A page to filter, sort and print; a table for a spreadsheet; or JSON, a row a line. A recipe that cannot be read
    whole has its row as well, which says so. What the rules find is shown, and does not change the exit status.
    """
    if out is None and to == "html" and on_a_terminal():
        raise click.UsageError("a page is for a browser: give it a file, as  --out table.html")
    if sheets and to != "html":
        raise click.UsageError("--sheets is for the page: only there a row can lead to its sheet.")
    collections = Collections()
    try:
        chosen = recipe_files(paths, collections)
        output = None
        if out is not None:
            keep_recipes([out], chosen, collections)
            with refusing():
                output = OneOutput(out, _mark(to), force)
                output.check()
        beside = Beside(chosen, collections, workers=workers)
        _note_what_is_missing(beside)
        seen = counted(see_all(chosen, collections, workers), "read", len(chosen))
        count = _Count()
        if to == "html":
            gathered = gather(list(seen), collections, beside)
            table = iter([_html(gathered, count.passing(gathered.rows), out, sheets)])
        else:
            table = _data_form(to)(_placed(count.passing(beside.rows(seen)), out))
        if output is None:
            for text in table:
                put_text(text)
        elif not _write(output, table, out):
            return UNUSABLE
    except WorkerLostError:
        show_worker_lost()
        return UNUSABLE
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    if out is not None:
        note(f"{plain.visible(str(out))}: {number_of(count.rows, 'row')} written\n")
    return UNUSABLE if count.broken else CLEAN


def _write(output: OneOutput, table: Iterator[str], out: Path | None) -> bool:
    try:
        with refusing():
            output.write(table)
        return True
    except OSError as error:
        note(f"glost: {plain.visible(str(out))} could not be written: {error.strerror}\n")
        return False


def _note_what_is_missing(beside: Beside) -> None:
    """Prints what cannot be told of the recipes, and why."""
    note_findings(one for found in beside.findings.values() for one in found if one.rule == UNREADABLE)
    show_not_known(beside.not_known)
    if beside.firings:
        note(plain.text(beside.firings))
        note("glost: these firings are left out of the table; fix them first\n")
