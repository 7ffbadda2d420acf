"""glost record."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from glost.cli import CLEAN, FINDINGS, UNUSABLE
from glost.cli.common import standard_input
from glost.cli.errors import show_error
from glost.cli.streams import note, say
from glost.language.source import DecodeError, decode
from glost.language.yaml_tree import ConfigError
from glost.linter.reporters.plain import visible
from glost.records.record import record_from_json
from glost.workspace.collection import Collections
from glost.workspace.files import read_bytes
from glost.workspace.logbook import FOLDER, folder_of, keep
from glost.workspace.paths import STANDARD_INPUT, display


@click.command()
@click.argument("records", nargs=-1, required=True, metavar="RECORD.json...", type=click.Path())
@click.option(
    "--log",
    "log",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help=f"The folder of the log; otherwise {FOLDER}/ beside the glost.yaml of this collection.",
)
def command(records: Sequence[str], log: Path | None) -> int:
    """Put the records of weighed batches into the log: files that the page at the bench saved, or - for standard
    input.

    One file a record, named by date, time and recipe. Nothing in the log is ever written over, and a record that
    it holds already is not written a second time.
    """
    if STANDARD_INPUT in records and len(records) > 1:
        raise click.UsageError("standard input (-) is read by itself; a file of that name is given as ./-")
    try:
        folder = log or folder_of(Path.cwd(), Collections())
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    if folder is None:
        raise click.UsageError(
            "this folder belongs to no collection (there is no glost.yaml here or above); go to one, or name the"
            " folder of the log with --log."
        )
    return max((_keep(text, folder) for text in records), default=CLEAN)


_CHECK = "check that it is the record that you mean"


def _keep(text: str, folder: Path) -> int:
    shown = visible(text)
    try:
        data = standard_input() if text == STANDARD_INPUT else read_bytes(Path(text), check=_CHECK)
        found = decode(data, check=_CHECK)
        kept = keep(record_from_json(found), folder)
    except DecodeError as error:
        show_error(error, f"{shown}: not recorded")
        return UNUSABLE
    except ValueError as error:
        show_error(error, f"{shown}: not recorded")
        return UNUSABLE
    except OSError as error:
        note(f"{shown}: not recorded: {visible(display(folder))} cannot be written to: {error.strerror}\n")
        return UNUSABLE
    file = visible(display(kept.path))
    if kept.outcome == "taken":
        note(
            f"{file}: in the log already, and changed there since; it is left as it is. Take that file away if"
            f" {shown} is to be recorded anew.\n"
        )
        return FINDINGS
    say(f"{file}: {'recorded' if kept.outcome == 'recorded' else 'in the log already'}\n")
    for twin in kept.twins:
        note(
            f"{file}: but for the time this is {visible(display(twin))}; if it is one batch that was saved twice,"
            " take one of them away\n"
        )
    return CLEAN
