"""The ways to weigh one batch, side by side: what each asks of the potter and what each leaves unsure.

1. Each line tared: the tare key before every line. Lines that the main balance cannot weigh within tolerance
   go on a finer one, as in the plan of the batch.
2. One running total: every line on the main balance, on top of the last, never tared.
3. One running total, with the small lines tared apart: what the plan puts on a finer balance is weighed there
   and tipped in after the last line of the running total, which it would upset before.

Without a finer balance, or with no line that needs it, the third way is the second. Targets of ways 1 and 3
are those of the plan; those of way 2 are planned for the main balance alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from glost.weighing.balance import Balance
from glost.weighing.batch import Line, Plan, plan
from glost.weighing.rounding import exact_sum, to_decimal
from glost.weighing.uncertainty import Weighed, repeatability, total_uncertainty, uncertainties


class Manner(StrEnum):
    """How a batch is weighed."""

    TARED = "each line tared"
    RUNNING = "one running total"
    APART = "one running total, small lines tared apart"


@dataclass(frozen=True, slots=True)
class WayLine:
    """One line in one way of weighing. Masses in grams.

    exact_g: before rounding. target_g: on division_g, that of the balance (None where none is known). tared:
    whether the balance is set to zero before it. display_g: what the display shows when the line is in; for a
    line weighed in portions it is the sum. running_total_g: sum of the targets so far, on whatever balance.
    rounding: (target - exact) / exact, a fraction with its sign. standard_g, relative: standard uncertainty of
    the mass, and as a fraction of it. weighed_parts: what the targets make of the parts, the base adding up to
    what it does in the recipe. parts_off: how far that is from the recipe, a fraction with its sign.
    parts_uncertainty: relative standard uncertainty of the parts. within, portions: as in the plan.
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
    display_g: Decimal
    running_total_g: Decimal
    rounding: Decimal
    standard_g: Decimal
    relative: Decimal
    weighed_parts: Decimal
    parts_off: Decimal
    parts_uncertainty: Decimal
    within: bool
    portions: int


@dataclass(frozen=True, slots=True)
class Way:
    """One way of weighing the batch. Masses in grams.

    total_g: all lines before rounding. base_target_g, total_target_g: sums of the targets. base_off_g,
    total_off_g: what rounding made of the base and of the whole, with its sign; 0 where it changed nothing.
    standard_g: standard uncertainty of the whole. main: the main balance; loaded_g: cup and whole batch on it;
    under_capacity: whether it carries that; all None where no balance is known. within: whether every line is.
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

    @property
    def within(self) -> bool:
        return all(line.within for line in self.lines)

    @property
    def apart(self) -> tuple[WayLine, ...]:
        """The lines that are weighed on another balance than the main one."""
        return tuple(line for line in self.lines if line.balance != self.main)


def ways(
    lines: Sequence[Line],
    base_total: Decimal,
    base_mass_g: Decimal,
    balances: Sequence[Balance],
    tolerance: Decimal,
) -> tuple[Way, Way, Way]:
    """The three ways in the order of Manner. Takes and raises what batch.plan does."""
    planned = plan(lines, base_total, base_mass_g, balances, tolerance)
    alone = planned
    if planned.main is not None and any(line.balance != planned.main for line in planned.lines):
        alone = plan(lines, base_total, base_mass_g, (planned.main,), tolerance)
    return (
        _way(Manner.TARED, planned),
        _way(Manner.RUNNING, alone),
        _way(Manner.APART, planned),
    )


def _way(manner: Manner, planned: Plan) -> Way:
    chained = [
        manner is not Manner.TARED and line.balance == planned.main and line.portions == 1
        for line in planned.lines
    ]
    weighed = [
        Weighed(
            line.exact_g,
            line.base,
            line.division_g,
            repeatability(line.balance, line.division_g),
            line.portions,
            chains,
        )
        for line, chains in zip(planned.lines, chained, strict=True)
    ]
    exact_base = sum((line.exact_g for line in planned.lines if line.base), Fraction(0))
    exact = sum((line.exact_g for line in planned.lines), Fraction(0))
    base_parts = sum((Fraction(line.parts) for line in planned.lines if line.base), Fraction(0))
    # Without any base to refer to, parts cannot be told from the targets.
    per_gram = base_parts / Fraction(planned.base_target_g) if planned.base_target_g else Fraction(0)

    shown: list[WayLine] = []
    display = Decimal(0)
    for line, chains, unsure in zip(planned.lines, chained, uncertainties(weighed), strict=True):
        if chains:
            display = exact_sum((display, line.target_g))
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
                display_g=display if chains else line.target_g,
                running_total_g=line.running_total_g,
                rounding=_off(Fraction(line.target_g), line.exact_g),
                standard_g=unsure.standard_g,
                relative=unsure.relative,
                weighed_parts=to_decimal(parts),
                parts_off=_off(parts, Fraction(line.parts)),
                parts_uncertainty=unsure.share,
                within=line.within,
                portions=line.portions,
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
    )


def _off(actual: Fraction, asked: Fraction) -> Decimal:
    return to_decimal((actual - asked) / asked) if asked else Decimal(0)
