"""The record of one batch that was weighed, and the JSON that the page at the bench hands over of it.

There are three versions of it. The second tells a mass that was read from one that was ticked, and keeps the times, the
planned batch and every time that it was made larger. The third says of each recipe that stood among the ingredients
which revision it was. A record of an earlier one stays that: it is written as it came, so that the log knows it again.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any, NamedTuple

from glost.errors import ValueRefusedError, refused_at
from glost.language.exact_json import check_against
from glost.weighing.rounding import exact_sum

VERSION = 3
KIND = "glost record"
"""Of the form of the data, as the schema has them."""
SCHEMAS = {1: "record-1.schema.json", 2: "record-2.schema.json", VERSION: "record.schema.json"}
"""Of the versions that are read."""
TAKEN = ("read", "ticked", "partly")
"""Where a mass comes from: off the balance, out of a tick without a figure, some of it out of each."""


class Revision(NamedTuple):
    """Where the recipe's file stood in version control: its last commit, and whether it had changed since."""

    text: str
    changed: bool


class UsedPage(NamedTuple):
    """A recipe that stood among the ingredients, or in one that did: its kind and name as an ingredient has them, its
    file, and the revision of that, None where none was known."""

    kind: str
    name: str
    file: str
    revision: Revision | None

    @property
    def told(self) -> str:
        """As it is printed: glaze "Clear Ebb" at 1a2b3c4, changed since."""
        named = f'{self.kind} "{self.name}"'
        if self.revision is None:
            return f"{named}, revision not known"
        return f"{named} at {self.revision.text}{', changed since' if self.revision.changed else ''}"


@dataclass(frozen=True, slots=True)
class Line:
    """One material. ``material`` is its name in the catalogue, ``name`` as the recipe writes it. Masses are grams,
    dry; ``actual_g`` None: no weighed mass was written down. ``planned_g``: what the sheet asked for, None in a record
    of version 1. ``taken``: see TAKEN; "" where nobody knows. ``at``: when the last of it was taken, ISO 8601; ""
    likewise."""

    material: str
    name: str
    base: bool
    target_g: Decimal
    actual_g: Decimal | None
    lot: str
    balance: str
    planned_g: Decimal | None = None
    taken: str = ""
    at: str = ""


class Rescued(NamedTuple):
    """Too much of a line went in, and the targets were changed for it. ``at``: when, ISO 8601. ``target_g`` was asked
    for of it, ``actual_g`` went in, ``base_mass_g`` is the base from then on."""

    at: str
    material: str
    target_g: Decimal
    actual_g: Decimal
    base_mass_g: Decimal


@dataclass(frozen=True, slots=True)
class Record:
    """One batch. ``recorded_at`` is ISO 8601 with the offset, as it was made. ``test`` is "" for the recipe as it
    stands; texts that were left empty are "". Masses are grams; ``base_mass_g`` is that of the base, and
    ``water_g`` None where no water was written down. ``weighed_on`` is the day of weighing, "" where it is not known,
    and ``planned_base_g`` what the base was planned as, None in a record of version 1, which has no ``rescues``
    either. ``uses``: the recipes among the ingredients, none in a record of version 1 or 2."""

    recorded_at: str
    person: str
    project: str
    recipe: str
    test: str
    file: str
    revision: Revision | None
    base_mass_g: Decimal
    lines: tuple[Line, ...]
    water_g: Decimal | None
    sieve: str
    remarks: str
    checked_by: str
    version: int = 1
    weighed_on: str = ""
    planned_base_g: Decimal | None = None
    rescues: tuple[Rescued, ...] = ()
    uses: tuple[UsedPage, ...] = ()

    @property
    def day(self) -> date:
        """The day of weighing by the clock at the bench; that of the record where no other is known."""
        return date.fromisoformat(self.weighed_on or self.recorded_at[:10])

    @property
    def moment(self) -> str:
        """When it was weighed, as far as is known: the time of the first line, else the day, else when it was recorded.
        Such as 2026-03-14T16:05:00, by the clock at the bench."""
        times = sorted((line.at for line in self.lines if line.at), key=datetime.fromisoformat)
        if times:
            return times[0][:19]
        if self.weighed_on and self.weighed_on != self.recorded_at[:10]:
            return f"{self.weighed_on}T00:00:00"
        return self.recorded_at[:19]

    @property
    def planned_mass_g(self) -> Decimal:
        """What the sheet asked for of all lines together."""
        return exact_sum(line.target_g if line.planned_g is None else line.planned_g for line in self.lines)

    @property
    def total_mass_g(self) -> Decimal:
        """The targets of all lines together."""
        return exact_sum(line.target_g for line in self.lines)

    @property
    def total_actual_g(self) -> Decimal | None:
        """What was weighed of all lines together; None where one of them has no mass."""
        weighed = [line.actual_g for line in self.lines if line.actual_g is not None]
        return exact_sum(weighed) if len(weighed) == len(self.lines) else None


