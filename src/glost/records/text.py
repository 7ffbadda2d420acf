"""A record as the plain text that the log keeps: fields, and a table of what was weighed.

Every text is read back exactly. What would be read as something else (a text with a line break, a quotation mark in
front, a sign that nobody sees) stands in double quotes with the escapes of JSON. The totals are derived; reading
works them out anew and refuses a page on which they do not fit, since somebody has then changed one figure and
forgotten another.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple

from glost.errors import FIRST, Position, ValueRefusedError
from glost.language.exact_json import loaded, written
from glost.language.nearest import nearest
from glost.language.source import DecodeError
from glost.language.width import width
from glost.records.record import (
    TAKEN,
    VERSION,
    Line,
    Record,
    Rescued,
    Revision,
    UsedPage,
    read_day,
    read_mass,
    read_moment,
)
from glost.weighing.rounding import round_to

TITLES = {version: f"glost batch record {version}" for version in range(1, VERSION + 1)}
_LONG = "remarks"
_RESCUES = "made larger"
_USES = "uses"
_BELOW = (_USES, _RESCUES, _LONG)
"""The keys whose texts may stand on several lines."""
_SECOND = ("weighed on", "planned base", _RESCUES, "planned")
"""Keys that came with the second version."""
_THIRD = (_USES,)
"""And with the third."""
KEYS = (
    "recorded",
    "weighed on",
    "weighed by",
    "checked by",
    "project",
    "recipe",
    "test",
    "file",
    "revision",
    "changed since",
    _USES,
    "planned base",
    "base",
    _RESCUES,
    "water",
    "sieve",
    _LONG,
    "planned",
    "target",
    "weighed",
)
COLUMNS = (
    "material",
    "as written",
    "part",
    "planned g",
    "target g",
    "weighed g",
    "taken",
    "at",
    "balance",
    "lot",
)
_SECOND_COLUMNS = ("planned g", "taken", "at")
_NUMBERS = frozenset({"planned g", "target g", "weighed g"})
_NO_MASS = "-"
_PARTS = {True: "base", False: "addition"}
_INDENT = "    "
_WIDEST = 40
"""Columns up to which the table is aligned; a longer cell stands out of it."""


# ---- writing -------------------------------------------------------------------------------------------


def keys_of(version: int) -> tuple[str, ...]:
    """The keys of that version, in their order."""
    later = (*(_SECOND if version < 2 else ()), *(_THIRD if version < 3 else ()))
    return tuple(key for key in KEYS if key not in later)


def columns_of(version: int) -> tuple[str, ...]:
    """The columns of that version."""
    return COLUMNS if version > 1 else tuple(name for name in COLUMNS if name not in _SECOND_COLUMNS)


class RecordError(DecodeError):
    """A file of the log that is no record as text_of writes them."""


def text_of(record: Record) -> str:
    """The record as a page. Lines end in LF."""
    revision = record.revision
    fields = {
        "recorded": record.recorded_at,
        "weighed by": shown(record.person),
        "checked by": shown(record.checked_by),
        "project": shown(record.project),
        "recipe": shown(record.recipe),
        "test": shown(record.test),
        "file": shown(record.file),
        "revision": "" if revision is None else shown(revision.text),
        "changed since": "" if revision is None else "yes" if revision.changed else "no",
        _USES: "".join(f"\n{_INDENT}{_use_text(one)}" for one in record.uses),
        "weighed on": record.weighed_on,
        "planned base": "" if record.planned_base_g is None else f"{record.planned_base_g:f} g",
        "base": f"{record.base_mass_g:f} g",
        _RESCUES: "".join(f"\n{_INDENT}{_rescue_text(one)}" for one in record.rescues),
        "planned": f"{record.planned_mass_g:f} g",
        "water": "" if record.water_g is None else f"{record.water_g:f} g",
        "sieve": shown(record.sieve),
        _LONG: _block(record.remarks),
        "target": f"{record.total_mass_g:f} g",
        "weighed": _weighed(record),
    }
    lines = [_field(key, fields[key]) for key in keys_of(record.version)]
    at = -2 if record.version == 1 else -3
    lines[at:at] = ["", *_table(record), ""]
    return "\n".join([TITLES[record.version], "", *lines, ""])


def _use_text(one: UsedPage) -> str:
    revision = one.revision
    at = (
        ""
        if revision is None
        else f" at {shown_word(revision.text)}{', changed since' if revision.changed else ''}"
    )
    return f"{one.kind} {written(one.name)}{at}: {shown(one.file)}".rstrip(" ")


def shown_word(text: str) -> str:
    """A word as it stands, or in quotes where it is more than a word."""
    return text if re.fullmatch(r"[0-9A-Za-z._-]+", text) else written(text)


def _rescue_text(one: Rescued) -> str:
    return f"{one.at}, {one.actual_g:f} g for {one.target_g:f} g, base {one.base_mass_g:f} g: {shown(one.material)}"


def _field(key: str, text: str) -> str:
    return f"{key}: {text}" if text and not text.startswith("\n") else f"{key}:{text}"


def _weighed(record: Record) -> str:
    """The actual yield and, as 21 CFR 211.188 (b)(7) asks, its percentage of the theoretical one."""
    actual, target = record.total_actual_g, record.total_mass_g
    if actual is None:
        return ""
    if not target:
        return f"{actual:f} g"
    per_cent = round_to(Fraction(actual) * 100 / Fraction(target), Decimal("0.01"))
    return f"{actual:f} g, {per_cent:f} % of the target"


def shown(text: str) -> str:
    """A text as it stands, or in quotes where it would not be read back so, or steer a terminal."""
    return text if not text or _plain(text) else written(text)


def _plain(text: str) -> bool:
    return text.isprintable() and text == text.strip(" ") and not text.startswith('"')


def _block(text: str) -> str:
    """A text of several lines stands indented below its key, if each line can stand as it is."""
    lines = text.split("\n")
    if len(lines) > 1 and all(line and _plain(line) for line in lines):
        return "".join(f"\n{_INDENT}{line}" for line in lines)
    return shown(text)


def _table(record: Record) -> list[str]:
    names = columns_of(record.version)
    rows = [[cells[name] for name in names] for cells in map(_cells_of, record.lines)]
    columns = [min(max(map(width, column)), _WIDEST) for column in zip(names, *rows, strict=True)]
    ruled = [
        f"{'-' * (size - 1)}{':' if name in _NUMBERS else '-'}"
        for name, size in zip(names, columns, strict=True)
    ]
    return [
        _row(names, names, columns),
        _row(names, ruled, columns),
        *(_row(names, row, columns) for row in rows),
    ]


def _cells_of(line: Line) -> dict[str, str]:
    return {
        "material": _cell(line.material),
        "as written": "" if line.name == line.material else _cell(line.name),
        "part": _PARTS[line.base],
        "planned g": _NO_MASS if line.planned_g is None else f"{line.planned_g:f}",
        "target g": f"{line.target_g:f}",
        "weighed g": _NO_MASS if line.actual_g is None else f"{line.actual_g:f}",
        "taken": line.taken,
        "at": line.at,
        "balance": _cell(line.balance),
        "lot": _cell(line.lot),
    }


def _cell(text: str) -> str:
    return written(text) if "|" in text else shown(text)


def _row(names: Sequence[str], cells: Sequence[str], columns: Sequence[int]) -> str:
    padded = []
    for name, cell, size in zip(names, cells, columns, strict=True):
        blanks = " " * (size - width(cell))
        padded.append(blanks + cell if name in _NUMBERS else cell + blanks)
    return f"| {' | '.join(padded)} |"


# ---- reading -------------------------------------------------------------------------------------------


class _Said(NamedTuple):
    """What stands behind a key: the line's number, the text, and the indented lines below it."""

    line: int
    text: str
    below: list[str]


