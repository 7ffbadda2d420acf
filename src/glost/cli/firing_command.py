"""glost firing."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from pathlib import Path

import click

from glost.cli import CLEAN, UNUSABLE
from glost.cli.colours import note_findings
from glost.cli.common import files, no_collection, number_of, status_of
from glost.cli.days import DateType
from glost.cli.errors import show_error
from glost.cli.outputs import beginning, refusing
from glost.cli.streams import note, on_a_terminal, put_form, put_text
from glost.language.yaml_tree import ConfigError
from glost.linter.finding import unreadable
from glost.linter.reporters import plain
from glost.output.firing import show
from glost.output.firing.begin import begun
from glost.output.firing.door import Coming, Waiting, page
from glost.output.web import GENERATED
from glost.recipe.firing import Firing
from glost.records.record import Record
from glost.workspace.collection import Collections
from glost.workspace.firings import fired_batches, read_firings
from glost.workspace.load import Usable, usable
from glost.workspace.logbook import ENDING as RECORD
from glost.workspace.logbook import folder_of, read
from glost.workspace.outputs import OneOutput, write_new
from glost.workspace.paths import FIRING

PAGE = ".html"
_OUTPUTS: Mapping[str, Callable[[Firing], str]] = {
    "text": show.text,
    "json": show.as_json,
    "html": show.html,
}


EXAMPLES = (
    "glost firing corpus/studio/firings/small-kiln-41.firing",
    "glost firing corpus/studio/firings/small-kiln-41.firing --output json",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("paths", nargs=-1, type=click.Path(), metavar="[FIRING]...")
@click.option("--date", "day", type=DateType(), metavar="DATE", help="The day of the firing to come.")
@click.option("--name", metavar="NAME", help="What the firing to come is called.")
@click.option("--kiln", metavar="KILN", help="Its kiln.")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The file to write; otherwise standard output.",
)
@click.option(
    "--output",
    type=click.Choice(list(_OUTPUTS)),
    default="text",
    show_default=True,
    help="Of a firing that is there: text, JSON, or HTML with the curve. Of one to come: its page, or as HTML the list"
    " at the kiln door.",
)
def command(
    paths: Sequence[str], day: date | None, name: str | None, kiln: str | None, out: Path | None, output: str
) -> int:
    """Show firings with their schedules worked out; or, without any, begin the page of the next one.

    The page that is begun has a tile for each batch in the log of this collection that no firing names yet, with
    --date of those weighed by that day. With --output html it is the list at the kiln door, to be filled in on a phone;
    glost record takes in what the phone hands over. No file is ever written over, but for an earlier such list.
    """
    if paths and any((day, name, kiln, out)):
        raise click.UsageError("--date, --name, --kiln and --out begin a page: leave the paths out.")
    collections = Collections()
    try:
        return (
            _show(paths, collections, output) if paths else _begin(collections, day, name, kiln, out, output)
        )
    except ConfigError as error:
        show_error(error)
        return UNUSABLE


def _show(paths: Sequence[str], collections: Collections, output: str) -> int:
    firings, wrong = read_firings(files(paths, collections, FIRING))
    if wrong:
        note_findings(wrong)
    if output != "text" and len(firings) > 1:
        raise click.UsageError(f"--output {output} takes one firing; {len(firings)} are meant here.")
    if not firings and not wrong:
        note(f"glost: there is no firing here; its page ends in {FIRING}\n")
    shown = "\n".join(_OUTPUTS[output](one.firing) for one in firings)
    put_form(output, shown)
    return status_of(wrong)


def _begin(
    collections: Collections,
    day: date | None,
    name: str | None,
    kiln: str | None,
    out: Path | None,
    output: str,
) -> int:
    if output == "json":
        raise click.UsageError("--output json shows a firing that is there: name its page.")
    door = output == "html"
    ending = PAGE if door else FIRING
    if out is not None and not out.name.endswith(ending):
        what = "no browser would take it for a page" if door else "it would be no firing"
        raise click.UsageError(f"'{plain.visible(str(out))}' does not end in {ending}, so {what}.")
    for option, value in (("name", name), ("kiln", kiln)):
        if value is not None and (
            '"' in value or "#" in value or not value.strip() or not value.isprintable()
        ):
            raise click.UsageError(f"--{option} takes words without quotation marks and #.")
    if door and out is None and on_a_terminal():
        raise click.UsageError("a page is for a browser: give it a file, as  --out kiln-door.html")
    log = folder_of(Path.cwd(), collections)
    if log is None:
        raise no_collection("or begin one with 'glost new --collection'")
    found = files([str(log)], collections, RECORD) if log.is_dir() else []
    logged, broken = read(found, collections)
    firings, wrong = read_firings(files([str(log.parent)], collections, FIRING))
    if broken or wrong:
        findings = [*(unreadable(file, error) for file, error in broken), *wrong]
        note_findings(findings)
        note("glost: no page is begun, since what was fired would not be known; fix these first\n")
        return status_of(findings)
    fired = fired_batches(firings)
    waiting = [
        Waiting(
            one.path.stem,
            _test_of(one.record, log.parent, collections),
            str(one.record.day),
            one.record.person,
        )
        for one in sorted(logged, key=lambda one: (one.record.moment, one.path.name))
        if one.path.stem not in fired and (day is None or one.record.day <= day)
    ]
    called = " ".join(
        (name or (out.name.removesuffix(FIRING) if out and not door else "Next firing")).split()
    )
    where = " ".join((kiln or "").split())
    if door:
        house = collections.of(log).settings.name
        text = page(Coming(house, called, str(day or ""), where, waiting))
    else:
        text = begun(called, str(day or ""), where, waiting)
    if out is None:
        put_text(text)
    else:
        _put(out, text, door)
    note(
        f"glost: {number_of(len(waiting), 'tile')} to fire, of {number_of(len(logged), 'record')} in the log\n"
    )
    return CLEAN


def _put(out: Path, text: str, door: bool) -> None:
    """Writes what was begun. A list for the kiln door takes the place of an earlier page of glost, in which nobody
    wrote anything. Raises UsageError."""
    with beginning(out), refusing():
        if door:
            OneOutput(out, GENERATED).write(text)
        else:
            write_new(out, text)


def _test_of(record: Record, root: Path, collections: Collections) -> str:
    """The test as a page names it. The kind is that of the recipe's page, where that is still there."""
    page = root / record.file
    found = usable(page, collections) if page.is_file() else None
    kind = found.recipe.kind if isinstance(found, Usable) else "glaze"
    name = f"{record.recipe}, {record.test}" if record.test else record.recipe
    return f'{kind} "{name}"'
