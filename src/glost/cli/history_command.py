"""glost history."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import click

from glost.changes.history import NOT_COMMITTED, Revision, csv, html, text
from glost.changes.meaning import Told, told
from glost.chemistry.firing import Calculator
from glost.chemistry.unity import Unity
from glost.cli import CLEAN, UNUSABLE
from glost.cli.errors import show_error, usage_error
from glost.cli.fired_revisions import with_outcomes
from glost.cli.streams import note, put_text, say
from glost.language.yaml_tree import ConfigError
from glost.linter.reporters import plain
from glost.recipe.recipe import Recipe, tests
from glost.workspace.collection import Collections
from glost.workspace.git.folders import Places
from glost.workspace.git.run import GitError
from glost.workspace.load import Usable, Withheld
from glost.workspace.paths import display
from glost.workspace.runs.revisions import PastPages, Version, used_files, version_now

_OUTPUTS: dict[str, Callable[[str, Sequence[Revision]], str]] = {"text": text, "csv": csv, "html": html}


EXAMPLES = (
    "glost history corpus/studio/stoneware/harbour-mist.glost",
    "glost history corpus/studio/stoneware/harbour-mist.glost --output csv",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


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
    """Show a recipe's amounts through its revisions in git: one column a revision, the newest first, one row a
    material.

    The amounts stand on a base of 100. The file is followed through its renames. Where it was changed since the last
    commit, the first column is the file as it is now. In CSV the oldest revision stands first. Below a revision stand
    the tiles that were fired of it, where the firings of the collection have any, with what came of each.

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
        revisions = with_outcomes(_revisions(path, top, collections), path, collections)
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
    out: list[Revision] = []
    last: bytes | None = None
    past, now = PastPages(top, collections), version_now(path, collections)
    for commit, own in past.commits(path, used_files(_recipe(now))):
        version = past.at(path, commit)
        if version is None:
            continue
        revision = Revision(commit.short, commit.day, commit.subject, *_told(version))
        # A commit of a recipe among the ingredients is one of this recipe where it changed something here.
        if own or _differ(out, revision):
            out.append(revision)
        last = version.data
    if now is not None:
        revision = Revision(NOT_COMMITTED, "", "not committed yet", *_told(now))
        if now.data != last or _differ(out, revision):
            out.append(revision)
    return out


def _recipe(version: Version | None) -> Recipe | None:
    return version.found.recipe if version is not None and isinstance(version.found, Usable) else None


def _differ(so_far: Sequence[Revision], revision: Revision) -> bool:
    """Whether a revision holds other amounts by the recipes that it uses than the last one did."""
    before = so_far[-1].told if so_far else None
    return before is not None and revision.told is not None and before.through != revision.told.through


def _told(version: Version) -> tuple[Told | None, Unity | None]:
    """What a revision says, and its unity formula where all in it is known."""
    found = version.found
    if isinstance(found, Withheld):
        note(f"{plain.visible(version.called)}: not read whole; its column holds question marks\n")
        return None, None
    catalogue = found.collection.catalogue
    fired = Calculator(catalogue).fire(next(tests(found.recipe)))
    return told(found.recipe, catalogue), None if fired.partial else fired.unity
