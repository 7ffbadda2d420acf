"""The record of one batch that was weighed, and the JSON that the page at the bench saves of it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any, NamedTuple

from glost.errors import ValueRefusedError, refused_at
from glost.language.exact_json import check_against, loaded
from glost.weighing.rounding import exact_sum

SCHEMA = "record.schema.json"
VERSION = 1
KIND = "glost record"
"""Of the form of the data, as the schema has them."""


class Revision(NamedTuple):
    """Where the recipe's file stood in version control: its last commit, and whether it had changed since."""

    text: str
    changed: bool


@dataclass(frozen=True, slots=True)
class Line:
    """One material. ``material`` is its name in the catalogue, ``name`` as the recipe writes it. Masses are grams,
    dry; ``actual_g`` None: no weighed mass was written down."""

    material: str
    name: str
    base: bool
    target_g: Decimal
    actual_g: Decimal | None
    lot: str
    balance: str


@dataclass(frozen=True, slots=True)
class Record:
    """One batch. ``recorded_at`` is ISO 8601 with the offset, as it was saved. ``test`` is "" for the recipe as it
    stands; texts that were left empty are "". Masses are grams; ``base_mass_g`` is that of the base, and
    ``water_g`` None where no water was written down."""

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

    @property
    def day(self) -> date:
        """The date that the wall at the bench showed."""
        return date.fromisoformat(self.recorded_at[:10])

    @property
    def total_mass_g(self) -> Decimal:
        """The targets of all lines together."""
        return exact_sum(line.target_g for line in self.lines)

    @property
    def total_actual_g(self) -> Decimal | None:
        """What was weighed of all lines together; None where one of them has no mass."""
        weighed = [line.actual_g for line in self.lines if line.actual_g is not None]
        return exact_sum(weighed) if len(weighed) == len(self.lines) else None


def record_from_json(text: str) -> Record:
    """The record in a JSON text. Raises ValueError that says where it differs from the schema, or where its sums do
    not fit, and how to fix it."""
    value = loaded(text)
    check_against(SCHEMA, value)
    return record_from(value)


def record_from(value: Mapping[str, Any]) -> Record:
    """The record in a value that the schema has passed. Raises ValueError for what the schema cannot say."""
    revision, batch = value["revision"], value["batch"]
    record = Record(
        recorded_at=read_moment(value["recorded_at"]),
        person=value["person"],
        project=value["project"],
        recipe=value["recipe"],
        test=value["test"],
        file=value["file"],
        revision=None if revision is None else Revision(revision["text"], revision["changed"]),
        base_mass_g=_mass(batch["base_mass_g"], "batch.base_mass_g"),
        lines=tuple(_line(one, f"lines[{at}]") for at, one in enumerate(value["lines"])),
        water_g=_mass_or_none(value["water_g"], "water_g"),
        sieve=value["sieve"],
        remarks=value["remarks"],
        checked_by=value["checked_by"],
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
    """A record as the schema has it. Masses are Decimals."""
    revision = record.revision
    return {
        "version": VERSION,
        "kind": KIND,
        "recorded_at": record.recorded_at,
        "person": record.person,
        "project": record.project,
        "recipe": record.recipe,
        "test": record.test,
        "file": record.file,
        "revision": None if revision is None else {"text": revision.text, "changed": revision.changed},
        "batch": {"base_mass_g": record.base_mass_g, "total_mass_g": record.total_mass_g},
        "lines": [
            {
                "material": line.material,
                "name": line.name,
                "base": line.base,
                "target_g": line.target_g,
                "actual_g": line.actual_g,
                "lot": line.lot,
                "balance": line.balance,
            }
            for line in record.lines
        ],
        "water_g": record.water_g,
        "sieve": record.sieve,
        "remarks": record.remarks,
        "checked_by": record.checked_by,
        "total_actual_g": record.total_actual_g,
    }


_MOMENT = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(?:\.[0-9]{1,9})?(?:Z|[+-][0-9]{2}:[0-9]{2})"
)


def read_moment(text: str) -> str:
    """A date and a time with its offset, once it is known to be one. Raises ValueError."""
    try:
        if _MOMENT.fullmatch(text) is None:
            raise ValueError
        datetime.fromisoformat(text)
    except ValueError:
        raise ValueRefusedError(
            f"recorded_at: '{text[:40]}' is no date and time with its offset",
            "write such as 2026-03-14T16:05:00+01:00",
        ) from None
    return text


def _line(value: Mapping[str, Any], path: str) -> Line:
    return Line(
        material=value["material"],
        name=value["name"],
        base=value["base"],
        target_g=_mass(value["target_g"], f"{path}.target_g"),
        actual_g=_mass_or_none(value["actual_g"], f"{path}.actual_g"),
        lot=value["lot"],
        balance=value["balance"],
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
