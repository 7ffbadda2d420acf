"""What the rows of a table say, gathered into drafts."""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal
from typing import Final, NamedTuple

from glost.importer import amounts
from glost.importer.draft import Draft, Item, Kind, Remark, Row, Said
from glost.importer.firing import firing_in_title
from glost.importer.heading import NO_FIELD, values_of
from glost.importer.materials import Names

TOTAL: Final = re.compile(
    r"\W*(?:sub-?|grand |base )?(?:totals?|sum)(?: (?:base|parts|recipe|batch|weight))?\b[^0-9]{0,12}",
    re.IGNORECASE,
)
NOTHING: Final = frozenset({"-", "--", "\u2013", "\u2014", "n/a", "na", "nil", "none", "."})
"""What people write into a cell where nothing belongs."""
_LONGEST: Final = 100
_THOUSAND: Final = 1000
_ADDED_ROLES: Final = frozenset({"colourant", "opacifier", "suspender", "binder", "deflocculant"})
ROUNDED: Final = Decimal("0.5")
"""By which a base of rounded amounts misses 100."""
_FULL: Final = Decimal(100)


class Key(NamedTuple):
    """A recipe of the table: its name as the cell has it, and the how many-th of that name it is, from 1."""

    name: str
    nth: int


class Entry(NamedTuple):
    """A material of a recipe as the table says it. ``unit`` is that of the column's head. ``added`` None: nothing says
    whether it is an addition. ``text`` is the row, ``said`` are its cells that no field takes."""

    material: str
    amount: str
    line: int
    text: str
    added: bool | None
    unit: str = ""
    note: str = ""
    said: tuple[str, ...] = ()


class Sums(NamedTuple):
    """What a draft comes to so far."""

    base: Decimal = Decimal(0)
    every: Decimal = Decimal(0)
    additions: int = 0


class _Stated(NamedTuple):
    """A total that stands in the table; ``thousands`` is what it is where its point parts thousands."""

    total: Decimal
    thousands: Decimal
    line: int
    text: str


class Bare(NamedTuple):
    """A cone of one figure that stands alone in a cell."""

    cone: str
    line: int
    name: str


