"""Amounts of given materials that bring a wanted set of oxides as nearly as they can.

Non-negative least squares by active sets: C. L. Lawson and R. J. Hanson, "Solving Least Squares Problems",
Prentice-Hall, 1974, chapter 23 (the algorithm from memory; its conditions are tested).

Numbers become binary floats in ``_Problem``, and nowhere before: amounts come out of a search, are known to some
twelve figures and are rounded for the balance afterwards, so that what is reported is calculated anew, in Decimal, from
the rounded amounts. Everything is done in a fixed order, so the same input gives the same output.

How far an oxide lies off is counted in steps of ``STEP`` mol, plus ``SHARE`` of what is wanted, where the fluxes are
taken as 1. So a few hundredths of a mol of lithia count as much as a few tenths of silica, and an oxide that is not
wanted at all is kept out. Few materials are preferred: one is added at a time, the one that helps most, and those
without which every oxide stays where it may are taken out again.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from decimal import Decimal
from operator import mul
from types import MappingProxyType
from typing import Final, NamedTuple

from glost.errors import ValueRefusedError

STEP: Final = 0.003
SHARE: Final = 0.03
"""An oxide of which w mol are wanted is weighed by 1 / (STEP + SHARE * w)."""
WITHIN: Final = Decimal("0.01")
"""An oxide that lies no further off, in mol where the fluxes are 1, counts as reached."""

_SUM_STEP: Final = 0.0002
"""What is taken as 1 is held to this, so that the formula that is reached is one as well."""
_EQUAL: Final = 0.005
"""Differences up to here are not worth another material: half of what counts as reached."""
_NEARLY: Final = (1.1, 0.002)
"""Where more is off even in the best fit of all, an oxide may lie this many times as far off, and this much more."""
_ROOM: Final = 0.0002
"""What is left for rounding amounts where an oxide lies at the edge of what counts as reached."""
_TRACE: Final = 0.0005
_LITTLE: Final = 0.003
"""Shares of the batch: less of a material that the recipe has is a trace; less of another is not weighed for choice."""
_PREFERRED: Final = 0.25
"""A material of a later tier must bring four times as much to be taken first."""
_TRIED: Final = 12
_DEPENDENT: Final = 1e-9
_FLAT: Final = 1e-11

Column = Sequence[float]


class Candidate(NamedTuple):
    """A material at hand. ``moles``: mol of each oxide from 100 parts. Those of a lower ``tier`` are taken for
    choice; 0 is for the recipe's own materials, which the search begins with."""

    name: str
    moles: Mapping[str, Decimal]
    tier: int = 1


@dataclass(frozen=True, slots=True)
class Fit:
    """``amounts``: parts of each material that is used, in the candidates' order. ``possible``: whether any amounts
    of all the candidates bring every oxide within WITHIN; False is a proof, up to the precision of a float."""

    amounts: Mapping[str, float]
    possible: bool


def fit(
    wanted: Mapping[str, Decimal], candidates: Sequence[Candidate], one: Set[str], kept: Mapping[str, Decimal]
) -> Fit:
    """The amounts of ``candidates`` that, with the oxides of what is ``kept``, come nearest to ``wanted``: both in mol,
    ``wanted`` of those that the amounts are parts of. ``one`` names the oxides whose sum is taken as 1; ``wanted``
    must hold some of them. Raises ValueError where it does not, and where no candidate is given."""
    if not candidates:
        raise ValueRefusedError("no material is given to match with")
    if not sum(wanted.get(oxide, Decimal(0)) for oxide in one) > 0:
        raise ValueRefusedError("nothing that is wanted can be taken as 1")
    return _Search(
        _Problem(wanted, candidates, one, kept), [candidate.tier for candidate in candidates]
    ).fit()


def nearest(
    wanted: Mapping[str, Decimal], candidates: Sequence[Candidate], one: Set[str], kept: Mapping[str, Decimal]
) -> tuple[Mapping[str, float], float]:
    """The amounts that come nearest of exactly these ``candidates``, those above 0, and how far off they leave the
    oxides: the sum of squares that ``fit`` makes least. Arguments and errors as of ``fit``."""
    if not sum(wanted.get(oxide, Decimal(0)) for oxide in one) > 0:
        raise ValueError("nothing that is wanted can be taken as 1")
    problem = _Problem(wanted, candidates, one, kept)
    amounts = problem.solve(range(len(candidates)))
    return {problem.names[at]: amount for at, amount in amounts.items()}, problem.loss(amounts)


