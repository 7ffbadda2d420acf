"""The tree of a page: small immutable records, each with the exact span of what it stands for.

Named tuples, since a collection makes them by the hundred thousand. The text is the truth; the tree
points into it, and what is not in the tree (blanks, number spelling) is found at the spans.
"""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple, TypeAlias

from glost.language.diagnostics import Diagnostic
from glost.language.source import Source, Span


class Text(NamedTuple):
    """A word or a stretch of text, as written."""

    text: str
    span: Span


class Name(NamedTuple):
    """A material's name, or the name of a recipe or variation; ``text`` is without its quotes. ``kind``: of a recipe
    that stands as an ingredient, as the first line of its page says it; "" for any other name."""

    text: str
    quoted: bool
    span: Span
    kind: str = ""

    @property
    def written(self) -> str:
        """The name as a page has it."""
        if self.kind:
            return f'{self.kind} "{self.text}"'
        return f'"{self.text}"' if self.quoted else self.text


class Amount(NamedTuple):
    """An amount as written; ``unit`` is "" for parts, else as the grammar has it."""

    value: Decimal
    unit: str
    span: Span


class Blank(NamedTuple):
    """An empty line."""

    span: Span


class Remark(NamedTuple):
    """A line that is a comment from its first visible character on; ``text`` begins with #."""

    text: str
    indented: bool
    span: Span


class Item(NamedTuple):
    """A material and its amount; in a series, its amounts. ``span`` is the line's."""

    name: Name
    amounts: tuple[Amount, ...]
    note: Text | None
    comment: Text | None
    span: Span


class Instruction(NamedTuple):
    """A handling line: how to handle one or more materials."""

    names: tuple[Name, ...]
    text: Text
    comment: Text | None
    span: Span


class Prose(NamedTuple):
    """A line of free text, ``indent`` blanks from the edge."""

    text: str
    indent: int
    span: Span


class Unread(NamedTuple):
    """A line that cannot be read; the page's diagnostics say why."""

    span: Span


class Own(NamedTuple):
    """``key: value`` of one test, below its head."""

    key: Text
    value: Text
    comment: Text | None
    span: Span


class Heat(NamedTuple):
    """A temperature, or a rate an hour; ``unit`` is C or F."""

    value: Decimal
    unit: str
    span: Span


class Time(NamedTuple):
    """A length of time, as it is written: 1 h 30 min, 90 min or 2 h."""

    hours: int | None
    minutes: int | None
    span: Span

    @property
    def in_minutes(self) -> int:
        return 60 * (self.hours or 0) + (self.minutes or 0)

    @property
    def written(self) -> str:
        parts = ((self.hours, "h"), (self.minutes, "min"))
        return " ".join(f"{number} {unit}" for number, unit in parts if number is not None)


class Ramp(NamedTuple):
    """A line of a schedule. ``first``: it says where the kiln begins, and no way there. Else it has a rate or a time;
    without either the kiln goes there freely. ``hold`` None: it does not stay there."""

    first: bool
    heat: Heat
    rate: Heat | None
    time: Time | None
    hold: Time | None
    comment: Text | None
    span: Span


Line: TypeAlias = Blank | Remark | Item | Instruction | Own | Ramp | Prose | Unread


class Title(NamedTuple):
    """The first line: the kind of recipe and its name."""

    kind: Text
    name: Name
    comment: Text | None
    span: Span


class Field(NamedTuple):
    """``key: value`` on one line."""

    key: Text
    value: Text
    comment: Text | None
    span: Span


class Head(NamedTuple):
    """What opens a block of indented lines: ``base:``, ``variation "storm":``, ``base blend "line" by 25 %:``, or a
    field whose text follows below. ``word`` is all that stands before the name; ``step`` is a blend's, in per cent."""

    word: Text
    name: Name | None
    comment: Text | None
    span: Span
    step: Amount | None = None


class Block(NamedTuple):
    """A head and the lines that belong to it. ``role`` is the grammar's word for it: title, field,
    field_below, base, additions, variation, series, blend, base_variation, base_series, base_blend, handling, notes or
    bad_block; of a firing, schedule or tile."""

    role: str
    head: Title | Field | Head | Unread
    lines: tuple[Line, ...]


class Page(NamedTuple):
    """All that a file says. ``lead`` is what stands before the first block; ``diagnostics`` is every place
    that could not be read, in order."""

    source: Source
    lead: tuple[Line, ...]
    blocks: tuple[Block, ...]
    diagnostics: tuple[Diagnostic, ...]
    is_recipe: bool = True
    """Whether it is one, however badly written; of notes and of other texts there is one diagnostic and no more."""
    is_firing: bool = False
    """Whether it is the page of a firing, which has blocks of its own."""

    @property
    def torn(self) -> tuple[Span, ...]:
        """The stretches of several lines that cannot be taken as one page, such as both sides of a merge."""
        text = self.source.text
        return tuple(
            diagnostic.span
            for diagnostic in self.diagnostics
            if "\n" in text[diagnostic.span.start : diagnostic.span.end]
        )
