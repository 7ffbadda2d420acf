"""Many tests at one go: what to fetch, in which order to weigh, and which bases to mix once.

A cup is one test. Cups can be weighed one after the other, or material by material: then each container is
opened once and goes round all cups, those that are toxic or colour strongly last, so that least is carried
over from jar to jar and the respirator work is done in one stretch.

Every mass to weigh is a target of the plan of its cup (see batch), so what is fetched is the sum of the sheets
to the division.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from glost.errors import ValueRefusedError
from glost.weighing.balance import Balance, relative_error
from glost.weighing.batch import Line, Plan, Weighing, plan
from glost.weighing.rounding import exact_sum, round_up_to
from glost.weighing.slurry import water_for
from glost.weighing.vessels import Fill
from glost.weighing.weighable import best_place

MARGIN: Final = Decimal("0.05")
"""What to fetch beyond the sum of the sheets, as a fraction, for what stays on scoop and sieve (chosen here)."""


@dataclass(frozen=True, slots=True)
class Cup:
    """One test to weigh. lines: base and additions, parts by mass. base_mass_g: grams of base. water_percent: of
    the dry mass, None where it is left open."""

    label: str
    lines: tuple[Line, ...]
    base_mass_g: Decimal
    water_percent: Decimal | None = None

    @property
    def base_total(self) -> Fraction:
        """Parts of the whole base."""
        return sum((line.exact for line in self.lines if line.base), Fraction(0))


@dataclass(frozen=True, slots=True)
class Pour:
    """One material, or a portion of it, into one cup. Masses in grams. target_g: on division_g of the balance.
    vessel, number, of: as in the plan of the cup, see vessels.Fill. running_total_g: what the vessel holds then, in the
    order of this list; None for what is weighed apart and tipped in, or where nothing carries it."""

    label: str
    material: str
    target_g: Decimal
    vessel: int
    number: int
    of: int
    running_total_g: Decimal | None
    balance: Balance | None
    division_g: Decimal
    within: bool


@dataclass(frozen=True, slots=True)
class Opening:
    """One container, opened once, and the cups that it goes into, in the order of the cups. total_g: the sum of
    its targets, grams. A flag that is False says that nobody flagged it, not that it is harmless."""

    material: str
    toxic: bool
    colouring: bool
    total_g: Decimal
    pours: tuple[Pour, ...]


@dataclass(frozen=True, slots=True)
class Pull:
    """What to fetch of one material, in grams. total_g: the sum of the sheets. with_margin_g: that and the
    margin, rounded up to the coarsest division that it is weighed on. cups: how many it goes into."""

    material: str
    total_g: Decimal
    with_margin_g: Decimal
    cups: int


@dataclass(frozen=True, slots=True)
class Planned:
    """One cup with its plan; water_g in grams, None where the cup leaves it open."""

    cup: Cup
    plan: Plan
    water_g: Decimal | None


@dataclass(frozen=True, slots=True)
class Portion:
    """What one cup gets of a shared base, in grams: on the division of its balance, error as a fraction."""

    label: str
    mass_g: Decimal
    balance: Balance | None
    error: Decimal


@dataclass(frozen=True, slots=True)
class SharedBase:
    """One base for several cups: weigh and blend it once, then divide it. mix: the plan of the whole of it,
    without additions, with the margin. portions: one a cup, in their order. needed_g: the sum of the portions.
    weighings_saved: how many fewer masses are weighed than with a base of its own in every cup, below 0 where it
    takes more. A cup whose portion could not be weighed at once and within tolerance is not among them. Dividing takes
    the blend as even throughout."""

    mix: Plan
    portions: tuple[Portion, ...]
    needed_g: Decimal
    weighings_saved: int


@dataclass(frozen=True, slots=True)
class Session:
    """The plan for all cups. by_cup: as given. by_material: each container once, see Opening. pull: in the order
    of by_material. water_g: for all cups that say how much, in grams; None where none does. cups: how many
    stand on the bench. shared: bases that more than one cup has."""

    by_cup: tuple[Planned, ...]
    by_material: tuple[Opening, ...]
    pull: tuple[Pull, ...]
    water_g: Decimal | None
    cups: int
    shared: tuple[SharedBase, ...]


def session(
    cups: Sequence[Cup],
    balances: Sequence[Balance],
    tolerance: Decimal,
    toxic: Collection[str] = (),
    colouring: Collection[str] = (),
    margin: Decimal = MARGIN,
) -> Session:
    """The plan for these cups.

    balances, tolerance: as for batch.plan. toxic, colouring: names of materials, as the lines write them, that
    come last: those that colour strongly, then those that are toxic, then those that are both. Within each
    kind the order is that of first appearance. margin: a fraction, 0 or more. Raises ValueError for no cups, two
    of one label, a margin below 0, and as batch.plan does.
    """
    if not cups:
        raise ValueRefusedError("there are no tests to weigh")
    labels = [cup.label for cup in cups]
    twice = next((label for label in labels if labels.count(label) > 1), None)
    if twice is not None:
        raise ValueRefusedError(f"two tests are labelled '{twice}'", "no one could tell their cups apart")
    if not margin.is_finite() or margin < 0:
        raise ValueRefusedError(
            f"a margin of {margin} cannot be", "it is a fraction of 0 or more, 0.05 for 5 %"
        )
    planned = tuple(
        Planned(cup, made, None if cup.water_percent is None else _water(made, cup.water_percent))
        for cup in cups
        for made in (plan(cup.lines, cup.base_total, cup.base_mass_g, balances, tolerance),)
    )
    openings = _openings(planned, frozenset(toxic), frozenset(colouring))
    waters = [one.water_g for one in planned if one.water_g is not None]
    return Session(
        by_cup=planned,
        by_material=openings,
        pull=tuple(
            Pull(
                opening.material,
                opening.total_g,
                round_up_to(
                    Fraction(opening.total_g) * (1 + Fraction(margin)),
                    max(pour.division_g for pour in opening.pours),
                ),
                len({pour.label for pour in opening.pours}),
            )
            for opening in openings
        ),
        water_g=exact_sum(waters) if waters else None,
        cups=len(planned),
        shared=_shared(planned, balances, tolerance, margin),
    )


def _water(made: Plan, percent: Decimal) -> Decimal:
    return water_for(made.total_mass_g, percent)


def _openings(
    planned: Sequence[Planned], toxic: frozenset[str], colouring: frozenset[str]
) -> tuple[Opening, ...]:
    found: dict[str, list[tuple[str, Weighing, Fill]]] = {}
    for one in planned:
        for line in one.plan.lines:
            if line.exact_g:
                found.setdefault(line.material, []).extend((one.cup.label, line, each) for each in line.fills)
    # Sorting keeps the order of first appearance among equals.
    ordered = sorted(found, key=lambda material: (material in toxic, material in colouring))
    held: dict[tuple[str, int], Decimal] = {}
    openings: list[Opening] = []
    for material in ordered:
        pours: list[Pour] = []
        for label, line, each in found[material]:
            holds = None
            if each.vessel:
                # What a vessel holds in the end does not depend on the order, so that no display overflows here.
                holds = exact_sum((held.get((label, each.vessel), Decimal(0)), each.target_g))
                held[label, each.vessel] = holds
            pours.append(
                Pour(
                    label,
                    material,
                    each.target_g,
                    each.vessel,
                    each.number,
                    each.of,
                    holds,
                    line.balance,
                    line.division_g,
                    line.within,
                )
            )
        openings.append(
            Opening(
                material,
                material in toxic,
                material in colouring,
                exact_sum(pour.target_g for pour in pours),
                tuple(pours),
            )
        )
    return tuple(openings)


def _shared(
    planned: Sequence[Planned], balances: Sequence[Balance], tolerance: Decimal, margin: Decimal
) -> tuple[SharedBase, ...]:
    groups: dict[frozenset[tuple[str, Fraction]], list[tuple[Planned, Portion, Decimal]]] = {}
    for one in planned:
        place = best_place(Fraction(one.cup.base_mass_g), balances, tolerance)
        if place.flaw is None and place.portions == 1:
            error = relative_error(one.cup.base_mass_g, place.target)
            portion = Portion(one.cup.label, place.target, place.balance, error)
            groups.setdefault(_base_of(one.cup), []).append((one, portion, place.division))
    shared: list[SharedBase] = []
    for group in groups.values():
        if len(group) < 2:
            continue
        needed = exact_sum(portion.mass_g for _, portion, _ in group)
        whole = round_up_to(
            Fraction(needed) * (1 + Fraction(margin)), max(division for _, _, division in group)
        )
        first = group[0][0].cup
        base = [line for line in first.lines if line.base and line.parts]
        mix = plan(base, first.base_total, whole, balances, tolerance)
        apart = sum(_weighings(one.plan) for one, _, _ in group)
        shared.append(
            SharedBase(
                mix, tuple(portion for _, portion, _ in group), needed, apart - _weighings(mix) - len(group)
            )
        )
    return tuple(shared)


def _weighings(made: Plan) -> int:
    """How often something of the base is weighed."""
    return sum(line.portions for line in made.lines if line.base and line.exact_g)


def _base_of(cup: Cup) -> frozenset[tuple[str, Fraction]]:
    """The base as shares of it, so that order and the total of the parts do not matter."""
    shares: dict[str, Fraction] = {}
    for line in cup.lines:
        if line.base and line.parts:
            share = line.exact / cup.base_total
            shares[line.material] = shares.get(line.material, Fraction(0)) + share
    return frozenset(shares.items())
