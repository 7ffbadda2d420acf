"""glost blame."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import click

from glost.changes.blame import Blamed, By, Origin, as_json, line_of, lines_of, places_of, text
from glost.changes.comparison import compare
from glost.changes.history import NOT_COMMITTED
from glost.changes.meaning import OF_THE_COLLECTION, Place
from glost.cli import CLEAN, UNUSABLE
from glost.cli.common import show_undone
from glost.cli.errors import show_error, usage_error
from glost.cli.lineage import Version, seen_together, versions_of
from glost.cli.pager import columns
from glost.cli.shallow import tell_where_it_is_cut
from glost.cli.streams import put_text, say
from glost.language.yaml_tree import ConfigError
from glost.linter.reporters import plain
from glost.workspace.collection import Collections
from glost.workspace.git.run import GitError
from glost.workspace.load import Withheld
from glost.workspace.paths import display

EXAMPLES = (
    "glost blame corpus/studio/stoneware/harbour-mist.glost",
    "glost blame HEAD:corpus/studio/stoneware/harbour-mist.glost --output json",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("path", type=click.Path(path_type=Path))
@click.option(
    "--output",
    type=click.Choice(["text", "json"]),
    default="text",
    show_default=True,
    help="Text for a person, JSON for a program.",
)
def command(path: Path, output: str) -> int:
    """Say who last changed each amount and field of a recipe in meaning, line by line of its page.

    Layout, another spelling, order or scale of the same is no change, nor is a rename of the file; an amount that only
    follows the total of the base was not changed. Of what a merge brought in, the commit on its branch is named. PATH
    may be REV:PATH, for the page as it was then.

    Exit status: 0, 1 where the page cannot be read whole, 2 where there is no history or it cannot be read at all.
    """
    if path.is_dir():
        raise click.UsageError(f"'{plain.visible(str(path))}' is a folder; name one recipe in it.")
    try:
        path, versions = versions_of(path, Collections())
        newest = versions[0]
        found = newest.found
        tell_where_it_is_cut(path, versions)
        if found is None:
            raise click.UsageError(
                f"'{plain.visible(str(path))}' was {', '.join(newest.moves)}; glost history shows it."
            )
        if isinstance(found, Withheld):
            return show_undone(found.file, found.findings, "nobody is named")
        lines = lines_of(found.resolved, found.collection.catalogue)
        blamed = [*_blamed(newest, lines), *_of_the_collection(versions)]
    except GitError as error:
        raise usage_error(error, "git could not tell the history") from None
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    name = newest.told.name if newest.told else ""
    if output == "json":
        put_text(as_json(display(path), name, blamed))
    else:
        say(text(display(path), name, blamed, columns()))
    return CLEAN


def _blamed(newest: Version, lines: dict[Place, int]) -> list[Blamed]:
    """Raises GitError, ConfigError."""
    told = newest.told
    assert told is not None
    origin = Origin()
    found = [
        Blamed(line_of(place, lines), place, fact, told.written.get(place), _by(origin.of(newest, place)))
        for place, fact in places_of(told)
    ]
    return sorted(found, key=lambda one: (one.line == 0, one.line))


def _of_the_collection(versions: Sequence[Version]) -> Iterator[Blamed]:
    """What the collection says of the recipe, as far as some commit has changed it since the recipe began. Raises
    GitError, ConfigError."""
    newest = versions[0]
    now = seen_together(newest, newest, apart=True)[1].around
    met: set[Place] = set()
    for version in versions:
        if version.told is None:
            continue
        sides = [set(_said_otherwise(old, version)) for old in version.nearest_before()]
        for place in sorted(set.intersection(*sides) - met if sides else (), key=lambda one: one.order):
            met.add(place)
            if place in now:
                yield Blamed(0, place, now[place], None, _by(version))


def _said_otherwise(old: Version, new: Version) -> Iterator[Place]:
    for change in compare(*seen_together(old, new)).real:
        if change.place.section in OF_THE_COLLECTION:
            yield change.place


def _by(version: Version) -> By:
    commit = version.commit
    if commit is None:
        return By("", NOT_COMMITTED, "", "", "not committed yet", version.path)
    return By(commit.name, commit.short, commit.day, commit.author, commit.subject, commit.path)
