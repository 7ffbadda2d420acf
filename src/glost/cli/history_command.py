"""glost history."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import click

from glost.cli import CLEAN, UNUSABLE
from glost.cli.common import show_misread
from glost.cli.streams import note, put_text, say
from glost.collection import Collections
from glost.compare.history import NOT_COMMITTED, Revision, csv, html, text
from glost.compare.meaning import Told, told
from glost.entry import faults_of, load_text
from glost.files import read_text
from glost.git.asking import GitFailed, top_of
from glost.git.revisions import Commit, commits_of, content_at
from glost.language.source import Unreadable, decode
from glost.lint.reporters import plain
from glost.places import display
from glost.yamlfile import Misread

_OUTPUTS: dict[str, Callable[[str, Sequence[Revision]], str]] = {"text": text, "csv": csv, "html": html}


@click.command()
@click.argument("path", type=click.Path(path_type=Path))
@click.option(
    "--output",
    type=click.Choice(list(_OUTPUTS)),
    default="text",
    show_default=True,
    help="Text for a person, CSV for a spreadsheet, HTML for a browser and for paper.",
)
def command(path: Path, output: str) -> int:
    """Show a recipe's amounts through its revisions in git: one column a revision, one row a material.

    The amounts stand on a base of 100. The file is followed through its renames. Where it was changed since the last
    commit, the last column is the file as it is now.

    Exit status: 0, or 2 where there is no history to show.
    """
    if path.is_dir():
        raise click.UsageError(f"'{plain.visible(str(path))}' is a folder; name one recipe in it.")
    top = top_of(path.absolute().parent)
    if top is None:
        raise click.UsageError(
            f"'{plain.visible(str(path))}' lies in no git repository, so that it has no history."
        )
    collections = Collections()
    try:
        revisions = _revisions(path, top, collections)
    except GitFailed as error:
        raise click.UsageError(f"git could not tell the history: {plain.visible(str(error))}.") from None
    except Misread as error:
        show_misread(error)
        return UNUSABLE
    if not revisions:
        raise click.UsageError(f"there is no file '{plain.visible(str(path))}', and no commit has one.")
    shown = _OUTPUTS[output](display(path), revisions)
    if output == "text":
        say(shown)
    else:
        put_text(shown)
    return CLEAN


def _revisions(path: Path, top: Path, collections: Collections) -> list[Revision]:
    """The columns, the oldest first. Raises GitFailed, Misread."""
    out = []
    last: bytes | None = None
    for commit in commits_of(path):
        data = content_at(top, commit)
        if data is None:
            continue
        last = data
        out.append(Revision(commit.short, commit.day, commit.subject, _told(data, path, commit, collections)))
    try:
        now = read_text(path).encode("utf-8")
    except Unreadable:
        return out
    if now != last:
        out.append(Revision(NOT_COMMITTED, "", "not committed yet", _told(now, path, None, collections)))
    return out


def _told(data: bytes, path: Path, commit: Commit | None, collections: Collections) -> Told | None:
    """The recipe in a revision of a file, read with the materials of the collection as it is now."""
    called = display(path) if commit is None else f"{commit.short}:{commit.path}"
    why = "not read whole; its column holds question marks"
    try:
        entry = load_text(called, decode(data), path, collections)
    except Unreadable:
        note(f"{plain.visible(called)}: {why}\n")
        return None
    if faults_of(entry.resolved):
        note(f"{plain.visible(called)}: {why}\n")
        return None
    return told(entry.resolved.recipe, entry.collection.catalogue)
