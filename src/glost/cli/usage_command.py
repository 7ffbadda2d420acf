"""glost usage."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import cast

import click

from glost.cli import CLEAN, UNUSABLE
from glost.cli.common import files
from glost.cli.errors import show_error
from glost.cli.streams import note, put_text, say
from glost.language.yaml_tree import ConfigError
from glost.linter.finding import unreadable
from glost.linter.reporters import plain
from glost.recipe.materials.catalogue import key
from glost.records import reports
from glost.records.text import shown
from glost.records.usage import BY, Asked, By, Usage, usage
from glost.workspace.collection import Collections
from glost.workspace.logbook import ENDING, folder_of, read

_REPORTS: Mapping[str, Callable[[Usage], str]] = {
    "text": reports.as_text,
    "csv": reports.as_csv,
    "json": reports.as_json,
}


class DateType(click.ParamType[date]):
    """A day of the calendar."""

    name = "date"

    def convert(self, value: object, param: click.Parameter | None, context: click.Context | None) -> date:
        if isinstance(value, date):
            return value
        try:
            if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", str(value)) is None:
                raise ValueError
            return date.fromisoformat(str(value))
        except ValueError:
            self.fail(f"'{plain.visible(str(value))}' is no date; write such as 2026-03-14", param, context)


EXAMPLES = (
    "glost usage corpus/studio/log",
    "glost usage corpus/studio/log --by person",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("paths", nargs=-1, type=click.Path())
@click.option("--from", "start", type=DateType(), metavar="DATE", help="The first day, as 2026-03-01.")
@click.option("--to", "end", type=DateType(), metavar="DATE", help="The last day, as 2026-03-31.")
@click.option("--by", type=click.Choice(BY), default="material", show_default=True, help="How to group.")
@click.option("--person", help="Only what this person weighed.")
@click.option("--project", help="Only what was weighed for this project.")
@click.option(
    "--output",
    type=click.Choice(list(_REPORTS)),
    default="text",
    show_default=True,
    help="Text for people, a table for whoever writes the bill, or JSON.",
)
def command(
    paths: Sequence[str],
    start: date | None,
    end: date | None,
    by: str,
    person: str | None,
    project: str | None,
    output: str,
) -> int:
    """Say what was used over a time, from the log: its folder, a collection, or single records (default: the log of
    this collection).

    A record that cannot be read stops it, since a sum that lacks one is worse than none.
    """
    if start is not None and end is not None and start > end:
        raise click.UsageError(f"--from {start} lies behind --to {end}.")
    collections = Collections()
    try:
        log = None if paths else folder_of(Path.cwd(), collections)
        found = files([str(log)] if log is not None and log.is_dir() else paths, collections, ENDING)
        logged, broken = read(found, collections)
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    if broken:
        note(plain.text(unreadable(file, error) for file, error in broken))
        note("glost: no sums, since they would lack what cannot be read\n")
        return UNUSABLE
    asked = Asked(start, end, cast(By, by), person, project)
    summed = usage(((entry.record, entry.catalogue) for entry in logged), asked)
    if not logged:
        note("glost: there is no record of a batch here; 'glost record' puts them into the log\n")
    else:
        _tell_unmatched("person", person, [entry.record.person for entry in logged])
        _tell_unmatched("project", project, [entry.record.project for entry in logged])
    text = _REPORTS[output](summed)
    if output == "text":
        say(text)
    else:
        put_text(text)
    return CLEAN


def _tell_unmatched(what: str, asked: str | None, there: Sequence[str]) -> None:
    """A name that stands nowhere in the log is most often a slip."""
    if asked is not None and key(asked) not in map(key, there):
        names = ", ".join(shown(name) for name in sorted(set(there)) if name)
        note(f"glost: no record names the {what} {shown(asked)}; the log names: {names or 'none'}\n")
