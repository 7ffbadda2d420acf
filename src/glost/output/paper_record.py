"""The record of a batch that was weighed from a printed sheet: what is asked for line by line, and what a small table
of the answers holds."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, NamedTuple

from glost.errors import ValueRefusedError
from glost.language.csv_cells import bare
from glost.output import format as formats
from glost.output.batch_sheet import BatchSheet
from glost.output.format import Job
from glost.output.off_target import off_target
from glost.recipe.materials.catalogue import key
from glost.records.record import VERSION, Line, Record, Revision, UsedPage, read_mass
from glost.weighing.batch import Weighing
from glost.weighing.rounding import exact_sum

COLUMNS: Final = ("material", "weighed_g", "lot", "balance")
"""Of the table; the first two must be there."""
TICKED: Final = "ticked"
"""What stands for a mass where the sheet has a tick and no figure."""
MEANT: Final = "meant"
"""What stands behind a mass that is far from its target and no slip."""
MOST_TEXT: Final = 4000


class Cell(NamedTuple):
    """Where a cell stands in its table; lines and columns count from 1, the end is exclusive. ``text``: its line."""

    line: int
    column: int
    end: int
    text: str


class Asked(NamedTuple):
    """One line of the sheet: the name as the recipe writes it, that of the catalogue, and the target in grams."""

    name: str
    material: str
    base: bool
    target_g: Decimal
    balance: str
    line: Weighing
    tolerance: Decimal

    def doubt(self, answer: Answer) -> str:
        """What stands against an answer, in words; "" for one that is as asked for, ticked, or said to be meant."""
        if answer.mass_g is None or not answer.read or answer.meant:
            return ""
        return off_target(self.line, answer.mass_g, self.tolerance)


class Answer(NamedTuple):
    """What the sheet says of a line. ``mass_g`` None: nothing was weighed. ``read``: a figure stands there, no tick.
    ``meant``: it is said with it that it is no slip. ``at``: where the mass stands in the table."""

    mass_g: Decimal | None
    read: bool
    lot: str = ""
    balance: str | None = None
    meant: bool = False
    at: Cell | None = None


@dataclass(frozen=True, slots=True)
class Said:
    """What else stands on the sheet. ``recorded_at``: now, ISO 8601 with the offset; ``day``: of weighing."""

    recorded_at: str
    day: str
    person: str = ""
    project: str = ""
    water_g: Decimal | None = None
    sieve: str = ""
    remarks: str = ""
    checked_by: str = ""


def asked_of(job: Job, sheet: BatchSheet) -> list[Asked]:
    """The lines of a sheet; portions of one line are one. Raises ValueError where nothing can be weighed."""
    if sheet.plan is None:
        raise ValueRefusedError(
            f"{sheet.name} has an empty base: there is nothing to record", "write its base"
        )
    names = [line.name for line in (*sheet.base, *sheet.additions) if line.portion == 1]
    listed = bool(job.settings.balances)
    return [
        Asked(
            name,
            line.material,
            line.base,
            line.target_g,
            line.balance.name if line.balance and listed else "",
            line,
            job.settings.weighing_tolerance,
        )
        for name, line in zip(names, sheet.plan.lines, strict=True)
    ]


def answer_of(text: str, asked: Asked) -> Answer:
    """What somebody wrote for a mass: nothing or "ticked" for the target, "-" for none, else grams, with a point or a
    comma, and "meant" behind them where they are far from the target and no slip. Raises ValueError."""
    plain = text.strip()
    if plain in ("", TICKED):
        return Answer(asked.target_g, read=False)
    if plain == "-":
        return Answer(None, read=False)
    bare_mass = plain.removesuffix(MEANT).rstrip()
    figure = bare_mass.removesuffix("g").rstrip().replace(",", ".")
    return Answer(read_mass(figure), read=True, meant=bare_mass != plain)


def record_of(job: Job, sheet: BatchSheet, answers: Sequence[Answer], said: Said) -> Record:
    """The record of the sheet as it was filled in."""
    assert sheet.plan is not None
    lines = [
        Line(
            material=asked.material,
            name=asked.name,
            base=asked.base,
            target_g=asked.target_g,
            actual_g=answer.mass_g,
            lot=answer.lot,
            balance=asked.balance if answer.balance is None else answer.balance,
            planned_g=asked.target_g,
            taken="" if answer.mass_g is None else "read" if answer.read else "ticked",
        )
        for asked, answer in zip(asked_of(job, sheet), answers, strict=True)
    ]
    return Record(
        recorded_at=said.recorded_at,
        person=said.person,
        project=said.project,
        recipe=sheet.recipe,
        test=sheet.label,
        file=job.file,
        revision=_recorded(job.revision),
        base_mass_g=exact_sum([sheet.plan.base_mass_g]),
        lines=tuple(lines),
        water_g=said.water_g,
        sieve=said.sieve or sheet.sieve,
        remarks=said.remarks,
        checked_by=said.checked_by,
        version=VERSION,
        weighed_on=said.day,
        planned_base_g=exact_sum([sheet.plan.base_mass_g]),
        uses=tuple(UsedPage(one.kind, one.name, one.file, _recorded(one.revision)) for one in sheet.uses),
    )


def _recorded(revision: formats.Revision | None) -> Revision | None:
    return Revision(revision.text, revision.changed) if revision and revision.known else None


# ---- the table -------------------------------------------------------------------------------------------


def answers_in(text: str, asked: Sequence[Asked]) -> list[Answer]:
    """The answers in a table (RFC 4180, or with semicolons): a row for each line of the sheet, in any order. Raises
    ValueError that names the line."""
    rows = _rows(text.removeprefix("\ufeff"))
    left: dict[str, list[int]] = {}
    for at, one in enumerate(asked):
        left.setdefault(key(one.name), []).append(at)
    found: dict[int, Answer] = {}
    for number, row, cell in rows:
        name = bare(row["material"].strip())
        places = left.get(key(name))
        if not places:
            known = ", ".join(one.name for one in asked)
            raise _refused(
                number,
                f"the sheet has no{' further' if places == [] else ''} line of '{name[:40]}'",
                f"it has: {known}",
            )
        at = places.pop(0)
        found[at] = _answer(number, row, asked[at])._replace(at=cell)
    missing = [one.name for at, one in enumerate(asked) if at not in found]
    if missing:
        raise ValueRefusedError(
            f"no row for {', '.join(missing)}",
            f"write one; {TICKED} for a tick without a figure, - for nothing weighed",
        )
    return [found[at] for at in range(len(asked))]


def _answer(number: int, row: Mapping[str, str], asked: Asked) -> Answer:
    mass = bare(row["weighed_g"].strip())
    if not mass:
        raise _refused(
            number, f"{asked.name} has no mass", f"write grams, {TICKED} for a tick, or - for nothing weighed"
        )
    try:
        answer = answer_of(mass, asked)
    except ValueRefusedError as error:
        raise _refused(number, error.message, error.hint) from None
    lot, balance = (bare(row.get(name, "").strip())[:MOST_TEXT] for name in ("lot", "balance"))
    return answer._replace(lot=lot, balance=balance or None)


def _rows(text: str) -> Iterable[tuple[int, dict[str, str], Cell]]:
    """The rows with the number of their line and the place of their mass."""
    lines = [line.rstrip("\r") for line in text.split("\n")]
    parted = ";" if ";" in text.split("\n", 1)[0] else ","
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=parted, strict=True)
    try:
        names = [cell.strip().casefold() for cell in next(reader, [])]
        wrong = [name for name in names if name not in COLUMNS]
        if wrong or len(set(names)) != len(names) or not {"material", "weighed_g"} <= set(names):
            raise _refused(1, "the head of this table is another one", f"write {','.join(COLUMNS)}")
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            if len(cells) > len(names):
                raise _refused(
                    reader.line_num,
                    f"{len(cells)} cells stand on this line and {len(names)} in the head",
                    "put a text or a figure with a comma in double quotes",
                )
            row = dict(zip(names, (*cells, *[""] * len(names)), strict=False))
            line = lines[reader.line_num - 1] if reader.line_num <= len(lines) else ""
            yield reader.line_num, row, _cell(reader.line_num, line, parted, names.index("weighed_g"))
    except csv.Error as error:
        raise _refused(
            reader.line_num, f"this is no row of a table: {error}", "close what is in quotes"
        ) from None


def _cell(number: int, line: str, parted: str, at: int) -> Cell:
    """The place of a cell on its line, without the blanks about it; the whole line where a cell of it began before."""
    starts, quoted = [0], False
    for offset, character in enumerate(line):
        quoted ^= character == '"'
        if character == parted and not quoted:
            starts.append(offset + 1)
    if at >= len(starts) or quoted:
        return Cell(number, 1, len(line) + 1, line)
    end = starts[at + 1] - 1 if at + 1 < len(starts) else len(line)
    cell = line[starts[at] : end]
    before = starts[at] + len(cell) - len(cell.lstrip())
    return Cell(number, before + 1, before + 1 + len(cell.strip()), line)


def _refused(line: int, message: str, hint: str) -> ValueRefusedError:
    return ValueRefusedError(f"line {line}: {message}", hint)