class Gatherer:
    """The drafts of a table, and what there is to say about it."""

    def __init__(
        self, name: str, title: str, marks: amounts.Marks, names: Names, remarks: list[Remark]
    ) -> None:
        """``name`` is for recipes that have none; ``title`` is that of the first of them, where one stands above."""
        self.remarks = remarks
        self.cones: list[Bare] = []
        self.whole_cones = False
        """Whether a cone such as 04 stands alone in a cell: no program has taken its zero."""
        self.name = name
        self._title = title
        self._marks = marks
        self._names = names
        self._drafts: dict[Key, Draft] = {}
        self._sums: dict[Key, Sums] = {}
        self._stated: dict[Key, list[_Stated]] = {}

    def say(self, kind: Kind, line: int, said: str, text: str = "") -> None:
        self.remarks.append(Remark(kind, line, said, text))

    @property
    def count(self) -> int:
        return len(self._drafts)

    def drafts(self) -> list[Draft]:
        """Every draft, when all rows are taken: the totals that are stated are compared."""
        for key, stated in self._stated.items():
            self._compare(self._sums.get(key, Sums()), stated)
        return list(self._drafts.values())

    def draft(self, key: Key, line: int, carried: bool = False) -> Draft:
        """The draft of a recipe. ``carried``: its name does not stand in this row."""
        if key not in self._drafts:
            self._drafts[key] = self._opened(key, line)
        elif not carried:
            self._drafts[key].again.append(key.name)
        return self._drafts[key]

    def _opened(self, key: Key, line: int) -> Draft:
        name = key.name or self._title
        found = firing_in_title(name)
        if not found.rest or '"' in found.rest or len(found.rest) > _LONGEST:
            found = firing_in_title("")._replace(rest=name.replace('"', "'")[:_LONGEST].strip())
        draft = Draft(line, found.rest or self.name, fields=found.fields)
        if len(name) > _LONGEST:
            draft.notes.append(name)
        if not name:
            self.say("guessed", line, f"a recipe without a name is called '{draft.name}'")
        if key.nth > 1:
            said = f"the name '{draft.name}' comes again; this is taken for a further recipe of that name"
            self.say("guessed", line, said)
        for guess in found.guesses:
            self.say("guessed", line, guess, name)
        return draft

    # ---- fields ----------------------------------------------------------------------------------------

    def take_field(self, draft: Draft, key: str, value: str, line: int) -> None:
        found = values_of(key, value)
        note = f"{key}: {value}"
        if found.left or any(draft.fields.get(one, said) != said for one, said in found.fields.items()):
            guesses = found.guesses if found.left else (NO_FIELD,)
            if note in draft.notes:
                draft.again.append(value)
                return
            draft.notes.append(note)
        elif found.fields.items() <= draft.fields.items():
            draft.again.append(value)
            guesses = ()
        else:
            draft.fields.update(found.fields)
            guesses = found.guesses
            self._doubt(draft, found.bare, value, line)
        for guess in guesses:
            self.say("guessed", line, guess, note)

    def _doubt(self, draft: Draft, bare: str, value: str, line: int) -> None:
        if bare:
            self.cones.append(Bare(bare, line, draft.name))
        self.whole_cones |= re.fullmatch("'?0[0-9]{1,2}", value) is not None

    # ---- materials -------------------------------------------------------------------------------------

    def take(self, key: Key, entry: Entry) -> None:
        """Takes a material, or a total, into the draft of that key."""
        draft, sums = self._drafts[key], self._sums.get(key, Sums())
        if TOTAL.fullmatch(entry.material) or not entry.material:
            self._take_total(key, draft, entry)
            return
        added = entry.added
        if added is None:
            added = bool(sums.additions) or sums.base == _FULL or self._is_colour_behind(entry, sums)
            if added and not sums.additions:
                said = "what stands behind a base of 100 is taken for additions"
                self.say("guessed", entry.line, said, entry.text)
        row = self._row(entry, added)
        (draft.additions if added else draft.base).append(row)
        value = row.amount if isinstance(row, Item) else Decimal(0)
        base = sums.base if added else sums.base + value
        self._sums[key] = Sums(base, sums.every + value, sums.additions + added)

    def _is_colour_behind(self, entry: Entry, sums: Sums) -> bool:
        """Whether a colourant or the like stands behind a base of rounded amounts."""
        found = self._names.catalogue.find(entry.material)
        return found is not None and found.role in _ADDED_ROLES and abs(sums.base - _FULL) <= ROUNDED

    def _row(self, entry: Entry, added: bool) -> Row:
        kept = Said(entry.text, entry.line)
        if entry.amount.lower() in NOTHING:
            return kept
        read = amounts.read_cell(entry.amount, self._marks)
        why = "the name is too long" if len(entry.material) > _LONGEST else read.why
        if read.value is None or why:
            self.say("left", entry.line, f"{why}; the line stands as a comment", entry.text)
            return kept
        if read.guess:
            self.say("guessed", entry.line, read.guess, entry.text)
        if not read.value:
            return kept
        comment = entry.text if read.guess else "; ".join(entry.said)
        unit = read.unit or (entry.unit if added or entry.unit != "%" else "")
        return Item(entry.material, read.value, unit, entry.line, entry.note, comment)

    def _take_total(self, key: Key, draft: Draft, entry: Entry) -> None:
        sums = self._sums.get(key, Sums())
        (draft.additions if sums.additions else draft.base).append(Said(entry.text, entry.line))
        read = amounts.read_cell(entry.amount, self._marks)
        if read.value is not None:
            self._stated.setdefault(key, []).append(
                _Stated(read.value, read.value * _THOUSAND, entry.line, entry.text)
            )

    def _compare(self, sums: Sums, stated: Sequence[_Stated]) -> None:
        for one in stated:
            if not {one.total, one.thousands} & {sums.base, sums.every}:
                comes = f"{sums.base}"
                if sums.base != sums.every:
                    comes += f", and {sums.every} with the additions"
                said = f"a total of {one.total} is stated; the lines come to {comes}"
                self.say("wrong", one.line, said, one.text)
