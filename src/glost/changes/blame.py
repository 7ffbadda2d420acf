"""Who last changed each amount and each field of a recipe in meaning: neither layout, nor another spelling, order or
scale counts, nor what only follows the total of the base."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final, NamedTuple, Protocol, TypeVar

from glost.changes.as_json import fact_data
from glost.changes.comparison import compare
from glost.changes.meaning import WEIGHED, Fact, Place, Told, Weighed, Written, fact_text
from glost.language import tree
from glost.language.exact_json import written
from glost.language.source import Span
from glost.language.width import width
from glost.linter.allowances import allowances
from glost.output.model import Band, Column, Heading, Node, Row, Table, Terms
from glost.output.model.text import COLUMNS, as_text
from glost.recipe.analysed import AnalysedRecipe
from glost.recipe.materials.catalogue import Catalogue, key

V = TypeVar("V", bound="Versioned")
VERSION: Final = 1
KIND: Final = "glost blame"
_SHOWN: Final = 28
"""Characters of a longer text in the table."""
_LONGEST_AUTHOR: Final = 24
"""Columns that a name may take on every line of the table."""


class Versioned(Protocol):
    """A recipe at one time, None where it cannot be read, and what it was made from."""

    @property
    def told(self) -> Told | None: ...
    @property
    def before(self: V) -> Sequence[V]: ...


class Origin:
    """Which version last changed a place."""

    def __init__(self) -> None:
        self._changed: dict[tuple[int, int], frozenset[Place]] = {}

    def of(self, version: V, place: Place) -> V:
        """The version that says it first of those from which it came unchanged to ``version``: of a merge, the side
        that has it as the merge has."""
        while True:
            assert version.told is not None
            for earlier in _readable(version.before):
                if place in _said(earlier) and place not in self._between(earlier, version):
                    version = earlier
                    break
            else:
                return version

    def _between(self, old: V, new: V) -> frozenset[Place]:
        at = id(old), id(new)
        if at not in self._changed:
            assert old.told is not None
            assert new.told is not None
            changes = compare(old.told, new.told).real
            self._changed[at] = frozenset(change.place for change in changes if not change.follows)
        return self._changed[at]


def _readable(versions: Sequence[V]) -> Iterator[V]:
    for one in versions:
        if one.told is not None:
            yield one
        else:
            yield from _readable(one.before)


def _said(version: Versioned) -> Mapping[Place, Fact]:
    told = version.told
    return {**told.meaning, **told.around} if told is not None else {}


class By(NamedTuple):
    """The commit of a change; ``commit`` is "" for what is not committed yet. ``path``: the file then."""

    commit: str
    short: str
    day: str
    author: str
    subject: str
    path: str


class Blamed(NamedTuple):
    """A line of the page, 0 where it has none of its own, what it says, and who said it last."""

    line: int
    place: Place
    fact: Fact
    how: Written | None
    by: By


def places_of(told: Told) -> Iterator[tuple[Place, Fact]]:
    """All that a page says of which one may ask who said it."""
    for place, fact in {**told.meaning, **told.around}.items():
        if place.section != "kind":
            yield place, fact


# ---- lines of the page -----------------------------------------------------------------------------------


def lines_of(resolved: AnalysedRecipe, catalogue: Catalogue) -> dict[Place, int]:
    """The line on which each place stands, the first where it has more."""
    source = resolved.page.source
    canonical = {item.span: material for item, material in resolved.places()}
    found: dict[Place, int] = {}
    for block in resolved.page.blocks:
        for place, span in _places_in(block, canonical, catalogue):
            found.setdefault(place, source.position(span.start).line)
    for allowance in allowances(resolved.page):
        if allowance.line > 0:
            found.setdefault(Place("allowances", what=allowance.rule), allowance.line)
    return found


def _places_in(
    block: tree.Block, canonical: Mapping[Span, str | None], catalogue: Catalogue
) -> Iterator[tuple[Place, Span]]:
    head, role = block.head, block.role
    if isinstance(head, tree.Title):
        yield Place("name"), head.span
    elif isinstance(head, tree.Field):
        yield Place("field", what=key(head.key.text)), head.span
    elif isinstance(head, tree.Head):
        within = head.name.text if head.name else ""
        section: Any = "field" if role == "field_below" else role.replace("_", " ")
        yield Place(section, within, key(head.word.text) if role == "field_below" else ""), head.span
        if head.step is not None:
            yield Place(section, within, "step:"), head.step.span
        for line in block.lines:
            if isinstance(line, tree.Item):
                name = key(line.name.written if line.name.kind else line.name.text)
                yield Place(section, within, canonical.get(line.span) or name), line.span
            elif isinstance(line, tree.Own):
                yield Place(section, within, f"{key(line.key.text)}:"), line.span
            elif isinstance(line, tree.Instruction):
                for one in line.names:
                    known = None if one.text == "all" else catalogue.find(one.text)
                    yield Place("handling", "", known.name if known else key(one.text)), line.span


def line_of(place: Place, lines: Mapping[Place, int]) -> int:
    """The line of a place; of an allowance by its rule alone, since what it is about is told in words."""
    if place.section == "allowances":
        return lines.get(Place("allowances", what=place.what), 0)
    return lines.get(place, 0)


# ---- text and JSON ---------------------------------------------------------------------------------------


def text(file: str, name: str, blamed: Sequence[Blamed], columns: int = COLUMNS) -> str:
    """A table for a person: line by line of the page. Where there is little room, or a name is long, days and authors
    stand below it with the subjects."""
    is_narrow = columns < COLUMNS or any(width(one.by.author) > _LONGEST_AUTHOR for one in blamed)
    rows: list[Row | Band] = []
    heading = ""
    for one in blamed:
        section = _heading(one.place)
        if section != heading:
            heading = section
            if section:
                rows.append(Band(section))
        what = f"{'  ' if section else ''}{one.place.what or one.place.section}"
        by = [one.by.short] if is_narrow else [one.by.short, one.by.day, one.by.author]
        rows.append(Row([str(one.line or ""), what, _shown(one), *by]))
    heads = [Column("line", figures=True), Column("what", names=True), Column("says"), Column("revision")]
    if not is_narrow:
        heads += [Column("day"), Column("author")]
    told = {
        one.by.short: "  ".join(
            filter(None, ((one.by.day, one.by.author) if is_narrow else ()) + (one.by.subject,))
        )
        for one in sorted(blamed, key=_day, reverse=True)
    }
    nodes: list[Node] = [Heading(name, 1), Terms([("file", file)]), Table(heads, rows, name="blame")]
    nodes.append(Terms(list(told.items())))
    return as_text(nodes, columns)


def _day(one: Blamed) -> str:
    """What is not committed yet is newer than any day."""
    return one.by.day or "~"


def _heading(place: Place) -> str:
    if place.section in ("name", "field", "notes"):
        return ""
    return f'{place.section} "{place.within}"' if place.within else place.section


def _shown(one: Blamed) -> str:
    if isinstance(one.fact, Weighed):
        return ", ".join(one.how.amounts if one.how else (fact_text(one.fact),))
    lines = fact_text(one.fact).splitlines()
    said = " ".join(
        (", " if one.place.section == "field" and isinstance(one.fact, tuple) else " ").join(lines).split()
    )
    return said if len(said) <= _SHOWN else f"{said[: _SHOWN - 3]}..."


def as_json(file: str, name: str, blamed: Sequence[Blamed]) -> str:
    """One document, as schema/blame.schema.json has it."""
    document = {
        "version": VERSION,
        "kind": KIND,
        "file": file,
        "name": name,
        "places": [_data(one) for one in blamed],
    }
    return written(document) + "\n"


def _data(one: Blamed) -> dict[str, Any]:
    place, by = one.place, one.by
    return {
        "line": one.line or None,
        "section": place.section,
        "within": place.within,
        "what": place.what,
        "weighed": place.section in WEIGHED and bool(place.what),
        "says": fact_data(one.fact, one.how),
        "commit": by.commit or None,
        "short": by.short,
        "day": by.day or None,
        "author": by.author,
        "subject": by.subject,
        "path": by.path,
    }
