"""The plan of one batch: what to weigh of every line, on which balance, and how far rounding puts it off.

How it is decided, in this order:

1. Each line's exact mass is parts / base_total * base_mass_g. Additions come on top: 100 g of base with 2
   parts of additions weighs 102 g.
2. Each line is weighed on the balance that is surest of it: the one with the least standard uncertainty (readability
   and repeatability, see uncertainty) of those that carry it, cup included. One whose stated minimum rules the line
   out is passed over while another will do.
3. The main balance is, of those that lines are weighed on, the surest that carries its cup and the whole batch. Where
   none of them does, it is the one with most of the batch. Its lines share a running total, or several where it does
   not carry them at once (see vessels); the others are weighed apart and tipped in.
4. Base lines on the main balance are rounded by largest remainder, so that the base adds up to its mass
   exactly. A line that this would push out of tolerance keeps its own nearest division, and the other lines
   make up for it. Where no such rounding exists (the mass, or what is left of it, is no whole number of
   divisions) each line is rounded by itself, and base_target_g says what the base then is.
5. Additions, and all lines on another balance than the main one, are rounded each by itself, half to even.
6. A line that cannot be weighed within tolerance (see weighable) is not passed over: ``within`` is False, ``flaw``
   says why, and ``smallest_batch_g`` says how much base would have to be weighed.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from glost.errors import ValueRefusedError
from glost.weighing.balance import Balance, best_for, check_tolerance, relative_error, smallest_mass
from glost.weighing.rounding import (
    Mass,
    check_finite,
    count_of,
    exact_sum,
    exact_total,
    largest_remainder,
    multiple,
    round_up_to,
    to_decimal,
)
from glost.weighing.vessels import Fill, ToFill, Vessel, fill
from glost.weighing.weighable import DEFAULT_DIVISION, Flaw, Place, best_place, flaw_of, place_of

_ROUNDS_WELL: Final = (None, Flaw.UNSURE)
"""What is left to say of a line that rounding keeps within tolerance."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line to weigh. parts: by mass, in the same parts as the base total; 0 is a line that is left out. fraction:
    what they are exactly, where that has no end in figures.

    Raises ValueError for parts that are below 0 or not finite.
    """

    material: str
    parts: Decimal
    base: bool
    note: str = ""
    fraction: Fraction | None = None

    @property
    def exact(self) -> Fraction:
        return Fraction(self.parts) if self.fraction is None else self.fraction

    def __post_init__(self) -> None:
        if not self.parts.is_finite() or self.parts < 0:
            raise ValueRefusedError(
                f"{self.parts} parts of '{self.material}' cannot be weighed", "parts are 0 or more"
            )


@dataclass(frozen=True, slots=True)
class Weighing:
    """What is weighed of one line. Masses in grams.

    exact_g: before rounding. target_g: what is weighed of it, a multiple of division_g. running_total_g: what the
    vessel holds when it is in, which is what its display shows; for a line that is weighed apart, itself; None where
    nothing carries it. balance: None when none is known. flaw: why the
    line cannot be weighed within tolerance, None where it can. smallest_batch_g: for such a line, the base mass to
    plan for (see smallest_batch), else None. fills: the weighings it takes, more than one where no balance carries it
    at once. apart: whether it is weighed on another balance than the main one.
    """

    material: str
    parts: Decimal
    base: bool
    note: str
    exact_g: Fraction
    target_g: Decimal
    running_total_g: Decimal | None
    balance: Balance | None
    division_g: Decimal
    flaw: Flaw | None
    smallest_batch_g: Decimal | None
    fills: tuple[Fill, ...]
    apart: bool
    fraction: Fraction | None = None

    @property
    def exact(self) -> Fraction:
        """Its parts, exactly."""
        return Fraction(self.parts) if self.fraction is None else self.fraction

    @property
    def error(self) -> Decimal:
        """How far rounding puts it off; few ask."""
        return relative_error(self.exact_g, self.target_g)

    @property
    def within(self) -> bool:
        """Whether it can be weighed within tolerance."""
        return self.flaw is None

    @property
    def rounds_well(self) -> bool:
        """Whether rounding alone keeps it within tolerance, however sure the balance is of it."""
        return self.flaw in _ROUNDS_WELL

    @property
    def portions(self) -> int:
        return len(self.fills)


@dataclass(frozen=True, slots=True)
class Plan:
    """The plan of one batch. Masses in grams.

    base_mass_g: as asked for. total_mass_g: all lines before rounding (to 28 figures where it does not end).
    base_target_g, total_target_g: sums of the targets. lines: base lines, then additions, each as given.
    main: the main balance, None when none is known. one_cup: whether it carries the whole batch. vessels: those on
    the main balance, in the order of filling. carried: whether all of it can be weighed in vessels and portions.
    """

    base_mass_g: Decimal
    total_mass_g: Decimal
    base_target_g: Decimal
    total_target_g: Decimal
    lines: tuple[Weighing, ...]
    main: Balance | None
    one_cup: bool
    vessels: tuple[Vessel, ...]

    @property
    def carried(self) -> bool:
        return all(line.running_total_g is not None for line in self.lines)


def plan(
    lines: Sequence[Line],
    base_total: Mass,
    base_mass_g: Decimal,
    balances: Sequence[Balance],
    tolerance: Decimal,
) -> Plan:
    """The plan for base_mass_g grams of base (see the head of this module for the rules).

    base_total: parts of the whole base. tolerance: how far a line may be off from rounding, and how unsure it may be,
    as a fraction of it. balances: those of the studio; with none, every line is rounded to 0.01 g and has no balance.
    Raises ValueError for a base total or mass that is not above 0, or a tolerance not between 0 and 1.
    """
    check_tolerance(tolerance)
    if (isinstance(base_total, Decimal) and not base_total.is_finite()) or base_total <= 0:
        raise ValueRefusedError(f"the base adds up to {base_total} parts", "it must be above 0 to be weighed")
    if not base_mass_g.is_finite() or base_mass_g <= 0:
        raise ValueRefusedError(f"a batch of {base_mass_g} g cannot be weighed", "the mass must be above 0")
    ordered = [line for line in lines if line.base] + [line for line in lines if not line.base]
    grams_per_part = Fraction(base_mass_g) / Fraction(base_total)
    exact = [line.exact * grams_per_part for line in ordered]
    total = exact_total(exact)
    places = [best_place(mass, balances, tolerance) for mass in exact]
    main = _main(exact, total, places, balances)
    # What is left out is on no balance: it stands with the others.
    places = [
        place if mass else place_of(mass, main, tolerance) for mass, place in zip(exact, places, strict=True)
    ]
    base_count = sum(line.base for line in ordered)
    targets = _base_targets(exact[:base_count], places[:base_count], main, tolerance)
    targets += [place.target for place in places[base_count:]]
    fills, vessels = fill(
        [
            ToFill(target, place.balance, place.division)
            for place, target in zip(places, targets, strict=True)
        ],
        main,
    )
    carried = all(one.running_g is not None for one in fills)
    fills_of: list[list[Fill]] = [[] for _ in ordered]
    for one in fills:
        fills_of[one.at].append(one)
    weighings: list[Weighing] = []
    for at, (line, place, target) in enumerate(zip(ordered, places, targets, strict=True)):
        flaw = _flaw_at(place, exact[at], target, tolerance)
        if not carried and exact[at]:
            flaw = Flaw.CARRIED  # a part of a batch that cannot be weighed is of no use
        own = tuple(fills_of[at])
        weighings.append(
            Weighing(
                material=line.material,
                parts=line.parts,
                base=line.base,
                note=line.note,
                fraction=line.fraction,
                exact_g=exact[at],
                target_g=target,
                running_total_g=own[-1].running_g,
                balance=place.balance,
                division_g=place.division,
                flaw=flaw,
                smallest_batch_g=(
                    None
                    if flaw is None or flaw is Flaw.CARRIED
                    else smallest_batch(exact[at] / Fraction(base_mass_g), base_mass_g, balances, tolerance)
                ),
                fills=own,
                apart=place.balance != main,
            )
        )
    return Plan(
        base_mass_g=base_mass_g,
        total_mass_g=to_decimal(total),
        base_target_g=exact_sum(targets[:base_count]),
        total_target_g=exact_sum(targets),
        lines=tuple(weighings),
        main=main,
        one_cup=main is None or main.carries(total),
        vessels=vessels,
    )


def base_for_total(total_g: Mass, base_parts: Mass, addition_parts: Mass) -> Decimal:
    """The mass of base, in grams, for a batch that weighs total_g with its additions.

    base_parts, addition_parts: sums of the parts of both. To 28 figures where it does not end. Raises
    ValueError for a mass or base parts that are not above 0, or addition parts below 0.
    """
    check_finite(total_g)
    if total_g <= 0:
        raise ValueRefusedError(f"a batch of {total_g} g cannot be weighed", "the mass must be above 0")
    check_finite(base_parts)
    if base_parts <= 0:
        raise ValueRefusedError(f"the base adds up to {base_parts} parts", "it must be above 0 to be weighed")
    check_finite(addition_parts)
    if addition_parts < 0:
        raise ValueRefusedError(f"the additions add up to {addition_parts} parts", "they cannot be below 0")
    base = Fraction(base_parts)
    return to_decimal(Fraction(total_g) * base / (base + Fraction(addition_parts)))


def smallest_batch(
    share: Fraction, base_mass_g: Decimal, balances: Sequence[Balance], tolerance: Decimal
) -> Decimal | None:
    """The least base mass above base_mass_g, in grams, at which the line can be weighed within tolerance.

    share: mass of the line per mass of base, above 0. The line is then weighed on the balance that is surest of it.
    Rounded up to whole grams, and from 100 g on to two significant figures where that is as good. None when no batch
    will do on these balances. Raises ValueError for a share that is not above 0.
    """
    if share <= 0:
        raise ValueRefusedError("a line of 0 parts has no smallest batch")
    if balances:
        masses = {least for balance in balances if balance.carries(least := balance.smallest_for(tolerance))}
    else:
        masses = {smallest_mass(DEFAULT_DIVISION, tolerance)}
    for mass in sorted(masses):
        grams = round_up_to(Fraction(mass) / share, Decimal(1))
        # Two figures first: they are easier on the reader, unless they overload the balance.
        for batch in (_two_figures(grams), grams):
            if batch <= base_mass_g:
                continue
            if best_place(share * Fraction(batch), balances, tolerance).flaw is None:
                return batch
    return None


def _flaw_at(place: Place, exact: Fraction, target: Decimal, tolerance: Decimal) -> Flaw | None:
    """As flaw_of, of a target on the balance of the line's place; most are its own, which was looked at already."""
    return place.flaw if target == place.target else flaw_of(exact, target, place.balance, tolerance)


