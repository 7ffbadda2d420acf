"""Many tests at one go: numbered cups, what to fetch, the order of the jars, and the care that all of it asks for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Final, NamedTuple

from glost.errors import ValueRefusedError
from glost.output.batch.amount import BaseMass, amount_of
from glost.output.batch.character import colouring, toxic
from glost.output.batch_sheet import BatchSheet, Caution, Hazards, Note, batch_sheet, hazards_of
from glost.output.format import Attention, Job
from glost.recipe.recipe import Part, Test
from glost.recipe.safety.cautions import KILN_CAUTION
from glost.weighing.balance import ASSUMED_BALANCE, Balance
from glost.weighing.batch import Line
from glost.weighing.session import MARGIN, Cup, Opening, Planned, Pull, Session, SharedBase, session

TOXIC: Final = "toxic"
COLOURS: Final = "colours strongly"
UNKNOWN: Final = "not in the catalogue"


class Numbered(NamedTuple):
    """One cup on the bench. number: from 1. name: recipe and test, and the file where two would read the same. sets:
    what the test sets, "" for the recipe itself. twin: the number of an earlier cup of the very same mix, or 0. job:
    what the sheet was made of."""

    number: int
    name: str
    file: str
    test: Test
    sheet: BatchSheet
    planned: Planned
    twin: int
    sets: str
    job: Job

    @property
    def said(self) -> str:
        """The name with what the test sets."""
        return f"{self.name}: {self.sets}" if self.sets else self.name

    @property
    def vessels(self) -> int:
        """How many vessels it is weighed into, 1 for the cup itself; 0 where nothing carries it."""
        plan = self.planned.plan
        return (len(plan.vessels) or 1) if plan.carried else 0


class Jar(NamedTuple):
    """One material to fetch and to open once. also: other names that the recipes write. why_last: why it stands at
    the end, in words; empty where nothing is on record, which does not mean no harm."""

    opening: Opening
    pull: Pull
    also: tuple[str, ...]
    why_last: tuple[str, ...]

    @property
    def known(self) -> bool:
        """Whether the catalogue holds it."""
        return UNKNOWN not in self.why_last

    @property
    def toxic(self) -> bool:
        """Whether a hazard on record says so; of a material that is not known, nobody can say."""
        return TOXIC in self.why_last


class Said(NamedTuple):
    """A handling note, and the recipe that says it; "" for one of the house."""

    note: Note
    recipe: str


@dataclass(frozen=True, slots=True)
class BenchSession:
    """The plan for all cups. jars: in the order in which they are opened. shared: bases that take fewer weighings
    mixed once, and costly: those that more than one cup has but that save none. balances: those to set out.
    sieves: each, "" for a recipe that names none, with its cups. water_g: for the cups that say how much; open_water:
    numbers of the others. largest_g: what the fullest cup holds, dry. crowded: numbers of the cups that their balance
    does not carry at once: those take several vessels, see Numbered.vessels. numbers: those of the cups, by name.
    margin: a fraction. attention: the errors on the pages, each with its file. on_hand: grams of what was counted, by
    material; None where the collection counts nothing."""

    batch_g: Decimal | None
    margin: Decimal
    tolerance: Decimal
    plan: Session
    cups: tuple[Numbered, ...]
    numbers: Mapping[str, int]
    jars: tuple[Jar, ...]
    shared: tuple[SharedBase, ...]
    costly: tuple[SharedBase, ...]
    balances: tuple[Balance, ...]
    assumed: bool
    sieves: tuple[tuple[str, tuple[int, ...]], ...]
    water_g: Decimal | None
    open_water: tuple[int, ...]
    largest_g: Decimal
    crowded: tuple[int, ...]
    cautions: tuple[Caution, ...]
    handling: tuple[Said, ...]
    hazards: Hazards
    attention: tuple[tuple[str, Attention], ...] = ()
    on_hand: Mapping[str, Decimal] | None = None

    @property
    def short(self) -> tuple[Jar, ...]:
        """Jars that hold less than is to be fetched, as far as they were counted."""
        held = self.on_hand or {}
        return tuple(
            jar
            for jar in self.jars
            if jar.pull.material in held and held[jar.pull.material] < jar.pull.with_margin_g
        )

    def number_of(self, label: str) -> int:
        """The number of the cup of that label."""
        return self.numbers[label]

    def cup_of(self, label: str) -> Numbered:
        """The cup of that label."""
        return self.cups[self.numbers[label] - 1]

    def outside(self, cup: Numbered) -> tuple[str, ...]:
        """Materials of a cup whose line is out of tolerance."""
        return tuple(line.material for line in cup.planned.plan.lines if not line.within)


def bench_session(
    work: Sequence[tuple[Job, Test]],
    batch_g: Decimal | None = None,
    margin: Decimal = MARGIN,
    on_hand: Mapping[str, Decimal] | None = None,
) -> BenchSession:
    """The plan for these tests, which are of one collection.

    batch_g: grams of base in every cup, None for each recipe's own batch. margin: what to fetch beyond the sum of
    the sheets, a fraction. on_hand: grams of what was counted, None for no count. Raises ValueError in a potter's
    words for no test, or an empty base.
    """
    if not work:
        raise ValueRefusedError("there is no test to weigh")
    settings, catalogue = work[0][0].settings, work[0][0].catalogue
    names = _names(work)
    sheets: list[BatchSheet] = []
    cups: list[Cup] = []
    for name, (job, test) in zip(names, work, strict=True):
        try:
            base_g = amount_of(test, BaseMass(batch_g) if batch_g else None, settings, catalogue).base_g
        except ValueError as error:
            raise ValueRefusedError(f"{name}: {error}") from None
        sheet = batch_sheet(replace(job, batch_g=base_g), test)
        sheets.append(sheet)
        cups.append(Cup(name, tuple(_lines(test)), base_g, sheet.water_percent))
    parts = [part for _, test in work for part in _parts(test)]
    called = {part.called: catalogue.find(part.called) for part in parts}
    harmful = {name for name, found in called.items() if found is None or toxic(found)}
    strong = {name for name, found in called.items() if found is not None and colouring(found)}
    balances = settings.balances or (ASSUMED_BALANCE,)
    plan = session(cups, balances, settings.weighing_tolerance, harmful, strong, margin)
    written: dict[str, dict[str, None]] = {}
    for part in parts:
        if part.name.casefold() != part.called.casefold():
            written.setdefault(part.called, {})[part.name] = None
    numbered = _numbered(names, work, sheets, plan)
    shared = tuple(one for one in plan.shared if one.weighings_saved > 0)
    plans = [*(one.plan for one in plan.by_cup), *(one.mix for one in shared)]
    used = {line.balance for one in plans for line in one.lines if line.balance and line.exact_g}
    sieves: dict[str, list[int]] = {}
    for cup in numbered:
        sieves.setdefault(cup.sheet.sieve, []).append(cup.number)
    return BenchSession(
        batch_g=batch_g,
        margin=margin,
        tolerance=settings.weighing_tolerance,
        plan=plan,
        cups=numbered,
        numbers={cup.name: cup.number for cup in numbered},
        jars=tuple(
            Jar(
                opening,
                pull,
                tuple(written.get(opening.material, {})),
                _why_last(opening, called[opening.material] is None),
            )
            for opening, pull in zip(plan.by_material, plan.pull, strict=True)
        ),
        shared=shared,
        costly=tuple(one for one in plan.shared if one.weighings_saved <= 0),
        balances=tuple(balance for balance in balances if balance in used),
        assumed=not settings.balances,
        sieves=tuple((sieve, tuple(numbers)) for sieve, numbers in sieves.items()),
        water_g=plan.water_g,
        open_water=tuple(cup.number for cup in numbered if cup.planned.water_g is None),
        largest_g=max(cup.planned.plan.total_target_g for cup in numbered),
        crowded=tuple(cup.number for cup in numbered if cup.vessels != 1),
        cautions=_cautions(sheets),
        handling=_handling(sheets),
        hazards=hazards_of({found.name if found else name: found for name, found in called.items()}),
        attention=tuple(dict.fromkeys((job.file, error) for job, _ in work for error in job.attention)),
        on_hand=on_hand,
    )


def numbers(those: Iterable[int]) -> str:
    """Cups by number, runs shortened: "1 to 4, 7"."""
    runs: list[list[int]] = []
    for number in those:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs)


def _names(work: Sequence[tuple[Job, Test]]) -> list[str]:
    """A name for every cup, no two alike."""
    plain = [test.name for _, test in work]
    with_file = [
        f"{name} ({job.file})" if plain.count(name) > 1 else name
        for name, (job, _) in zip(plain, work, strict=True)
    ]
    met: dict[str, int] = {}
    names: list[str] = []
    for name in with_file:
        met[name] = met.get(name, 0) + 1
        names.append(name if with_file.count(name) == 1 else f"{name} [{met[name]}]")
    return names


def _parts(test: Test) -> list[Part]:
    return [part for part in (*test.base, *test.additions) if part.parts]


def _lines(test: Test) -> Iterable[Line]:
    """As the batch sheet plans them, so that the figures are those of the sheet."""
    yield from (Line(part.called, part.parts, True, part.note, part.fraction) for part in test.base)
    yield from (
        Line(part.called, part.parts, False, part.note, part.fraction)
        for part in test.additions
        if part.parts
    )


def _numbered(
    names: Sequence[str], work: Sequence[tuple[Job, Test]], sheets: Sequence[BatchSheet], plan: Session
) -> tuple[Numbered, ...]:
    first: dict[frozenset[tuple[str, bool, Fraction]], int] = {}
    found: list[Numbered] = []
    for number, (name, (job, test), sheet, planned) in enumerate(
        zip(names, work, sheets, plan.by_cup, strict=True), 1
    ):
        earlier = first.setdefault(_mix(test), number)
        twin = earlier if earlier != number else 0
        found.append(Numbered(number, name, job.file, test, sheet, planned, twin, sheet.sets, job))
    return tuple(found)


def _mix(test: Test) -> frozenset[tuple[str, bool, Fraction]]:
    """What is in a test, as shares of its base."""
    sums: dict[tuple[str, bool], Fraction] = {}
    for parts, base in ((test.base, True), (test.additions, False)):
        for part in parts:
            if part.parts:
                share = part.exact / test.base_exact
                sums[part.called, base] = sums.get((part.called, base), Fraction(0)) + share
    return frozenset((name, base, share) for (name, base), share in sums.items())


def _why_last(opening: Opening, unknown: bool) -> tuple[str, ...]:
    why = [UNKNOWN] if unknown else [TOXIC] if opening.toxic else []
    return (*why, *([COLOURS] if opening.colouring else []))


# ---- care ------------------------------------------------------------------------------------------------


def _cautions(sheets: Sequence[BatchSheet]) -> tuple[Caution, ...]:
    """Each caution once, with all materials that call for it; what is about the kiln and the ware stands last, as on
    a sheet."""
    bench: dict[str, dict[str, None]] = {}
    ware: dict[str, dict[str, None]] = {}
    for sheet in sheets:
        at = next(
            (at for at, one in enumerate(sheet.cautions) if one.text == KILN_CAUTION), len(sheet.cautions)
        )
        for part, into in ((sheet.cautions[:at], bench), (sheet.cautions[at:], ware)):
            for one in part:
                into.setdefault(one.text, {}).update(dict.fromkeys(one.materials))
    return tuple(Caution(text, tuple(names)) for into in (bench, ware) for text, names in into.items())


def _handling(sheets: Sequence[BatchSheet]) -> tuple[Said, ...]:
    """Every note once, those of recipes first."""
    notes = dict.fromkeys(
        Said(note, "" if note.house else sheet.recipe) for sheet in sheets for note in sheet.handling
    )
    return tuple(sorted(notes, key=lambda said: said.note.house))
