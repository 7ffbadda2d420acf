"""The plan of one test at the bench: three ways to weigh it, which of them to take, and what helps where a line is
too small to weigh.

The way taken, unless one is asked for, is the one that leaves fewest lines that cannot be weighed within tolerance;
among those the one whose lines are surest (least sum of their squared relative uncertainties: readability,
repeatability and the readings before and after each, see weighing.uncertainty); among those the one that leaves the
mass of the whole batch surest; among those the one with the fewest presses of the tare key. A way that nothing
carries is taken last.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from glost.errors import ValueRefusedError
from glost.language.nearest import nearest
from glost.output.batch.amount import Amount, Asked, BaseMass, amount_of
from glost.output.batch.character import fit_to_carry
from glost.output.batch.figures import to_places
from glost.output.batch_sheet import BatchSheet, batch_sheet, carrying_said
from glost.output.format import Attention, Job
from glost.recipe.recipe import Part, Test
from glost.recipe.settings import Settings
from glost.weighing.balance import ASSUMED_BALANCE, Balance, smallest_mass
from glost.weighing.batch import Line, Plan, plan
from glost.weighing.premix import NoPremix, Premix, premixes
from glost.weighing.rounding import significant
from glost.weighing.ways import Manner, Way, WayLine, ways
from glost.weighing.weighable import best_place

WAYS: Final = MappingProxyType({"tared": Manner.TARED, "running": Manner.RUNNING, "apart": Manner.APART})
"""The ways by the word they are asked for with."""
WORDS: Final = MappingProxyType({manner: word for word, manner in WAYS.items()})

_DUST: Final = Decimal("1e-15")
_DIVISIONS: Final = tuple(Decimal(f"{step}e{power}") for power in range(1, -5, -1) for step in (5, 2, 1))
"""Grams: the divisions that balances are made with, 1, 2 or 5 times a power of ten (OIML R 76, from memory)."""


@dataclass(frozen=True, slots=True)
class Finer:
    """A balance that would weigh a line within tolerance. division_g: its division at the most. ``there``: the
    studio's own that will do, the coarsest of them; None where it has none."""

    division_g: Decimal
    there: Balance | None


@dataclass(frozen=True, slots=True)
class Help:
    """What helps with a line that is out of tolerance. smallest_batch_g: grams of base from which on it is within,
    None where no batch is. finer: None where no usual division will do. premix: the mix, or why there is none."""

    smallest_batch_g: Decimal | None
    finer: Finer | None
    premix: Premix | NoPremix


@dataclass(frozen=True, slots=True)
class BenchLine:
    """One line in the way that is taken. part: as the recipe has it. help: None for a line within tolerance, or
    one that nothing carries."""

    part: Part
    way: WayLine
    help: Help | None


@dataclass(frozen=True, slots=True)
class BenchPlan:
    """One test. ways: in the order of Manner; way: the one taken. lines: its lines, base first. sheet: the batch
    sheet for the same base and the same balances, for its handling notes. balances: what it was planned with;
    ``assumed`` where the collection lists none. tolerance: a fraction.
    attention: the errors on the page."""

    file: str
    test: Test
    amount: Amount
    ways: tuple[Way, Way, Way]
    way: Way
    lines: tuple[BenchLine, ...]
    sheet: BatchSheet
    balances: tuple[Balance, ...]
    assumed: bool
    tolerance: Decimal
    attention: tuple[Attention, ...] = ()

    @property
    def outside(self) -> tuple[BenchLine, ...]:
        """The lines that are too small to weigh within tolerance, and can be helped."""
        return tuple(line for line in self.lines if line.help is not None)


def balance_named(settings: Settings, name: str) -> Balance:
    """The balance of that name. Raises ValueError, which names those there are, where there is none."""
    for balance in settings.balances:
        if balance.name == name:
            return balance
    if not settings.balances:
        raise ValueRefusedError(f"no balance is called '{name}'", "glost.yaml lists none here")
    names = [balance.name for balance in settings.balances]
    near = nearest(name, names, 1)
    meant = f"did you mean '{near[0]}'? " if near else ""
    raise ValueRefusedError(f"no balance is called '{name}'", f"{meant}There are: {', '.join(names)}")


