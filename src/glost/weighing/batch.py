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
from itertools import groupby
from operator import attrgetter
from typing import Final, NamedTuple

from glost.errors import ValueRefusedError
from glost.weighing.balance import (
    Balance,
    best_for,
    check_tolerance,
    relative_error,
    smallest_mass,
    surest_first,
)
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
from glost.weighing.vessels import Fill, ToFill, Vessel, carried_by_none, pour, vessels_of
from glost.weighing.weighable import (
    DEFAULT_DIVISION,
    MOST_PORTIONS,
    Flaw,
    Place,
    best_place,
    flaw_of,
    place_of,
)

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
        return Fraction(self.amount)

    @property
    def amount(self) -> Mass:
        """The same, as it is held."""
        return self.parts if self.fraction is None else self.fraction

    def __post_init__(self) -> None:
        if not self.parts.is_finite() or self.parts < 0:
            raise ValueRefusedError(
                f"{self.parts} parts of '{self.material}' cannot be weighed", "parts are 0 or more"
            )


class Weighing(NamedTuple):
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
    planner = Planner([line for line in lines if line.base], base_total, base_mass_g, balances, tolerance)
    return planner.plan([line for line in lines if not line.base])


class _Placed(NamedTuple):
    """A line with its exact mass, and where it is weighed by itself."""

    line: Line
    exact: Fraction
    place: Place


class _Base(NamedTuple):
    """What one main balance makes of a base: its lines where the whole batch can be carried, and the totals of the
    vessels it goes into."""

    placed: Sequence[_Placed]
    targets: Sequence[Decimal]
    target_g: Decimal
    fills: Sequence[Fill]
    totals: Sequence[Decimal]
    lines: tuple[Weighing, ...]


