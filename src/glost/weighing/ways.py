"""The ways to weigh one batch, side by side: what each asks of the potter and what each leaves unsure.

1. Each line tared: the tare key before every line. Lines that another balance is surer of go there, as in the plan
   of the batch.
2. One running total: every line on one balance, the surest that carries the whole batch, on top of the last and never
   tared.
3. One running total, with lines tared apart: what another balance is surer of is weighed there and tipped in after the
   last line of the running total, which it would upset before.

Where the balance does not carry the batch at once, it is shared out over vessels (see vessels) in each of the ways,
each vessel with a running total of its own. Without a better balance for any line, the third way is the second.
Targets of ways 1 and 3 are those of the plan; those of way 2 are planned for one balance alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from glost.weighing.balance import Balance, best_for
from glost.weighing.batch import Line, Plan, Weighing, plan
from glost.weighing.rounding import Mass, to_decimal
from glost.weighing.uncertainty import Weighed, repeatability, total_uncertainty, uncertainties
from glost.weighing.vessels import Fill, Vessel
from glost.weighing.weighable import Flaw


class Manner(StrEnum):
    """How a batch is weighed."""

    TARED = "each line tared"
    RUNNING = "one running total"
    APART = "one running total, the others tared apart"


@dataclass(frozen=True, slots=True)
class WayLine:
    """One line in one way of weighing. Masses in grams.

    exact_g: before rounding. target_g: on division_g, that of the balance (None where none is known). tared:
    whether the balance is set to zero before it. display_g: what the display shows when the line is in, or its last
    portion; None where nothing carries it. running_total_g: what the vessel then holds, itself for a line weighed
    apart. rounding: (target - exact) / exact, a fraction with its sign. standard_g, relative: standard uncertainty of
    the mass, and as a fraction of it. weighed_parts: what the targets make of the parts, the base adding up to
    what it does in the recipe. parts_off: how far that is from the recipe, a fraction with its sign.
    parts_uncertainty: relative standard uncertainty of the parts. flaw, fills, apart: as in the plan.
    """

    material: str
    parts: Decimal
    base: bool
    note: str
    exact_g: Fraction
    balance: Balance | None
    division_g: Decimal
    target_g: Decimal
    tared: bool
    display_g: Decimal | None
    running_total_g: Decimal | None
    rounding: Decimal
    standard_g: Decimal
    relative: Decimal
    weighed_parts: Decimal
    parts_off: Decimal
    parts_uncertainty: Decimal
    flaw: Flaw | None
    fills: tuple[Fill, ...]
    apart: bool

    @property
    def within(self) -> bool:
        return self.flaw is None

    @property
    def portions(self) -> int:
        return len(self.fills)

    def display_of(self, one: Fill) -> Decimal | None:
        """What the display shows when that portion of it is in."""
        return one.target_g if self.tared and one.running_g is not None else one.running_g


@dataclass(frozen=True, slots=True)
class Way:
    """One way of weighing the batch. Masses in grams.

    total_g: all lines before rounding. base_target_g, total_target_g: sums of the targets. base_off_g,
    total_off_g: what rounding made of the base and of the whole, with its sign; 0 where it changed nothing.
    standard_g: standard uncertainty of the whole. main: the main balance; loaded_g: cup and whole batch on it;
    under_capacity: whether it carries that at once; all None where no balance is known. vessels: those that it is
    weighed into there. carried: whether that can be done. within: whether every line is.
    """

    manner: Manner
    lines: tuple[WayLine, ...]
    total_g: Decimal
    base_target_g: Decimal
    total_target_g: Decimal
    base_off_g: Decimal
    total_off_g: Decimal
    standard_g: Decimal
    main: Balance | None
    loaded_g: Decimal | None
    under_capacity: bool | None
    vessels: tuple[Vessel, ...]
    carried: bool

    @property
    def within(self) -> bool:
        return all(line.within for line in self.lines)

    @property
    def apart(self) -> tuple[WayLine, ...]:
        """The lines that are weighed on another balance than the main one."""
        return tuple(line for line in self.lines if line.apart)


def ways(
    lines: Sequence[Line],
    base_total: Mass,
    base_mass_g: Decimal,
    balances: Sequence[Balance],
    tolerance: Decimal,
) -> tuple[Way, Way, Way]:
    """The three ways in the order of Manner. Takes and raises what batch.plan does."""
    planned = plan(lines, base_total, base_mass_g, balances, tolerance)
    alone = planned
    if balances and planned.main is not None:
        one = best_for(planned.total_mass_g, balances)
        if one != planned.main or any(line.apart for line in planned.lines):
            alone = plan(lines, base_total, base_mass_g, (one,), tolerance)
    return (
        _way(Manner.TARED, planned),
        _way(Manner.RUNNING, alone),
        _way(Manner.APART, planned),
    )


def _way(manner: Manner, planned: Plan) -> Way:
    chained = [manner is not Manner.TARED and not line.apart and planned.carried for line in planned.lines]
    weighed = [_weighed(line, chains) for line, chains in zip(planned.lines, chained, strict=True)]
    exact_base = sum((line.exact_g for line in planned.lines if line.base), Fraction(0))
    exact = sum((line.exact_g for line in planned.lines), Fraction(0))
    base_parts = sum((line.exact for line in planned.lines if line.base), Fraction(0))
    # Without any base to refer to, parts cannot be told from the targets.
    per_gram = base_parts / Fraction(planned.base_target_g) if planned.base_target_g else Fraction(0)

    shown: list[WayLine] = []
    for line, chains, unsure in zip(planned.lines, chained, uncertainties(weighed), strict=True):
        last = line.fills[-1]
        parts = Fraction(line.target_g) * per_gram
        shown.append(
            WayLine(
                material=line.material,
                parts=line.parts,
                base=line.base,
                note=line.note,
                exact_g=line.exact_g,
                balance=line.balance,
                division_g=line.division_g,
                target_g=line.target_g,
                tared=not chains,
                display_g=last.running_g if chains or last.running_g is None else last.target_g,
                running_total_g=line.running_total_g,
                rounding=_off(Fraction(line.target_g), line.exact_g),
                standard_g=unsure.standard_g,
                relative=unsure.relative,
                weighed_parts=to_decimal(parts),
                parts_off=_off(parts, line.exact),
                parts_uncertainty=unsure.share,
                flaw=line.flaw,
                fills=line.fills,
                apart=line.apart,
            )
        )
    main = planned.main
    load = max(exact, Fraction(planned.total_target_g))
    return Way(
        manner=manner,
        lines=tuple(shown),
        total_g=planned.total_mass_g,
        base_target_g=planned.base_target_g,
        total_target_g=planned.total_target_g,
        base_off_g=to_decimal(Fraction(planned.base_target_g) - exact_base),
        total_off_g=to_decimal(Fraction(planned.total_target_g) - exact),
        standard_g=total_uncertainty(weighed),
        main=main,
        loaded_g=None if main is None else to_decimal(load + Fraction(main.cup_g or 0)),
        under_capacity=None if main is None else main.carries(load),
        vessels=planned.vessels,
        carried=planned.carried,
    )


def _weighed(line: Weighing, chained: bool) -> Weighed:
    return Weighed(
        line.exact_g,
        line.base,
        line.division_g,
        repeatability(line.balance, line.division_g),
        line.portions,
        chained,
        tuple(one.vessel for one in line.fills) if chained else (),
    )


def _off(actual: Fraction, asked: Fraction) -> Decimal:
    return to_decimal((actual - asked) / asked) if asked else Decimal(0)