def record_of(text: str) -> Record:
    """The record on a page. Keys may stand in any order, blanks anywhere around a cell, and lines may end in CR LF,
    as git writes them on some systems. Raises RecordError that names the line and says how to fix it."""
    lines = [line.removesuffix("\r") for line in text.removeprefix("\ufeff").split("\n")]
    version = next((number for number, title in TITLES.items() if lines[0].rstrip(" ") == title), 0)
    if not version:
        raise RecordError(
            "this is no batch record that is known here",
            f"the first line of one is  {TITLES[VERSION]}",
            FIRST,
        )
    said, rows = _parted(lines, keys_of(version))
    for key in keys_of(version):
        if key not in said:
            raise RecordError(
                f"'{key}' is missing", f"write a line  {key}:  with nothing behind it if need be"
            )
    record = Record(
        recorded_at=_moment(said["recorded"]),
        person=_text(said["weighed by"]),
        project=_text(said["project"]),
        recipe=_text(said["recipe"]),
        test=_text(said["test"]),
        file=_text(said["file"]),
        revision=_revision(said),
        base_mass_g=_grams(said["base"]),
        lines=_lines(rows, columns_of(version)),
        water_g=_grams(said["water"]) if said["water"].text else None,
        sieve=_text(said["sieve"]),
        remarks=_text(said[_LONG]),
        checked_by=_text(said["checked by"]),
        version=version,
        **(_second(said) if version > 1 else {}),
        uses=_uses(said[_USES]) if _USES in said else (),
    )
    _check_totals(record, said)
    return record


