"""What was used over a time, out of the records of the log: sums that are exact, and what is known of the hazards.

A weighed mass counts where one was written down. Where none was, the target of the line counts as planned and is
kept apart: the page does not say whether that line was weighed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Literal, NamedTuple

from glost.recipe.materials.catalogue import Catalogue, Material, key
from glost.recipe.safety.statements import plain_text
from glost.records.prices import Bill, Costs, Found, bill_of, used_g
from glost.records.record import Line, Record
from glost.weighing.rounding import exact_sum

By = Literal["material", "person", "project", "recipe"]
BY: tuple[By, ...] = ("material", "person", "project", "recipe")


class Asked(NamedTuple):
    """What is asked for: a period with both of its days, a way to group, one person, one project; None is any."""

    start: date | None = None
    end: date | None = None
    by: By = "material"
    person: str | None = None
    project: str | None = None


class Amount(NamedTuple):
    """Grams weighed, grams that were only planned, how many batches they went into, and out of which lots."""

    weighed_g: Decimal
    planned_g: Decimal
    batches: int
    lots: tuple[str, ...]


class Row(NamedTuple):
    """What was used of one material by one person, for one project, in one recipe, or altogether: then ``group`` is
    the material once more. ``bill``: what it cost, where that was asked for."""

    group: str
    material: str
    amount: Amount
    bill: Bill | None = None


class Hazardous(NamedTuple):
    """A material with hazard statements on record: how much of it was used, by whom, and where the statements
    stand. ``statements`` are codes with their official text."""

    material: str
    amount: Amount
    people: tuple[str, ...]
    statements: tuple[tuple[str, str], ...]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Usage:
    """The answer. ``unknown`` are materials that no catalogue holds, ``silent`` those without a statement on
    record. ``bills``: what each group cost, where that was asked for; "" is all, where groups are materials."""

    asked: Asked
    records: int
    rows: tuple[Row, ...]
    hazardous: tuple[Hazardous, ...]
    unknown: tuple[str, ...]
    silent: tuple[str, ...]
    bills: tuple[tuple[str, Bill], ...] = ()

    @property
    def hazardous_names(self) -> frozenset[str]:
        return frozenset(entry.material for entry in self.hazardous)


@dataclass(slots=True)
class _Sum:
    """An amount that is being gathered."""

    weighed: list[Decimal] = field(default_factory=list)
    planned: list[Decimal] = field(default_factory=list)
    batches: set[int] = field(default_factory=set)
    lots: dict[str, None] = field(default_factory=dict)
    people: dict[str, str] = field(default_factory=dict)

    def add(self, batch: int, person: str, line: Line) -> None:
        if line.actual_g is None:
            self.planned.append(line.target_g)
        else:
            self.weighed.append(line.actual_g)
        self.batches.add(batch)
        self.people.setdefault(key(person), person)
        if line.lot:
            self.lots[line.lot] = None

    def amount(self) -> Amount:
        return Amount(exact_sum(self.weighed), exact_sum(self.planned), len(self.batches), tuple(self.lots))


def usage(
    records: Iterable[tuple[Record, Catalogue]],
    asked: Asked,
    price_of: Callable[[Record, Line], Found | None] | None = None,
) -> Usage:
    """What the records say of it; each comes with the catalogue of its collection. Names of people, projects and
    recipes are taken as one where they differ in letter case or in blanks only; the first spelling is shown.
    ``price_of``: the price of a line, where it is asked what all of it cost."""
    chosen = sorted(
        ((record, catalogue) for record, catalogue in records if is_meant(record, asked)),
        key=lambda pair: pair[0].recorded_at,
    )
    group_of = _GROUPS[asked.by]
    shown: dict[str, str] = {}
    sums: dict[tuple[str, str], _Sum] = {}
    altogether: dict[str, _Sum] = {}
    rows_cost: dict[tuple[str, str], Costs] = {}
    groups_cost: dict[str, Costs] = {}
    known: dict[str, Material | None] = {}
    for batch, (record, catalogue) in enumerate(chosen):
        for line in record.lines:
            if not used_g(line):
                continue  # nothing was used of it
            material = catalogue.find(line.material)
            name = material.name if material else line.material
            if known.get(name) is None:
                known[name] = material
            group = name if group_of is None else group_of(record)
            shown.setdefault(key(group), group)
            sums.setdefault((key(group), name), _Sum()).add(batch, record.person, line)
            altogether.setdefault(name, _Sum()).add(batch, record.person, line)
            if price_of is not None:
                found, grams = price_of(record, line), used_g(line)
                rows_cost.setdefault((key(group), name), Costs()).add(name, grams, found)
                whole = "" if group_of is None else key(group)
                groups_cost.setdefault(whole, Costs()).add(name, grams, found)
    rows = (
        Row(shown[group], name, total.amount(), bill_of(rows_cost.get((group, name))))
        for (group, name), total in sums.items()
    )
    listed = {name: material for name, material in sorted(known.items()) if material and material.statements}
    return Usage(
        asked=asked,
        records=len(chosen),
        rows=tuple(sorted(rows, key=lambda row: (key(row.group), key(row.material)))),
        hazardous=tuple(_hazardous(material, altogether[name]) for name, material in listed.items()),
        unknown=tuple(sorted(name for name, material in known.items() if material is None)),
        silent=tuple(
            sorted(name for name, material in known.items() if material and not material.statements)
        ),
        bills=tuple((shown.get(group, group), costs.bill()) for group, costs in sorted(groups_cost.items())),
    )


_GROUPS: Mapping[By, Callable[[Record], str] | None] = {
    "material": None,
    "person": lambda record: record.person,
    "project": lambda record: record.project,
    "recipe": lambda record: record.recipe,
}


def is_meant(record: Record, asked: Asked) -> bool:
    """Whether a record is among those that are asked for."""
    return (
        (asked.start is None or record.day >= asked.start)
        and (asked.end is None or record.day <= asked.end)
        and (asked.person is None or key(record.person) == key(asked.person))
        and (asked.project is None or key(record.project) == key(asked.project))
    )


def _hazardous(material: Material, total: _Sum) -> Hazardous:
    return Hazardous(
        material.name,
        total.amount(),
        tuple(sorted(total.people.values(), key=key)),
        tuple((code, plain_text(code, material.detail_of(code)) or "") for code in material.statements),
        tuple(
            f"{hazard.cited} (studio)" if hazard.standing == "studio" else hazard.cited
            for hazard in material.hazards
        ),
    )
