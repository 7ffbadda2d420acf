"""The plan of one batch: what to weigh of every line, on which balance, and how far rounding puts it off.

How it is decided, in this order:

1. Each line's exact mass is parts / base_total * base_mass_g. Additions come on top: 100 g of base with 2
   parts of additions weighs 102 g.
2. The main balance is the finest that carries its cup and the whole batch.
3. A line that rounding to the main balance's division would put off by more than the tolerance (or to 0, or
   below the minimum of that balance) is taken on the finest balance that carries it, where that one is finer;
   one whose stated minimum rules the line out is passed over while another will do.
4. Base lines on the main balance are rounded by largest remainder, so that the base adds up to its mass
   exactly. A line that this would push out of tolerance keeps its own nearest division, and the other lines
   make up for it. Where no such rounding exists (the mass, or what is left of it, is no whole number of
   divisions) each line is rounded by itself, and base_target_g says what the base then is.
5. Additions, and all lines on another balance than the main one, are rounded each by itself, half to even.
6. A line that is still off by more than the tolerance is not passed over: ``within`` is False, and
   ``smallest_batch_g`` says how much base would have to be weighed.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from glost.weighing.balance import Balance, best_for, check_tolerance, relative_error, smallest_mass
from glost.weighing.rounding import (
    Mass,
    check_finite,
    count_of,
    exact_sum,
    largest_remainder,
    multiple,
    round_to,
    round_up_to,
    to_decimal,
)

DEFAULT_DIVISION: Final = Decimal("0.01")
"""Division in grams where no balance is known (a pocket balance for tests: common practice)."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line to weigh. parts: by mass, in the same parts as the base total; 0 is a line that is left out.

    Raises ValueError for parts that are below 0 or not finite.
    """

    material: str
    parts: Decimal
    base: bool
    note: str = ""

    def __post_init__(self) -> None:
        if not self.parts.is_finite() or self.parts < 0:
            raise ValueError(
                f"{self.parts} parts of '{self.material}' cannot be weighed: parts are 0 or more."
            )


@dataclass(frozen=True, slots=True)
class Weighing:
    """What is weighed of one line. Masses in grams.

    exact_g: before rounding. target_g: what the display should show, a multiple of division_g.
    running_total_g: sum of the targets up to and with this line. balance: None when none is known. error:
    |target - exact| / exact, a fraction. within: whether the error is within the tolerance, the target is not
    0 for a line that has parts, and it is not below the minimum of the balance. smallest_batch_g: for a line
    that is not within, the base mass to plan for (see smallest_batch), else None. portions: 1, or in how many
    portions the line is weighed because no balance carries it at once.
    """

    material: str
    parts: Decimal
    base: bool
    note: str
    exact_g: Fraction
    target_g: Decimal
    running_total_g: Decimal
    balance: Balance | None
    division_g: Decimal
    error: Decimal
    within: bool
    smallest_batch_g: Decimal | None
    portions: int = 1


@dataclass(frozen=True, slots=True)
class Plan:
    """The plan of one batch. Masses in grams.

    base_mass_g: as asked for. total_mass_g: all lines before rounding (to 28 figures where it does not end).
    base_target_g, total_target_g: sums of the targets. lines: base lines, then additions, each as given.
    main: the main balance, None when none is known. one_cup: whether the main balance carries the whole
    batch.
    """

    base_mass_g: Decimal
    total_mass_g: Decimal
    base_target_g: Decimal
    total_target_g: Decimal
    lines: tuple[Weighing, ...]
    main: Balance | None = None
    one_cup: bool = True


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a line is weighed and what it comes to there when it is rounded by itself."""

    balance: Balance | None
    division: Decimal
    target: Decimal
    fits: bool


def plan(
    lines: Sequence[Line],
    base_total: Decimal,
    base_mass_g: Decimal,
    balances: Sequence[Balance],
    tolerance: Decimal,
) -> Plan:
    """The plan for base_mass_g grams of base (see the head of this module for the rules).

    base_total: parts of the whole base. tolerance: the relative error that a line may have from rounding, a
    fraction. balances: those of the studio; with none, every line is rounded to 0.01 g and has no balance.
    Raises ValueError for a base total or mass that is not above 0, or a tolerance not between 0 and 1.
    """
    check_tolerance(tolerance)
    if not base_total.is_finite() or base_total <= 0:
        raise ValueError(f"The base adds up to {base_total} parts: it must be above 0 to be weighed.")
    if not base_mass_g.is_finite() or base_mass_g <= 0:
        raise ValueError(f"A batch of {base_mass_g} g cannot be weighed: the mass must be above 0.")
    ordered = [line for line in lines if line.base] + [line for line in lines if not line.base]
    shares = [Fraction(line.parts) / Fraction(base_total) for line in ordered]
    exact = [share * Fraction(base_mass_g) for share in shares]
    total = sum(exact, Fraction(0))
    main = best_for(total, balances) if balances else None

    places = [_place(mass, main, balances, tolerance) for mass in exact]
    base_count = sum(line.base for line in ordered)
    targets = _base_targets(exact[:base_count], places[:base_count], main, tolerance)
    targets += [place.target for place in places[base_count:]]

    weighings: list[Weighing] = []
    running = Decimal(0)
    for line, share, mass, place, target in zip(ordered, shares, exact, places, targets, strict=True):
        running = exact_sum((running, target))
        within = _fits(mass, target, place.balance, tolerance)
        weighings.append(
            Weighing(
                material=line.material,
                parts=line.parts,
                base=line.base,
                note=line.note,
                exact_g=mass,
                target_g=target,
                running_total_g=running,
                balance=place.balance,
                division_g=place.division,
                error=relative_error(mass, target),
                within=within,
                smallest_batch_g=(
                    None
                    if within
                    else smallest_batch(share, sum(shares, Fraction(0)), base_mass_g, balances, tolerance)
                ),
                portions=_portions(target, place.balance),
            )
        )
    return Plan(
        base_mass_g=base_mass_g,
        total_mass_g=to_decimal(total),
        base_target_g=exact_sum(targets[:base_count]),
        total_target_g=running,
        lines=tuple(weighings),
        main=main,
        one_cup=main is None or main.carries(total),
    )