def nnls(columns: Sequence[Column], wanted: Column) -> list[float]:
    """The x, none below 0, with the least sum of squares of ``wanted`` minus the columns times x. Columns are as long
    as ``wanted``; of columns that would help alike the first is taken. A column of zeros gets 0."""
    lengths = [math.sqrt(_dot(column, column)) for column in columns]
    units = [
        [value / length for value in column] if length else []
        for column, length in zip(columns, lengths, strict=True)
    ]
    flat = _FLAT * math.sqrt(_dot(wanted, wanted))
    x = [0.0] * len(columns)
    basis = _Basis(wanted)
    refused: set[int] = set()
    # Each round lowers the sum of squares, so no set comes twice; the bound is for rounding errors.
    for _ in range(3 * len(columns) + 30):
        open_ = [
            at for at in range(len(units)) if units[at] and at not in basis.members and at not in refused
        ]
        slopes = {at: _dot(units[at], basis.rest) for at in open_}
        steepest = max(slopes.values(), default=0.0)
        if steepest <= flat:
            break
        entering = next(at for at in open_ if slopes[at] >= steepest * (1 - 1e-12))
        if not basis.add(entering, units[entering]):
            refused.add(entering)
            continue
        solved = basis.solve()
        if solved[-1] <= 0:  # only rounding made it seem to help
            basis = _Basis.of(basis.members[:-1], units, wanted)
            refused.add(entering)
            continue
        refused.clear()
        while min(solved) <= 0:
            # As far towards the solution as all stay above 0; those that reach 0 leave.
            steps = [
                x[at] / (x[at] - value) for at, value in zip(basis.members, solved, strict=True) if value <= 0
            ]
            step = min(steps)
            for at, value in zip(basis.members, solved, strict=True):
                x[at] += step * (value - x[at])
            leaving = {
                at
                for at, value in zip(basis.members, solved, strict=True)
                if value <= 0 and x[at] <= 1e-14 * (1 + abs(value))
            }
            for at in leaving:
                x[at] = 0.0
            basis = _Basis.of([at for at in basis.members if at not in leaving], units, wanted)
            if not basis.members:
                break
            solved = basis.solve()
        for at, value in zip(basis.members, solved, strict=False):
            x[at] = value
    return [value / length if length else 0.0 for value, length in zip(x, lengths, strict=True)]


def _dot(first: Column, second: Column) -> float:
    return math.fsum(map(mul, first, second))


class _Basis:
    """Columns of length 1, made orthogonal one after the other (Gram and Schmidt, each done twice). ``rest`` is what
    the columns leave of ``wanted``."""

    def __init__(self, wanted: Column) -> None:
        self.members: list[int] = []
        self.rest: list[float] = list(wanted)
        self._orthogonal: list[list[float]] = []
        self._upper: list[list[float]] = []
        self._along: list[float] = []

    @classmethod
    def of(cls, members: Iterable[int], units: Sequence[Column], wanted: Column) -> _Basis:
        basis = cls(wanted)
        for at in members:
            basis.add(at, units[at])
        return basis

    def across(self, column: Column) -> tuple[list[float], list[float]]:
        """What of a column the others cannot make, and how much of each it holds."""
        left = list(column)
        held = [0.0] * len(self._orthogonal)
        for _ in range(2):
            for at, other in enumerate(self._orthogonal):
                share = _dot(other, left)
                held[at] += share
                left = [value - share * part for value, part in zip(left, other, strict=True)]
        return left, held

    def add(self, at: int, column: Column) -> bool:
        """Takes a column of length 1 in; False, and nothing is done, where the others make it up already."""
        left, held = self.across(column)
        length = math.sqrt(_dot(left, left))
        if length < _DEPENDENT:
            return False
        unit = [value / length for value in left]
        along = _dot(unit, self.rest)
        self.rest = [value - along * part for value, part in zip(self.rest, unit, strict=True)]
        self.members.append(at)
        self._orthogonal.append(unit)
        self._upper.append([*held, length])
        self._along.append(along)
        return True

    def solve(self) -> list[float]:
        """How much of each member comes nearest."""
        solved = list(self._along)
        for at in reversed(range(len(solved))):
            solved[at] /= self._upper[at][at]
            for above in range(at):
                solved[above] -= self._upper[at][above] * solved[at]
        return solved