def record_from(value: Any) -> Record:
    """The record in a value that was read from JSON. Raises ValueError that says where it
    differs from the schema, or where its sums do not fit, and how to fix it."""
    version = value.get("version", VERSION) if isinstance(value, dict) else VERSION
    if isinstance(version, bool) or not isinstance(version, int | Decimal) or version not in SCHEMAS:
        raise ValueRefusedError(
            "version: this is not a record of a version that is read here",
            f"the versions {', '.join(map(str, SCHEMAS))} are read; a newer glost may read it",
        )
    check_against(SCHEMAS[int(version)], value)
    return _checked(value)


def _checked(value: Mapping[str, Any]) -> Record:
    """The record in a value that the schema has passed. Raises ValueError for what the schema cannot say."""
    revision, batch = value["revision"], value["batch"]
    version = int(value["version"])
    planned = value.get("planned")
    record = Record(
        recorded_at=read_moment(value["recorded_at"]),
        person=value["person"],
        project=value["project"],
        recipe=value["recipe"],
        test=value["test"],
        file=value["file"],
        revision=_revision(revision),
        base_mass_g=_mass(batch["base_mass_g"], "batch.base_mass_g"),
        lines=tuple(_line(one, f"lines[{at}]") for at, one in enumerate(value["lines"])),
        water_g=_mass_or_none(value["water_g"], "water_g"),
        sieve=value["sieve"],
        remarks=value["remarks"],
        checked_by=value["checked_by"],
        version=version,
        weighed_on=_day(value.get("weighed_on") or ""),
        planned_base_g=None if planned is None else _mass(planned["base_mass_g"], "planned.base_mass_g"),
        rescues=tuple(_rescued(one, f"rescues[{at}]") for at, one in enumerate(value.get("rescues", ()))),
        uses=tuple(
            UsedPage(one["kind"], one["name"], one["file"], _revision(one["revision"]))
            for one in value.get("uses", ())
        ),
    )
    if planned is not None:
        asked_for = _mass(planned["total_mass_g"], "planned.total_mass_g")
        if asked_for != record.planned_mass_g:
            raise ValueRefusedError(
                f"planned.total_mass_g: {asked_for:f} stands here, and the planned masses of the lines add up to"
                f" {record.planned_mass_g:f}",
                "save the record anew from the page",
            )
    total = _mass(batch["total_mass_g"], "batch.total_mass_g")
    if total != record.total_mass_g:
        raise ValueRefusedError(
            f"batch.total_mass_g: {total:f} stands here, and the targets of the lines add up to"
            f" {record.total_mass_g:f}",
            "save the record anew from the page",
        )
    actual = _mass_or_none(value["total_actual_g"], "total_actual_g")
    if actual != record.total_actual_g:
        asked = "null" if record.total_actual_g is None else f"{record.total_actual_g:f}"
        said = "null" if actual is None else f"{actual:f}"
        raise ValueRefusedError(
            f"total_actual_g: {said} stands here, and the weighed masses of the lines make it {asked}",
            "save the record anew from the page",
        )
    return record


def data(record: Record) -> dict[str, Any]:
    """A record as the schema of its version has it. Masses are Decimals."""
    revision, second = record.revision, record.version != 1
    return {
        "version": record.version,
        "kind": KIND,
        "recorded_at": record.recorded_at,
        **({"weighed_on": record.weighed_on or None} if second else {}),
        "person": record.person,
        "project": record.project,
        "recipe": record.recipe,
        "test": record.test,
        "file": record.file,
        "revision": _revision_data(revision),
        **({"uses": [_used_data(one) for one in record.uses]} if record.version > 2 else {}),
        "batch": {"base_mass_g": record.base_mass_g, "total_mass_g": record.total_mass_g},
        **(_planned(record) if second else {}),
        "lines": [_line_data(line, second) for line in record.lines],
        "water_g": record.water_g,
        "sieve": record.sieve,
        "remarks": record.remarks,
        "checked_by": record.checked_by,
        "total_actual_g": record.total_actual_g,
    }