def _second(said: Mapping[str, _Said]) -> dict[str, Any]:
    """What only the second version says."""
    day = said["weighed on"]
    try:
        weighed_on = read_day(day.text) if day.text else ""
    except ValueRefusedError as error:
        raise _refusal(day.line, error.message, error.hint) from None
    return {
        "weighed_on": weighed_on,
        "planned_base_g": _grams(said["planned base"]),
        "rescues": tuple(_rescue_of(said[_RESCUES], number) for number in range(len(said[_RESCUES].below))),
    }


_QUOTED = r'"(?:[^"\\]|\\.)*+"'
_USE = re.compile(
    rf"(?P<kind>[a-z]{{1,40}}) (?P<name>{_QUOTED})"
    rf"(?: at (?P<revision>[0-9A-Za-z._-]++|{_QUOTED})(?P<changed>, changed since)?)?: ?(?P<file>.*+)"
)


def _uses(said: _Said) -> tuple[UsedPage, ...]:
    return tuple(_use_of(text, said.line + 1 + at) for at, text in enumerate(said.below))


def _use_of(text: str, line: int) -> UsedPage:
    found = _USE.fullmatch(text)
    if found is None:
        raise _refusal(
            line,
            "this line does not say which recipe was used",
            'write such as  glaze "Clear Ebb" at 1a2b3c4: stoneware/clear-ebb.glost',
        )
    name = _unquoted(found["name"], line)
    if not name:
        raise _refusal(line, "this line names no recipe", "write its name in the quotes")
    revision = found["revision"] and _unquoted(found["revision"], line)
    if revision == "":
        raise _refusal(line, "this line names no revision", "write it, or take  at  away")
    at = None if revision is None else Revision(revision, found["changed"] is not None)
    return UsedPage(found["kind"], name, _unquoted(found["file"], line), at)


_RESCUE = re.compile(
    r"(?P<at>[^ ,]++), (?P<actual>[0-9.]++) g for (?P<target>[0-9.]++) g, base (?P<base>[0-9.]++) g: (?P<material>.++)"
)


