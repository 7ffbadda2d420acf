"""The recipes of a collection by their names, so that one can stand as an ingredient in another.

A test is named in one way everywhere: by its kind and, in quotation marks, its name as it is printed: the recipe's, and
behind a comma the test's label. The name is compared whole, without regard to case and to how many blanks stand between
its words, with those of all tests of the collection, and never cut at a comma.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from fractions import Fraction
from typing import Final, NamedTuple, Protocol

from glost.errors import GlostError
from glost.language import tree
from glost.language.diagnostics import Choice, Diagnostic
from glost.language.nearest import nearest
from glost.language.parse import parse
from glost.language.source import Edit, Source, Span
from glost.language.tables import lexicon
from glost.recipe.names import folded
from glost.recipe.recipe import Handling, Part, Recipe, Test, Used, names_a_recipe, part_of, tests

DEEPEST: Final = 8
"""Recipes that may use one another in turn."""
_INHERITED_NOT: Final = ("cone", "atmosphere", "gravity", "water")
"""Fields of a used recipe that are told where they differ; none is taken over."""


class UseError(GlostError):
    """Such a recipe cannot stand as an ingredient. ``becomes``: what to write instead, where that is certain.
    ``offered``: what the hint offers to write, where that is not."""

    def __init__(self, message: str, hint: str, becomes: str = "", offered: tuple[str, ...] = ()) -> None:
        super().__init__(message, hint)
        self.becomes = becomes
        self.offered = offered

    def at(self, span: Span) -> Diagnostic:
        """The same of the name that stands there."""
        edits = (Edit(span, self.becomes),) if self.becomes else ()
        choices = tuple(Choice(one, Edit(span, one)) for one in self.offered)
        return Diagnostic(span, self.message, self.hint, edits, choices=choices)


class Finder(Protocol):
    """Whatever knows the recipes that a page may use."""

    def find(self, kind: str, name: str, page: tree.Page) -> Used:
        """The recipe, or the test of one, of that name, for that page. Raises UseError."""
        ...


class Given:
    """Recipes that are known already, such as those that came with a recipe as data."""

    def __init__(self, uses: Mapping[str, Used]) -> None:
        self._uses = {folded(used.written): used for used in uses.values()}

    def find(self, kind: str, name: str, page: tree.Page) -> Used:  # noqa: ARG002 (as a library has it)
        try:
            return self._uses[folded(f'{kind} "{name}"')]
        except KeyError:
            raise UseError(f"no recipe called '{name}' came with this one", "give its text with it") from None


def kind_and_name(written: str) -> tuple[str, str]:
    """The kind and the name of a recipe that stands as an ingredient."""
    kind, _, name = written.partition(" ")
    return kind, name.strip(' "')


class Kept(NamedTuple):
    """A page of the collection: the path that it is shown by, and its text, None where that cannot be read."""

    file: str
    text: Callable[[], str | None]


class Read(NamedTuple):
    """What a page means, before the recipes that it uses are looked up. ``whole``: nothing of it is left out."""

    page: tree.Page
    recipe: Recipe
    whole: bool


class _Known(NamedTuple):
    file: str
    kind: str
    name: str
    text: Callable[[], str | None]


class Library:
    """The recipes of one collection. Their first lines are read when one is first asked for, a page when its name
    fits."""

    def __init__(self, pages: Callable[[], Iterable[Kept]], read: Callable[[tree.Page], Read]) -> None:
        """``read``: what a page means, before the recipes that it uses are looked up."""
        self._pages = pages
        self._read = read
        self._used: dict[tuple[str, str], Used] = {}
        self._deep: dict[tuple[str, str], int] = {}
        """How many recipes use one another in turn, by the file and the name of the first, itself counted."""
        self._taken: dict[str, Read] = {}

    @functools.cached_property
    def _known(self) -> list[_Known]:
        found = []
        for kept in self._pages():
            title = _title(kept.text() or "")
            if title is not None:
                found.append(_Known(kept.file, *title, kept.text))
        return found

    @functools.cached_property
    def _by_title(self) -> dict[str, list[tuple[int, _Known]]]:
        """By the folded name, each with its place among all."""
        found: dict[str, list[tuple[int, _Known]]] = {}
        for at, known in enumerate(self._known):
            found.setdefault(folded(known.name), []).append((at, known))
        return found

    def _titled(self, wanted: str) -> list[_Known]:
        """Those whose name is all of that, or what stands before a comma of it, in their order."""
        ends = (*(at for at, sign in enumerate(wanted) if sign == ","), len(wanted))
        found = [one for end in ends for one in self._by_title.get(wanted[:end], ())]
        return [known for _, known in sorted(found, key=lambda one: one[0])]

    def _page(self, known: _Known, asking: tree.Page) -> Read:
        """What a page means; of the one that asks, what it says now, which may not be on the disk yet."""
        if known.file == asking.source.path:
            return self._read(asking)
        if known.file not in self._taken:
            self._taken[known.file] = self._read(parse(Source(known.file, known.text() or "")))
        return self._taken[known.file]

    def find(self, kind: str, name: str, page: tree.Page) -> Used:
        """The recipe, or the test of one, of that name. Raises UseError."""
        return self._find(kind, name, page, ())

    def names(self) -> Iterator[str]:
        """The names of all recipes, as an ingredient has them."""
        for known in self._known:
            yield f'{known.kind} "{known.name}"'

    def recipe_called(self, name: str) -> str | None:
        """How a recipe of that name is written as an ingredient, where there is just one."""
        met = {f'{one.kind} "{one.name}"' for one in self._known if folded(one.name) == folded(name)}
        return met.pop() if len(met) == 1 else None

    def _find(self, kind: str, name: str, asking: tree.Page, above: tuple[tuple[str, str, str], ...]) -> Used:
        known, read, test = self._found(kind, name, asking)
        key = (known.file, test.label)
        if any(key == (file, label) for file, label, _ in above):
            at = next(at for at, one in enumerate(above) if key == one[:2])
            ring = list(above[at:])
            here = next((at for at, one in enumerate(ring) if one[0] == asking.source.path), 0)
            ring = [*ring[here:], *ring[:here]]
            files = dict.fromkeys(file for file, _, _ in ring)
            raise UseError(
                f"this goes round in a circle: {_chain([*(one[2] for one in ring), ring[0][2]])}",
                f"take one of them out of the other ({', '.join(files)})",
            )
        kept = self._used.get(key)
        # What was looked up before tells how many stand below it: an answer never hangs on which page came first.
        if len(above) + (self._deep[kept.file, kept.name] if kept else 1) > DEEPEST:
            raise UseError(
                f"more than {DEEPEST} recipes use one another here",
                "write the materials of the last ones on a page of their own",
            )
        if kept:
            return kept
        used = self._used_of(known, read, test, asking, (*above, (*key, test.name)))
        if asking.source.path not in (known.file, *used.files):
            self._used[key] = used
        return used

    def _found(self, kind: str, name: str, asking: tree.Page) -> tuple[_Known, Read, Test]:
        wanted = folded(name)
        met: list[tuple[_Known, Read, Test]] = []
        unread: list[str] = []
        of_page: list[str] = []
        for known in self._titled(wanted):
            read = self._page(known, asking)
            if not read.whole:
                unread.append(known.file)
                continue
            every = list(tests(read.recipe))
            met += ((known, read, test) for test in every if folded(test.name) == wanted)
            if (known.kind, folded(known.name)) == (kind, wanted):
                of_page += (test.name for test in every)
        right = [one for one in met if one[0].kind == kind]
        if len(right) == 1:
            return right[0]
        if len(right) > 1:
            files = ", ".join(dict.fromkeys(one[0].file for one in right))
            raise UseError(
                f"'{name}' is the name of {len(right)} tests: {files}", "give each recipe its own name"
            )
        if met:
            other = met[0][0].kind
            raise UseError(
                f"'{name}' is {_a(other)} ({met[0][0].file})",
                f'write  {other} "{met[0][2].name}"',
                f'{other} "{met[0][2].name}"' if len(met) == 1 else "",
            )
        if unread:
            raise UseError(
                f"'{name}' cannot be used: {', '.join(unread)} cannot be read whole",
                "put that page right first (glost lint says what is wrong there)",
            )
        if of_page:
            raise UseError(
                f"'{name}' is the name of a page whose tests each set the base, so that it is no recipe by itself",
                f'write one of its tests, such as  {kind} "{of_page[0]}"',
            )
        near = nearest(name, list(self._every_name(wanted, asking)), 2)
        meant = f"did you mean  {'  or  '.join(near)}  ?" if near else "write the name as its own page has it"
        offered = tuple(f'{kind} "{one}"' for one in near)
        raise UseError(f"there is no {kind} called '{name}' in this collection", meant, offered=offered)

    def _every_name(self, wanted: str, asking: tree.Page) -> Iterator[str]:
        """The names that a misspelt one may have been meant for: of recipes, and of tests of one whose name it has."""
        for known in self._known:
            yield known.name
            if wanted.startswith(folded(known.name)):
                yield from (test.name for test in tests(self._page(known, asking).recipe))

    def _used_of(
        self,
        known: _Known,
        read: Read,
        test: Test,
        asking: tree.Page,
        above: tuple[tuple[str, str, str], ...],
    ) -> Used:
        recipe = read.recipe
        handling: dict[Handling, None] = dict.fromkeys(recipe.handling)
        through: dict[tuple[str, str], None] = {}
        deep = 1
        lines: list[tuple[Part, Fraction]] = []
        for part in (*test.base, *test.additions):
            if not part.exact:
                continue
            if not names_a_recipe(part.name):
                lines.append((part, part.exact))
                continue
            inner = self._find(*kind_and_name(part.name), asking, above)
            lines += ((one, one.exact * part.exact) for one in inner.parts)
            handling.update(dict.fromkeys(inner.handling))
            deep = max(deep, self._deep[inner.file, inner.name] + 1)
            through.update(dict.fromkeys(inner.pages))
        whole = sum((exact for _, exact in lines), Fraction(0))
        if not whole:
            raise UseError(
                f"'{test.name}' holds nothing ({known.file})", "give it materials, or take it out here"
            )
        self._deep[known.file, test.name] = deep
        joined: dict[str, tuple[Part, Fraction]] = {}
        for part, exact in lines:
            first, so_far = joined.get(part.key, (part, Fraction(0)))
            noted = first if first.note else first._replace(note=part.note)
            joined[part.key] = (noted, so_far + exact)
        return Used(
            known.kind,
            test.name,
            known.file,
            tuple(part_of(p.name, p.material, exact / whole, p.note) for p, exact in joined.values()),
            tuple(handling),
            tuple((key, str(recipe.fields[key])) for key in _INHERITED_NOT if key in recipe.fields),
            tuple(written for written, _ in through),
            (known.file, *(file for _, file in through)),
        )


def uses_others(text: str) -> bool:
    """Whether a page may have a recipe among its ingredients, so that what is said of it depends on other pages."""
    return _use().search(text) is not None


@functools.cache
def _use() -> re.Pattern[str]:
    return re.compile(rf'^ +(?:{"|".join(lexicon().kinds)}) +"', re.MULTILINE)


def _a(kind: str) -> str:
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"


def _chain(ring: list[str]) -> str:
    first, *others = ring
    return f"{first} uses " + ", which uses ".join(others)


def _title(text: str) -> tuple[str, str] | None:
    """The kind and the name on the first line that says something; None for a text that begins with no recipe."""
    found = _first_line().match(text)
    return (found["kind"], " ".join(found["name"].split())) if found else None


@functools.cache
def _first_line() -> re.Pattern[str]:
    kinds = "|".join(lexicon().kinds)
    return re.compile(rf'\ufeff?(?:[ ]*(?:#[^\n]*)?\r?\n)*+(?P<kind>{kinds}) +"(?P<name>[^"\n]+)"')
