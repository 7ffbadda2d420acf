"""glost catalog."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

import click

from glost.cli import CLEAN, UNUSABLE
from glost.cli.colours import note_findings
from glost.cli.common import files, keep_recipes, number_of, show_not_known, show_worker_lost
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
from glost.workspace.runs.catalog import Gathered, gather, see_all
from glost.workspace.runs.processes import WorkerLostError


def _csv(gathered: Gathered, out: Path | None, _: Sequence[Path]) -> str:
    from glost.output.catalog.as_csv import as_csv

    return as_csv(_placed(gathered, out))


def _jsonl(gathered: Gathered, out: Path | None, _: Sequence[Path]) -> str:
    from glost.output.catalog.as_jsonl import as_jsonl

    return as_jsonl(_placed(gathered, out))


def _html(gathered: Gathered, out: Path | None, sheets: Sequence[Path]) -> str:
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
    rows, photos = _placed(gathered, out), Photos()
    small = {
        one.fired.photo: photos.small(Path(own.fired.photo))
        for one, own in zip(rows, gathered.rows, strict=True)
        if one.fired and own.fired and one.fired.photo
    }
    tell_photos(photos)
    return page(rows, gathered.aliases, title, date.today().isoformat(), gathered.tones, links, small)


def _placed(gathered: Gathered, out: Path | None) -> Sequence[Row]:
    """The rows, in which a picture is named by the way to it from where the table lies."""
    import os.path

    beside = Path.cwd() if out is None else out.absolute().parent
    return [
        row
        if row.fired is None or not row.fired.photo
        else replace(
            row, fired=row.fired._replace(photo=os.path.relpath(row.fired.photo, beside).replace(os.sep, "/"))
        )
        for row in gathered.rows
    ]


def _mark(to: str) -> re.Pattern[str]:
    """What an earlier table of that form is known by."""
    if to == "csv":
        from glost.output.catalog.as_csv import MARK
    elif to == "jsonl":
        from glost.output.catalog.as_jsonl import MARK
    else:
        from glost.output.web import GENERATED as MARK
    return MARK


_FORMS: Mapping[str, Callable[[Gathered, Path | None, Sequence[Path]], str]] = {
    "html": _html,
    "csv": _csv,
    "jsonl": _jsonl,
}


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
    type=click.Choice(list(_FORMS)),
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
        chosen = files(paths, collections)
        output = None
        if out is not None:
            keep_recipes([out], chosen, collections)
            with refusing():
                output = OneOutput(out, _mark(to), force)
                output.check()
        seen = list(counted(see_all(chosen, collections, workers), "read", len(chosen)))
        gathered = gather(seen, collections)
    except WorkerLostError:
        show_worker_lost()
        return UNUSABLE
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    note_findings(one for row in gathered.rows for one in row.findings if one.rule == UNREADABLE)
    show_not_known(gathered.not_known)
    if gathered.firings:
        note(plain.text(gathered.firings))
        note("glost: these firings are left out of the table; fix them first\n")
    table = _FORMS[to](gathered, out, sheets)
    if output is None:
        put_text(table)
    else:
        try:
            with refusing():
                output.write(table)
        except OSError as error:
            note(f"glost: {plain.visible(str(out))} could not be written: {error.strerror}\n")
            return UNUSABLE
        note(f"{plain.visible(str(out))}: {number_of(len(gathered.rows), 'row')} written\n")
    return UNUSABLE if gathered.broken else CLEAN
