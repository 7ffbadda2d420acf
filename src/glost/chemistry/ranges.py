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

from bisect import bisect
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal, localcontext
from functools import cached_property, lru_cache
from math import ceil, floor, inf
from operator import attrgetter
from typing import Final, Literal, NamedTuple, TypeVar

from glost.chemistry.analysis import Analysis
from glost.chemistry.melt import Line, Melt
from glost.chemistry.unity import ALKALIS, COLOURANTS, FLUXES, PLAIN, Convention, place
from glost.recipe.materials.elements import exact_enough
from glost.recipe.materials.oxides import OxideTable

_ZERO: Final = Decimal(0)
_ANY: Final = (*FLUXES, *COLOURANTS, "Al2O3", "B2O3", "Fe2O3", "SiO2", "TiO2", "ZrO2", "SnO2", "P2O5")
"""What a line of which nothing is known may wholly be."""
_ANY_OF: Final = frozenset(_ANY)


Name = TypeVar("Name")
Ends = tuple[float, float | None]
"""Of a range, rounded."""


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

    def outwards(self, decimals: int) -> Ends:
        """Both ends to so many decimals, so that what lies within the range lies within what is written."""
        least = Decimal(1).scaleb(-decimals)
        high = None if self.high is None else float(self.high.quantize(least, ROUND_CEILING))
        return float(self.low.quantize(least, ROUND_FLOOR)) + 0.0, high


@dataclass(frozen=True, slots=True)
class Ranges:
    """Of every figure of a formula, by oxide in the order of print; also of oxides that the typical melt does not hold
    and a bracket does. ``unity`` is empty and ``ratio`` None where the typical melt has no such figure."""

    unity: Table
    weight_percent: Table
    mol_percent: Table
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
        return _anything(_may_be(melt), melt.table)
    return tuple(Choice(one.moles, one.oxides, one.loss) for one in (analysis, *corners))


def _may_be(melt: Melt) -> tuple[str, ...]:
    """The oxides that a line of which nothing is known may be. Nearly every melt holds none but the usual ones."""
    return (*_ANY, *sorted(melt.moles.keys() - _ANY_OF))


@lru_cache(maxsize=32)
def _anything(oxides: tuple[str, ...], table: OxideTable) -> tuple[Choice, ...]:
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
        if (
            oxide not in _ANY_OF
            and oxide not in melt.moles
            and any(line.analysis is None for line in melt.lines if line.parts)
        ):
            return Range(_ZERO, None) if problem.typically(_ONE) else None
        return problem.unity(oxide)


_Summed = str
"""What is summed over the lines: mol or grams ("g"), and of which oxide, or of which oxides together."""
_ONE: Final = "mol one"
_ALKALI: Final = "mol alkali"
_ALL_MOL: Final = "mol all"
_ALL_GRAMS: Final = "g all"


def _brought(choice: Choice, summed: _Summed, counts: frozenset[str]) -> Decimal:
    """What a choice brings to a sum."""
    if summed == _ONE:
        return sum((choice.moles.get(oxide, _ZERO) for oxide in sorted(counts)), _ZERO)
    if summed == _ALKALI:
        return sum((choice.moles.get(oxide, _ZERO) for oxide in ALKALIS), _ZERO)
    what, oxide = summed.split()
    held = choice.moles if what == "mol" else choice.oxides
    return sum(held.values(), _ZERO) if oxide == "all" else held.get(oxide, _ZERO)


class _Held:
    """What 100 g of a material may bring. ``near``: the same in float, by what is summed; what is always 0 is left
    out. ``turns``: those choices that may lead to an end. ``oxides``: those that have a range for its sake."""

    def __init__(self, choices: tuple[Choice, ...], counts: frozenset[str], known: bool = True) -> None:
        oxides = dict.fromkeys(oxide for choice in choices for oxide in choice.moles)
        each = (f"{what} {oxide}" for what in ("mol", "g") for oxide in oxides)
        with localcontext(exact_enough()):
            rows = {
                summed: tuple(float(_brought(choice, summed, counts)) for choice in choices)
                for summed in (_ONE, _ALKALI, _ALL_MOL, _ALL_GRAMS, *each)
            }
        self.choices = choices
        losses = [choice.loss for choice in choices]
        self.least_loss, self.most_loss = min(losses), max(losses)
        # Those that another choice than the typical holds, for the typical melt may hold none of them. Of one that may
        # be anything none is told.
        self.oxides = {
            oxide
            for choice in (choices[1:] if known else ())
            for oxide, amount in choice.moles.items()
            if amount
        }
        self.near = {summed: row for summed, row in rows.items() if any(row)}
        self.turns = _Turns(len(choices), self.near)


_Asked = tuple[_Summed, _Summed, int]
"""The sums of a share, and 1 for the greatest, -1 for the least of it."""


