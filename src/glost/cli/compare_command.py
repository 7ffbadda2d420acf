"""glost compare."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import click

from glost.changes.as_json import as_json
from glost.changes.comparison import compare
from glost.changes.fired_change import FiredChange, fired_changes
from glost.changes.markdown import markdown
from glost.changes.meaning import WEIGHED, Told, told
from glost.changes.pairs import Page, Pair, paired
from glost.changes.report import Reported, state_of, summary
from glost.changes.text import text
from glost.chemistry.firing import Calculator
from glost.cli import CLEAN, FINDINGS, UNUSABLE
from glost.cli.compare_inputs import Version, sides
from glost.cli.errors import show_error
from glost.cli.streams import note, put_text, say
from glost.language.source import DecodeError
from glost.language.yaml_tree import ConfigError
from glost.linter.finding import unreadable
from glost.linter.reporters import plain
from glost.recipe.materials.catalogue import Catalogue
from glost.workspace.collection import Collections
from glost.workspace.load import Usable, Withheld, usable_text

_OUTPUTS: dict[str, Callable[[Sequence[Reported]], str]] = {
    "text": text,
    "markdown": markdown,
    "json": as_json,
}


class _Read(NamedTuple):
    """A file of one side and the recipe in it, None where it cannot be read whole."""

    version: Version
    entry: Usable | None


@click.command()
@click.argument(
    "sides_given", metavar="OLD NEW | REVISION [PATHS]...", nargs=-1, type=click.Path(), required=True
)
@click.option(
    "--output",
    type=click.Choice(list(_OUTPUTS)),
    default="text",
    show_default=True,
    help="Text for a person, Markdown for a page, JSON for a program.",
)
def command(sides_given: Sequence[str], output: str) -> int:
    """Say what changed between recipes in meaning: other amounts, not other spelling, order or scale.

    OLD and NEW are files, folders, or paths of a git revision, as main:matt/dune.glost; a revision by itself means this
    folder as it was then. With a revision and paths (default: this folder) the working folder is compared with it. Both
    sides are read with the materials of the collection as it stands now.

    Exit status: 0 the same in meaning, 1 they differ, 2 something could not be read.
    """
    collections = Collections()
    try:
        old, new = (
            {version.path: _read(version, collections) for version in side}
            for side in sides(sides_given, collections)
        )
        reporter = _Reporter(old, new)
        reported = [reporter.report(pair) for pair in paired(_pages(old), _pages(new))]
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    shown = _OUTPUTS[output](reported)
    if output == "text":
        say(shown)
    else:
        put_text(shown)
    note(f"{summary(reported)}\n")
    if any(one.state == "unreadable" for one in reported):
        return UNUSABLE
    return FINDINGS if any(one.differs for one in reported) else CLEAN


def _read(version: Version, collections: Collections) -> _Read:
    """The recipe of a file; what keeps it from being read whole is noted."""
    if isinstance(version.text, DecodeError):
        note(plain.text([unreadable(version.shown, version.text)]))
        return _Read(version, None)
    found = usable_text(version.shown, version.text, version.place, collections)
    if isinstance(found, Withheld):
        note(plain.text(found.findings))
        return _Read(version, None)
    return _Read(version, found)


def _pages(side: dict[str, _Read]) -> list[Page]:
    return [Page(path, one.version.shown, _told(one.entry)) for path, one in side.items()]


def _told(entry: Usable | None) -> Told | None:
    return None if entry is None else told(entry.recipe, entry.collection.catalogue)


class _Reporter:
    def __init__(self, old: dict[str, _Read], new: dict[str, _Read]) -> None:
        self._old = old
        self._new = new
        self._kilns: dict[int, tuple[Catalogue, Calculator]] = {}

    def report(self, pair: Pair) -> Reported:
        old = self._old[pair.old.path] if pair.old else None
        new = self._new[pair.new.path] if pair.new else None
        files = pair.old.shown if pair.old else None, pair.new.shown if pair.new else None
        there = pair.new or pair.old
        assert there is not None
        name = there.told.name if there.told else there.path
        if any(page is not None and page.told is None for page in pair):
            return Reported(*files, name, "unreadable", True)
        if pair.old is None or pair.new is None:
            return Reported(*files, name, "removed" if pair.new is None else "added", True)
        assert pair.old.told is not None
        assert pair.new.told is not None
        assert old is not None
        assert new is not None
        comparison = compare(pair.old.told, pair.new.told)
        weighed = any(change.place.section in WEIGHED for change in comparison.changes)
        fired = self._fired(old.entry, new.entry) if weighed else ()
        differs = old.version.text != new.version.text
        return Reported(*files, name, state_of(comparison), differs, comparison, fired)

    def _fired(self, old: Usable | None, new: Usable | None) -> tuple[FiredChange, ...]:
        assert old is not None
        assert new is not None
        return fired_changes(
            old.recipe,
            new.recipe,
            self._kiln(old.collection.catalogue),
            self._kiln(new.collection.catalogue),
        )

    def _kiln(self, catalogue: Catalogue) -> Calculator:
        return self._kilns.setdefault(id(catalogue), (catalogue, Calculator(catalogue)))[1]
