"""The page of a firing: what it means. What went in, how it was fired, what came of it."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, NamedTuple

from glost.errors import ValueRefusedError
from glost.language import tree
from glost.language.diagnostics import Choice, Diagnostic
from glost.language.firing_words import FIRING_FIELDS, TILE_KEYS
from glost.language.nearest import nearest
from glost.language.source import Edit, Span
from glost.language.tables import lexicon
from glost.recipe.cone import Cone
from glost.recipe.fields import FIELD_SPELLINGS, FIELDS
from glost.recipe.names import folded
from glost.recipe.prose import prose
from glost.recipe.schedule import HOTTEST, USUAL_START, Schedule, Step
from glost.recipe.spelling import certain_spelling

FAULTS: Final = (
    "crazing",
    "shivering",
    "crawling",
    "pinholes",
    "blisters",
    "running",
    "dunting",
    "scum",
    "underfired",
    "overfired",
    "speck",
)
"""Faults that are offered; others may be written (common practice)."""


class TestName(NamedTuple):
    """A test as it is named everywhere: glaze "Harbour Mist, storm"."""

    kind: str
    name: str

    @property
    def written(self) -> str:
        return f'{self.kind} "{self.name}"'


@dataclass(frozen=True, slots=True)
class Tile:
    """One thing in the kiln. Texts that were not said are ""; ``batch`` is the name of a record in the log, ``flow``
    in millimetres. ``body`` is the firing's where the tile says none."""

    name: str
    test: TestName | None = None
    batch: str = ""
    body: str = ""
    place: str = ""
    surface: str = ""
    colour: str = ""
    flow: Decimal | None = None
    faults: tuple[str, ...] = ()
    photo: str = ""
    remarks: str = ""


@dataclass(frozen=True, slots=True)
class Firing:
    """``date`` is the day on which it was lit, such as 2026-05-14. ``reached`` is the cone that the witness cones
    show."""

    name: str
    date: str
    kiln: str
    cone: Cone | None
    reached: Cone | None
    atmosphere: str
    body: str
    schedule: Schedule | None
    tiles: tuple[Tile, ...]
    notes: str


class ResolvedFiring(NamedTuple):
    """What the page means, as far as it could be read; ``complete``: nothing of it is left out. ``entries``: for each
    tile its head and where each thing is said of it. ``fields``: where the fields stand."""

    page: tree.Page
    firing: Firing
    complete: bool
    diagnostics: tuple[Diagnostic, ...]
    entries: tuple[tuple[tree.Head, dict[str, tree.Own]], ...]
    fields: dict[str, tree.Field]


_FLOW = re.compile(r"(?P<n>[0-9]{1,3}(?:\.[0-9]{1,2})?) *mm")
_PHOTO = re.compile(r"(?![/\\])(?!.*(?:^|/)\.\.(?:/|$))(?!.*[:\\]).+", re.DOTALL)


@functools.cache
def _test_pattern() -> re.Pattern[str]:
    return re.compile(rf'(?P<kind>{"|".join(lexicon().kinds)}) +"(?P<name>[^"]+)"')


def read_test(text: str) -> TestName:
    """A test as it is named everywhere. Raises ValueRefusedError."""
    found = _test_pattern().fullmatch(text)
    if found is None:
        name = text.strip("\"' ")
        raise ValueRefusedError(
            f"'{text}' names no test",
            f'write the kind and, in double quotes, the name, such as  glaze "{name}"',
        )
    return TestName(found["kind"], " ".join(found["name"].split()))


def _flow(text: str) -> Decimal:
    found = _FLOW.fullmatch(text)
    if found is None:
        raise ValueRefusedError(f"'{text}' does not say how far it ran", "write such as 4 mm")
    return Decimal(found["n"])


def _faults(text: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(" ".join(word.split()).lower() for word in text.split(",") if word.strip()))


def _photo(text: str) -> str:
    if _PHOTO.fullmatch(text) is None:
        raise ValueRefusedError(
            f"'{text}' does not lie beside this page",
            "write the way from here, such as photos/14-c.jpg, and keep the picture in the collection",
        )
    return text


