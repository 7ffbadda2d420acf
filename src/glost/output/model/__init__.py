"""What a report says, whatever it is shown on.

A report is a list of these nodes. Their texts are raw, as recipes and people wrote them. One writer a medium (text,
markdown, html) lays nodes out and escapes what stands in them, so that no report writes markup and no writer knows
what a recipe is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, NamedTuple, TypeAlias


class Heading(NamedTuple):
    """``level`` 1 is the report's own title, 2 a section, 3 and 4 below it."""

    text: str
    level: int = 2


class Paragraph(NamedTuple):
    """One or more sentences. ``kind``: "attention" for what must not be passed over, "strong" for what stands out,
    "aside" for a remark on what it stands below, "fact" for one of several statements, each of which is seen to begin.
    ``lead``: a word or two before it, set off."""

    text: str
    kind: Literal["", "attention", "strong", "aside", "fact"] = ""
    lead: str = ""


class Line(NamedTuple):
    """One line that is never broken, such as the path of a file, which somebody takes along."""

    text: str


class Entry(NamedTuple):
    """One entry of a list; ``lead`` is what it is about, set off."""

    text: str
    lead: str = ""
    attention: bool = False


class Entries(NamedTuple):
    """A list."""

    rows: Sequence[Entry]


class Prose(NamedTuple):
    """Text of several lines, each of which stays a line."""

    text: str


class Tick(NamedTuple):
    """A box to tick off, for ``what``. ``attention`` marks a line with which something is wrong."""

    what: str
    attention: bool = False


class Blank(NamedTuple):
    """Room to write in, for so many characters, and what stands before and after it. ``name``: what is written there,
    by which a page's script knows it."""

    width: int = 8
    before: str = ""
    after: str = ""
    name: str = ""


class Form(NamedTuple):
    """Words with room behind each to write in by hand, and at the end one with two lines to itself."""

    words: Sequence[str]
    long: str


class Terms(NamedTuple):
    """Words with their values, such as "water" and "60 g". A row with an empty word continues the one before. Style
    sheets know the ``name``, and where rows are ``told_apart`` each by its word. ``least``: see Column, here of the
    words."""

    rows: Sequence[tuple[str, str | Blank]]
    name: str = ""
    told_apart: bool = False
    least: int = 0


class Named(NamedTuple):
    """A figure that a page's script knows by its ``name``, to put another in its place."""

    text: str
    name: str

    def __bool__(self) -> bool:
        return bool(self.text)


class Changed(NamedTuple):
    """A figure that is another than the one before it."""

    text: str


class Moment(NamedTuple):
    """A figure in one revision, by the revision's name; None where it has none. ``changed``: it was set anew there."""

    name: str
    value: Fraction | None
    changed: bool


@dataclass(frozen=True, slots=True)
class Trend:
    """A figure through its revisions, the oldest first."""

    moments: Sequence[Moment]

    @property
    def text(self) -> str:
        """What the line shows, in words: "40; 42.5 in d0a88eb; at last 42.1"."""
        first, *others = self.moments
        parts = [_figure(first.value)]
        parts += [f"{_figure(one.value)} in {one.name}" for one in others if one.changed]
        if others and not others[-1].changed:
            parts.append(f"at last {_figure(others[-1].value)}")
        return "; ".join(parts)


def _figure(value: Fraction | None) -> str:
    return "none" if value is None else f"{float(value):g}"


Cell: TypeAlias = str | Tick | Blank | Named | Changed | Trend


class Column(NamedTuple):
    """``figures``: numbers, with their points below each other. ``strong``: what the eye looks for. ``names``: what the
    other cells of a row are of. ``least``: what it takes in text at least, so that the tables of many tests stand
    alike. ``unbroken``: its cells are never broken, however long a line gets. ``group``: what stands above it and the
    columns beside it of the same group."""

    head: str
    figures: bool = False
    strong: bool = False
    names: bool = False
    least: int = 0
    unbroken: bool = False
    group: str = ""


class Band(NamedTuple):
    """A line across a table, such as "additions". ``name``: by it a page's script knows the line, to put another text
    in its place."""

    text: str
    name: str = ""


class Row(NamedTuple):
    """``below`` stands on lines of its own under the row, such as a note on the material."""

    cells: Sequence[Cell]
    below: str = ""
    strong: bool = False


class Table(NamedTuple):
    """Rows of as many cells as there are columns. A column in which no row has anything is left out, unless it takes
    room at ``least``. ``written``: it is filled in by hand, so that there is room between its rows. Style sheets know
    the ``name``. ``stepped``: in text its rows stand further in than its bands and its first head."""

    columns: Sequence[Column]
    rows: Sequence[Row | Band]
    written: bool = False
    name: str = ""
    stepped: bool = False


class Spot(NamedTuple):
    """A cup at its place: steps to the right of the first one, and the row, from 0. ``number`` is what is written on
    it, "" for a place that stays empty; ``words`` its shares, in pieces that may stand on lines of their own.
    ``aside``: what else there is to know it by. ``what`` says all of it in words, ``name`` is what a page's script
    knows it by."""

    across: Fraction
    down: int
    number: str
    words: tuple[str, ...] = ()
    aside: str = ""
    what: str = ""
    name: str = ""


@dataclass(frozen=True, slots=True)
class Map:
    """Cups as they stand on a board, seen from above. ``across`` and ``down``: how many places its widest row has, and
    how many rows there are; ``net`` joins neighbours, as indices of spots. ``staggered``: rows lie between each other,
    as those of a triangle do."""

    title: str
    across: int
    down: int
    spots: Sequence[Spot]
    net: Sequence[tuple[int, int]] = ()
    staggered: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """Nodes that belong together; style sheets know the ``name``, no reader sees it. In text, ``close`` ones have no
    empty line between them, and ``inset`` ones stand further in."""

    name: str
    nodes: Sequence[Node]
    close: bool = False
    inset: bool = False


Leaf: TypeAlias = Heading | Paragraph | Line | Terms | Entries | Prose | Table | Form | Map
Node: TypeAlias = Leaf | Section


def leaves(nodes: Iterable[Node]) -> Iterator[Leaf]:
    """The nodes without their sections, for a medium that has none."""
    for node in nodes:
        if isinstance(node, Section):
            yield from leaves(node.nodes)
        elif stands(node):
            yield node


def stands(leaf: Leaf) -> bool:
    """Whether there is anything of it: a list or table without rows is no node."""
    return not isinstance(leaf, (Terms, Entries, Table)) or bool(leaf.rows)


def filled(table: Table) -> Table:
    """The table without the columns in which no row has anything."""
    rows = [row for row in table.rows if isinstance(row, Row)]
    kept = [
        at for at, column in enumerate(table.columns) if column.least or any(row.cells[at] for row in rows)
    ]
    if len(kept) in (0, len(table.columns)):
        return table
    return Table(
        [table.columns[at] for at in kept],
        [
            row if isinstance(row, Band) else Row([row.cells[at] for at in kept], row.below, row.strong)
            for row in table.rows
        ],
        table.written,
        table.name,
        table.stepped,
    )
