"""What a format is, and which there are.

A format is one file in formats/. Its module holds one ``FORMAT``; the file's name is the format's name.
Adding a format touches that file and no other.
"""

from __future__ import annotations

import functools
import importlib
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Final, NamedTuple, TypeAlias

from glost.recipe.labels import labels_of
from glost.recipe.library import kind_and_name
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.points import Points
from glost.recipe.recipe import Recipe, Test, tests
from glost.recipe.settings import Settings

_FOLDER = Path(__file__).parent / "formats"


@dataclass(frozen=True, slots=True)
class Revision:
    """Where a file stands in version control: the short name of its last commit and that commit's day
    (year-month-day), and whether the file has changed since. ``known`` False: it may be under version control, but
    nobody would say which revision it is."""

    text: str
    changed: bool
    known: bool = True
    day: str = ""

    @property
    def told(self) -> str:
        """As it stands on what is printed."""
        if not self.known:
            return "revision not known"
        return f"revision {self.text}{', changed since' if self.changed else ''}"


NOT_KNOWN: Final = Revision("", changed=False, known=False)


class Attention(NamedTuple):
    """An error that stands on a recipe's page, found by a rule: where, what, and how to fix it."""

    line: int
    column: int
    rule: str
    message: str
    hint: str

    @property
    def text(self) -> str:
        """What and where, for the bench."""
        return f"line {self.line}: {self.message} ({self.rule})"

    @property
    def data(self) -> dict[str, object]:
        """As it stands among the findings of a document for programs."""
        return {
            "line": self.line,
            "column": self.column,
            "rule": self.rule,
            "level": "error",
            "message": self.message,
            "hint": self.hint,
        }


class Use(NamedTuple):
    """A recipe that a test is made of: its kind and its name, its file, and the revision of that."""

    kind: str
    name: str
    file: str
    revision: Revision | None


@dataclass(frozen=True)
class Job:
    """One recipe to write out, and all that its page needs. Its tests are made once, however often they are asked for.

    ``file`` is the path as it is to be shown, and ``collection`` what the collection is called that it belongs to, ""
    without one. ``batch_g``: the mass of the base in grams where the command asks for one, else None. ``revision``
    None: the file is not under version control. ``attention``: the errors on its page.
    """

    file: str
    recipe: Recipe
    settings: Settings
    catalogue: Catalogue
    batch_g: Decimal | None = None
    revision: Revision | None = None
    attention: tuple[Attention, ...] = ()
    labels: tuple[str, ...] = ()
    """Of the tests that are asked for; without any, every test is."""
    points: Points | None = None
    """Of blends only these points are asked for, and no test that is no point."""
    collection: str = ""
    used: Mapping[str, Revision | None] = field(default_factory=dict)
    """The revisions of the pages that the recipe uses, by their files."""

    def uses_of(self, test: Test) -> Iterator[Use]:
        """The recipes that a test is made of, and those that these use in turn."""
        return (Use(*kind_and_name(written), file, self.used.get(file)) for written, file in test.pages)

    @functools.cached_property
    def every(self) -> tuple[Test, ...]:
        """All tests of the recipe, in the order of the page."""
        return tuple(tests(self.recipe))

    @functools.cached_property
    def asked(self) -> tuple[Test, ...]:
        """The tests that are asked for, in the order of the page."""
        return tuple(
            test
            for test in (self.every if self.points is None else self.points.of(self.every))
            if not self.labels or labels_of(test, self.labels)
        )

    @functools.cached_property
    def called(self) -> frozenset[str]:
        """What the materials of all its tests are called: their canonical names, or as they are written."""
        found = {part.called for test in self.every for part in (*test.base, *test.additions)}
        return frozenset(map(self.catalogue.called, found))


Output: TypeAlias = str | bytes
"""A text, or the bytes of a form that is none."""
Write: TypeAlias = Callable[[Sequence[Job]], Output]
Read: TypeAlias = Callable[[str], list[Recipe]]


@dataclass(frozen=True, slots=True)
class Format:
    """One format. ``ending`` is that of its files, with the dot. ``mark`` is found near the beginning of every text in
    it and of hardly any other: by it an earlier output is known, which may be written over. ``together``: several
    recipes go into one text unless a folder is asked for. ``read`` turns such a text back into recipes and raises
    ValueError in a potter's words; None where the format is for people only. ``between``: what joins the texts of
    single recipes to the text of them all; None where that is more than such a join. ``tells_revision``: it prints
    where a file stands in version control. ``tells_errors``: it says the errors that stand on a page. ``by_test``: it
    has a page for each test, so that single ones can be asked for. ``binary``: it is bytes and no text, and nothing for
    a terminal."""

    name: str
    ending: str
    summary: str
    write: Write
    mark: re.Pattern[str]
    together: bool
    read: Read | None = None
    between: str | None = None
    tells_revision: bool = True
    tells_errors: bool = True
    by_test: bool = False
    binary: bool = False


@functools.cache
def format_names() -> frozenset[str]:
    """The names of all formats, known from the files alone."""
    return frozenset(path.stem.replace("_", "-") for path in _FOLDER.glob("*.py") if path.stem != "__init__")


@functools.cache
def all_formats() -> tuple[Format, ...]:
    """Every format, by name."""
    return tuple(find_format(name) for name in sorted(format_names()))


def find_format(name: str) -> Format:
    """The format of that name. Raises KeyError for a name that is not in format_names()."""
    if name not in format_names():
        raise KeyError(name)
    module = importlib.import_module(f"glost.output.formats.{name.replace('-', '_')}")
    found: Format = module.FORMAT
    if found.name != name:
        raise AssertionError(f"the format in {module.__name__} is called {found.name}")
    return found