class _Problem:
    """The wanted oxides and the materials as floats: a row an oxide, in mol where the fluxes are 1, and a last row for
    their sum; a column a material."""

    def __init__(
        self,
        wanted: Mapping[str, Decimal],
        candidates: Sequence[Candidate],
        one: Set[str],
        kept: Mapping[str, Decimal],
    ) -> None:
        oxides = dict.fromkeys(wanted)
        for moles in (kept, *(candidate.moles for candidate in candidates)):
            oxides.update(dict.fromkeys(oxide for oxide, amount in moles.items() if amount))
        whole = float(sum(wanted.get(oxide, Decimal(0)) for oxide in one))
        self.names = [candidate.name for candidate in candidates]
        self.ones = [oxide in one for oxide in oxides]
        self.wanted = [float(wanted.get(oxide, 0)) / whole for oxide in oxides]
        self.kept = [float(kept.get(oxide, 0)) / whole for oxide in oxides]
        self.brought = [
            [float(candidate.moles.get(oxide, 0)) / 100 / whole for oxide in oxides]
            for candidate in candidates
        ]
        self._steps = [STEP + SHARE * value for value in self.wanted]
        self.rows = [self._weighed(values) for values in self.brought]
        self.aim = self._weighed([want - have for want, have in zip(self.wanted, self.kept, strict=True)])

    def _weighed(self, values: Column) -> list[float]:
        row = [value / step for value, step in zip(values, self._steps, strict=True)]
        return [
            *row,
            sum(value for value, counts in zip(values, self.ones, strict=True) if counts) / _SUM_STEP,
        ]

    def solve(self, chosen: Sequence[int]) -> dict[int, float]:
        """The amounts of the chosen materials that come nearest, those above 0."""
        found = nnls([self.rows[at] for at in chosen], self.aim)
        return {at: value for at, value in zip(chosen, found, strict=True) if value > 0}

    def off(self, amounts: Mapping[int, float]) -> list[float]:
        """How far each oxide lies off, in mol, where the fluxes that are reached are 1."""
        reached = list(self.kept)
        for at, amount in amounts.items():
            reached = [value + amount * part for value, part in zip(reached, self.brought[at], strict=True)]
        whole = sum(value for value, counts in zip(reached, self.ones, strict=True) if counts)
        if whole <= 0:
            return [math.inf] * len(reached)
        return [value / whole - want for value, want in zip(reached, self.wanted, strict=True)]

    def loss(self, amounts: Mapping[int, float]) -> float:
        """The sum of squares that is made least."""
        rest = self.rest(amounts)
        return _dot(rest, rest)

    def rest(self, amounts: Mapping[int, float]) -> list[float]:
        """What is left of the aim, in steps."""
        rest = list(self.aim)
        for at, amount in amounts.items():
            rest = [value - amount * part for value, part in zip(rest, self.rows[at], strict=True)]
        return rest

    def solve_within(self, chosen: Sequence[int], room: Sequence[float]) -> dict[int, float] | None:
        """Amounts with which every oxide lies no further off than its room, or None where there are none.

        Each oxide gets two more unknowns, how far it lies above the least and below the most that is allowed. All of
        them can be 0 or more, with nothing left over, just where such amounts exist; so it is the same kind of
        problem again.
        """
        count = len(room)
        steps = self._steps
        columns = [self.rows[at] + [0.0] * count for at in chosen]
        for sign in (1.0, 0.0):
            for row in range(count):
                column = [0.0] * (2 * count + 1)
                column[row] = sign
                column[count + 1 + row] = 1.0
                columns.append(column)
        spans = [width / step for width, step in zip(room, steps, strict=True)]
        aim = [value + span for value, span in zip(self.aim, [*spans, 0.0], strict=True)]
        aim += [2 * span for span in spans]
        found = nnls(columns, aim)
        left = list(aim)
        for column, value in zip(columns, found, strict=True):
            if value:
                left = [one - value * part for one, part in zip(left, column, strict=True)]
        if max(map(abs, left)) > 1e-6:
            return None
        return {at: value for at, value in zip(chosen, found, strict=False) if value > 0}


