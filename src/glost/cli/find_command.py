"""glost find."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple, TypeAlias

import click

from glost.chemistry.firing import Calculator
from glost.cli import CLEAN, UNUSABLE
from glost.cli.changed import ChangedCommand, changed_option, choosing
from glost.cli.colours import note_findings
from glost.cli.common import number_of, show_worker_lost
from glost.cli.errors import show_error, usage_error
from glost.cli.progress import counted
from glost.cli.streams import note, put, put_text, say
from glost.cli.workers import workers_option
from glost.errors import ValueRefusedError
from glost.language.nearest import nearest
from glost.language.tables import lexicon
from glost.language.width import width
from glost.language.yaml_tree import ConfigError
from glost.linter.finding import UNREADABLE
from glost.linter.reporters import plain
from glost.output.catalog.as_jsonl import as_jsonl
from glost.output.catalog.chemistry import NOTHING, known_of
from glost.output.catalog.filters import (
    SERIOUS,
    Answer,
    Bound,
    Fired,
    Wanted,
    fold,
    group_keys,
    judge,
    read_bound,
    read_oxide,
)
from glost.output.catalog.rows import About, Row
from glost.output.formula.account import Choice, account
from glost.recipe.cone import Cone
from glost.recipe.fields import FIELDS
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.materials.oxides import COUNTED_AS
from glost.recipe.recipe import tests
from glost.workspace.collection import Collections
from glost.workspace.load import Usable, usable
from glost.workspace.paths import SETTINGS
from glost.workspace.runs.catalog import Beside, Seen, see_all
from glost.workspace.runs.processes import WorkerLostError

_LONGEST_CELL = 60
_COUNTED_AS_ANOTHER = {
    oxide.casefold(): COUNTED_AS[element]
    for element, oxides in {
        "Fe": ("FeO", "Fe3O4"),
        "Mn": ("MnO2", "Mn2O3", "Mn3O4"),
        "Co": ("Co2O3", "Co3O4"),
        "Ni": ("Ni2O3",),
        "Cu": ("Cu2O",),
        "Cr": ("CrO3",),
        "Pb": ("Pb3O4", "PbO2"),
        "Sb": ("Sb2O5",),
        "Pr": ("Pr6O11",),
    }.items()
    for oxide in oxides
}
"""Oxides that are weighed or met in a fire, and in no formula here."""


class _Place(NamedTuple):
    """Where a row comes from: its file, and which of the tests of that file it is."""

    path: Path
    number: int


_PlacedRow: TypeAlias = tuple[_Place, Row]


class _Asked(NamedTuple):
    """What the options ask of a test, as it was typed; an option that is not given is None, or empty."""

    words: Sequence[str]
    having: Sequence[str]
    lacking: Sequence[str]
    kind: str | None
    cone: str | None
    atmosphere: str | None
    use: str | None
    surface: str | None
    colour: str | None
    tags: Sequence[str]
    free_of: Sequence[str]
    hazards: Sequence[str]
    findings: str | None
    oxides: Sequence[str]
    expansions: Sequence[str]


EXAMPLES = (
    'glost find corpus/studio --cone 6 --without "barium carbonate" --oxide "B2O3 > 0.1" --output table',
    "glost find corpus/studio --with cobalt -0 | xargs -0 -r glost convert --to sheet",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command(cls=ChangedCommand)
@click.argument("paths", nargs=-1, type=click.Path())
@click.option(
    "--word", "words", multiple=True, metavar="TEXT", help="Stands in a name, field, tag, note or material."
)
@click.option(
    "--with", "having", multiple=True, metavar="MATERIAL", help="Holds this material, by any of its names."
)
@click.option("--without", "lacking", multiple=True, metavar="MATERIAL", help="Does not hold this material.")
@click.option("--kind", type=click.Choice(lexicon().kinds), help="What it is.")
@click.option("--cone", metavar="CONES", help='Its range meets this one: "6", or "5-7".')
@click.option("--atmosphere", metavar="WORD", help="The kiln's atmosphere, as it is written.")
@click.option("--use", metavar="WORD", help="What it is used for, as it is written.")
@click.option("--surface", metavar="TEXT", help="Stands in the field surface.")
@click.option("--colour", metavar="TEXT", help="Stands in the field colour.")
@click.option("--tag", "tags", multiple=True, metavar="TAG", help="Has this tag; may be given again.")
@click.option(
    "--free-of", multiple=True, type=click.Choice(group_keys()), help="No such hazard is on record."
)
@click.option(
    "--hazard", "hazards", multiple=True, type=click.Choice(group_keys()), help="Such a hazard is on record."
)
@click.option(
    "--findings", type=click.Choice(SERIOUS), help="Has findings of this level or above, none, or is unread."
)
@click.option(
    "--oxide", "oxides", multiple=True, metavar="BOUND", help='In the unity formula, as "B2O3 > 0.2".'
)
@click.option(
    "--expansion", "expansions", multiple=True, metavar="BOUND", help='The estimate in 1e-7/K, as "< 60".'
)
@click.option(
    "--typical", is_flag=True, help="For these two: each material is its typical analysis, and nothing else."
)
@changed_option
@click.option("-0", "nul", is_flag=True, help="End each path with NUL, for  xargs -0 -r.")
@click.option(
    "--output",
    type=click.Choice(["paths", "table", "jsonl"]),
    default="paths",
    show_default=True,
    help="Each file once, a table of tests, or JSON, a test a line.",
)
@workers_option
def command(
    paths: Sequence[str],
    typical: bool,
    since: str | None,
    nul: bool,
    output: str,
    workers: int | None,
    **options: Any,
) -> int:
    """Find recipes and tests by what they mean: files or folders (default: this folder).

    Everything that is asked must hold of one test. Names of materials are taken in any of their spellings. What is not
    known of a test is never taken for an answer: such tests are counted, and left out. What is on record here of
    hazards is not all there is; the supplier's safety data sheet comes first.
    """
    if nul and output != "paths":
        raise click.UsageError("-0 is for paths: leave it out, or leave --output out.")
    asked = _Asked(**options)
    if typical and not (asked.oxides or asked.expansions):
        raise click.UsageError("--typical goes with --oxide or --expansion: leave it out, or ask for one.")
    collections = Collections()
    try:
        chosen = choosing(since)(paths, collections)
        beside = Beside(chosen, collections, output == "jsonl", workers)
        seen = counted(see_all(chosen, collections, workers), "read", len(chosen))
        rows: Iterable[_PlacedRow] = _placed(seen, beside)
        wanted = _wanted(asked)
        # Where there is no recipe, a name is still one that is known there or not.
        places = chosen or [Path(path, SETTINGS) for path in paths or ["."]]
        catalogues = list(dict.fromkeys(collections.of(path).catalogue for path in places))
        if not all(_is_known(name, catalogues) for name in (*asked.having, *asked.lacking)):
            rows = list(rows)  # then it is a word of names that are used somewhere
        names = _Names(catalogues, (row for _, row in rows) if isinstance(rows, list) else ())
        wanted = _with_materials(wanted, asked, names)
        unreadable = [one for found in beside.findings.values() for one in found if one.rule == UNREADABLE]
        note_findings(unreadable)
        answers: Counter[Answer] = Counter()
        said = _Said(wanted)
        _put(_select(said.heard(rows), wanted, _Chemistry(collections, typical), answers), output, nul)
    except WorkerLostError:
        show_worker_lost()
        return UNUSABLE
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    _note_left_out(answers, typical)
    if chosen:
        said.note_what_none_says()
    return UNUSABLE if unreadable else CLEAN


def _placed(seen: Iterable[Seen], beside: Beside) -> Iterator[_PlacedRow]:
    """The rows one by one, each with its place."""
    for one in seen:
        for number, row in enumerate(beside.rows([one])):
            yield _Place(one.path, number), row


def _is_known(name: str, catalogues: Iterable[Catalogue]) -> bool:
    return any(catalogue.find(name) is not None for catalogue in catalogues)


def _wanted(asked: _Asked) -> Wanted:
    """Raises UsageError for what cannot be asked."""
    cones: tuple[Decimal, Decimal] | None = None
    if asked.cone is not None:
        try:
            value = FIELDS["cone"].read(asked.cone.strip())
        except ValueError as error:
            raise usage_error(error, "--cone") from None
        cones = value.numbers if isinstance(value, Cone) else None
        if cones is None:
            raise click.UsageError(f"--cone: '{plain.visible(asked.cone)}' is not on the scale of cones.")
    try:
        bounds = tuple(_known_oxide(text) for text in asked.oxides)
    except ValueError as error:
        raise usage_error(error, "--oxide") from None
    try:
        expansion = tuple(read_bound(text) for text in asked.expansions)
    except ValueError as error:
        raise usage_error(error, "--expansion") from None
    return Wanted(
        words=tuple(word for text in asked.words for word in text.split()),
        kind=asked.kind or "",
        cones=cones,
        atmosphere=asked.atmosphere or "",
        use=asked.use or "",
        surface=asked.surface or "",
        colour=asked.colour or "",
        tags=tuple(asked.tags),
        findings=asked.findings or "",
        free_of=tuple(asked.free_of),
        hazards=tuple(asked.hazards),
        oxides=bounds,
        expansion=expansion,
    )


def _known_oxide(text: str) -> tuple[str, Bound]:
    """Raises ValueRefusedError where there is no such oxide, or no such bound."""
    name, bound = read_oxide(text)
    known = {oxide.casefold(): oxide for oxide in COUNTED_AS.values()}
    if name.casefold() not in known:
        counted = _COUNTED_AS_ANOTHER.get(name.casefold())
        if counted:
            raise ValueRefusedError(
                f"no formula here has {name}: it is counted as {counted}", f"write {counted}"
            )
        near = nearest(name, list(known.values()), 1)
        meant = f"write {near[0]}" if near else 'write such as "B2O3 > 0.2"'
        raise ValueRefusedError(f"no oxide is called '{name}'", meant)
    return known[name.casefold()], bound


def _with_materials(
    wanted: Wanted,
    asked: _Asked,
    names: _Names,
) -> Wanted:
    """With the materials that the names mean. Raises UsageError for a name that nothing answers to."""
    return replace(
        wanted,
        having=tuple(names.meant(name, "--with") for name in asked.having),
        lacking=frozenset().union(*(names.meant(name, "--without") for name in asked.lacking)),
    )


class _Names:
    """What names of materials mean: one material by any of its spellings, else all that are used here and have these
    words in a name."""

    def __init__(self, catalogues: Sequence[Catalogue], rows: Iterable[Row]) -> None:
        self._catalogues = catalogues
        self._used: dict[str, set[str]] = {}
        for called in dict.fromkeys(one.called for row in rows for one in row.weighed):
            material = next(filter(None, (one.find(called) for one in self._catalogues)), None)
            for spelling in (called, *(material.aliases if material else ())):
                self._used.setdefault(fold(spelling), set()).add(called)

    def meant(self, name: str, option: str) -> frozenset[str]:
        for catalogue in self._catalogues:
            material = catalogue.find(name)
            if material is not None:
                return frozenset({material.name})
        if fold(name) in self._used:
            return frozenset(self._used[fold(name)])
        words = fold(name).split()
        found = {
            one
            for spelling, mine in self._used.items()
            for one in mine
            if all(word in spelling for word in words)
        }
        if not found or not words:
            near = next((catalogue.nearest(name, 1) for catalogue in self._catalogues), [])
            meant = f" Did you mean '{plain.visible(near[0])}'?" if near else ""
            raise click.UsageError(f"{option}: no material is called '{plain.visible(name)}'.{meant}")
        note(f"{option} {plain.visible(name)}: {plain.visible(', '.join(sorted(found)))}\n")
        return frozenset(found)


_WORDS: dict[str, Callable[[About], Iterable[str]]] = {
    "--atmosphere": lambda about: [about.atmosphere],
    "--use": lambda about: [about.use],
    "--tag": lambda about: about.tags,
}
"""What a recipe says of itself in words that are compared whole."""
_MOST_WORDS = 20


class _Said:
    """The words that recipes say of themselves: one that none of them says is told, and is not taken for an answer."""

    def __init__(self, wanted: Wanted) -> None:
        asked = [("--atmosphere", wanted.atmosphere), ("--use", wanted.use)]
        asked += [("--tag", tag) for tag in wanted.tags]
        self._asked = [(option, word) for option, word in asked if word]
        self._said: dict[str, set[str]] = {option: set() for option, _ in self._asked}

    def heard(self, rows: Iterable[_PlacedRow]) -> Iterator[_PlacedRow]:
        """The rows, as they are."""
        for place, row in rows:
            for option, words in self._said.items():
                words.update(_WORDS[option](row.about))
            yield place, row

    def note_what_none_says(self) -> None:
        for option, word in self._asked:
            words = sorted(self._said[option] - {""})
            if fold(word) in map(fold, words) if option == "--tag" else word in words:
                continue
            near = nearest(word.lower(), words, 1)
            meant = f"did you mean '{near[0]}'? " if near else ""
            there = f"There are: {', '.join(words[:_MOST_WORDS])}" if words else "none says any"
            note(plain.visible(f"{option}: no recipe here says '{word}'; {meant}{there}") + "\n")


def _select(
    rows: Iterable[_PlacedRow], wanted: Wanted, chemistry: _Chemistry, answers: Counter[Answer]
) -> Iterator[Row]:
    """The rows that are meant; how many have which answer is counted in ``answers``."""
    for place, row in rows:
        answer = judge(row, wanted, partial(chemistry.fired, place))
        answers[answer] += 1
        if answer == "yes":
            yield row


def _note_left_out(answers: Counter[Answer], typical: bool) -> None:
    """How many are left out, and how many of them because their materials may be one thing or another."""
    either = answers["either"]
    left_out = answers["not known"] + either
    if not left_out:
        return
    them = "it" if left_out == 1 else "them"
    said = f"{number_of(left_out, 'test')} left out: too little is known of {them}\n"
    if either:
        cure = "" if typical else "; --typical takes each as its typical analysis"
        said += f"  {either} of {them}: what the materials may be lies on both sides of what is asked{cure}\n"
    note(said)


class _Chemistry:
    """What tests fire to, each page read again only where that is asked."""

    def __init__(self, collections: Collections, typical: bool) -> None:
        self._collections = collections
        self._typical = typical
        self._calculators: dict[int, Calculator] = {}
        self._page: tuple[Path, list[Fired]] | None = None

    def fired(self, place: _Place) -> Fired:
        if self._page is None or self._page[0] != place.path:
            self._page = place.path, list(self._of(place.path))
        fired = self._page[1]
        return fired[place.number] if place.number < len(fired) else NOTHING

    def _of(self, path: Path) -> Iterator[Fired]:
        found = usable(path, self._collections)
        if not isinstance(found, Usable):
            return
        catalogue = found.collection.catalogue
        choice = Choice()
        calculator = self._calculators.setdefault(id(catalogue), choice.calculator(catalogue))
        for test in tests(found.recipe):
            made = account(found.file, test, calculator, choice)
            yield known_of(made, calculator, self._typical)


def _put(rows: Iterable[Row], output: str, nul: bool) -> None:
    if output == "jsonl":
        for text in as_jsonl(rows):
            put_text(text)
    elif output == "table":
        say(_table(rows))
    elif nul:
        put(b"".join(os.fsencode(file) + b"\0" for file in dict.fromkeys(row.about.file for row in rows)))
    else:
        say("".join(f"{plain.visible(file)}\n" for file in dict.fromkeys(row.about.file for row in rows)))


def _table(rows: Iterable[Row]) -> str:
    cells = [("file", "test", "cone", "atmosphere", "surface")]
    for row in rows:
        about = row.about
        cells.append((about.file, row.test or about.name, about.cone, about.atmosphere, about.surface))
    shown = [tuple(_short(plain.visible(cell)) for cell in line) for line in cells]
    wide = [max(width(line[at]) for line in shown) for at in range(len(cells[0]))]
    return "".join(
        "  ".join(cell + " " * (space - width(cell)) for cell, space in zip(line, wide, strict=True)).rstrip()
        + "\n"
        for line in shown
    )


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST_CELL else text[: _LONGEST_CELL - 3] + "..."
