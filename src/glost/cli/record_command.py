"""glost record."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from pathlib import Path

import click

from glost.cli import CLEAN, FINDINGS, UNUSABLE
from glost.cli.colours import note_findings
from glost.cli.common import no_collection
from glost.cli.errors import show_error
from glost.cli.mass import MassType
from glost.cli.streams import note, say, take
from glost.language.exact_json import LARGEST
from glost.language.source import DecodeError, decode
from glost.language.yaml_tree import ConfigError
from glost.linter.reporters.plain import visible
from glost.records import fired
from glost.records.handed import handed_in, is_handed
from glost.records.record import Record
from glost.workspace.collection import Collections
from glost.workspace.files import head_of, read_bytes
from glost.workspace.fired import FOLDER as FIRINGS
from glost.workspace.fired import keep as keep_firing
from glost.workspace.logbook import FOLDER, folder_of, keep
from glost.workspace.paths import RECORD, STANDARD_INPUT, display

_CHECK = "check that it is the record that you mean"
_ENDINGS = (".json", ".txt")
"""Of the files of a folder that may hold records: some phones share a record as plain text only."""
_MOST_FILES = 10_000


EXAMPLES = (
    "glost record record.json",
    "glost record record.json --log log",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("records", nargs=-1, metavar="[FILE-OR-FOLDER...]", type=click.Path())
@click.option(
    "--log",
    "log",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help=f"The folder of the log; otherwise {FOLDER}/ beside the glost.yaml of this collection.",
)
@click.option(
    "--from-sheet",
    "recipe",
    type=click.Path(),
    metavar="RECIPE",
    help="Ask line by line what stands on the printed sheet of this recipe.",
)
@click.option(
    "--csv", "table", type=click.Path(), metavar="FILE", help="With --from-sheet: the answers as a table."
)
@click.option(
    "--test", "label", metavar="LABEL", help="With --from-sheet: a variation, or a step of a series."
)
@click.option("--batch", type=MassType(), metavar="MASS", help="With --from-sheet: the base of the sheet.")
@click.option("--day", metavar="DATE", help="With --from-sheet: when it was weighed, as 2026-03-14.")
@click.option("--person", metavar="NAME", help="With --from-sheet: who weighed it.")
@click.option("--project", metavar="NAME", help="With --from-sheet: what for.")
@click.option("--water", metavar="GRAMS", help="With --from-sheet: the water that was poured in.")
@click.option("--checked-by", metavar="NAME", help="With --from-sheet: who checked it.")
@click.option("--remarks", metavar="TEXT", help="With --from-sheet: what else stands there.")
def command(
    records: Sequence[str],
    log: Path | None,
    recipe: str | None,
    table: str | None,
    label: str | None,
    batch: Decimal | None,
    **said: str | None,
) -> int:
    """Put the records of weighed batches into the log, and fired tiles among the firings: files that the page at the
    bench or that at the kiln door handed over, folders of them, or - for a text that is pasted in.

    One file a record, named by the day and time of weighing and the recipe; a firing becomes a page of its own, with
    its photos beside it. Nothing is ever written over, and a record that the log holds already is not written a second
    time. A batch that was weighed on paper is recorded with --from-sheet.
    """
    _check_usage(records, recipe, (table, label, batch, *said.values()))
    try:
        folder = log or folder_of(Path.cwd(), Collections())
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    if folder is None:
        raise no_collection("or name the folder of the log with --log")
    if recipe is not None:
        from glost.cli.paper import from_sheet

        made = from_sheet(recipe, label, batch, table, said)
        if isinstance(made, int):
            return made
        record, doubts = made
        status = _keep(record, folder, visible(recipe))
        if doubts:
            note_findings(doubts)
        return max(status, FINDINGS) if doubts else status
    status = CLEAN
    for text in records:
        if text == STANDARD_INPUT:
            status = max(status, _take(text, take(LARGEST + 1), folder))
        elif Path(text).is_dir():
            status = max(status, _folder(Path(text), folder))
        else:
            status = max(status, _file(text, folder))
    return status


def _check_usage(records: Sequence[str], recipe: str | None, others: Sequence[object]) -> None:
    if recipe is None:
        if any(other is not None for other in others):
            raise click.UsageError(
                "--csv, --test, --batch and what else stands on a sheet go with --from-sheet."
            )
        if not records:
            raise click.UsageError("name a file or a folder, or - for a text that is pasted in.")
    elif records:
        raise click.UsageError(
            "--from-sheet names a recipe; records that were handed over are recorded by themselves."
        )
    if STANDARD_INPUT in records and len(records) > 1:
        raise click.UsageError("standard input (-) is read by itself; a file of that name is given as ./-")


# ---- what was handed over --------------------------------------------------------------------------------


def _file(text: str, folder: Path) -> int:
    try:
        return _take(text, _read(Path(text)), folder)
    except DecodeError as error:
        show_error(error, f"{visible(text)}: not recorded")
        return UNUSABLE


def _read(path: Path) -> bytes:
    """A file; one with photos may be larger. Raises DecodeError."""
    try:
        most = fired.LARGEST if fired.is_fired(head_of(path)) else LARGEST
    except OSError:
        most = LARGEST
    return read_bytes(path, most, _CHECK)


def _folder(here: Path, folder: Path) -> int:
    """Every file of a folder that says it is a record; what lies in folders below is left alone, and so is the rest."""
    status, others, found = CLEAN, 0, 0
    try:
        files = list(_files_of(here))
    except OSError as error:
        note(f"{visible(display(here))}: cannot be looked into: {error.strerror}\n")
        return UNUSABLE
    for file in files:
        try:
            data = _read(file)
        except DecodeError as error:
            show_error(error, f"{visible(display(file))}: not recorded")
            status = UNUSABLE
            continue
        if fired.is_fired(data) or is_handed(data.decode("utf-8", "replace")):
            found += 1
            status = max(status, _take(display(file), data, folder))
        else:
            others += 1
    if not found:
        note(f"{visible(display(here))}: no record among the files ending in {' or '.join(_ENDINGS)}\n")
        return max(status, FINDINGS)
    if others:
        note(f"{visible(display(here))}: {others} other file{'s' if others > 1 else ''} left alone\n")
    return status


def _files_of(here: Path) -> Iterator[Path]:
    files = sorted(
        file for file in here.iterdir() if file.suffix.lower() in _ENDINGS and not file.name.startswith(".")
    )
    if len(files) > _MOST_FILES:
        raise click.UsageError(
            f"'{visible(display(here))}' holds {len(files):,} files; {_MOST_FILES:,} are looked at at once."
        )
    return (file for file in files if file.is_file())


def _take(text: str, data: bytes, folder: Path) -> int:
    """Puts every record in a text into the log; one that is refused does not keep the others out."""
    shown = visible(text)
    if fired.is_fired(data):
        return _take_firing(shown, data, folder)
    try:
        found = handed_in(decode(data, LARGEST, _CHECK))
    except (DecodeError, ValueError) as error:
        show_error(error, f"{shown}: not recorded")
        return UNUSABLE
    status = CLEAN
    for one in found:
        name = f"{shown}, {one.where}" if one.where else shown
        if one.record is None:
            assert one.error is not None
            show_error(one.error, f"{name}: not recorded")
            status = UNUSABLE
        else:
            status = max(status, _keep(one.record, folder, name))
    return status


def _take_firing(shown: str, data: bytes, folder: Path) -> int:
    """Puts a firing that was filled in at the kiln door beside the log."""
    try:
        made = fired.fired_from(decode(data, fired.LARGEST, _CHECK))
        kept = keep_firing(made, folder.parent)
    except (DecodeError, ValueError) as error:
        show_error(error, f"{shown}: not recorded")
        return UNUSABLE
    except OSError as error:
        place = visible(display(folder.parent / FIRINGS))
        note(f"{shown}: not recorded: {place} cannot be written to: {error.strerror or error}\n")
        return UNUSABLE
    file = visible(display(kept.path))
    if kept.outcome == "taken":
        note(
            f"{file}: is there already and holds something else; it is left as it is, and nothing of {shown} was"
            " written. Take that file away if it is to be recorded anew, or give the firing another name on the page.\n"
        )
        return FINDINGS
    photos = f", with {len(made.photos)} photo{'s' if len(made.photos) != 1 else ''}" if made.photos else ""
    say(f"{file}: {'recorded' + photos if kept.outcome == 'recorded' else 'there already'}\n")
    for twin in kept.twins:
        note(
            f"{file}: but for its name this is {visible(display(twin))}; if it is one firing that was handed over"
            " twice, take one of them away\n"
        )
    for words in made.reworded:
        note(f"{file}: {visible(words)}\n")
    status = CLEAN
    for batch in made.batches:
        if not (folder / batch[:4] / f"{batch}{RECORD}").is_file():
            note(f"{file}: the log holds no batch {visible(batch)}: record that too\n")
            status = FINDINGS
    return status


def _keep(record: Record, folder: Path, shown: str) -> int:
    try:
        kept = keep(record, folder)
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
