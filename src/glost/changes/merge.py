"""Two changes of one recipe, or firing, put together: line by line of meaning, where git sees only lines of text.

Two people who change two materials are never in each other's way, however near the lines stand; nor are two of whom
one changes an amount, and the other the note or the comment behind it, or the comments above. Where both change the
same material otherwise, both lines are kept between the usual marks of a conflict, and the material is named.

Everything here is compared with what was meant: where the merged page would not say exactly what the two changes say
together, there is no merge.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final, Literal, NamedTuple, TypeAlias

from glost.changes.comparison import scale
from glost.changes.firing_text import said_of, said_of_tile
from glost.changes.meaning import WEIGHED, Place, Told, Weighed, rounded, told
from glost.changes.merge_columns import Column, ColumnsError, columns
from glost.errors import GlostError
from glost.language import tree
from glost.language.layout import FormatError, format_text
from glost.language.parse import parse
from glost.language.source import Source
from glost.recipe.firing import Firing, resolve_firing
from glost.recipe.materials.catalogue import Catalogue, key
from glost.recipe.names import folded
from glost.recipe.resolve import resolve_own
from glost.weighing.rounding import trimmed

MergeLines: TypeAlias = Callable[[str, str, str], "tuple[str, bool]"]
"""Merges free text (ours, base, theirs) line by line, marks included, and says whether that was without conflict."""

_TEXTS: Final = ("notes", "field_below", "schedule")
"""Blocks whose lines mean something in their order alone."""
Side = Literal["ours", "theirs"]
_SIDES: Final[tuple[Side, Side]] = ("ours", "theirs")


class Conflict(NamedTuple):
    """What both changed: the section and the material, or the field; and the lines of both, and of what both come from,
    "" for one taken out, or not there yet."""

    where: str
    what: str
    ours: str
    theirs: str
    base: str = ""


class Marks(NamedTuple):
    """How the marks of a conflict are written: how long, under which names the sides stand in them, and whether what
    both sides come from stands between them."""

    size: int = 7
    ours: str = "ours"
    base: str = "base"
    theirs: str = "theirs"
    with_base: bool = False


PLAIN_MARKS: Final = Marks()


class Totals(NamedTuple):
    """What the base of a recipe totals, in ``unit`` ("" are parts), with all that one side has where both changed it;
    and what it totalled before. ``choices``: in so many places of the base."""

    ours: Fraction
    theirs: Fraction
    base: Fraction
    unit: str = ""
    choices: int = 1


class Merged(NamedTuple):
    """The merged page, with marks where there are conflicts; ``totals`` where these are in the base."""

    text: str
    conflicts: tuple[Conflict, ...]
    totals: Totals | None = None


class MergeError(GlostError):
    """The changes are not put together here; the text says why."""


def merged(
    base: str,
    ours: str,
    theirs: str,
    catalogue: Catalogue,
    merge_lines: MergeLines,
    marks: Marks = PLAIN_MARKS,
) -> Merged:
    """The page that holds both changes. Raises MergeError where a page cannot be read whole, or where it is not
    certain what both changes mean together."""
    pages = [_Page(text, catalogue) for text in (base, ours, theirs)]
    _check_scales(pages)
    merger = _Merger(merge_lines)
    lines = list(merger.pages(*(page.parts for page in pages)))
    laid = all(page.laid for page in pages[1:])
    if not merger.conflicts:
        text = _text(lines, None)
        if laid:
            text = _laid_out(text)
        _check(_Page(text, catalogue), pages, merger.prose, merger.plans)
        return Merged(text, ())
    totals = None
    if not merger.prose_conflict:
        chosen = [_Page(_text(lines, side), catalogue) for side in _SIDES]
        choices = sum(isinstance(line, _Choice) and line.in_base for line in lines)
        if choices:
            totals = _totals(pages[0], chosen[0], chosen[1], choices)
    return Merged(_text(lines, marks, totals), tuple(merger.conflicts), totals)


def doubt(base: str, ours: str, theirs: str, result: str, catalogue: Catalogue) -> str:
    """Why a page that was merged line by line may not be what both changes mean together; "" where it is, and where
    that cannot be told."""
    try:
        pages = [_Page(text, catalogue) for text in (base, ours, theirs)]
    except MergeError:
        return ""
    try:
        _check_scales(pages)
        _check(_Page(result, catalogue), pages, set())
    except MergeError as why:
        return str(why)
    return ""


# ---- a page in parts -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Unit:
    """The least that is changed as a whole: a line, in the pieces that may be changed each by itself, with the comments
    ``above`` it; or a stretch of free text, whose lines all stand ``above``. ``name`` is how its material is spelled;
    ``said`` is what it says besides, written as ``middle``; ``note`` and ``comment`` stand behind, with the blanks
    before them."""

    key: tuple[str, ...]
    said: tuple[object, ...]
    above: tuple[str, ...]
    start: str = ""
    name: str = ""
    middle: str = ""
    note: str = ""
    comment: str = ""
    cells: tuple[str, ...] = ()
    """Of a line with amounts, those as they are written."""
    amounts: tuple[str, ...] = ()
    """And as they are compared, however they are written."""

    @property
    def is_text(self) -> bool:
        return self.key == _FREE_TEXT

    @property
    def line(self) -> str:
        return f"{self.start}{self.name}{self.middle}{self.note}{self.comment}"

    @property
    def lines(self) -> tuple[str, ...]:
        return self.above if self.is_text else (*self.above, self.line)

    @property
    def shown(self) -> str:
        """The line without the blanks that lay it out; "" for free text."""
        return "" if self.is_text else " ".join(self.line.split())

    @property
    def says(self) -> tuple[object, ...]:
        """All that it says, however it is laid out."""
        return (self.name, self.said, self.note.strip(), self.comment.strip(), _remarks(self.above))


_FREE_TEXT: Final = ("text",)
_ONE_TEST: Final = {
    "tile": "tiles",
    "variation": "variations",
    "base_variation": "variations",
    "series": "series",
    "base_series": "series",
    "blend": "blends",
    "base_blend": "blends",
}
"""Blocks that mean one thing as a whole, so that the lines of two of them are not lines of a third."""


@dataclass(frozen=True, slots=True)
class _Part:
    """A block: its head, its units, and the comments and empty lines behind them."""

    key: tuple[str, ...]
    head: _Unit
    units: tuple[_Unit, ...]
    tail: tuple[str, ...]

    @property
    def said(self) -> tuple[object, ...]:
        return (
            self.head.says,
            *((unit.key, unit.says) for unit in self.units),
            _remarks(self.tail),
        )


class _Page:
    """A page that is read whole, in parts. Raises MergeError for another."""

    def __init__(self, text: str, catalogue: Catalogue) -> None:
        source = Source("merge", text)
        page = parse(source)
        self._source = source
        self._called = _names(catalogue)
        self.told: Told | None = None
        if page.is_firing:
            firing = resolve_firing(page)
            complete = firing.complete
            self.facts: _Facts = dict(_facts_of_firing(firing.firing)) if complete else {}
        else:
            resolved = resolve_own(page, catalogue)
            complete = resolved.complete
            self.told = told(resolved.recipe, catalogue)
            self.facts = _facts(self.told)
        if page.diagnostics or not complete or "\r" in text:
            raise MergeError("a side cannot be read whole")
        lead: list[str] = [self._line(line) for line in page.lead]
        parts = []
        for block in page.blocks:
            parts.append(self._part(block, lead))
            lead = []
        self.parts = _unique(parts)
        self.single = {
            (part.key[0].replace("_", " "), part.key[-1], *unit.key)
            for part in parts
            for unit in part.units
            if len(unit.cells) == 1
        }
        """The lines that write one amount."""
        try:
            self.laid = format_text(page) == text
        except FormatError:
            self.laid = False

    def _line(self, line: tree.Line | tree.Title | tree.Field | tree.Head) -> str:
        return self._source.line(self._source.position(line.span.start).line)

    def _part(self, block: tree.Block, lead: Sequence[str]) -> _Part:
        head = block.head
        assert not isinstance(head, tree.Unread)
        at: tuple[str, ...]
        said: tuple[object, ...]
        match head:
            case tree.Title(kind, name):
                at, said = ("title",), (kind.text, name.text)
            case tree.Field(field, value):
                at, said = ("field", field.text), (value.text,)
            case tree.Head(word, name_of):
                called = name_of.text if name_of else ""
                called = folded(called) if block.role == "tile" else called
                at = ("field", word.text) if block.role == "field_below" else (block.role, called)
                said = (head.step and str(head.step.value),)
        unit = self._unit(at, (), said, lead, head, None, head.comment)
        body = list(block.lines)
        behind: list[tree.Line] = []
        while body and isinstance(body[-1], (tree.Blank, tree.Remark)):
            behind.insert(0, body.pop())
        units = self._prose(body) if block.role in _TEXTS else self._units(body)
        return _Part(at, unit, _unique_units(units), tuple(map(self._line, behind)))

    def _prose(self, body: Sequence[tree.Line]) -> list[_Unit]:
        lines = tuple(map(self._line, body))
        return [_Unit(_FREE_TEXT, tuple(line.strip() for line in lines), lines)] if body else []

    def _units(self, body: Sequence[tree.Line]) -> list[_Unit]:
        units: list[_Unit] = []
        above: list[str] = []
        for line in body:
            if isinstance(line, tree.Item):
                amounts = tuple(f"{amount.value.normalize()} {amount.unit}" for amount in line.amounts)
                at: tuple[str, ...] = (self._called(line.name.written if line.name.kind else line.name.text),)
                names: Sequence[tree.Name] = (line.name,)
                unit = self._unit(at, names, amounts, above, line, line.note, line.comment)
                cells = tuple(self._source.text[one.span.start : one.span.end] for one in line.amounts)
                units.append(replace(unit, cells=cells, amounts=amounts))
            elif isinstance(line, tree.Own):
                names = (tree.Name(line.key.text, False, line.key.span),)
                own = (line.value.text,)
                units.append(self._unit((f"{line.key.text}:",), names, own, above, line, None, line.comment))
            elif isinstance(line, tree.Instruction):
                at = tuple(sorted(self._called(name.text) for name in line.names))
                units.append(self._unit(at, line.names, (line.text.text,), above, line, None, line.comment))
            else:
                above.append(self._line(line))
                continue
            above = []
        return units

    def _unit(
        self,
        at: tuple[str, ...],
        names: Sequence[tree.Name],
        said: tuple[object, ...],
        above: Sequence[str],
        line: tree.Line | tree.Title | tree.Field | tree.Head,
        note: tree.Text | None,
        comment: tree.Text | None,
    ) -> _Unit:
        text = self._line(line)

        def column(offset: int) -> int:
            return self._source.position(offset).column - 1

        end = len(text)
        behind = ""
        if comment is not None:
            end = len(text[: column(comment.span.start)].rstrip())
            behind = text[end:]
        noted = ""
        if note is not None:
            begin = len(text[: column(note.span.start)].rstrip())
            noted, end = text[begin:end], begin
        first = column(names[0].span.start) if names else 0
        last = column(names[-1].span.end) if names else 0
        return _Unit(at, said, tuple(above), text[:first], text[first:last], text[last:end], noted, behind)


def _names(catalogue: Catalogue) -> Callable[[str], str]:
    def called(name: str) -> str:
        found = None if name == "all" else catalogue.find(name)
        return found.name if found else key(name)

    return called


def _remarks(lines: Iterable[str]) -> tuple[str, ...]:
    return tuple(line.strip() for line in lines if line.strip())


def _unique(parts: Sequence[_Part]) -> Mapping[tuple[str, ...], _Part]:
    by_key = {part.key: part for part in parts}
    if len(by_key) != len(parts):
        raise MergeError("a head stands twice on a page")
    return by_key


def _unique_units(units: Sequence[_Unit]) -> tuple[_Unit, ...]:
    if len({unit.key for unit in units}) != len(units):
        raise MergeError("a material stands twice in a block")
    return tuple(units)


# ---- putting together ------------------------------------------------------------------------------------


class _Choice(NamedTuple):
    """Lines of which a person has to choose; ``in_base``: the total of the base depends on it."""

    ours: tuple[str, ...]
    theirs: tuple[str, ...]
    base: tuple[str, ...]
    label: str
    in_base: bool = False


_Line: TypeAlias = "str | _Choice"


class _Merger:
    """``conflicts`` are those met; ``prose`` says that free text of both was put together, line by line."""

    def __init__(self, merge_lines: MergeLines) -> None:
        self._merge_lines = merge_lines
        self.conflicts: list[Conflict] = []
        self.prose: set[tuple[str, ...]] = set()
        self.prose_conflict = False
        self.plans: Plans = {}

    def pages(
        self,
        base: Mapping[tuple[str, ...], _Part],
        ours: Mapping[tuple[str, ...], _Part],
        theirs: Mapping[tuple[str, ...], _Part],
    ) -> Iterator[_Line]:
        self.plans = _plans(base, ours, theirs)
        tests = [{_test_of(at) for at in page} for page in (base, ours, theirs)]
        anew = (tests[1] & tests[2]) - tests[0] - {None}
        for at in in_order(list(ours), list(theirs)):
            was, here, there = base.get(at), ours.get(at), theirs.get(at)
            if _test_of(at) in anew and not (here and there):
                raise MergeError(f"both have a new {at[0].replace('_', ' ')} '{at[-1]}'")
            if here is None or there is None:
                kept = here or there
                assert kept is not None
                if was is None:  # new on one side
                    yield from (*kept.head.lines, *(line for unit in kept.units for line in unit.lines))
                    yield from kept.tail
                elif kept.said != was.said:
                    raise MergeError(f"one side took '{' '.join(at).strip()}' out, and the other changed it")
                continue
            if was is None and at[0] in _ONE_TEST and _amounts_of(here) != _amounts_of(there):
                yield self._two_of_one_name(here, there)
                continue
            yield from self._part(was, here, there)

    def _part(self, was: _Part | None, ours: _Part, theirs: _Part) -> Iterator[_Line]:
        where = " ".join(ours.key).strip()
        yield from self._unit(where, was.head if was else None, ours.head, theirs.head)
        before = {unit.key: unit for unit in was.units} if was else {}
        here = {unit.key: unit for unit in ours.units}
        there = {unit.key: unit for unit in theirs.units}
        plan = self.plans.get(_block_of(ours.key), [])
        counts = [_count(one) for one in (was, ours, theirs)] if was else []
        for at in in_order(list(here), list(there)):
            three = (before.get(at), here.get(at), there.get(at))
            yield from self._row(where, three, plan, counts) if plan else self._unit(where, *three)
        yield from self._remarks(
            f"{where}, the comments below it", was.tail if was else (), ours.tail, theirs.tail
        )

    def _unit(
        self, where: str, was: _Unit | None, ours: _Unit | None, theirs: _Unit | None
    ) -> Iterator[_Line]:
        if ours is None or theirs is None:
            kept = ours or theirs
            if kept is None or (was is not None and kept.says == was.says):
                return  # the other side took it out
            if was is None:
                yield from kept.lines
                return
            yield self._conflict(where, was, ours, theirs)
            return
        if ours.is_text:
            yield from self._prose(where, was, ours, theirs)
            return
        named = _named(where, ours)
        above = was.above if was else ()
        yield from self._remarks(f"{named}, the comments above it", above, ours.above, theirs.above)
        line = _line_of_both(was, ours, theirs)
        if line is None:
            sides = (replace(one, above=()) if one else None for one in (was, ours, theirs))
            yield self._conflict(where, *sides)
        else:
            yield line

    def _row(
        self,
        where: str,
        three: tuple[_Unit | None, _Unit | None, _Unit | None],
        plan: Sequence[Column],
        counts: Sequence[int],
    ) -> Iterator[_Line]:
        """A line of a block to which a side added a column, or took one out: put together amount by amount."""
        was, ours, theirs = three
        if all(one is None or len(one.cells) == 1 for one in three):
            yield from self._unit(where, *three)
            return
        if was is None or ours is None or theirs is None:
            yield from _row_of_few(was, ours, theirs, plan, counts)
            return
        values = [_spread(one.amounts, count) for one, count in zip((was, ours, theirs), counts, strict=True)]
        texts = [_spread(one.cells, count) for one, count in zip((was, ours, theirs), counts, strict=True)]
        sides: tuple[list[str], list[str]] = ([], [])
        for column in plan:
            at = (column.base, column.ours, column.theirs)
            said = [None if i is None else row[i] for i, row in zip(at, values, strict=True)]
            written = [None if i is None else row[i] for i, row in zip(at, texts, strict=True)]
            if said[1] is None or said[1] == said[0]:
                chosen = (written[2], written[2])
            elif said[2] is None or said[2] in (said[0], said[1]):
                chosen = (written[1], written[1])
            else:
                chosen = (written[1], written[2])
            for side, text in zip(sides, chosen, strict=True):
                assert text is not None, "a column of the plan stands somewhere"
                side.append(text)
        mine, other = (
            replace(one, said=tuple(side), middle=f"  {', '.join(side)}")
            for one, side in zip((ours, theirs), sides, strict=True)
        )
        yield from self._unit(where, was, mine, other)

    def _conflict(self, where: str, was: _Unit | None, ours: _Unit | None, theirs: _Unit | None) -> _Choice:
        unit = ours or theirs
        assert unit is not None
        what = "" if " ".join(unit.key).strip() == where else ", ".join(unit.key)
        shown = [one.shown if one else "" for one in (ours, theirs, was)]
        self.conflicts.append(Conflict(where, what, *shown))
        lines = [one.lines if one else () for one in (ours, theirs, was)]
        weighs = ours is None or theirs is None or ours.said != theirs.said
        return _Choice(lines[0], lines[1], lines[2], _named(where, unit), where == "base" and weighs)

    def _remarks(
        self, where: str, was: Sequence[str], ours: Sequence[str], theirs: Sequence[str]
    ) -> Iterator[str]:
        """Comments that stand by themselves."""
        before, here, there = map(_remarks, (was, ours, theirs))
        if here in (there, before):
            yield from theirs if here != there else ours
        elif there == before:
            yield from ours
        else:
            yield from self._by_lines(where, was, ours, theirs)

    def _two_of_one_name(self, ours: _Part, theirs: _Part) -> _Choice:
        """Two new tests (or tiles) of one name are two: of both together would come a third, which nobody meant."""
        where = ours.head.lines[-1].strip().removesuffix(":")
        self.conflicts.append(Conflict(where, f"two new {_ONE_TEST[ours.key[0]]} of one name", "", ""))
        mine, other = (
            (*part.head.lines, *(line for unit in part.units for line in unit.lines), *part.tail)
            for part in (ours, theirs)
        )
        return _Choice(mine, other, (), where)

    def _prose(self, where: str, was: _Unit | None, ours: _Unit, theirs: _Unit) -> Iterator[str]:
        if was is not None and ours.said == was.said:
            yield from theirs.lines
        elif ours.said == theirs.said or (was is not None and theirs.said == was.said):
            yield from ours.lines
        else:
            self.prose.add(ours.key)
            yield from self._by_lines(where, was.lines if was else (), ours.lines, theirs.lines)

    def _by_lines(
        self, where: str, was: Sequence[str], ours: Sequence[str], theirs: Sequence[str]
    ) -> Iterator[str]:
        texts = ("".join(f"{line}\n" for line in lines) for lines in (ours, was, theirs))
        text, clean = self._merge_lines(*texts)
        if not clean:
            self.prose_conflict = True
            self.conflicts.append(Conflict(where, "", "", ""))
        yield from text.split("\n")[:-1]


def _test_of(at: tuple[str, ...]) -> tuple[str, str] | None:
    """The test that a block is of, by its kind and name: of one may be what it sets of the base, and what it adds."""
    return (_ONE_TEST[at[0]], at[-1]) if at[0] in _ONE_TEST else None


def _amounts_of(part: _Part) -> tuple[object, ...]:
    """What a block says but for notes and comments, of which one side may have more."""
    return (part.head.said, *sorted((unit.key, unit.said) for unit in part.units))


def _named(where: str, unit: _Unit) -> str:
    """The section, and the material or the field, once."""
    if " ".join(unit.key).strip() == where:
        return where
    return ", ".join(filter(None, (where, *unit.key)))


def _line_of_both(was: _Unit | None, ours: _Unit, theirs: _Unit) -> str | None:
    """One line with what both changed of it, each piece by itself; None where both changed the same piece."""
    said = _taken(was and was.said, ours.said, theirs.said)
    name = _taken(was and was.name, ours.name, theirs.name)
    note = _taken(was.note.strip() if was else "", ours.note.strip(), theirs.note.strip())
    comment = _taken(was.comment.strip() if was else "", ours.comment.strip(), theirs.comment.strip())
    if said is None or name is None or note is None or comment is None:
        return None
    of = (ours, theirs)
    if was is not None and ours.said == theirs.said == was.said and ours.cells == was.cells:
        said = 1  # who has written one and the same amount otherwise
    return replace(of[said], name=of[name].name, note=of[note].note, comment=of[comment].comment).line


def _taken(was: object, ours: object, theirs: object) -> int | None:
    """Which side has what both say together: 0 ours, 1 theirs; None where both changed it, each otherwise."""
    if ours == theirs or theirs == was:
        return 0
    return 1 if ours == was else None


Plans: TypeAlias = "Mapping[tuple[str, str], list[Column]]"
"""The columns of the blocks that a side gave more or fewer of."""
_SEVERAL: Final = {"series": "series", "base_series": "series", "blend": "blend", "base_blend": "blend"}
"""Blocks of columns; two of one kind and name are one, and have the same."""


def _block_of(at: tuple[str, ...]) -> tuple[str, str]:
    return _SEVERAL.get(at[0], ""), at[-1]


def _plans(*pages: Mapping[tuple[str, ...], _Part]) -> Plans:
    """Raises MergeError where it is not certain which columns are the same."""
    blocks = {_block_of(at) for page in pages for at in page if at[0] in _SEVERAL}
    plans = {}
    for block in blocks:
        three = [[part for at, part in page.items() if _block_of(at) == block] for page in pages]
        counts = [max((_count(part) for part in parts), default=0) for parts in three]
        if not all(counts) or len(set(counts)) == 1:
            continue
        rows = [
            {
                (part.key[0], *unit.key): _spread(unit.amounts, count)
                for part in parts
                for unit in part.units
                if unit.cells
            }
            for parts, count in zip(three, counts, strict=True)
        ]
        try:
            plans[block] = columns(*rows)
        except ColumnsError as error:
            raise MergeError(error.message) from None
    return plans


def _count(part: _Part) -> int:
    return max((len(unit.cells) for unit in part.units), default=0)


def _row_of_few(
    was: _Unit | None, ours: _Unit | None, theirs: _Unit | None, plan: Sequence[Column], counts: Sequence[int]
) -> Iterator[str]:
    """A line that one side put in, or took out. Raises MergeError where the other one's columns ask for more of it."""
    kept = ours or theirs
    if kept is None:
        return
    places = [column.ours if ours is not None else column.theirs for column in plan]
    if was is None:
        if places != list(range(counts[1 if ours is not None else 2])):
            raise MergeError(
                f"one side added '{kept.name}', and the other a column: how much of it stands there?"
            )
        yield from kept.lines
        return
    before = _spread(was.amounts, counts[0])
    after = _spread(kept.amounts, counts[1 if ours is not None else 2])
    bases = [column.base for column in plan]
    same = all(
        after[place] == before[base]
        for place, base in zip(places, bases, strict=True)
        if place is not None and base is not None
    )
    behind = [(one.note.strip(), one.comment.strip()) for one in (was, kept)]
    if not same or behind[0] != behind[1]:
        raise MergeError(f"one side took '{kept.name}' out, and the other changed it")


