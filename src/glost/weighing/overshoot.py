"""Too much of a line has gone in: what to do, short of picking powder out of the cup again.

Nothing ever comes out. What the balance cannot show is nothing that went wrong (see standing). Else the excess is
within tolerance and is left, or the batch is made larger: to the smallest one in which the line that got too
much is right, what else is in is topped up, and what is left gets new targets. Top-ups and targets stand on the
divisions of the plan; where rounding to them would put a line out of tolerance, the batch is made as much larger
as it takes (a line of a few divisions may need that).

A line that rounding puts out of tolerance in the plan itself is no reason to make more: it is listed with its
error, and ``within`` is False for it, as it was before.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from glost.errors import ValueRefusedError
from glost.weighing.balance import Balance, check_tolerance, relative_error
from glost.weighing.batch import Plan, Weighing
from glost.weighing.rounding import check_finite, count_of, exact_sum, multiple, to_decimal
from glost.weighing.standing import shows

_MOST_TRIES: Final = 20_000


@dataclass(frozen=True, slots=True)
class Step:
    """One material from here on. Masses in grams.

    in_g: what is in the cup. add_g: what to add, on division_g of the balance (None where none is known), 0
    where nothing is. final_g: their sum. exact_g: what the batch calls for. running_total_g: what the cup holds
    when this is in; what was in at the start counts from the first step on. error: |final - exact| / exact, a
    fraction. within: whether that is within the tolerance and the balance can weigh it.
    """

    material: str
    in_g: Decimal
    add_g: Decimal
    final_g: Decimal
    exact_g: Fraction
    running_total_g: Decimal
    balance: Balance | None
    division_g: Decimal
    error: Decimal
    within: bool


@dataclass(frozen=True, slots=True)
class Rescue:
    """What to do. Masses in grams.

    over: the materials of which more is in than the plan asks for, as far as the balance shows it. too_much: those of
    them that are out of tolerance. leave: the batch stays as planned; with
    nothing over that is simply to carry on. base_mass_g: mass of base from here on, factor times the planned
    one (to 28 figures). in_g: what is in the cup. total_g: what the cup holds in the end. steps: one a material,
    in the order of the plan; those with add_g above 0 are still to be weighed. error: the largest of the steps.
    under_capacity: whether cup and batch stay within the capacity of the main balance, None where none is known.
    """

    over: tuple[str, ...]
    too_much: tuple[str, ...]
    leave: bool
    base_mass_g: Decimal
    factor: Decimal
    in_g: Decimal
    total_g: Decimal
    steps: tuple[Step, ...]
    error: Decimal
    under_capacity: bool | None

    @property
    def within(self) -> bool:
        return all(step.within for step in self.steps)


@dataclass(frozen=True, slots=True)
class _Wanted:
    """One material: mass per mass of base, planned mass of base, what is in, the plan's target, how more of it
    can be added, and whether the plan brings it within tolerance."""

    material: str
    share: Fraction
    start: Fraction
    inside: Decimal
    target: Decimal
    balance: Balance | None
    division: Decimal
    hopeful: bool

    def least(self) -> int:
        """The fewest divisions that can be added: the minimum of the balance rules out less."""
        minimum = self.balance.minimum_g if self.balance is not None else None
        return 1 if minimum is None else max(1, -(-Fraction(minimum) // Fraction(self.division)))

    def steps_for(self, base: Fraction) -> int:
        """How many divisions to add, never below 0: at the planned mass of base what the plan's own target
        takes, where that can be reached, else what comes nearest to the line's share, half to even."""
        exact = self.share * base
        if base == self.start and self.inside and self.done:
            return 0
        if base == self.start and self.inside <= self.target:
            planned = count_of(Fraction(self.target) - Fraction(self.inside), self.division)
            if planned is not None and (not planned or planned >= self.least()):
                return planned
        count = max(0, round((exact - Fraction(self.inside)) / Fraction(self.division)))
        least = self.least()
        if count >= least or not count:
            return count
        missing = exact - Fraction(self.inside)
        return least if self.inside == 0 or least * Fraction(self.division) - missing < missing else 0

    @property
    def done(self) -> bool:
        """Whether the plan's target is right, and the balance shows nothing else."""
        off = Fraction(self.inside) - Fraction(self.target)
        return self.hopeful and not shows(off, self.division, self.hopeful)

    @property
    def over(self) -> bool:
        """Whether more is in than was planned, and the balance shows it."""
        return not self.done and self.inside > max(Fraction(self.target), self.share * self.start)

    def fits(self, base: Fraction, tolerance: Fraction) -> bool:
        exact = self.share * base
        if base == self.start and self.inside and self.done:
            return True
        count = self.steps_for(base)
        if not count and not self.inside:
            return exact == 0
        final = Fraction(self.inside) + count * Fraction(self.division)
        return abs(final - exact) <= tolerance * exact

    def next_base(self, base: Fraction, tolerance: Fraction) -> Fraction:
        """The least mass of base above this one at which the line fits."""
        limit = self.share * base * (1 + tolerance) - Fraction(self.inside)
        count = max(self.least(), limit // Fraction(self.division) + 1)
        return (Fraction(self.inside) + count * Fraction(self.division)) / (1 + tolerance) / self.share


def rescue(planned: Plan, inside: Mapping[str, Decimal], tolerance: Decimal) -> Rescue:
    """What to do with the cup as it is.

    inside: grams of each material that are in, by its name in the plan; what is not in is left out or 0. Lines
    of the same material count as one, at the place and on the balance of the first. tolerance: the relative
    error that a line may have, a fraction. Raises ValueError for a material that the plan does not hold or
    holds 0 parts of, a mass below 0, or a tolerance not between 0 and 1.
    """
    check_tolerance(tolerance)
    limit = Fraction(tolerance)
    wanted = _wanted(planned, inside)
    start = Fraction(planned.base_mass_g)
    over = [one for one in wanted if one.over]
    needed = [one for one in wanted if one.hopeful or one in over]
    base = start
    leave = all(one.fits(start, limit) for one in needed)
    if not leave:
        base = max([start, *(Fraction(one.inside) / one.share for one in over)])
        base = _where_all_fit(base, needed, limit)
    steps: list[Step] = []
    held = exact_sum(one.inside for one in wanted)
    cup = held
    for one in wanted:
        exact = one.share * base
        add = multiple(one.steps_for(base), one.division)
        final = exact_sum((one.inside, add))
        cup = exact_sum((cup, add))
        steps.append(
            Step(
                material=one.material,
                in_g=one.inside,
                add_g=add,
                final_g=final,
                exact_g=exact,
                running_total_g=cup,
                balance=one.balance,
                division_g=one.division,
                error=relative_error(exact, final),
                within=one.fits(base, limit),
            )
        )
    return Rescue(
        over=tuple(one.material for one in over),
        too_much=tuple(one.material for one in over if not one.fits(start, limit)),
        leave=leave,
        base_mass_g=to_decimal(base),
        factor=to_decimal(base / start),
        in_g=held,
        total_g=cup,
        steps=tuple(steps),
        error=max((step.error for step in steps), default=Decimal(0)),
        under_capacity=None if planned.main is None else planned.main.carries(cup),
    )


def _wanted(planned: Plan, inside: Mapping[str, Decimal]) -> list[_Wanted]:
    lines: dict[str, list[Weighing]] = {}
    for line in planned.lines:
        lines.setdefault(line.material, []).append(line)
    for material, mass in inside.items():
        check_finite(mass)
        if mass < 0:
            raise ValueRefusedError(f"{mass} g of '{material}' cannot be in the cup", "it is 0 g or more")
        if not mass:
            continue
        if material not in lines:
            raise ValueRefusedError(
                f"'{material}' is not in this recipe", "no larger batch makes it right; begin anew"
            )
        if all(line.exact_g == 0 for line in lines[material]):
            raise ValueRefusedError(
                f"the recipe holds 0 parts of '{material}'", "no larger batch makes it right; begin anew"
            )
    return [
        _Wanted(
            material=material,
            share=sum((line.exact_g for line in same), Fraction(0)) / Fraction(planned.base_mass_g),
            start=Fraction(planned.base_mass_g),
            inside=inside.get(material, Decimal(0)),
            target=exact_sum(line.target_g for line in same),
            balance=same[0].balance,
            division=same[0].division_g,
            hopeful=all(line.rounds_well for line in same),
        )
        for material, same in lines.items()
        if any(line.exact_g for line in same)
    ]


def _where_all_fit(base: Fraction, needed: list[_Wanted], tolerance: Fraction) -> Fraction:
    """The least mass of base, not below the one given, at which every line fits; the one given where the
    search for it does not end in reasonable time (a tolerance far below what the divisions allow)."""
    at = base
    for _ in range(_MOST_TRIES):
        misfit = [one for one in needed if not one.fits(at, tolerance)]
        if not misfit:
            return at
        # Below the next place of any misfit line nothing can fit, so the furthest of them is no leap too far.
        at = max(one.next_base(at, tolerance) for one in misfit)
    return base
