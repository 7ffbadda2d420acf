"""glost convert."""

from __future__ import annotations

import os
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

import click

from glost.cli import UNUSABLE
from glost.cli.changed import ChangedCommand, changed_option, choosing
from glost.cli.common import keep_recipes, show_misread
from glost.cli.entries import Entries
from glost.cli.mass import MassType
from glost.cli.streams import note, put
from glost.convert.format import Format, Job, Revision, find_format, format_names
from glost.entry import Entry
from glost.files import write_text
from glost.lint.reporters import plain
from glost.places import STANDARD_INPUT
from glost.revisions import revision_of
from glost.yamlfile import Misread


@click.command(cls=ChangedCommand)
@click.argument("paths", nargs=-1, type=click.Path())
@changed_option
@click.option(
    "--to", "to", type=click.Choice(sorted(format_names())), required=True, help="The form to write."
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="DIR-OR-FILE",
    help="A folder (one file a recipe) or a file (all in one); otherwise standard output.",
)
@click.option("--batch", type=MassType(), metavar="MASS", help='The mass of the base, as "500 g".')
def command(paths: Sequence[str], since: str | None, to: str, out: Path | None, batch: Decimal | None) -> int:
    """Turn recipes into another form: files, folders, or - for standard input (default: this folder).

    A recipe that cannot be read whole is not converted, since a sheet with a line missing is worse than none.
    """
    chosen = find_format(to)
    reading = Entries(paths, "not converted", choosing(since))
    try:
        entries = list(reading)
    except Misread as error:
        show_misread(error)
        return UNUSABLE
    jobs = [_job(entry, batch) for entry in entries]
    try:
        if out is None:
            put(chosen.write(jobs).encode("utf-8"))
        elif out.is_dir() or not (out.suffix or out.exists()):
            _write_each(chosen, entries, jobs, out)
        else:
            keep_recipes([out], (entry.path for entry in entries))
            out.parent.mkdir(parents=True, exist_ok=True)
            write_text(out, chosen.write(jobs))
            note(f"{plain.visible(str(out))}: {_recipes(len(jobs))} written\n")
    except ValueError as error:
        note(f"glost: {plain.visible(str(error))}\n")
        return UNUSABLE
    except OSError as error:
        note(f"glost: {plain.visible(str(out))} could not be written: {error.strerror}\n")
        return UNUSABLE
    return reading.status


def _job(entry: Entry, batch: Decimal | None) -> Job:
    revision = None if entry.file == STANDARD_INPUT else revision_of(entry.path)
    return Job(
        file=entry.file,
        recipe=entry.resolved.recipe,
        settings=entry.collection.settings,
        catalogue=entry.collection.catalogue,
        batch_g=batch,
        revision=None if revision is None else Revision(*revision),
    )


def _write_each(chosen: Format, entries: Sequence[Entry], jobs: Sequence[Job], out: Path) -> None:
    """One file a recipe, in folders like those the recipes lie in, so that no two meet."""
    roots = [entry.collection.root or entry.path.absolute().parent for entry in entries]
    common = Path(os.path.commonpath([root.absolute() for root in roots])) if roots else Path()
    targets: dict[Path, Entry] = {}
    for entry in entries:
        inner = Path(os.path.relpath(entry.path.absolute(), common))
        target = out / inner.with_suffix(chosen.ending)
        other = targets.setdefault(target, entry)
        if other is not entry:
            raise ValueError(f"{entry.file} and {other.file} would both be written to {target}; rename one")
    keep_recipes(targets, (entry.path for entry in entries))
    for target, job in zip(targets, jobs, strict=True):
        target.parent.mkdir(parents=True, exist_ok=True)
        write_text(target, chosen.write([job]))
    note(f"{plain.visible(str(out))}: {_recipes(len(jobs))} written\n")


def _recipes(count: int) -> str:
    return f"{count} recipe{'s' if count != 1 else ''}"