class Planner:
    """Plans one mass of one base, with whatever is added to it. Most tests of a recipe share their base: what follows
    from it alone is worked out once, which is half the time of their plans."""

    def __init__(
        self,
        base: Sequence[Line],
        base_total: Mass,
        base_mass_g: Decimal,
        balances: Sequence[Balance],
        tolerance: Decimal,
    ) -> None:
        """As for plan(). Raises ValueError."""
        check_tolerance(tolerance)
        if (isinstance(base_total, Decimal) and not base_total.is_finite()) or base_total <= 0:
            raise ValueRefusedError(
                f"the base adds up to {base_total} parts", "it must be above 0 to be weighed"
            )
        if not base_mass_g.is_finite() or base_mass_g <= 0:
            raise ValueRefusedError(
                f"a batch of {base_mass_g} g cannot be weighed", "the mass must be above 0"
            )
        self._base_mass_g = base_mass_g
        self._balances = balances
        self._surest = surest_first(balances)
        self._tolerance = tolerance
        self._grams_per_part = Fraction(base_mass_g) / Fraction(base_total)
        self._base = self._placed(base)
        self._base_exact = exact_total(one.exact for one in self._base)
        self._on: dict[Balance | None, _Base] = {}

    def plan(self, additions: Sequence[Line] = ()) -> Plan:
        """The plan with these additions."""
        added = self._placed(additions)
        total = self._base_exact + exact_total(one.exact for one in added) if added else self._base_exact
        main = self._main([*self._base, *added], total)
        base = self._on.get(main)  # once: a balance is known by all its figures
        if base is None:
            base = self._on[main] = self._base_on(main)
        added = self._with_main(added, main)
        targets = [one.place.target for one in added]
        fills, totals = pour(_to_fill(added, targets), main, len(base.placed), base.totals)
        fills = [*base.fills, *fills]
        vessels: tuple[Vessel, ...] = ()
        if len(totals) <= MOST_PORTIONS:
            vessels = vessels_of(totals, main)
        else:
            fills = list(carried_by_none([*base.targets, *targets]))
        carried = all(one.running_g is not None for one in fills)
        lines = base.lines if carried else self._weighings(base.placed, base.targets, fills, main, carried)
        own = [one for one in fills if one.at >= len(base.placed)]
        lines += self._weighings(added, targets, own, main, carried)
        return Plan(
            base_mass_g=self._base_mass_g,
            total_mass_g=to_decimal(total),
            base_target_g=base.target_g,
            total_target_g=exact_sum((base.target_g, *targets)),
            lines=lines,
            main=main,
            one_cup=main is None or main.carries(total),
            vessels=vessels,
        )

    def _placed(self, lines: Sequence[Line]) -> list[_Placed]:
        placed = []
        grams, per_part = self._grams_per_part.as_integer_ratio()
        for line in lines:
            # Multiplied by hand: a fraction of its own for the parts would be made only to be multiplied.
            above, below = line.amount.as_integer_ratio()
            exact = Fraction(above * grams, below * per_part)
            placed.append(_Placed(line, exact, place_of(exact, self._best(exact), self._tolerance)))
        return placed

    def _best(self, exact: Fraction) -> Balance | None:
        """As best_for; nearly every line is carried by the surest balance that could."""
        for balance in self._surest:
            if balance.carries(exact) and not balance.rules_out(exact):
                return balance
        return best_for(exact, self._balances) if self._balances else None

    def _with_main(self, placed: list[_Placed], main: Balance | None) -> list[_Placed]:
        """What is left out is on no balance: it stands with the others."""
        return [
            one if one.exact else one._replace(place=place_of(one.exact, main, self._tolerance))
            for one in placed
        ]

    def _base_on(self, main: Balance | None) -> _Base:
        placed = self._with_main(self._base, main)
        exact, places = [one.exact for one in placed], [one.place for one in placed]
        targets = _base_targets(exact, self._base_exact, places, main, self._tolerance)
        fills, totals = pour(_to_fill(placed, targets), main)
        lines = self._weighings(placed, targets, fills, main, carried=True)
        return _Base(placed, targets, exact_sum(targets), fills, totals, lines)

    def _weighings(
        self,
        placed: Sequence[_Placed],
        targets: Sequence[Decimal],
        fills: Sequence[Fill],
        main: Balance | None,
        carried: bool,
    ) -> tuple[Weighing, ...]:
        """``fills``: those of these lines, and of any that follow them. ``carried``: whether the whole batch is."""
        fills_of = [tuple(own) for _, own in groupby(fills, key=_AT)]
        weighings: list[Weighing] = []
        for (line, exact, place), target, own in zip(placed, targets, fills_of, strict=False):
            flaw = _flaw_at(place, exact, target, self._tolerance)
            if not carried and exact:
                flaw = Flaw.CARRIED  # a part of a batch that cannot be weighed is of no use
            smallest = None
            if flaw is not None and flaw is not Flaw.CARRIED:
                share = exact / Fraction(self._base_mass_g)
                smallest = smallest_batch(share, self._base_mass_g, self._balances, self._tolerance)
            weighings.append(
                Weighing(
                    material=line.material,
                    parts=line.parts,
                    base=line.base,
                    note=line.note,
                    fraction=line.fraction,
                    exact_g=exact,
                    target_g=target,
                    running_total_g=own[-1].running_g,
                    balance=place.balance,
                    division_g=place.division,
                    flaw=flaw,
                    smallest_batch_g=smallest,
                    fills=own,
                    apart=place.balance is not main and place.balance != main,
                )
            )
        return tuple(weighings)

    def _main(self, placed: Sequence[_Placed], total: Fraction) -> Balance | None:
        """The main balance (rule 3)."""
        if not self._balances:
            return None
        used = [one.place.balance for one in placed if one.exact]
        able = [one for one in self._balances if one.carries(total) and any(one is other for other in used)]
        if len(able) == 1:
            return able[0]
        if able or not used:
            return best_for(total, able or self._balances)

        def held(balance: Balance) -> Fraction:
            return exact_total(one.exact for one in placed if one.place.balance == balance)

        return max(
            (balance for balance in dict.fromkeys(used) if balance), key=lambda one: (held(one), one.room_g)
        )


_AT: Final = attrgetter("at")


def _to_fill(placed: Sequence[_Placed], targets: Sequence[Decimal]) -> list[ToFill]:
    return [
        ToFill(target, one.place.balance, one.place.division)
        for one, target in zip(placed, targets, strict=True)
    ]


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


def _base_targets(
    exact: Sequence[Fraction],
    whole: Fraction,
    places: Sequence[Place],
    main: Balance | None,
    tolerance: Decimal,
) -> list[Decimal]:
    """Targets of the base lines, which are so much together, shared out on the main balance as far as that can be done
    (rule 4)."""
    targets = [place.target for place in places]
    division = DEFAULT_DIVISION if main is None else main.readability_g
    # Nearly every line is on the main balance itself: to compare the figures of both takes ten times as long.
    free = [
        at
        for at, place in enumerate(places)
        if (place.balance is main or place.balance == main) and exact[at].numerator > 0
    ]
    while free:
        kept = [target for at, target in enumerate(targets) if at not in free]
        rest = whole - exact_total(kept) if kept else whole
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