def _main(
    exact: Sequence[Fraction], total: Fraction, places: Sequence[Place], balances: Sequence[Balance]
) -> Balance | None:
    """The main balance (rule 3)."""
    if not balances:
        return None
    used = [place.balance for mass, place in zip(exact, places, strict=True) if mass]
    able = [balance for balance in balances if balance in used and balance.carries(total)]
    if able or not any(used):
        return best_for(total, able or balances)

    def held(balance: Balance) -> Fraction:
        return exact_total(
            mass for mass, place in zip(exact, places, strict=True) if place.balance == balance
        )

    return max(
        (balance for balance in dict.fromkeys(used) if balance), key=lambda one: (held(one), one.room_g)
    )


def _base_targets(
    exact: Sequence[Fraction], places: Sequence[Place], main: Balance | None, tolerance: Decimal
) -> list[Decimal]:
    """Targets of the base lines, shared out on the main balance as far as that can be done (rule 4)."""
    targets = [place.target for place in places]
    whole = exact_total(exact)
    division = DEFAULT_DIVISION if main is None else main.readability_g
    free = [at for at, place in enumerate(places) if place.balance == main and exact[at] > 0]
    while free:
        rest = whole - exact_total(target for at, target in enumerate(targets) if at not in free)
        count = count_of(rest, division)
        if count is None or count <= 0:
            break
        shares = largest_remainder([exact[at] for at in free], multiple(count, division), division)
        pushed_out = {
            at
            for at, share in zip(free, shares, strict=True)
            if places[at].flaw in _ROUNDS_WELL
            and _flaw_at(places[at], exact[at], share, tolerance) not in _ROUNDS_WELL
        }
        if not pushed_out:
            for at, share in zip(free, shares, strict=True):
                targets[at] = share
            break
        # One line out of tolerance is worse than another a division off: those keep their nearest division.
        free = [at for at in free if at not in pushed_out]
    return targets


def _two_figures(grams: Decimal) -> Decimal:
    """Whole grams rounded up to two significant figures; below 100 they stay as they are."""
    figures = len(f"{grams:f}")
    return round_up_to(grams, Decimal(f"1e{figures - 2}")) if figures > 2 else grams
