"""glost import."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import cast

import click

from glost.cli import CLEAN, FINDINGS, UNUSABLE
from glost.cli.errors import sentence, show_error
from glost.cli.progress import counted
from glost.cli.streams import put_text, say
from glost.importer import report
from glost.importer.columns import ROLES
from glost.importer.draft import TO_LOOK_AT
from glost.importer.import_file import FORMS, LARGEST, Brought, Form, Page, bring, form_of
from glost.importer.materials import Names
from glost.importer.table import columns_asked
from glost.language.source import DecodeError
from glost.language.yaml_tree import ConfigError
from glost.workspace.collection import Collections
from glost.workspace.files import read_text
from glost.workspace.outputs import write_new
from glost.workspace.paths import display


class _Columns(click.ParamType[Mapping[str, str]]):
    """Which column of a table is what."""

    name = "columns"

    def convert(
        self, value: object, param: click.Parameter | None, context: click.Context | None
    ) -> Mapping[str, str]:
        try:
            return columns_asked(str(value))
        except ValueError as error:
            self.fail(sentence(error), param, context)


EXAMPLES = (
    "glost import notes.txt --dry-run",
    "glost import notes.txt --to recipes",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILES...")
@click.option(
    "--from", "form", type=click.Choice(FORMS), help="What the files are.  [default: by their ending]"
)
@click.option(
    "--to",
    "folder",
    type=click.Path(path_type=Path),
    default=".",
    metavar="DIR",
    help="The folder for the recipes.  [default: this folder]",
)
@click.option("--dry-run", is_flag=True, help="Write nothing; say what would be.")
@click.option(
    "--columns",
    type=_Columns(),
    metavar="ROLE=COLUMN,...",
    help=f"Which column of a table is what, by its head or number: {', '.join(ROLES)}.",
)
@click.option(
    "--output",
    type=click.Choice(["text", "json"]),
    default="text",
    show_default=True,
    help="Text for a person, JSON for a program.",
)
def command(
    files: Sequence[Path],
    form: str | None,
    folder: Path,
    dry_run: bool,
    columns: Mapping[str, str] | None,
    output: str,
) -> int:
    """Bring old notes in: plain text, tables (CSV) and glost's own JSON become recipe files.

    No file is written over. What was guessed, what is not known and what found no place is reported: read the report
    beside the notes before anything is weighed. Exit status 1 where something is to be looked at, 2 where a file
    could not be read.
    """
    try:
        names = Names(Collections().of(folder / "x").catalogue)
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    taken: set[str] = set()
    brought = [_bring(file, cast("Form | None", form), names, taken, columns) for file in files]
    fate: dict[Page, str] = {}
    into: dict[Page, str] = {}
    status = CLEAN
    pages = [page for one in brought for page in one.pages]
    for page in counted(pages, "brought in", len(pages)):
        target = folder / page.file
        try:
            if dry_run:
                there = target.exists() or target.is_symlink()
                fate[page] = f"{display(target)} is there already" if there else f"would be {display(target)}"
                status = FINDINGS if there else status
            else:
                write_new(target, page.text)
                fate[page] = display(target)
            into[page] = display(target)
        except FileExistsError:
            fate[page] = f"not written: {display(target)} is there already"
            status = FINDINGS
        except OSError as error:
            fate[page] = f"not written: {display(target)}: {error.strerror or error}"
            status = UNUSABLE
    if output == "json":
        put_text(report.as_json(brought, fate, into))
    else:
        say(report.text(brought, fate))
    if status == UNUSABLE or any(one.refused for one in brought):
        return UNUSABLE
    looked_at = any(remark.kind in TO_LOOK_AT for one in brought for remark in one.remarks)
    return FINDINGS if looked_at else status


def _bring(
    file: Path, form: Form | None, names: Names, taken: set[str], columns: Mapping[str, str] | None
) -> Brought:
    shown = display(file)
    chosen = form or form_of(file.name)
    try:
        text = read_text(file, LARGEST[chosen], "check that it is the file of notes that you mean")
    except DecodeError as error:
        line, column = error.position
        where = f"line {line}, column {column}: " if (line, column) != (1, 1) else ""
        return Brought(shown, chosen, refused=f"{where}{error}")
    return bring(shown, text, chosen, names, taken, columns)