class _Chain(NamedTuple):
    """What is best of a material, as ``pairs`` of what it brings to both sums, in the order of the share that is
    guessed; each up to the guess ``until`` which it is."""

    pairs: Sequence[tuple[float, float]]
    until: Sequence[float]


class _Turns(dict[_Asked, _Chain]):
    """By end: which choice of a material is the best at which guess. The amount of the material has no part in it. Each
    is found when it is first asked for, and kept."""

    def __init__(self, count: int, near: Mapping[_Summed, tuple[float, ...]]) -> None:
        self._near = near
        self._nothing = (0.0,) * count

    def __missing__(self, asked: _Asked) -> _Chain:
        over, under, sign = asked
        every = list(zip(*(self._near.get(summed, self._nothing) for summed in (over, under)), strict=True))
        pairs = [max(every, key=lambda pair: (sign * pair[0], -sign * pair[1]))]
        until: list[float] = []
        while True:
            most, beside = pairs[-1]
            # A greater guess asks for less of the denominator, and for more of it where the least is looked for.
            later = [pair for pair in every if sign * pair[1] < sign * beside]
            if not later:
                found = self[asked] = _Chain(pairs, until)
                return found
            turn, _, nearest = min(
                ((most - one) / (beside - other), sign * other, (one, other)) for one, other in later
            )
            pairs.append(nearest)
            until.append(turn)


@lru_cache(maxsize=1024)
def _of_material(analysis: Analysis, corners: tuple[Analysis, ...], counts: frozenset[str]) -> _Held:
    """Kept, since the same few materials stand in every recipe of a collection."""
    return _Held(tuple(Choice(one.moles, one.oxides, one.loss) for one in (analysis, *corners)), counts)


@lru_cache(maxsize=32)
def _of_unknown(oxides: tuple[str, ...], table: OxideTable, counts: frozenset[str]) -> _Held:
    """Kept, since it is the same in nearly every recipe."""
    return _Held(_anything(oxides, table), counts, known=False)


class _Columns:
    """What open materials bring to sums: a column has a figure for each of them. Many figures ask for the same."""

    def __init__(self, materials: int) -> None:
        self.rows: list[list[float]] = [[] for _ in range(materials)]
        self._places: dict[tuple[float, ...], int] = {}

    def __len__(self) -> int:
        return len(self._places)

    def place(self, figures: Iterable[float]) -> int:
        """Where a column stands."""
        column = tuple(figures)
        found = self._places.get(column)
        if found is None:
            found = self._places[column] = len(self._places)
            for row, figure in zip(self.rows, column, strict=True):
                row.append(figure)
        return found


class _Sums(list[float]):
    """For each column the sum of so many times its figures: row by row for all columns, which takes a third of the time
    that it takes column by column."""

    def __init__(self, parts: Sequence[float], columns: _Columns) -> None:
        self.parts = parts
        self._columns = columns
        self.add_new()

    def add_new(self) -> None:
        """Those of columns that came since."""
        new = len(self)
        sums = [0.0] * (len(self._columns) - new)
        for parts, row in zip(self.parts, self._columns.rows, strict=True):
            sums = [known + parts * figure for known, figure in zip(sums, row[new:], strict=True)]
        self += sums


class _Best(NamedTuple):
    """Between which guesses a choice of analyses is the best, and where the columns stand that are its sums."""

    least: float
    over: int
    under: int
    most: float


