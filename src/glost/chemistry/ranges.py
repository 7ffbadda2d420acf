"""How far the figures of a melt may lie from those of the typical compositions.

Every line is taken to be any mixture of the analyses of its bracket (see ``bracket``); a line of which nothing is known
may be any oxide at all, or nothing that stays. All figures are shares: a sum over the lines divided by another such
sum. Such a share is greatest, and least, where each line is one single analysis, which is looked for after
W. Dinkelbach, "On Nonlinear Fractional Programming", Management Science 13 (1967) 492-498 (the method from memory; that
no choice of analyses lies outside is tested): with a guess of the share, each line by itself takes the analysis that
has most of the numerator beyond that guess of the denominator; the share that this gives is the next guess.

The analyses are chosen in float, and what they give is calculated in Decimal.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext
from types import MappingProxyType
from typing import Final, Literal, NamedTuple

from glost.chemistry.analysis import Analysis
from glost.chemistry.melt import Melt
from glost.chemistry.unity import ALKALIS, COLOURANTS, FLUXES, PLAIN, Convention, place
from glost.recipe.materials.elements import exact_enough

_ZERO: Final = Decimal(0)
_ANY: Final = (*FLUXES, *COLOURANTS, "Al2O3", "B2O3", "Fe2O3", "SiO2", "TiO2", "ZrO2", "SnO2", "P2O5")
"""What a line of which nothing is known may wholly be."""


class Range(NamedTuple):
    """From and to. ``high`` is None where there is no end: nothing may be there to take as 1."""

    low: Decimal
    high: Decimal | None

    @property
    def wide(self) -> bool:
        return self.low != self.high


@dataclass(frozen=True, slots=True)
class Ranges:
    """Of every figure of a formula, by oxide in the order of print; also of oxides that the typical melt does not hold
    and a bracket does. ``unity`` is empty and ``ratio`` None where the typical melt has no such figure."""

    unity: Mapping[str, Range]
    weight_percent: Mapping[str, Range]
    mol_percent: Mapping[str, Range]
    ratio: Range | None
    alkali: Range | None
    loss: Range


class Choice(NamedTuple):
    """What 100 g of a material may bring."""

    moles: Mapping[str, Decimal]
    oxides: Mapping[str, Decimal]
    loss: Decimal


def choices(analysis: Analysis | None, corners: Iterable[Analysis], melt: Melt) -> tuple[Choice, ...]:
    """What 100 g of a material may bring, the typical first; of one without an analysis, first nothing."""
    if analysis is None:
        table = melt.table
        oxides = dict.fromkeys((*melt.moles, *_ANY))
        whole = Decimal(100)
        with localcontext(exact_enough()):
            return (
                Choice({}, {}, whole),
                *(Choice({oxide: whole / table.mass(oxide)}, {oxide: whole}, _ZERO) for oxide in oxides),
            )
    return tuple(Choice(one.moles, one.oxides, one.loss) for one in (analysis, *corners))


def ranges(
    melt: Melt, convention: Convention = PLAIN, on: Literal["flux", "alumina"] = "flux"
) -> Ranges | None:
    """The ranges of a melt; None where every line is known to be what it is counted as."""
    if all(line.analysis is not None and not line.corners for line in melt.lines if line.parts):
        return None
    with localcontext(exact_enough()):
        return _Problem(melt, convention, on).ranges()


def unity_range(
    melt: Melt, oxide: str, convention: Convention = PLAIN, on: Literal["flux", "alumina"] = "flux"
) -> Range | None:
    """From and to of one oxide in the unity formula, also of one that nothing known in the melt holds; None where
    nothing known is taken as 1."""
    with localcontext(exact_enough()):
        problem = _Problem(melt, convention, on)
        if oxide not in (*melt.moles, *_ANY) and any(
            line.analysis is None for line in melt.lines if line.parts
        ):
            return Range(_ZERO, None) if problem.has_one else None
        return problem.unity(oxide)


class _Problem:
    def __init__(self, melt: Melt, convention: Convention, on: Literal["flux", "alumina"]) -> None:
        self._counts = frozenset({"Al2O3"}) if on == "alumina" else convention.fluxes
        lines = [
            (line.parts / melt.total_parts, choices(line.analysis, line.corners, melt))
            for line in melt.lines
            if line.parts
        ]
        self._fixed = [(share, held[0]) for share, held in lines if len(held) == 1]
        self._open = [(share, held) for share, held in lines if len(held) > 1]
        known = dict.fromkeys(melt.moles)
        for line in melt.lines:
            for corner in line.corners:
                known.update(dict.fromkeys(oxide for oxide, amount in corner.moles.items() if amount))
        self._oxides = sorted(known, key=place)

    @property
    def has_one(self) -> bool:
        """Whether anything known is taken as 1."""
        return bool(self._one().typical)

    def unity(self, oxide: str) -> Range | None:
        return self._range(self._sums(lambda choice: choice.moles.get(oxide, _ZERO)), self._one())

    def _one(self) -> _Sum:
        counts = sorted(self._counts)
        return self._sums(lambda choice: sum((choice.moles.get(name, _ZERO) for name in counts), _ZERO))

    def ranges(self) -> Ranges:
        def mol(*names: str) -> Callable[[Choice], Decimal]:
            if len(names) == 1:
                (name,) = names
                return lambda one: one.moles.get(name, _ZERO)
            return lambda one: sum((one.moles.get(name, _ZERO) for name in names), _ZERO)

        def weight(name: str) -> Callable[[Choice], Decimal]:
            return lambda one: one.oxides.get(name, _ZERO)

        one = self._one()
        all_moles = self._sums(lambda choice: sum(choice.moles.values(), _ZERO))
        all_grams = self._sums(lambda choice: sum(choice.oxides.values(), _ZERO))
        moles = {oxide: self._sums(mol(oxide)) for oxide in self._oxides}
        grams = {oxide: self._sums(weight(oxide)) for oxide in self._oxides}
        unity = {oxide: self._range(moles[oxide], one) for oxide in self._oxides}
        none = self._sums(lambda _: _ZERO)
        return Ranges(
            _held(unity),
            _held({oxide: self._range(grams[oxide], all_grams, 100) for oxide in self._oxides}),
            _held({oxide: self._range(moles[oxide], all_moles, 100) for oxide in self._oxides}),
            self._range(moles.get("SiO2", none), moles.get("Al2O3", none)),
            self._range(self._sums(mol(*ALKALIS)), one),
            self._sum_range(self._sums(lambda choice: choice.loss)),
        )

    def _sums(self, of: Callable[[Choice], Decimal]) -> _Sum:
        return _Sum(
            sum((share * of(held) for share, held in self._fixed), _ZERO),
            [(share, [of(choice) for choice in held]) for share, held in self._open],
        )

    def _range(self, over: _Sum, under: _Sum, times: int = 1) -> Range | None:
        if not under.typical:
            return None
        if not over.fixed and not any(map(any, over.floats)):
            return Range(_ZERO, _ZERO)
        low = _extreme(over, under, -1)
        high = _extreme(over, under, 1)
        return Range((low or _ZERO) * times, None if high is None else high * times)

    @staticmethod
    def _sum_range(total: _Sum) -> Range:
        return Range(
            total.fixed + sum((share * min(line) for share, line in total.open), _ZERO),
            total.fixed + sum((share * max(line) for share, line in total.open), _ZERO),
        )


class _Sum:
    """A sum over the lines: ``fixed`` of those that are known, and of each of the ``open`` lines its share and what it
    may bring a share of one. ``floats``: the same, multiplied."""

    def __init__(self, fixed: Decimal, open_: Sequence[tuple[Decimal, Sequence[Decimal]]]) -> None:
        self.fixed = fixed
        self.open = open_
        near = [(float(share), line) for share, line in open_]
        self.floats = [[share * float(value) for value in line] for share, line in near]
        self.typical = self.at([0] * len(open_))

    def at(self, chosen: Sequence[int]) -> Decimal:
        open_ = (share * line[at] for (share, line), at in zip(self.open, chosen, strict=True))
        return self.fixed + sum(open_, _ZERO)


def _extreme(over: _Sum, under: _Sum, sign: int) -> Decimal | None:
    """The greatest (``sign`` 1) or least (-1) share ``over`` / ``under``; None where it has no end."""
    typical = over.typical / under.typical
    choose = max if sign > 0 else min
    lines = list(zip(over.floats, under.floats, strict=True))
    above, below = float(over.fixed), float(under.fixed)
    guess = float(typical)
    before = [0] * len(lines)
    # Each round betters the share by another choice of analyses, of which there are finitely many; in practice three.
    for _ in range(100):
        chosen = []
        numerator, denominator = above, below
        for numerators, denominators in lines:
            gains = [n - guess * d for n, d in zip(numerators, denominators, strict=True)]
            at = gains.index(choose(gains))
            numerator += numerators[at]
            denominator += denominators[at]
            chosen.append(at)
        if not denominator and sign > 0 and numerator:
            return None
        if not denominator or chosen == before:
            break
        before = chosen
        guess = numerator / denominator
    found = over.at(before) / under.at(before)
    return found if sign * (found - typical) > 0 else typical


def _held(found: Mapping[str, Range | None]) -> Mapping[str, Range]:
    return MappingProxyType({oxide: one for oxide, one in found.items() if one is not None})
