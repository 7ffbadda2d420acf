"""A premix for a line that is too small to weigh: grind it with a material the recipe holds anyway.

So many grams of the small material are ground with so many of a carrier; of that mix so much is taken as
brings the small line, and the carrier's own line is weighed less by what the mix brings of it. Everything is
weighed on a division of a balance, and what the small line and the carrier then come to is worked out exactly.

How a mix is found, in this order: the largest base line first that may be a carrier; the finest balance first;
one in 2, 3, 4, 5, 10, 20, 25, 50, 100 parts first, then any whole number up to 100, the strongest first. The
first mix is taken in which the small material, and what is taken of the mix, are each enough to be weighed
within tolerance wherever their mass lies between two divisions, in which the small line and the carrier both come
out within tolerance, and which is sure to the tolerance in all. It holds a tenth more than is taken, for what stays
in the mortar, and up to half as much again where that makes its strength sure enough (figures chosen here).

The arithmetic takes the mix as even throughout, which grinding has to bring about. A mix is to be labelled and
handled as the more harmful of its two materials.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Final

from glost.errors import ValueRefusedError
from glost.weighing.balance import Balance, check_tolerance, reading_variance, smallest_mass
from glost.weighing.batch import Plan, Weighing
from glost.weighing.rounding import exact_sum, multiple, round_to, round_up_to, to_decimal
from glost.weighing.uncertainty import repeatability, square_root
from glost.weighing.weighable import DEFAULT_DIVISION, Flaw

MOST_PARTS: Final = 100
"""The weakest mix that is proposed, one part in so many: beyond it far more is mixed than is used."""

_HANDY: Final = (2, 3, 4, 5, 10, 20, 25, 50, 100)
_SPARE: Final = Fraction(11, 10)
_TIMES: Final = (Fraction(1), Fraction(5, 4), Fraction(3, 2))


@dataclass(frozen=True, slots=True)
class Premix:
    """A mix to make, and what to weigh with it. Masses in grams; those that are Decimal stand on a division.

    material: the small line, exact_g its mass before rounding. carrier: the material it is ground with. one_in:
    the mix holds one part of the material in so many. small_g and with_g: what is ground together; mix_g: their
    sum; take_g: what goes into the batch. brings_g, brings_carrier_g: what that holds of either, exact.
    balance, division_g: for these weighings (None and 0.01 g where no balance is known). carrier_target_g: what
    to weigh of the carrier besides the mix (all mixes that share it counted), on carrier_division_g.
    carrier_less_g: by how much that is less than in the plan. error, carrier_error: |brought - exact| / exact
    of both lines, fractions within the tolerance.
    uncertainty: relative standard uncertainty of the small line from weighing, in an even mix.
    """

    material: str
    carrier: str
    at: int
    carrier_at: int
    one_in: int
    exact_g: Fraction
    small_g: Decimal
    with_g: Decimal
    mix_g: Decimal
    take_g: Decimal
    brings_g: Fraction
    brings_carrier_g: Fraction
    balance: Balance | None
    division_g: Decimal
    carrier_target_g: Decimal
    carrier_less_g: Decimal
    carrier_division_g: Decimal
    error: Decimal
    carrier_error: Decimal
    uncertainty: Decimal

    @property
    def left_over_g(self) -> Decimal:
        """What is left of the mix, in grams."""
        return exact_sum((self.mix_g, self.take_g.copy_negate()))


@dataclass(frozen=True, slots=True)
class NoPremix:
    """A line that no mix makes weighable; ``why`` says so in a potter's words, and what to do instead."""

    material: str
    at: int
    why: str


def premixes(
    planned: Plan, balances: Sequence[Balance], tolerance: Decimal, unfit: Collection[str] = ()
) -> tuple[Premix | NoPremix, ...]:
    """A premix for each line of the plan that is too small to be within tolerance, in the order of the plan.

    balances, tolerance: as the plan was made with. unfit: materials that may not be a carrier, such as toxic,
    soluble or strongly colouring ones. Mixes that share a carrier all state the same carrier_target_g, which
    allows for every one of them. Raises ValueError for a tolerance not between 0 and 1.
    """
    taken: dict[int, Fraction] = {}
    found: list[Premix | NoPremix] = []
    for at, line in enumerate(planned.lines):
        if line.within or line.exact_g == 0 or line.flaw is Flaw.CARRIED:
            continue
        mix = premix(planned, at, balances, tolerance, unfit, taken)
        if isinstance(mix, Premix):
            taken[mix.carrier_at] = taken.get(mix.carrier_at, Fraction(0)) + mix.brings_carrier_g
        found.append(mix)
    last = {mix.carrier_at: mix for mix in found if isinstance(mix, Premix)}
    return tuple(
        mix
        if isinstance(mix, NoPremix)
        else replace(
            mix,
            carrier_target_g=last[mix.carrier_at].carrier_target_g,
            carrier_less_g=last[mix.carrier_at].carrier_less_g,
            carrier_error=last[mix.carrier_at].carrier_error,
        )
        for mix in found
    )