def _revision(value: Mapping[str, Any] | None) -> Revision | None:
    return None if value is None else Revision(value["text"], value["changed"])


def _revision_data(revision: Revision | None) -> dict[str, Any] | None:
    return None if revision is None else {"text": revision.text, "changed": revision.changed}


def _used_data(one: UsedPage) -> dict[str, Any]:
    return {"kind": one.kind, "name": one.name, "file": one.file, "revision": _revision_data(one.revision)}


def _planned(record: Record) -> dict[str, Any]:
    return {
        "planned": {"base_mass_g": record.planned_base_g, "total_mass_g": record.planned_mass_g},
        "rescues": [one._asdict() for one in record.rescues],
    }


def _line_data(line: Line, second: bool) -> dict[str, Any]:
    return {
        "material": line.material,
        "name": line.name,
        "base": line.base,
        **({"planned_g": line.planned_g} if second else {}),
        "target_g": line.target_g,
        "actual_g": line.actual_g,
        **({"taken": line.taken or None, "at": line.at or None} if second else {}),
        "lot": line.lot,
        "balance": line.balance,
    }


_MOMENT = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(?:\.[0-9]{1,9})?(?:Z|[+-][0-9]{2}:[0-9]{2})"
)


def read_moment(text: str, path: str = "recorded_at") -> str:
    """A date and a time with its offset, once it is known to be one. Raises ValueError that names the path."""
    try:
        if _MOMENT.fullmatch(text) is None:
            raise ValueError
        datetime.fromisoformat(text)
    except ValueError:
        raise ValueRefusedError(
            f"{path}: '{text[:40]}' is no date and time with its offset",
            "write such as 2026-03-14T16:05:00+01:00",
        ) from None
    return text


def read_day(text: str) -> str:
    """A day such as 2026-03-14, once it is known to be one. Raises ValueError."""
    try:
        if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text) is None:
            raise ValueError
        date.fromisoformat(text)
    except ValueError:
        raise ValueRefusedError(f"'{text[:40]}' is no day", "write such as 2026-03-14") from None
    return text


def _day(text: str) -> str:
    try:
        return read_day(text) if text else ""
    except ValueError as error:
        raise refused_at("weighed_on", error) from None


def _rescued(value: Mapping[str, Any], path: str) -> Rescued:
    return Rescued(
        at=read_moment(value["at"], f"{path}.at"),
        material=value["material"],
        target_g=_mass(value["target_g"], f"{path}.target_g"),
        actual_g=_mass(value["actual_g"], f"{path}.actual_g"),
        base_mass_g=_mass(value["base_mass_g"], f"{path}.base_mass_g"),
    )


def _line(value: Mapping[str, Any], path: str) -> Line:
    actual = _mass_or_none(value["actual_g"], f"{path}.actual_g")
    taken = value.get("taken") or ""
    if taken and actual is None:
        raise ValueRefusedError(
            f"{path}.taken: '{taken}' stands here, and no mass was taken", "write null for either or for none"
        )
    return Line(
        material=value["material"],
        name=value["name"],
        base=value["base"],
        target_g=_mass(value["target_g"], f"{path}.target_g"),
        actual_g=actual,
        lot=value["lot"],
        balance=value["balance"],
        planned_g=_mass(value["planned_g"], f"{path}.planned_g") if "planned_g" in value else None,
        taken=taken,
        at=read_moment(value["at"], f"{path}.at") if value.get("at") else "",
    )


def _mass_or_none(number: Decimal | None, path: str) -> Decimal | None:
    return None if number is None else _mass(number, path)


_MASS = re.compile(r"[0-9]{1,12}(?:\.[0-9]{1,9})?")


def _mass(number: Decimal, path: str) -> Decimal:
    # Looked at before it is written out: 1E-999999 would fill the memory with zeros.
    if number and (number >= 10**12 or number < Decimal("1e-9")):
        raise ValueRefusedError(
            f"{path}: {number} is no mass that can be weighed", "write grams with at most 9 decimals"
        )
    if not number:
        return Decimal(0)
    try:
        return read_mass(f"{number:f}")
    except ValueError as error:
        raise refused_at(path, error) from None


def read_mass(text: str) -> Decimal:
    """Grams as plain figures, at most 12 before the point and 9 behind it, with every digit kept. Raises
    ValueRefusedError."""
    if _MASS.fullmatch(text) is None:
        raise ValueRefusedError(
            f"'{text[:40]}' is no mass",
            "write grams as figures with a decimal point, with at most 9 decimals",
        )
    return Decimal(text)