def _batch(text: str) -> str:
    name = text.removesuffix(".batch").rpartition("/")[2]
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9a-zA-Z-]+", name):
        raise ValueRefusedError(
            f"'{text}' is no record of the log",
            "write the name of its file, such as 2026-03-14T10-22-05-harbour-mist-2b29422a",
        )
    return name


_READ: Final[dict[str, Callable[[str], object]]] = {
    "test": read_test,
    "batch": _batch,
    "flow": _flow,
    "faults": _faults,
    "photo": _photo,
}


def resolve_firing(page: tree.Page) -> ResolvedFiring:
    """What the page of a firing means. Never raises for anything that it may hold."""
    return _Resolver(page).resolve()


class _Resolver:
    def __init__(self, page: tree.Page) -> None:
        self._page = page
        self._diagnostics: list[Diagnostic] = []
        self._title: tree.Title | None = None
        self._fields: dict[str, tree.Field] = {}
        self._values: dict[str, object] = {}
        self._schedule: tree.Head | None = None
        self._worked_out: Schedule | None = None
        self._entries: list[tuple[tree.Head, dict[str, tree.Own]]] = []
        self._tiles: list[Tile] = []
        self._notes_at: tree.Head | None = None
        self._notes = ""

    def _tell(
        self, span: Span, message: str, hint: str, *edits: Edit, choices: tuple[Choice, ...] = ()
    ) -> None:
        self._diagnostics.append(Diagnostic(span, message, hint, edits, choices=choices))

    def _line(self, span: Span) -> int:
        return self._page.source.position(span.start).line

    def resolve(self) -> ResolvedFiring:
        for at, block in enumerate(self._page.blocks):
            head = block.head
            if isinstance(head, tree.Title):
                self._take_title(head, at == 0)
            elif isinstance(head, tree.Field):
                self._take_field(head)
            elif isinstance(head, tree.Head):
                self._take_block(block, head)
        self._check_what_is_missing()
        said = self._values
        body = str(said.get("body", ""))
        firing = Firing(
            name=self._title.name.text if self._title else "",
            date=str(said.get("date", "")),
            kiln=str(said.get("kiln", "")),
            cone=_cone(said.get("cone")),
            reached=_cone(said.get("reached")),
            atmosphere=str(said.get("atmosphere", "")),
            body=body,
            schedule=self._worked_out,
            tiles=tuple(_with_body(tile, body) for tile in self._tiles),
            notes=self._notes,
        )
        diagnostics = tuple(sorted(self._diagnostics, key=lambda one: one.span))
        return ResolvedFiring(
            self._page,
            firing,
            not diagnostics and not self._page.diagnostics,
            diagnostics,
            tuple(self._entries),
            self._fields,
        )

    def _take_title(self, head: tree.Title, first: bool) -> None:
        if self._title is not None:
            self._tell(head.span, "a second firing begins here", "keep one firing in a file")
            return
        if not first:
            self._tell(head.span, "the name of the firing stands below other lines", "move it to the top")
        self._title = head

    def _take_field(self, head: tree.Field) -> None:
        key, lower = head.key.text, head.key.text.lower()
        if key not in FIRING_FIELDS:
            self._unknown(head.key, lower, FIRING_FIELDS, "a firing")
            return
        if key in self._fields:
            self._tell(
                head.key.span,
                f"'{key}' stands here a second time (first on line {self._line(self._fields[key].span)})",
                "keep one of them",
            )
            return
        self._fields[key] = head
        read = FIELDS["cone" if key == "reached" else key].read if key != "kiln" else str
        text = head.value.text
        try:
            self._values[key] = read(text)
        except ValueRefusedError as error:
            becomes = certain_spelling(text, read, "cone" if key == "reached" else key)
            if becomes is None:
                self._tell(head.value.span, error.message, error.hint)
            else:
                self._tell(head.value.span, error.message, f"write {becomes}", Edit(head.value.span, becomes))

    def _unknown(self, key: tree.Text, lower: str, known: tuple[str, ...], whose: str) -> None:
        if lower in known:
            self._tell(
                key.span, f"'{key.text}' is written in lower case", f"write  {lower}:", Edit(key.span, lower)
            )
            return
        right = FIELD_SPELLINGS.get(lower, "")
        if right in known:
            self._tell(
                key.span, f"'{key.text}' is called {right} here", f"write  {right}:", Edit(key.span, right)
            )
            return
        choices: tuple[Choice, ...] = ()
        if lower in TILE_KEYS and known is FIRING_FIELDS:
            hint = 'indent it below the tile that it is about, such as  tile "14-C":'
        elif lower in FIRING_FIELDS and known is TILE_KEYS:
            hint = f"it holds for the whole firing: write  {lower}:  in column one, below the first line"
        else:
            near = nearest(lower, known, 1)
            hint = f"write  {near[0]}:  if that is meant" if near else f"there are {', '.join(known)}"
            choices = tuple(Choice(one, Edit(key.span, one)) for one in near)
        self._tell(key.span, f"'{key.text}' is nothing that is said of {whose}", hint, choices=choices)

    def _take_block(self, block: tree.Block, head: tree.Head) -> None:
        if block.role == "schedule":
            if self._schedule is not None:
                self._tell(
                    head.span,
                    f"a second schedule stands here (the first on line {self._line(self._schedule.span)})",
                    "keep the one that was fired",
                )
                return
            self._schedule = head
            self._work_out([line for line in block.lines if isinstance(line, tree.Ramp)], head)
        elif block.role == "tile":
            self._take_tile(block, head)
        elif block.role == "notes":
            if self._notes_at is not None:
                self._tell(
                    head.span,
                    f"'notes:' stands here a second time (first on line {self._line(self._notes_at.span)})",
                    "put both into one",
                )
                return
            self._notes_at = head
            self._notes = prose(block)
        elif head.word.text in FIRING_FIELDS:
            self._tell(
                head.span,
                f"nothing is said behind '{head.word.text}:'",
                "say it on this line, or take the line away until it is known",
            )
        else:
            self._unknown(head.word, head.word.text.lower(), FIRING_FIELDS, "a firing")

    # ---- the schedule ----------------------------------------------------------------------------------

    def _work_out(self, ramps: list[tree.Ramp], head: tree.Head) -> None:
        if not ramps:
            if not self._page.diagnostics:
                self._tell(
                    head.span,
                    "this schedule holds no line",
                    "write such as  to 600 C at 100 C/h  below it, or take it away",
                )
            return
        units = [ramp.heat.unit for ramp in ramps]
        unit = max(dict.fromkeys(units), key=units.count)  # the one that most lines have; of two, the first
        here = ramps[0].heat.value if ramps[0].first else USUAL_START[unit]
        steps: list[Step] = []
        sound = True
        for at, ramp in enumerate(ramps):
            wrong = self._wrong_ramp(ramp, at, unit, here)
            if wrong is not None:
                self._diagnostics.append(wrong)
                sound = False
            elif not ramp.first:
                steps.append(
                    Step(
                        ramp.heat.value,
                        ramp.rate.value if ramp.rate else None,
                        ramp.time.in_minutes if ramp.time else None,
                        ramp.hold.in_minutes if ramp.hold else 0,
                    )
                )
            here = ramp.heat.value
        if not steps and sound and not self._page.diagnostics:
            self._tell(
                ramps[0].span, "this schedule goes nowhere", "write such as  to 600 C at 100 C/h  below it"
            )
        elif sound and not self._page.diagnostics:
            start = ramps[0].heat.value if ramps[0].first else USUAL_START[unit]
            self._worked_out = Schedule(unit, start, ramps[0].first, tuple(steps))

    def _wrong_ramp(self, ramp: tree.Ramp, at: int, unit: str, here: Decimal) -> Diagnostic | None:
        for heat in (ramp.heat, ramp.rate):
            if heat is not None and heat.unit != unit:
                return Diagnostic(
                    heat.span,
                    f"{heat.unit} stands here, and {unit} on other lines of the schedule",
                    "write one unit on the whole page (180 F/h is as fast as 100 C/h)",
                )
        hottest = HOTTEST[unit]
        if ramp.heat.value > hottest:
            return Diagnostic(
                ramp.heat.span,
                f"{ramp.heat.value:f} {unit} is hotter than any kiln goes",
                f"look at the figures and at the unit; up to {hottest:f} {unit} is read",
            )
        if ramp.first:
            if at:
                return Diagnostic(
                    ramp.span, "'from' says where the kiln begins", "write it as the first line, or write  to"
                )
            return None
        if ramp.rate is not None and not ramp.rate.value:
            return Diagnostic(
                ramp.rate.span,
                "at a rate of 0 the kiln never gets there",
                "write a rate, or the time behind the line above, such as  hold 15 min",
            )
        for time, what in ((ramp.time, "way"), (ramp.hold, "hold")):
            if time is None:
                continue
            if not time.in_minutes:
                return Diagnostic(time.span, f"a {what} of no time", "write a time, or take it away")
            if time.hours is not None and (time.minutes or 0) >= 60:
                return Diagnostic(
                    time.span,
                    f"{time.minutes} minutes stand behind {time.hours} h",
                    f"write  {time.in_minutes // 60} h {time.in_minutes % 60} min  if that is meant",
                )
        if ramp.heat.value == here:
            before = "the line above" if at else "the start"
            return Diagnostic(
                ramp.span,
                f"the kiln is at {here:f} {unit} already",
                f"write a hold behind {before}, such as  hold 15 min",
            )
        return None

    # ---- tiles -----------------------------------------------------------------------------------------

    def _take_tile(self, block: tree.Block, head: tree.Head) -> None:
        assert head.name is not None, "a tile has a name"
        name = " ".join(head.name.text.split())
        twice = next(
            (one for one, _ in self._entries if one.name and folded(one.name.text) == folded(name)), None
        )
        if twice is not None:
            self._tell(
                head.name.span,
                f"a tile '{name}' stands here already (line {self._line(twice.span)})",
                "give each tile of a firing its own name",
            )
        said: dict[str, tree.Own] = {}
        values: dict[str, object] = {}
        whole = True
        for line in block.lines:
            if isinstance(line, tree.Unread):
                whole = False
            if not isinstance(line, tree.Own):
                continue
            key = line.key.text
            if key not in TILE_KEYS:
                self._unknown(line.key, key.lower(), TILE_KEYS, "a tile")
                whole = False
                continue
            if key in said:
                self._tell(
                    line.key.span,
                    f"'{key}' stands here a second time (first on line {self._line(said[key].span)})",
                    "keep one of them",
                )
                continue
            said[key] = line
            try:
                values[key] = _READ.get(key, str)(line.value.text)
            except ValueRefusedError as error:
                self._tell(line.value.span, error.message, error.hint)
                whole = False
        if whole and "test" not in said and "batch" not in said:
            self._tell(
                head.span,
                f"nobody knows what tile '{name}' is a test of",
                'write below it such as  test: glaze "Harbour Mist, storm"  or the batch that it was dipped in',
            )
        self._entries.append((head, said))
        self._tiles.append(Tile(name, **values))  # type: ignore[arg-type]

    def _check_what_is_missing(self) -> None:
        if self._page.diagnostics:
            return
        if self._title is None:
            self._tell(
                Span(0, 0),
                "the page does not begin with the name of the firing",
                'write a first line such as  firing "Small kiln 41"',
            )
        elif "date" not in self._fields and not any(
            isinstance(block.head, (tree.Field, tree.Head)) and _key_of(block.head).lower() == "date"
            for block in self._page.blocks
        ):
            self._tell(
                self._title.name.span,
                "the firing does not say the day on which it was lit",
                "write such as  date: 2026-05-14  below the first line",
            )


def _key_of(head: tree.Field | tree.Head) -> str:
    return head.key.text if isinstance(head, tree.Field) else head.word.text


def _cone(value: object) -> Cone | None:
    return value if isinstance(value, Cone) else None


def _with_body(tile: Tile, body: str) -> Tile:
    from dataclasses import replace

    return tile if tile.body or not body else replace(tile, body=body)