def premix(
    planned: Plan,
    at: int,
    balances: Sequence[Balance],
    tolerance: Decimal,
    unfit: Collection[str] = (),
    taken: Mapping[int, Fraction] | None = None,
) -> Premix | NoPremix:
    """A premix for the line at that place of the plan, or why there is none.

    unfit: as for premixes. taken: grams that other mixes bring already, by the carrier's place in the plan.
    Raises ValueError for a line of 0 g, or a tolerance not between 0 and 1.
    """
    check_tolerance(tolerance)
    line = planned.lines[at]
    if line.exact_g == 0:
        raise ValueRefusedError(f"a line of 0 g of '{line.material}' needs no premix")
    carriers = sorted(
        (
            other
            for other, candidate in enumerate(planned.lines)
            if candidate.base
            and candidate.within
            and candidate.exact_g > 0
            and candidate.material != line.material
            and candidate.material not in unfit
        ),
        key=lambda other: -planned.lines[other].exact_g,
    )
    if not carriers:
        return NoPremix(
            line.material,
            at,
            f"No line of the base may carry '{line.material}': each is too small to weigh itself, or not fit"
            " to be ground with it. Weigh more base, or use a finer balance.",
        )
    for carrier in carriers:
        before = (taken or {}).get(carrier, Fraction(0))
        for mix in _mixes(line, at, planned.lines[carrier], carrier, before, balances, tolerance):
            return mix
    return NoPremix(
        line.material,
        at,
        f"No mix of '{line.material}' with a line of the base, down to one part in {MOST_PARTS}, can be"
        " weighed within tolerance on these balances. Weigh more base, or use a finer balance.",
    )


def _mixes(
    line: Weighing,
    at: int,
    carrier: Weighing,
    carrier_at: int,
    taken: Fraction,
    balances: Sequence[Balance],
    tolerance: Decimal,
) -> Iterator[Premix]:
    """Mixes that will do, the best first."""
    limit = Fraction(tolerance)
    for balance in sorted(balances, key=lambda one: one.readability_g) if balances else (None,):
        division = DEFAULT_DIVISION if balance is None else balance.readability_g
        least = smallest_mass(division, tolerance) if balance is None else balance.smallest_for(tolerance)
        for one_in in _strengths():
            take = round_to(line.exact_g * one_in, division)
            if take < least:
                continue
            brings = Fraction(take) / one_in
            brings_carrier = Fraction(take) - brings
            left = carrier.exact_g - taken - brings_carrier
            # The mix may hold a trace more of the carrier than its line has; the error then says so.
            target = round_to(max(left, Fraction(0)), carrier.division_g)
            carrier_off = abs(Fraction(target) - left) / carrier.exact_g
            off = abs(brings - line.exact_g) / line.exact_g
            if off > limit or carrier_off > limit or _below_minimum(target, carrier.balance):
                continue
            made = _made(least, take, one_in, balance, division, limit)
            if made is None:
                continue
            small, with_g, mix, unsure = made
            yield Premix(
                material=line.material,
                carrier=carrier.material,
                at=at,
                carrier_at=carrier_at,
                one_in=one_in,
                exact_g=line.exact_g,
                small_g=small,
                with_g=with_g,
                mix_g=mix,
                take_g=take,
                brings_g=brings,
                brings_carrier_g=brings_carrier,
                balance=balance,
                division_g=division,
                carrier_target_g=target,
                carrier_less_g=to_decimal(Fraction(carrier.target_g) - Fraction(target)),
                carrier_division_g=carrier.division_g,
                error=to_decimal(off),
                carrier_error=to_decimal(carrier_off),
                uncertainty=unsure,
            )


def _made(
    least: Decimal, take: Decimal, one_in: int, balance: Balance | None, division: Decimal, limit: Fraction
) -> tuple[Decimal, Decimal, Decimal, Decimal] | None:
    """What is ground together, its sum, and how sure the small line then is; None where that cannot be had."""
    enough = max(Fraction(least), Fraction(take) * _SPARE / one_in)
    for times in _TIMES:
        small = round_up_to(enough * times, division)
        with_g = multiple(int(Fraction(small) / Fraction(division)) * (one_in - 1), division)
        mix = exact_sum((small, with_g))
        if balance is not None and not balance.carries(mix):
            return None
        unsure = _unsure(small, with_g, take, balance, division)
        if Fraction(unsure) <= limit:
            return small, with_g, mix, unsure
    return None


def _strengths() -> Iterator[int]:
    yield from _HANDY
    yield from (one_in for one_in in range(2, MOST_PARTS + 1) if one_in not in _HANDY)


def _below_minimum(target: Decimal, balance: Balance | None) -> bool:
    return (
        target != 0 and balance is not None and balance.minimum_g is not None and target < balance.minimum_g
    )


def _unsure(
    small: Decimal, with_g: Decimal, take: Decimal, balance: Balance | None, division: Decimal
) -> Decimal:
    """Relative standard uncertainty of what the mix brings: of its strength and of what is taken of it."""
    variance = 2 * reading_variance(division, repeatability(balance, division))
    a, b = Fraction(small), Fraction(with_g)
    strength = (b / (a + b)) ** 2 * (variance / a**2 + variance / b**2)
    return square_root(strength + variance / Fraction(take) ** 2)