def _spread(row: tuple[str, ...], count: int) -> tuple[str, ...]:
    """An amount for each column: a single one holds for all."""
    return row * count if len(row) == 1 else row


def in_order(ours: Sequence[tuple[str, ...]], theirs: Sequence[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """All keys: in our order, and what only they have behind what it follows there."""
    out = list(ours)
    for at, one in enumerate(theirs):
        if one not in out:
            out.insert(out.index(theirs[at - 1]) + 1 if at else 0, one)
    return out


def _text(lines: Iterable[_Line], how: Side | Marks | None, totals: Totals | None = None) -> str:
    """The page with what that side has where both changed something, or with marks around both."""
    out: list[str] = []
    for line in lines:
        if isinstance(line, str):
            out.append(line)
        elif isinstance(how, Marks):
            out += _marked(line, how, totals if line.in_base else None)
        elif how is not None:
            out += line.ours if how == "ours" else line.theirs
    return "".join(f"{line}\n" for line in out)


def _marked(choice: _Choice, marks: Marks, totals: Totals | None) -> list[str]:
    said = ["", "", ""]
    if totals is not None:
        sides = zip(
            (totals.ours, totals.base, totals.theirs), (marks.ours, marks.base, marks.theirs), strict=True
        )
        said = [
            f" (base totals {total_text(amount, totals.unit)}{f', all from {name}' if totals.choices > 1 else ''})"
            for amount, name in sides
        ]
    before = [f"{'|' * marks.size} {marks.base}: {choice.label}{said[1]}", *choice.base]
    return [
        f"{'<' * marks.size} {marks.ours}: {choice.label}{said[0]}",
        *choice.ours,
        *(before if marks.with_base else []),
        "=" * marks.size,
        *choice.theirs,
        f"{'>' * marks.size} {marks.theirs}: {choice.label}{said[2]}",
    ]


def total_text(amount: Fraction, unit: str = "") -> str:
    """A total as a page would have it, with at most four decimals."""
    return f"{trimmed(rounded(amount, 4))} {unit}".rstrip()


def _totals(was: _Page, ours: _Page, theirs: _Page, choices: int) -> Totals | None:
    told = [page.told for page in (ours, theirs, was)]
    totals = [one.total for one in told if one is not None]
    masses = [one.in_masses for one in told if one is not None]
    if len(totals) < len(told) or len(set(masses)) > 1:
        return None
    return Totals(totals[0], totals[1], totals[2], "g" if masses[0] else "", choices)


# ---- what was meant --------------------------------------------------------------------------------------


def _check_scales(pages: Sequence[_Page]) -> None:
    """An amount of one side means something else once the other has written the base at another scale."""
    recipes = [page.told for page in pages if page.told is not None]
    if not recipes:
        return
    if len(recipes) < len(pages):
        raise MergeError("a recipe and a firing are not put together")
    base, ours, theirs = recipes
    for side, other in ((ours, theirs), (theirs, ours)):
        scaled = scale(base, side) != 1 or base.in_masses != side.in_masses
        if scaled and _amounts(other) != _amounts(base):
            raise MergeError("one side wrote the base at another scale, and the other changed amounts")


def _amounts(one: Told) -> dict[Place, object]:
    return {place: written.parts for place, written in one.written.items() if place.section in WEIGHED}


def _laid_out(text: str) -> str:
    try:
        return format_text(parse(Source("merge", text)))
    except FormatError as error:
        raise MergeError(str(error)) from None


def _check(
    result: _Page, pages: Sequence[_Page], prose: set[tuple[str, ...]], plans: Plans | None = None
) -> None:
    """Raises MergeError where the result is not, place by place, what both changes say together."""
    plans = plans or {}
    base, ours, theirs = (page.facts for page in pages)
    after = result.facts
    for place in {*base, *ours, *theirs, *after}:
        was, here, there = base.get(place), ours.get(place), theirs.get(place)
        plan = plans.get((place.section.removeprefix("base "), place.within), [])
        if plan and here and there and was and _has_columns(place):
            meant = _columns_meant(plan, tuple(place), pages, was, here, there)
        elif here == there or there == was:
            meant = here
        elif here == was:
            meant = there
        elif prose and place.section in ("notes", "field", "schedule"):
            continue  # free text of both, put together by lines
        else:
            raise MergeError(f"both changed '{place.what or place.section}'")
        if after.get(place) != meant:
            raise MergeError(
                f"the merged page would not say what was meant of '{place.what or place.section}'"
            )
    totals = [page.told.total for page in pages if page.told is not None]
    if result.told is not None and len(set(totals)) == 1 and result.told.total != totals[0]:
        raise MergeError("the base would no longer total what it does on both sides")


def _has_columns(place: Place | _FiringPlace | _NotePlace) -> bool:
    return bool(place.what) and not place.what.endswith(":") and not isinstance(place, _NotePlace)


def _columns_meant(
    plan: Sequence[Column], at: tuple[str, ...], pages: Sequence[_Page], *three: object
) -> object:
    """What a line of columns says of both changes together, amount by amount; where each page writes one amount, that
    holds for all columns. Raises MergeError."""
    rows: list[tuple[object, ...]] = [row for row in three if isinstance(row, tuple)]
    if all(at in page.single for page in pages):
        chosen = _taken(*(row[:1] for row in rows))
        return None if chosen is None else rows[1 + chosen][:1] * len(plan)
    out = []
    for column in plan:
        said = [None if i is None else row[i] for i, row in zip(column, rows, strict=True)]
        sides = {one for one in said[1:] if one is not None and one != said[0]}
        if len(sides) > 1:
            raise MergeError("both changed one amount")
        out.append(next(iter(sides), said[0]))
    return tuple(out)


class _NotePlace(NamedTuple):
    """The note behind an amount, which is changed by itself; it is told of as its material is."""

    section: str
    within: str
    what: str
    of: str = "note"


class _FiringPlace(NamedTuple):
    """Where something is said of a firing: as Place, with ``within`` the name of a tile."""

    section: str
    within: str = ""
    what: str = ""


_Facts: TypeAlias = "dict[Place | _FiringPlace | _NotePlace, object]"


def _facts_of_firing(firing: Firing) -> Iterator[tuple[Place | _FiringPlace, object]]:
    """What a firing says, each thing at its place; the body of a tile that says none is that of the firing."""
    yield _FiringPlace("name"), firing.name
    for key_of, value in said_of(firing).items():
        yield _FiringPlace("field", what=key_of), value
    if firing.schedule is not None:
        yield _FiringPlace("schedule"), firing.schedule
    if firing.notes:
        yield _FiringPlace("notes"), firing.notes
    for tile in firing.tiles:
        within = folded(tile.name)
        yield _FiringPlace("tile", within), True
        for what, value in said_of_tile(tile).items():
            if what != "body" or value != firing.body:
                yield _FiringPlace("tile", within, what), value


def _facts(one: Told) -> _Facts:
    """What a page says with its amounts in the parts that it writes, since those are what a person changes. Per cent of
    the base stay per cent, or a change of the base would change them too."""
    facts: _Facts = {}
    for place, fact in one.meaning.items():
        if isinstance(fact, Weighed):
            written = one.written[place]
            facts[place] = _as_written(written.amounts, written.parts)
            facts[_NotePlace(*place)] = fact.note
        else:
            facts[place] = fact
    return facts


def _as_written(amounts: Sequence[str], in_parts: Sequence[object]) -> tuple[object, ...]:
    if any(amount.endswith("%") for amount in amounts):
        return tuple(amounts)
    return tuple(in_parts)