def base_for_total(total_g: Mass, base_parts: Decimal, addition_parts: Decimal) -> Decimal:
    """The mass of base, in grams, for a batch that weighs total_g with its additions.

    base_parts, addition_parts: sums of the parts of both. To 28 figures where it does not end. Raises
    ValueError for a mass or base parts that are not above 0, or addition parts below 0.
    """
    check_finite(total_g)
    if total_g <= 0:
        raise ValueError(f"A batch of {total_g} g cannot be weighed: the mass must be above 0.")
    if not base_parts.is_finite() or base_parts <= 0:
        raise ValueError(f"The base adds up to {base_parts} parts: it must be above 0 to be weighed.")
    if not addition_parts.is_finite() or addition_parts < 0:
        raise ValueError(f"The additions add up to {addition_parts} parts: they cannot be below 0.")
    base = Fraction(base_parts)
    return to_decimal(Fraction(total_g) * base / (base + Fraction(addition_parts)))


def smallest_batch(
    share: Fraction,
    total_share: Fraction,
    base_mass_g: Decimal,
    balances: Sequence[Balance],
    tolerance: Decimal,
) -> Decimal | None:
    """The least base mass above base_mass_g, in grams, at which rounding keeps the line within tolerance.

    share: mass of the line per mass of base, above 0; total_share: mass of the whole batch per mass of base.
    The line is then weighed on the best balance that carries it. Rounded up to whole grams, and from 100 g on
    to two significant figures where that is as good. None when no batch will do on these balances. A smaller
    one can do by luck, where a mass happens to stand near a division. Raises ValueError for a share that is
    not above 0.
    """
    if share <= 0:
        raise ValueError("A line of 0 parts has no smallest batch.")
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
            main = best_for(total_share * Fraction(batch), balances) if balances else None
            if _place(share * Fraction(batch), main, balances, tolerance).fits:
                return batch
    return None


def _place(exact: Fraction, main: Balance | None, balances: Sequence[Balance], tolerance: Decimal) -> _Place:
    """The main balance where it will do, else the finest of the finer ones that carries the line."""
    on_main = _on(exact, main, tolerance)
    if on_main.fits or main is None:
        return on_main
    finer = [
        _on(exact, balance, tolerance)
        for balance in balances
        if balance.readability_g < main.readability_g and balance.carries(exact)
    ]
    # False sorts before True: those that will do come first, the finest of them leading.
    return min(finer, key=lambda place: (not place.fits, place.division), default=on_main)


def _on(exact: Fraction, balance: Balance | None, tolerance: Decimal) -> _Place:
    division = DEFAULT_DIVISION if balance is None else balance.readability_g
    target = round_to(exact, division)
    return _Place(balance, division, target, _fits(exact, target, balance, tolerance))


def _fits(exact: Fraction, target: Decimal, balance: Balance | None, tolerance: Decimal) -> bool:
    """Whether target will do for exact on that balance, compared as fractions so that a border is exact."""
    if exact == 0:
        return target == 0
    if target == 0 or (balance is not None and balance.minimum_g is not None and target < balance.minimum_g):
        return False
    return abs(Fraction(target) - exact) <= Fraction(tolerance) * exact


def _base_targets(
    exact: Sequence[Fraction], places: Sequence[_Place], main: Balance | None, tolerance: Decimal
) -> list[Decimal]:
    """Targets of the base lines, shared out on the main balance as far as that can be done (rule 4)."""
    targets = [place.target for place in places]
    whole = sum(exact, Fraction(0))
    division = DEFAULT_DIVISION if main is None else main.readability_g
    free = [at for at, place in enumerate(places) if place.balance == main and exact[at] > 0]
    while free:
        rest = whole - sum(
            (Fraction(target) for at, target in enumerate(targets) if at not in free), Fraction(0)
        )
        count = count_of(rest, division)
        if count is None or count <= 0:
            break
        shares = largest_remainder([exact[at] for at in free], multiple(count, division), division)
        pushed_out = {
            at
            for at, share in zip(free, shares, strict=True)
            if places[at].fits and not _fits(exact[at], share, main, tolerance)
        }
        if not pushed_out:
            for at, share in zip(free, shares, strict=True):
                targets[at] = share
            break
        # One line out of tolerance is worse than another a division off: those keep their nearest division.
        free = [at for at in free if at not in pushed_out]
    return targets


def _portions(target: Decimal, balance: Balance | None) -> int:
    if balance is None or target == 0:
        return 1
    # No portion may overload the balance, and each stands on a division.
    most = Fraction(balance.room_g) // Fraction(balance.readability_g)
    return max(1, -(-(Fraction(target) / Fraction(balance.readability_g)) // most)) if most else 1


def _two_figures(grams: Decimal) -> Decimal:
    """Whole grams rounded up to two significant figures; below 100 they stay as they are."""
    figures = len(f"{grams:f}")
    return round_up_to(grams, Decimal(f"1e{figures - 2}")) if figures > 2 else grams