def _rescue_of(said: _Said, number: int) -> Rescued:
    line = said.line + 1 + number
    found = _RESCUE.fullmatch(said.below[number])
    if found is None:
        raise _refusal(
            line,
            "this line does not say how the batch was made larger",
            "write such as  2026-03-14T10:22:05+01:00, 36.50 g for 32.00 g, base 228.125 g: kaolin",
        )
    try:
        at = read_moment(found["at"])
    except ValueError:
        raise _no_moment(line, found["at"]) from None
    material = _unquoted(found["material"], line)
    target, actual, base = (_mass(found[name], line) for name in ("target", "actual", "base"))
    return Rescued(at, material, target, actual, base)


def _parted(lines: Sequence[str], keys: Sequence[str]) -> tuple[dict[str, _Said], list[tuple[int, str]]]:
    """The fields of a page by key, and the rows of its table with their line numbers."""
    said: dict[str, _Said] = {}
    rows: list[tuple[int, str]] = []
    last: _Said | None = None
    for number, line in enumerate(lines[1:], 2):
        if not line.strip(" "):
            last = None
        elif line.startswith("|"):
            rows.append((number, line))
            last = None
        elif line.startswith(" "):
            if last is None or last.text or not any(last is said.get(key) for key in _BELOW):
                raise _refusal(
                    number,
                    "an indented line stands here",
                    f"take the blanks away; only  {':  '.join(_BELOW[:-1])}:  and  {_LONG}:  have lines below them",
                )
            last.below.append(line.strip(" "))
        else:
            key, colon, rest = line.partition(":")
            if not colon or key not in keys:
                near = nearest(key, keys, 1)
                meant = f"did you mean '{near[0]}'? " if near else ""
                raise _refusal(
                    number,
                    f"'{key[:40]}' is no key of a batch record",
                    f"{meant}the keys are: {', '.join(keys)}",
                )
            if key in said:
                raise _refusal(number, f"'{key}' stands here a second time", "keep one of the two lines")
            last = said[key] = _Said(number, rest.strip(" "), [])
    return said, rows


def _text(said: _Said) -> str:
    if said.below:
        return "\n".join(said.below)
    return _unquoted(said.text, said.line)


def _unquoted(text: str, line: int) -> str:
    if not text.startswith('"'):
        return text
    try:
        value = loaded(text)
    except ValueError:
        value = None
    if not isinstance(value, str):
        raise _refusal(
            line,
            "a text begins with a double quotation mark, and is not closed or escaped as in JSON",
            'write the whole text in double quotes, and  \\"  for one inside it',
        )
    return value


def _moment(said: _Said) -> str:
    try:
        return read_moment(said.text)
    except ValueError:
        raise _no_moment(said.line, said.text) from None


def _no_moment(line: int, text: str) -> RecordError:
    return _refusal(
        line,
        f"'{text[:40]}' is no date and time with its offset",
        "write such as 2026-03-14T16:05:00+01:00",
    )


def _revision(said: Mapping[str, _Said]) -> Revision | None:
    text, changed = said["revision"], said["changed since"]
    if changed.text not in (("yes", "no") if text.text else ("",)):
        raise _refusal(
            changed.line,
            "'changed since' does not go with 'revision'",
            "write yes or no where a revision is named, and nothing where none is",
        )
    return Revision(_text(text), changed.text == "yes") if text.text else None


def _grams(said: _Said) -> Decimal:
    return _mass(said.text.removesuffix("g").rstrip(" ") if said.text.endswith("g") else said.text, said.line)


def _mass(text: str, line: int) -> Decimal:
    try:
        return read_mass(text)
    except ValueRefusedError as error:
        raise _refusal(line, error.message, error.hint) from None


# A cell in quotes may hold the sign that parts cells; no expression here goes back over what it has read.
_CELL = re.compile(r' *+(?P<cell>"(?:[^"\\]|\\.)*+"|[^"| ][^|]*+|) *+(?:\||(?P<open>))')