class _Search:
    """Few materials that do as well as all of them."""

    def __init__(self, problem: _Problem, tiers: Sequence[int]) -> None:
        self._problem = problem
        self._tiers = tiers
        self._every = range(len(tiers))
        self._room: list[float] = []

    def fit(self) -> Fit:
        problem = self._problem
        best = problem.solve(self._every)
        off = problem.off(best)
        self._room = [max(_EQUAL, abs(value) * _NEARLY[0] + _NEARLY[1]) for value in off]
        possible = max(map(abs, off)) <= float(WITHIN) - _ROOM
        chosen: dict[int, float] | None = None
        if not possible:
            # The nearest by squares may leave one oxide out where other amounts would hold all of them.
            narrow, wide = ([float(WITHIN) - less] * len(off) for less in (_ROOM, 0.0))
            inside = problem.solve_within(self._every, narrow) or problem.solve_within(self._every, wide)
            if inside is not None:
                possible = True
                self._room = [max(map(abs, problem.off(inside))) + 1e-9] * len(off)
                self._room = [max(width, float(WITHIN) - _ROOM) for width in self._room]
                best = inside
        chosen = self._gathered()
        if chosen is None:
            chosen = best
        chosen = self._thinned(chosen)
        return Fit(MappingProxyType({problem.names[at]: chosen[at] for at in sorted(chosen)}), possible)

    def _fits(self, amounts: Mapping[int, float]) -> bool:
        off = self._problem.off(amounts)
        return all(abs(value) <= width for value, width in zip(off, self._room, strict=True))

    def _gathered(self) -> dict[int, float] | None:
        """The recipe's own materials, with one after the other of those that help most; None where they do not lead
        to where the best fit is."""
        problem = self._problem
        chosen = [at for at in self._every if self._tiers[at] == 0]
        amounts = problem.solve(chosen)
        while not self._fits(amounts):
            entering = self._entering(amounts)
            if entering is None:
                return None
            amounts = problem.solve([*sorted(amounts), entering])
        return amounts

    def _entering(self, amounts: Mapping[int, float]) -> int | None:
        """The material that helps most beside those that are used."""
        problem = self._problem
        loss = problem.loss(amounts)
        rest = problem.rest(amounts)
        basis = _Basis(problem.aim)
        for at in sorted(amounts):
            length = math.sqrt(_dot(problem.rows[at], problem.rows[at]))
            basis.add(at, [value / length for value in problem.rows[at]])
        hopes: list[tuple[float, int]] = []
        for at in self._every:
            if at in amounts:
                continue
            slope = _dot(problem.rows[at], rest)
            if slope <= 0:
                continue
            left, _ = basis.across(problem.rows[at])
            alone = _dot(left, left)
            if alone > _DEPENDENT * _dot(problem.rows[at], problem.rows[at]):
                hopes.append((slope * slope / alone, at))
        if not hopes:
            return None
        most = max(hope for hope, _ in hopes)
        # Rounded, so that materials which help alike are taken in the order given.
        hopes.sort(key=lambda hope: (-round(hope[0] / most, 9), hope[1]))
        gains: dict[int, float] = {}
        for tier in sorted(set(self._tiers)):
            for _, at in [hope for hope in hopes if self._tiers[hope[1]] == tier][:_TRIED]:
                gains[at] = loss - problem.loss(problem.solve([*sorted(amounts), at]))
        highest = max(gains.values())
        if highest <= 1e-9 * loss:
            return None
        for tier in sorted(set(self._tiers)):
            inside = {at: gain for at, gain in gains.items() if self._tiers[at] == tier}
            top = max(inside.values(), default=0.0)
            if top >= _PREFERRED * highest:
                return min(at for at, gain in inside.items() if gain >= top * (1 - 1e-9))
        return None

    def _thinned(self, amounts: dict[int, float]) -> dict[int, float]:
        """Without the materials that can be spared: those of the latest tier first, and of them the least. One of the
        recipe's own goes only where it is a trace."""
        again = True
        while again:
            again = False
            whole = sum(amounts.values())
            for at in sorted(amounts, key=lambda at: (-self._tiers[at], amounts[at], at)):
                share = amounts[at] / whole
                if self._tiers[at] == 0 and share >= _TRACE:
                    continue
                fewer = self._without(at, amounts, share < _LITTLE)
                if fewer is not None:
                    amounts, again = fewer, True
                    break
        return amounts

    def _without(self, leaving: int, amounts: Mapping[int, float], little: bool) -> dict[int, float] | None:
        left = [at for at in sorted(amounts) if at != leaving]
        if not left:
            return None
        fewer = self._problem.solve(left)
        if self._fits(fewer):
            return fewer
        if little and max(map(abs, self._problem.off(fewer))) <= float(WITHIN) - _ROOM:
            return fewer
        if max(self._room) > _EQUAL and max(self._room) <= float(WITHIN):
            return self._problem.solve_within(left, self._room)
        return None
