"""glost history."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import click

from glost.changes.history import NOT_COMMITTED, Revision, csv, html, text
from glost.changes.meaning import Told, told
from glost.cli import CLEAN, UNUSABLE
from glost.cli.errors import show_error, usage_error
from glost.cli.streams import note, put_text, say
from glost.language.source import DecodeError
from glost.language.yaml_tree import ConfigError
from glost.linter.reporters import plain
from glost.workspace.collection import Collections
from glost.workspace.files import read_text
from glost.workspace.git.folders import Places
from glost.workspace.git.revisions import Commit, commits_of, content_at
from glost.workspace.git.run import GitError
from glost.workspace.load import Withheld, usable_bytes
from glost.workspace.paths import display

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
    collections = Collections()
    top, own = Places(collections.root_of).of(path)
    if own is not None:
        raise click.UsageError(
            f"'{plain.visible(str(path))}' lies in {plain.visible(display(own))}, a repository of its own, which is "
            "not asked about a collection that begins outside of it."
        )
    if top is None:
        raise click.UsageError(
            f"'{plain.visible(str(path))}' lies in no git repository, so that it has no history."
        )
    try:
        revisions = _revisions(path, top, collections)
    except GitError as error:
        raise usage_error(error, "git could not tell the history") from None
    except ConfigError as error:
        show_error(error)
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
    """The columns, the oldest first. Raises GitError, ConfigError."""
    out = []
    last: bytes | None = None
    for commit in commits_of(path, top):
        data = content_at(top, commit)
        if data is None:
            continue
        last = data
        out.append(Revision(commit.short, commit.day, commit.subject, _told(data, path, commit, collections)))
    try:
        now = read_text(path).encode("utf-8")
    except DecodeError:
        return out
    if now != last:
        out.append(Revision(NOT_COMMITTED, "", "not committed yet", _told(now, path, None, collections)))
    return out


def _told(data: bytes, path: Path, commit: Commit | None, collections: Collections) -> Told | None:
    """The recipe in a revision of a file, read with the materials of the collection as it is now."""
    called = display(path) if commit is None else f"{commit.short}:{commit.path}"
    found = usable_bytes(called, data, path, collections)
    if isinstance(found, Withheld):
        note(f"{plain.visible(called)}: not read whole; its column holds question marks\n")
        return None
    return told(found.recipe, found.collection.catalogue)