def _lines(rows: Sequence[tuple[int, str]], names: Sequence[str]) -> tuple[Line, ...]:
    if len(rows) < 3:
        at = Position(rows[-1][0], 1) if rows else FIRST
        raise RecordError(
            "the table of what was weighed is missing, or holds no line", "take it back from the history", at
        )
    head = _cells(*rows[0], len(names))
    if tuple(head) != tuple(names):
        raise _refusal(
            rows[0][0],
            "the head of the table is not that of a batch record",
            f"write | {' | '.join(names)} |",
        )
    if any(cell.strip("-:") or not cell for cell in _cells(*rows[1], len(names))):
        raise _refusal(
            rows[1][0], "the second line of the table is not a rule", f"write |{'---|' * len(names)}"
        )
    if rows[-1][0] - rows[0][0] != len(rows) - 1:
        raise _refusal(rows[-1][0], "the table falls into two", "put its lines together")
    return tuple(
        _line(number, dict(zip(names, _cells(number, row, len(names)), strict=True)))
        for number, row in rows[2:]
    )


def _cells(number: int, row: str, count: int) -> list[str]:
    cells = []
    at = 1
    row = row.rstrip(" ")
    while at < len(row):
        found = _CELL.match(row, at)
        if found is None or found["open"] is not None:
            raise _refusal(
                number,
                "a cell of this line is not closed",
                "end it with  |  and put a text that holds one in double quotes",
            )
        cells.append(found["cell"].rstrip(" "))
        at = found.end()
    if len(cells) != count:
        raise _refusal(
            number,
            f"{len(cells)} cells stand on this line of the table and {count} in its head",
            "put a text that holds  |  in double quotes",
        )
    return cells


def _line(number: int, cells: Mapping[str, str]) -> Line:
    part, actual = cells["part"], cells["weighed g"]
    if part not in _PARTS.values():
        raise _refusal(number, f"'{part[:40]}' is no part of a batch", "write base or addition")
    material = _unquoted(cells["material"], number)
    if not material:
        raise _refusal(number, "this line names no material", "write it in the first cell")
    taken, at = cells.get("taken", ""), cells.get("at", "")
    if taken and (taken not in TAKEN or actual == _NO_MASS):
        raise _refusal(
            number,
            f"'{taken[:40]}' does not say where a mass comes from",
            f"write {', '.join(TAKEN)}, or nothing; nothing too where no mass was weighed",
        )
    if at:
        try:
            read_moment(at)
        except ValueError:
            raise _no_moment(number, at) from None
    return Line(
        material=material,
        name=_unquoted(cells["as written"], number) or material,
        base=part == _PARTS[True],
        target_g=_mass(cells["target g"], number),
        actual_g=None if actual == _NO_MASS else _mass(actual, number),
        lot=_unquoted(cells["lot"], number),
        balance=_unquoted(cells["balance"], number),
        planned_g=_mass(cells["planned g"], number) if "planned g" in cells else None,
        taken=taken,
        at=at,
    )


def _check_totals(record: Record, said: Mapping[str, _Said]) -> None:
    if record.version > 1 and _grams(said["planned"]) != record.planned_mass_g:
        raise _refusal(
            said["planned"].line,
            f"{said['planned'].text[:40]} was planned as this says, and the planned masses of the lines add up to"
            f" {record.planned_mass_g:f} g",
            "correct the one that is wrong",
        )
    if _grams(said["target"]) != record.total_mass_g:
        raise _refusal(
            said["target"].line,
            f"the target is given as {said['target'].text[:40]}, and those of the lines add up to"
            f" {record.total_mass_g:f} g",
            "correct the one that is wrong",
        )
    line, text = said["weighed"].line, said["weighed"].text
    mass, comma, _ = text.partition(",")
    given = _grams(_Said(line, mass, [])) if text else None
    if given != record.total_actual_g or (comma and text != _weighed(record)):
        asked = _weighed(record) or "nothing, since a line has no weighed mass"
        raise _refusal(line, f"what was weighed does not fit the lines, which make it {asked}", "correct it")


def _refusal(line: int, message: str, hint: str) -> RecordError:
    return RecordError(message, hint, Position(line, 1))
