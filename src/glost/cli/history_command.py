"""glost history."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from pathlib import Path

import click

from glost.changes.history import NOT_COMMITTED, Revision, as_json, csv, html, text
from glost.chemistry.firing import Calculator
from glost.chemistry.unity import Unity
from glost.cli import CLEAN, UNUSABLE
from glost.cli.common import status_of
from glost.cli.errors import show_error, usage_error
from glost.cli.fired_revisions import with_outcomes
from glost.cli.lineage import Version, seen_together, versions_of
from glost.cli.pager import columns
from glost.cli.shallow import tell_where_it_is_cut
from glost.cli.streams import note, put_text, say
from glost.language.yaml_tree import ConfigError
from glost.linter.reporters import plain
from glost.recipe.recipe import tests
from glost.workspace.collection import Collections
from glost.workspace.git.run import GitError
from glost.workspace.load import Withheld
from glost.workspace.paths import display

_OUTPUTS: dict[str, Callable[[str, Sequence[Revision]], str]] = {
    "csv": csv,
    "html": html,
    "json": as_json,
}
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)


EXAMPLES = (
    "glost history corpus/studio/stoneware/harbour-mist.glost",
    "glost history corpus/studio/stoneware/harbour-mist.glost --output csv",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("path", type=click.Path(path_type=Path))
@click.option(
    "--output",
    type=click.Choice(["text", *_OUTPUTS]),
    default="text",
    show_default=True,
    help="Text for a person, CSV for a spreadsheet, HTML for a browser and for paper, JSON for a program.",
)
@click.option(
    "-n", "--number", type=click.IntRange(1), metavar="COUNT", help="The newest COUNT revisions alone."
)
@click.option("--since", metavar="DAY", help="Revisions of that day (year-month-day) and later alone.")
def command(path: Path, output: str, number: int | None, since: str | None) -> int:
    """Show a recipe's amounts through its revisions in git: one column a revision, the newest first, one row a
    material or a field.

    The amounts stand on a base of 100. The recipe is followed by what it means, through renames of its file, and into
    the branches that were merged; a copy begins with the commit that made it. PATH may be a file that is gone, or
    REV:PATH for the history up to that commit. Where the file was changed since the last commit, the first column is
    the file as it is now. In CSV the oldest revision stands first. Below a revision stand its author, what it changed
    that has no place in the table, and the tiles that were fired of it.

    Exit status: 0, or 2 where there is no history to show, or the page cannot be read at all.
    """
    if path.is_dir():
        raise click.UsageError(f"'{plain.visible(str(path))}' is a folder; name one recipe in it.")
    if since is not None and not _DAY.fullmatch(since):
        raise click.UsageError(f"--since takes a day such as 2026-03-14, not '{plain.visible(since)}'.")
    collections = Collections()
    try:
        path, versions = versions_of(path, collections)
        if since is not None:
            versions = [one for one in versions if one.commit is None or one.commit.day >= since]
            if not versions:
                raise click.UsageError(f"no commit since {since} changed '{plain.visible(str(path))}'.")
        revisions = [_revision(one) for one in versions[:number]][::-1]
        tell_where_it_is_cut(path, versions[:number])
        revisions = with_outcomes(revisions, path, collections)
    except GitError as error:
        raise usage_error(error, "git could not tell the history") from None
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    if output == "text":
        say(text(display(path), revisions, columns()))
    else:
        put_text(_OUTPUTS[output](display(path), revisions))
    # Revisions are shown as they are; of the page that was named itself, that it cannot be read at all is no answer.
    newest = versions[0].found
    unread = isinstance(newest, Withheld) and status_of(newest.findings) == UNUSABLE
    return UNUSABLE if unread else CLEAN


def _revision(one: Version) -> Revision:
    """Raises GitError, ConfigError."""
    found = one.found
    unity: Unity | None = None
    if isinstance(found, Withheld):
        note(f"{plain.visible(one.called)}: not read whole; its column holds question marks\n")
    elif found is not None:
        fired = Calculator(found.collection.catalogue).fire(next(tests(found.recipe)))
        unity = None if fired.partial else fired.unity
    commit = one.commit
    if commit is None:
        about = Revision(NOT_COMMITTED, "", "not committed yet", one.told, unity)
    else:
        about = Revision(
            commit.short, commit.day, commit.subject, one.told, unity,
            author=commit.author, commit=commit.name, path=commit.path, merges=commit.merges,
        )  # fmt: skip
    if one.told is not None:
        sides = [seen_together(old, one) for old in one.nearest_before()]
        about = about._replace(before=tuple(old for old, _ in sides), seen=tuple(now for _, now in sides))
    return about._replace(gone=one.gone, moves=one.moves, path=one.path)
