"""glost convert."""

from __future__ import annotations

import os
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

import click

from glost.cli import CLEAN, FINDINGS, UNUSABLE
from glost.cli.common import MassType, files, show_misread, standard_input
from glost.collection import (
    STANDARD_INPUT,
    Collections,
    Entry,
    display,
    faults_of,
    load,
    load_text,
    unreadable,
)
from glost.convert.format import Format, Job, Revision, find_format, format_names
from glost.files import write_text
from glost.language.source import Unreadable, decode
from glost.lint.finding import ERROR, SYNTAX, placed
from glost.lint.reporters import plain
from glost.revisions import revision_of
from glost.yamlfile import Misread


@click.command()
@click.argument("paths", nargs=-1, type=click.Path())
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
def command(paths: Sequence[str], to: str, out: Path | None, batch: Decimal | None) -> int:
    """Turn recipes into another form: files, folders, or - for standard input (default: this folder).

    A recipe that cannot be read whole is not converted, since a sheet with a line missing is worse than none.
    """
    chosen = find_format(to)
    try:
        entries, status = _entries(paths)
    except Misread as error:
        show_misread(error)
        return UNUSABLE
    jobs = [_job(entry, batch) for entry in entries]
    try:
        if out is None:
            click.echo(chosen.write(jobs), nl=False)
        elif out.is_dir() or not out.suffix:
            _write_each(chosen, entries, jobs, out)
        else:
            out.parent.mkdir(parents=True, exist_ok=True)
            write_text(out, chosen.write(jobs))
            click.echo(f"{plain.visible(str(out))}: {_recipes(len(jobs))} written", err=True)
    except ValueError as error:
        click.echo(f"glost: {plain.visible(str(error))}", err=True)
        return UNUSABLE
    except OSError as error:
        click.echo(f"glost: {plain.visible(str(out))} could not be written: {error.strerror}", err=True)
        return UNUSABLE
    return status


def _entries(paths: Sequence[str]) -> tuple[list[Entry], int]:
    """The recipes that can be converted, and the exit status that those which cannot ask for."""
    collections = Collections()
    entries: list[Entry] = []
    status = CLEAN
    standard = list(paths) == [STANDARD_INPUT]
    for path in [Path(STANDARD_INPUT)] if standard else files(paths, collections):
        try:
            if standard:
                entry = load_text(
                    STANDARD_INPUT, decode(standard_input()), Path.cwd() / STANDARD_INPUT, collections
                )
            else:
                entry = load(path, collections)
        except Unreadable as error:
            click.echo(
                plain.text([unreadable(display(path) if not standard else STANDARD_INPUT, error)]),
                err=True,
                nl=False,
            )
            status = UNUSABLE
            continue
        faults = faults_of(entry.resolved)
        if faults:
            source = entry.resolved.page.source
            click.echo(
                plain.text(placed(fault, source, SYNTAX, ERROR) for fault in faults), err=True, nl=False
            )
            click.echo(f"{plain.visible(entry.file)}: not converted; mend it first", err=True)
            status = max(status, FINDINGS)
            continue
        entries.append(entry)
    return entries, status


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
    for entry, job in zip(entries, jobs, strict=True):
        inner = Path(os.path.relpath(entry.path.absolute(), common))
        target = out / inner.with_suffix(chosen.ending)
        target.parent.mkdir(parents=True, exist_ok=True)
        write_text(target, chosen.write([job]))
    click.echo(f"{plain.visible(str(out))}: {_recipes(len(jobs))} written", err=True)


def _recipes(count: int) -> str:
    return f"{count} recipe{'s' if count != 1 else ''}"