class _End:
    """The greatest (``sign`` 1) or least (-1) share for some open materials, whatever there is of each."""

    def __init__(self, materials: _Open, asked: _Asked) -> None:
        self._sign = asked[2]
        self._chains = [held.turns[asked] for held in materials.held]
        # Between two of these guesses every material has one best choice.
        self._turns = sorted({turn for chain in self._chains for turn in chain.until})
        self._place = materials.columns.place
        self._found: dict[int, _Best] = {}
        # Where the last batch ended: the next is often like it.
        self._last = self._best(len(self._turns) // 2)

    def near(self, sums: _Sums, above: float, below: float) -> float | None:
        """``above`` and ``below``: what all other lines bring. None where a float does not tell whether there is an
        end at all."""
        guess = None
        # Each round betters the guess by another choice of analyses, of which there are finitely many.
        for _ in range(100):
            least, over, under, most = self._last
            try:
                numerator, denominator = above + sums[over], below + sums[under]
            except IndexError:  # found since, maybe for another batch
                sums.add_new()
                continue
            if not denominator:
                return None
            share = numerator / denominator
            if least <= share < most:
                return share
            if guess is not None and self._sign * (share - guess) <= 0:
                return guess
            guess = share
            self._last = self._best(bisect(self._turns, share))
        return guess

    def _best(self, at: int) -> _Best:
        """What is best between two turns."""
        found = self._found.get(at)
        if found is None:
            least, most = ([-inf, *self._turns, inf][at + more] for more in (0, 1))
            best = [chain.pairs[bisect(chain.until, least)] for chain in self._chains]
            over, under = (self._place(pair[which] for pair in best) for which in (0, 1))
            found = self._found[at] = _Best(least, over, under, most)
        return found


class _Figure(NamedTuple):
    """A share of two sums, with the ends that it has for some open materials."""

    over: _Summed
    under: _Summed
    low: _End
    high: _End


class _Open:
    """Materials that may be several things, and all that can be told of their figures without the amounts: the choice
    of analyses at an end depends on them by little more than which of a few it is."""

    def __init__(self, held: Sequence[_Held]) -> None:
        self.held = held
        self.columns = _Columns(len(held))
        self._figures: dict[tuple[_Summed, _Summed], _Figure] = {}
        self._oxides: set[str] = set().union(*(one.oxides for one in held))
        self._tables: dict[frozenset[str], Sequence[Mapping[str, _Figure]]] = {}
        self._typical: dict[_Summed, int] = {}
        self._sums: _Sums | None = None

    def sums(self, parts: Sequence[float]) -> _Sums:
        """Those of the last time where the parts are the same: most tests of a recipe differ in what is known."""
        if self._sums is None or self._sums.parts != parts:
            self._sums = _Sums(parts, self.columns)
        return self._sums

    def typical(self, summed: _Summed) -> int:
        """Where what the typical compositions bring to a sum stands."""
        found = self._typical.get(summed)
        if found is None:
            found = self._typical[summed] = self.columns.place(
                held.near[summed][0] if summed in held.near else 0.0 for held in self.held
            )
        return found

    def figure(self, over: _Summed, under: _Summed) -> _Figure:
        found = self._figures.get((over, under))
        if found is None:
            low, high = (_End(self, (over, under, sign)) for sign in (-1, 1))
            found = self._figures[over, under] = _Figure(over, under, low, high)
        return found

    def tables(self, oxides: Iterable[str]) -> Sequence[Mapping[str, _Figure]]:
        """Those of _TABLES, of ``oxides`` and of all that the materials may hold, in the order of print: the
        equivalents of each, and its % by mass and by mol in what is fired."""
        told = frozenset(self._oxides.union(oxides))
        found = self._tables.get(told)
        if found is None:
            order = sorted(told, key=place)
            found = self._tables[told] = tuple(
                {oxide: self.figure(f"{what} {oxide}", under) for oxide in order}
                for what, under, _ in _TABLES
            )
        return found


@lru_cache(maxsize=128)
def _open(held: tuple[_Held, ...]) -> _Open:
    """Kept, since the tests of a recipe, and many a recipe of a collection, are of the same open materials."""
    return _Open(held)


_TABLES: Final = (("mol", _ONE, 1), ("g", _ALL_GRAMS, 100), ("mol", _ALL_MOL, 100))
"""What each table of a melt tells of an oxide, as a share of what, and how many times that share."""

_MARGIN: Final = 1e-5
_BELOW_ONE: Final = 1 - _MARGIN
_TOO_LONG: Final = 1e9
"""Of the last figure that is written: so near to a whole one, or so great, a float does not tell how to round."""


class _Problem:
    def __init__(self, melt: Melt, convention: Convention, on: Literal["flux", "alumina"]) -> None:
        self._counts = frozenset({"Al2O3"}) if on == "alumina" else convention.fluxes
        self._melt = melt
        self._lines = [(line.parts, self._held(line)) for line in melt.lines if line.parts]
        self._parts: list[float] = []
        self._fixed: dict[_Summed, float] = {}
        may_be = []
        for amount, held in self._lines:
            parts = float(amount)
            if len(held.choices) > 1:
                self._parts.append(parts)
                may_be.append(held)
                continue
            for summed, (brought,) in held.near.items():
                self._fixed[summed] = self._fixed.get(summed, 0.0) + parts * brought
        self._open = _open(tuple(may_be))
        self._sums = self._open.sums(self._parts)

    def _held(self, line: Line) -> _Held:
        if line.analysis is None:
            return _of_unknown(_may_be(self._melt), self._melt.table, self._counts)
        return _of_material(line.analysis, line.corners, self._counts)

    def typically(self, summed: _Summed) -> float:
        """What the typical compositions bring to a sum."""
        at = self._open.typical(summed)
        if at >= len(self._sums):
            self._sums.add_new()
        return self._fixed.get(summed, 0.0) + self._sums[at]

    def unity(self, oxide: str) -> Range | None:
        return self._range(f"mol {oxide}", _ONE)

    def ranges(self) -> Ranges:
        unity, weight, mol = (
            Table(self, figures if self.typically(under) else {}, times)
            for (_, under, times), figures in zip(_TABLES, self._open.tables(self._melt.moles), strict=True)
        )
        return Ranges(
            unity,
            weight,
            mol,
            self._range("mol SiO2", "mol Al2O3"),
            self._range(_ALKALI, _ONE),
            Range(self._loss(attrgetter("least_loss")), self._loss(attrgetter("most_loss"))),
        )

    def _range(self, over: _Summed, under: _Summed) -> Range | None:
        return _Share(self, self._open.figure(over, under)) if self.typically(under) else None

    def outwards(self, figures: Mapping[Name, _Figure], times: int, decimals: int) -> dict[Name, Ends | None]:
        """Both ends of each to so many decimals, away from each other; None where a float does not tell them."""
        sums, fixed = self._sums, self._fixed
        scale: int = 10**decimals
        shown = times * scale
        found: dict[Name, Ends | None] = {}
        for name, (over, under, lowest, highest) in figures.items():
            above, below = fixed.get(over, 0.0), fixed.get(under, 0.0)
            low, high = lowest.near(sums, above, below), highest.near(sums, above, below)
            found[name] = None
            if low is None or high is None:
                continue
            least, most = low * shown, high * shown
            lower, upper = floor(least), ceil(most)
            # A sum of what is not below 0, divided by another, is right to fourteen digits, and none is 0 that should
            # not be.
            if (
                (_MARGIN < least - lower < _BELOW_ONE or not least)
                and (_MARGIN < upper - most < _BELOW_ONE or not most)
                and most < _TOO_LONG
            ):
                found[name] = lower / scale, upper / scale
        return found

    def exact(self, figure: _Figure, sign: int) -> Decimal | None:
        """An end in Decimal, looked for among all choices; None where it has no end."""
        with localcontext(exact_enough()):
            lines = [
                (
                    parts,
                    [
                        (self._of(choice, figure.over), self._of(choice, figure.under))
                        for choice in held.choices
                    ],
                )
                for parts, held in self._lines
            ]
            typical = [(parts * pairs[0][0], parts * pairs[0][1]) for parts, pairs in lines]
            guess = sum((one for one, _ in typical), _ZERO) / sum((other for _, other in typical), _ZERO)
            return _furthest(lines, guess, sign)

    def _of(self, choice: Choice, summed: _Summed) -> Decimal:
        return _brought(choice, summed, self._counts)

    def _loss(self, choose: Callable[[_Held], Decimal]) -> Decimal:
        return sum((parts * choose(held) for parts, held in self._lines), _ZERO) / self._melt.total_parts


def _furthest(
    lines: Sequence[tuple[Decimal, Sequence[tuple[Decimal, Decimal]]]], guess: Decimal, sign: int
) -> Decimal | None:
    """The greatest (``sign`` 1) or least (-1) share of two sums: so many times one of the pairs of each line.
    ``guess``: the share of the typical. None where it has no end."""
    # Each round betters the share by another choice of analyses, of which there are finitely many; in practice three.
    for _ in range(100):
        numerator = denominator = _ZERO
        for parts, pairs in lines:
            brought, beside = max(pairs, key=lambda pair: sign * (pair[0] - guess * pair[1]))
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
    """The range of a share of sums, and so many ``times`` it; exact ends are calculated where somebody asks."""

    def __init__(self, problem: _Problem, figure: _Figure, times: int = 1) -> None:
        self._problem = problem
        self._figure = figure
        self._times = times

    @cached_property
    def low(self) -> Decimal:  # type: ignore[override]
        with localcontext(exact_enough()):
            return (self._problem.exact(self._figure, -1) or _ZERO) * self._times

    @cached_property
    def high(self) -> Decimal | None:  # type: ignore[override]
        exact = self._problem.exact(self._figure, 1)
        with localcontext(exact_enough()):
            return None if exact is None else exact * self._times

    def outwards(self, decimals: int) -> Ends:
        near = self._problem.outwards({None: self._figure}, self._times, decimals)
        return near[None] or super().outwards(decimals)


class Table(Mapping[str, Range]):
    """The ranges of one figure by oxide, in the order of print; a range is made where somebody asks for it."""

    def __init__(self, problem: _Problem, figures: Mapping[str, _Figure], times: int) -> None:
        self._problem = problem
        self._figures = figures
        self._times = times
        self._made: dict[str, Range] = {}

    def __getitem__(self, oxide: str) -> Range:
        found = self._made.get(oxide)
        if found is None:
            found = self._made[oxide] = _Share(self._problem, self._figures[oxide], self._times)
        return found

    def __iter__(self) -> Iterator[str]:
        return iter(self._figures)

    def __len__(self) -> int:
        return len(self._figures)

    def outwards(self, decimals: int) -> dict[str, Ends]:
        """That of each."""
        near = self._problem.outwards(self._figures, self._times, decimals)
        return {oxide: ends or Range.outwards(self[oxide], decimals) for oxide, ends in near.items()}
