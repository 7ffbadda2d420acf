"""How far the figures of a melt may lie from those of the typical compositions.

Every line is taken to be any mixture of the analyses of its bracket (see ``bracket``); a line of which nothing is known
may be any oxide at all, or nothing that stays. All figures are shares: a sum over the lines divided by another such
sum. Such a share is greatest, and least, where each line is one single analysis, which is looked for after
W. Dinkelbach, "On Nonlinear Fractional Programming", Management Science 13 (1967) 492-498 (the method from memory; that
no choice of analyses lies outside is tested): with a guess of the share, each line by itself takes the analysis that
has most of the numerator beyond that guess of the denominator; the share that this gives is the next guess.

The analyses are chosen in float. What they give is calculated in Decimal where somebody asks for it, or where a float
lies so near to a figure that is to be written that it does not tell on which side. So the ends are exact, and a program
that wants them rounded has them in a tenth of the time.
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal, localcontext
from functools import cached_property, lru_cache, partial
from types import MappingProxyType
from typing import Final, Literal, NamedTuple, TypeVar

from glost.chemistry.analysis import Analysis
from glost.chemistry.melt import Melt
from glost.chemistry.unity import ALKALIS, COLOURANTS, FLUXES, PLAIN, Convention, place
from glost.recipe.materials.elements import exact_enough

_ZERO: Final = Decimal(0)
_ANY: Final = (*FLUXES, *COLOURANTS, "Al2O3", "B2O3", "Fe2O3", "SiO2", "TiO2", "ZrO2", "SnO2", "P2O5")
"""What a line of which nothing is known may wholly be."""


class Range:
    """From and to. ``high`` is None where there is no end: nothing may be there to take as 1."""

    def __init__(self, low: Decimal, high: Decimal | None) -> None:
        self.low = low
        self.high = high

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Range) and (self.low, self.high) == (other.low, other.high)

    def __hash__(self) -> int:
        return hash((self.low, self.high))

    def __repr__(self) -> str:
        return f"Range({self.low}, {self.high})"

    @property
    def wide(self) -> bool:
        return self.low != self.high

    def outwards(self, decimals: int) -> tuple[float, float | None]:
        """Both ends to so many decimals, so that what lies within the range lies within what is written."""
        least = Decimal(1).scaleb(-decimals)
        high = None if self.high is None else float(self.high.quantize(least, ROUND_CEILING))
        return float(self.low.quantize(least, ROUND_FLOOR)) + 0.0, high


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
        return _anything(melt)
    return tuple(Choice(one.moles, one.oxides, one.loss) for one in (analysis, *corners))


def _anything(melt: Melt) -> tuple[Choice, ...]:
    table = melt.table
    oxides = dict.fromkeys((*melt.moles, *_ANY))
    whole = Decimal(100)
    with localcontext(exact_enough()):
        return (
            Choice({}, {}, whole),
            *(Choice({oxide: whole / table.mass(oxide)}, {oxide: whole}, _ZERO) for oxide in oxides),
        )


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


_MOL: Final = "mol"
_GRAMS: Final = "g"
_Summed = tuple[str, str]
"""What is summed over the lines: mol or grams, and of which oxide, or of which oxides together."""
_ONE: Final = (_MOL, "one")
_ALKALI: Final = (_MOL, "alkali")
_ALL_MOL: Final = (_MOL, "all")
_ALL_GRAMS: Final = (_GRAMS, "all")


def _figure(choice: Choice, summed: _Summed, counts: frozenset[str]) -> Decimal:
    """What a choice brings to a sum."""
    if summed == _ONE:
        return sum((choice.moles.get(oxide, _ZERO) for oxide in sorted(counts)), _ZERO)
    if summed == _ALKALI:
        return sum((choice.moles.get(oxide, _ZERO) for oxide in ALKALIS), _ZERO)
    what, oxide = summed
    held = choice.moles if what == _MOL else choice.oxides
    return sum(held.values(), _ZERO) if oxide == "all" else held.get(oxide, _ZERO)


class _Held:
    """What 100 g of a material may bring. ``near``: the same in float, by what is summed; what is always 0 is left
    out."""

    def __init__(self, choices: tuple[Choice, ...], counts: frozenset[str]) -> None:
        oxides = dict.fromkeys(oxide for choice in choices for oxide in choice.moles)
        each = itertools.product((_MOL, _GRAMS), oxides)
        with localcontext(exact_enough()):
            rows = {
                summed: tuple(float(_figure(choice, summed, counts)) for choice in choices)
                for summed in (_ONE, _ALKALI, _ALL_MOL, _ALL_GRAMS, *each)
            }
        self.choices = choices
        self.near = {summed: row for summed, row in rows.items() if any(row)}
        self.worth = _Worth(len(choices), self.near)


class _Worth(dict["_Asked", tuple[tuple[float, float], ...]]):
    """The choices of a material that may lead to an end, as what they bring to both sums: none of them brings less of
    the one and more of the other than another, or the other way round for the least. Of four, two are left. Each is
    found when it is first asked for, and kept."""

    def __init__(self, count: int, near: Mapping[_Summed, tuple[float, ...]]) -> None:
        self._near = near
        self._nothing = (0.0,) * count

    def __missing__(self, asked: _Asked) -> tuple[tuple[float, float], ...]:
        over, under, sign = asked
        both = (self._near.get(summed, self._nothing) for summed in (over, under))
        pairs = dict.fromkeys(zip(*both, strict=True))
        found = self[asked] = tuple(
            (one, other)
            for one, other in pairs
            if not any(
                sign * more >= sign * one and sign * less <= sign * other
                for more, less in pairs
                if (more, less) != (one, other)
            )
        )
        return found


_Asked = tuple[_Summed, _Summed, int]
"""The sums of a share, and 1 for the greatest, -1 for the least of it."""


@lru_cache(maxsize=1024)
def _of_material(analysis: Analysis, corners: tuple[Analysis, ...], counts: frozenset[str]) -> _Held:
    """Kept, since the same few materials stand in every recipe of a collection."""
    return _Held(tuple(Choice(one.moles, one.oxides, one.loss) for one in (analysis, *corners)), counts)


class _Problem:
    def __init__(self, melt: Melt, convention: Convention, on: Literal["flux", "alumina"]) -> None:
        self._counts = frozenset({"Al2O3"}) if on == "alumina" else convention.fluxes
        self._melt = melt
        self._lines: list[tuple[Decimal, _Held]] = []
        # In float: the lines that may be several things, and the sums of the others and of all as they stand.
        self._open: list[tuple[float, _Held]] = []
        self._fixed: dict[_Summed, float] = defaultdict(float)
        self._typical: dict[_Summed, float] = {}
        for line in melt.lines:
            if not line.parts:
                continue
            held = (
                _Held(_anything(melt), self._counts)
                if line.analysis is None
                else _of_material(line.analysis, line.corners, self._counts)
            )
            self._lines.append((line.parts, held))
            parts = float(line.parts)
            known = len(held.choices) == 1
            if not known:
                self._open.append((parts, held))
            for summed, row in held.near.items():
                brought = parts * row[0]
                self._typical[summed] = self._typical.get(summed, 0.0) + brought
                if known:
                    self._fixed[summed] += brought

    @cached_property
    def _oxides(self) -> list[str]:
        """Those that the typical melt holds, or a bracket does, in the order of print."""
        oxides = dict.fromkeys(self._melt.moles)
        for line in self._melt.lines:
            for corner in line.corners:
                oxides.update(dict.fromkeys(oxide for oxide, amount in corner.moles.items() if amount))
        return sorted(oxides, key=place)

    @property
    def has_one(self) -> bool:
        """Whether anything known is taken as 1."""
        return bool(self._typical.get(_ONE))

    def unity(self, oxide: str) -> Range | None:
        return self._range((_MOL, oxide), _ONE)

    def ranges(self) -> Ranges:
        return Ranges(
            self._ranges(_MOL, _ONE),
            self._ranges(_GRAMS, _ALL_GRAMS, 100),
            self._ranges(_MOL, _ALL_MOL, 100),
            self._range((_MOL, "SiO2"), (_MOL, "Al2O3")),
            self._range(_ALKALI, _ONE),
            Range(self._loss(min), self._loss(max)),
        )

    def _ranges(self, what: str, under: _Summed, times: int = 1) -> Mapping[str, Range]:
        found = ((oxide, self._range((what, oxide), under, times)) for oxide in self._oxides)
        return MappingProxyType({oxide: one for oxide, one in found if one is not None})

    def _range(self, over: _Summed, under: _Summed, times: int = 1) -> Range | None:
        if not self._typical.get(under):
            return None
        if over not in self._typical:
            return Range(_ZERO, _ZERO)
        low, high = self._near(over, under, -1), self._near(over, under, 1)
        near = (low or 0.0) * times, None if high is None else high * times
        return _Share(partial(self._exact, over, under, times), near)

    def _near(self, over: _Summed, under: _Summed, sign: int) -> float | None:
        """The greatest (``sign`` 1) or least (-1) share ``over`` / ``under``; None where it has no end."""
        guess = self._typical[over] / self._typical[under]
        if sign < 0 and not guess:
            return 0.0
        asked = over, under, sign
        above, below = self._fixed[over], self._fixed[under]
        lines = []
        for parts, held in self._open:
            pairs = held.worth[asked]
            if len(pairs) == 1:
                above += parts * pairs[0][0]
                below += parts * pairs[0][1]
            else:
                lines.append((parts, pairs))
        return _furthest(lines, above, below, guess, sign)

    def _exact(self, over: _Summed, under: _Summed, times: int, sign: int) -> Decimal | None:
        """The same of all choices, in Decimal, and so many times."""
        with localcontext(exact_enough()):
            lines = [
                (
                    parts,
                    [
                        (_figure(choice, over, self._counts), _figure(choice, under, self._counts))
                        for choice in held.choices
                    ],
                )
                for parts, held in self._lines
            ]
            typical = [(parts * pairs[0][0], parts * pairs[0][1]) for parts, pairs in lines]
            guess = sum((one for one, _ in typical), _ZERO) / sum((other for _, other in typical), _ZERO)
            found = _furthest(lines, _ZERO, _ZERO, guess, sign)
            return None if found is None else found * times

    def _loss(self, choose: Callable[[Iterable[Decimal]], Decimal]) -> Decimal:
        total = self._melt.total_parts
        return sum(
            (parts / total * choose(choice.loss for choice in held.choices) for parts, held in self._lines),
            _ZERO,
        )


_Number = TypeVar("_Number", float, Decimal)


def _furthest(
    lines: Sequence[tuple[_Number, Sequence[tuple[_Number, _Number]]]],
    above: _Number,
    below: _Number,
    guess: _Number,
    sign: int,
) -> _Number | None:
    """The greatest (``sign`` 1) or least (-1) share of two sums: so many times one of the pairs of each line, and what
    is ``above`` and ``below`` of the others. ``guess``: the share of the typical. None where it has no end."""
    # Each round betters the share by another choice of analyses, of which there are finitely many; in practice three.
    for _ in range(100):
        numerator, denominator = above, below
        for parts, pairs in lines:
            # Written out, it takes a third of the time of a list and its greatest.
            most: _Number | float = -math.inf
            for one, other in pairs:
                gain = sign * (one - guess * other)
                if gain > most:
                    most, brought, beside = gain, one, other
            numerator += parts * brought
            denominator += parts * beside
        if not denominator:
            return None if numerator and sign > 0 else guess
        share = numerator / denominator
        if sign * (share - guess) <= 0:
            break
        guess = share
    return guess


class _Share(Range):
    """The range of a share of sums, whose exact ends are calculated where somebody asks. ``near``: both ends as near as
    a float is."""

    def __init__(self, exact: Callable[[int], Decimal | None], near: tuple[float, float | None]) -> None:
        self._exact = exact
        self._near = near

    @cached_property
    def low(self) -> Decimal:  # type: ignore[override]
        return self._exact(-1) or _ZERO

    @cached_property
    def high(self) -> Decimal | None:  # type: ignore[override]
        return self._exact(1)

    def outwards(self, decimals: int) -> tuple[float, float | None]:
        low, high = self._near
        scale = 10**decimals
        least = low * scale
        most = None if high is None else high * scale
        if _tells(least) and (most is None or _tells(most)):
            return math.floor(least) / scale, None if most is None else math.ceil(most) / scale
        return super().outwards(decimals)


def _tells(near: float) -> bool:
    """Whether a float tells between which whole numbers a figure lies. A sum of what is not below 0, divided by
    another, is right to fourteen digits, and none is 0 that should not be."""
    margin = max(1e-5, near * 1e-14)
    return margin < near % 1 < 1 - margin or not near