def bench_plan(
    job: Job, test: Test, asked: Asked, manner: Manner | None = None, balance: str | None = None
) -> BenchPlan:
    """The plan of one test. manner: the way to take, None to choose one. balance: the name of the only balance to
    use. Raises ValueError for a balance that is not there, and as amount_of does."""
    settings = job.settings
    if balance is not None:
        settings = replace(settings, balances=(balance_named(settings, balance),))
    amount = amount_of(test, asked, settings, job.catalogue)
    balances = settings.balances or (ASSUMED_BALANCE,)
    tolerance = settings.weighing_tolerance
    parts = [(part, True) for part in test.base] + [(part, False) for part in test.additions if part.parts]
    lines = [Line(part.called, part.parts, base, part.note, part.fraction) for part, base in parts]
    three = ways(lines, test.base_exact, amount.base_g, balances, tolerance)
    way = next(one for one in three if one.manner is manner) if manner else best_way(three)
    taken = balances
    if way.manner is Manner.RUNNING and way.main is not None:
        taken = (way.main,)
    planned = plan(lines, test.base_exact, amount.base_g, taken, tolerance)
    sheet = batch_sheet(replace(job, settings=settings, batch_g=amount.base_g), test)
    unfit = [part.called for part, _ in parts if not fit_to_carry(part.called, job.catalogue)]
    studio = job.settings.balances or (ASSUMED_BALANCE,)
    helps = _helps(planned, taken, studio, tolerance, unfit)
    return BenchPlan(
        file=job.file,
        test=test,
        amount=amount,
        ways=three,
        way=way,
        lines=tuple(
            BenchLine(part, line, helps.get(at))
            for at, ((part, _), line) in enumerate(zip(parts, way.lines, strict=True))
        ),
        sheet=sheet,
        balances=balances,
        assumed=not settings.balances,
        tolerance=tolerance,
        attention=job.attention,
    )


def tarings(way: Way) -> int:
    """How often the tare key is pressed: once a tared line or portion, once for each running total."""
    tared = sum(line.portions for line in way.lines if line.tared and line.target_g)
    return tared + len({one.vessel for line in way.lines if not line.tared for one in line.fills})


def best_way(three: Iterable[Way]) -> Way:
    """The one to take (see the head of this module), the first among equals."""
    return min(
        three,
        key=lambda way: (
            not way.carried,
            sum(not line.within for line in way.lines),
            sum(Fraction(line.relative) ** 2 for line in way.lines),
            way.standard_g,
            tarings(way),
        ),
    )


def _helps(
    planned: Plan,
    balances: Sequence[Balance],
    studio: Sequence[Balance],
    tolerance: Decimal,
    unfit: list[str],
) -> dict[int, Help]:
    """By the place of the line in the plan."""
    return {
        mix.at: Help(
            planned.lines[mix.at].smallest_batch_g,
            _finer(planned.lines[mix.at].exact_g, planned.lines[mix.at].division_g, studio, tolerance),
            mix,
        )
        for mix in premixes(planned, balances, tolerance, unfit)
    }


def _finer(exact: Fraction, division: Decimal, studio: Sequence[Balance], tolerance: Decimal) -> Finer | None:
    needed = next(
        (step for step in _DIVISIONS if step < division and smallest_mass(step, tolerance) <= exact), None
    )
    if needed is None:
        return None
    able = [
        balance
        for balance in studio
        if balance.readability_g < division and best_place(exact, (balance,), tolerance).flaw is None
    ]
    there = max(able, key=lambda balance: balance.readability_g, default=None)
    return Finer(there.readability_g if there else needed, there)


def remarks(made: BenchPlan) -> Iterable[str]:
    """What rounding made of base and whole, and what no balance carries at once, in a potter's words. Rounding never
    changes a mass that was asked for without a word here."""
    way = made.way
    by_base = made.amount.asked is None or isinstance(made.amount.asked, BaseMass)
    if by_base and settled(way.base_off_g):
        yield _rounding("base", way.base_target_g, way.base_off_g, made.amount.base_g)
    if settled(way.total_off_g):
        yield _rounding("whole batch", way.total_target_g, way.total_off_g, way.total_g)
    yield from carrying_said(way)


def settled(mass: Decimal) -> Decimal:
    """``mass`` without what is left over in its last figures where a base of 28 figures was taken for one that does
    not end."""
    near = to_places(mass, 12)
    return near if abs(mass - near) < _DUST else mass


def _rounding(what: str, target: Decimal, off: Decimal, exact: Decimal) -> str:
    more = "more" if off > 0 else "less"
    return (
        f"Rounding makes the {what} {target:f} g: {significant(abs(off)):f} g {more} than the"
        f" {to_places(exact, 4):f} g that the recipe comes to."
    )
