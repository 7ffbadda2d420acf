"""The columns of a series or a blend through two changes of it: which of them are the same ones.

A column has no name. It is known by its amounts: where one side has more columns, those that were there are found
among them, in their order, by the fewest amounts that would have been changed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from math import comb
from typing import Final, NamedTuple, TypeAlias

from glost.errors import GlostError

Row: TypeAlias = "tuple[str, ...]"
Rows: TypeAlias = "Mapping[tuple[str, ...], Row]"
"""The amounts of each line, one a column."""

_MOST: Final = 20_000
"""Ways of finding columns among others that are tried."""


class ColumnsError(GlostError):
    """Nobody can say which columns are the same."""


class Column(NamedTuple):
    """A column of what both changes make together, and where it stands in each; None where it does not."""

    base: int | None
    ours: int | None
    theirs: int | None


def columns(base: Rows, ours: Rows, theirs: Rows) -> list[Column]:
    """The columns of both changes together, in their order; new ones stand behind what they follow, ours first. What a
    side took out is out. Raises ColumnsError."""
    count = _count(base)
    places = [_places(base, side) for side in (ours, theirs)]
    found = list(_new(ours, theirs, places, -1))
    for at in range(count):
        here, there = (side[at] for side in places)
        if here is not None and there is not None:
            found.append(Column(at, here, there))
        elif here is not None or there is not None:
            _check_unchanged(
                base, ours if here is not None else theirs, at, here if here is not None else there
            )
        found += _new(ours, theirs, places, at)
    return found


def _count(rows: Rows) -> int:
    counts = {len(row) for row in rows.values()}
    if len(counts) != 1:
        raise ColumnsError("the lines of a block have different numbers of amounts")
    return counts.pop()


def _places(base: Rows, side: Rows) -> list[int | None]:
    """Where each column of ``base`` stands in ``side``."""
    was, now = _count(base), _count(side)
    if was == now:
        return list(range(was))
    shared = base.keys() & side.keys()
    if was < now:
        return list(_found({at: base[at] for at in shared}, {at: side[at] for at in shared}, was, now))
    left = _found({at: side[at] for at in shared}, {at: base[at] for at in shared}, now, was)
    back = {place: at for at, place in enumerate(left)}
    return [back.get(at) for at in range(was)]


def _found(few: Rows, many: Rows, count: int, among: int) -> tuple[int, ...]:
    """Where the columns of ``few`` stand among those of ``many``."""
    if comb(among, count) > _MOST:
        raise ColumnsError("there are too many columns to say which of them are the same")
    best: list[tuple[int, ...]] = []
    least = -1
    for places in combinations(range(among), count):
        unlike = sum(
            row[at] != many[line][place] for line, row in few.items() for at, place in enumerate(places)
        )
        if least < 0 or unlike < least:
            best, least = [], unlike
        if unlike == least:
            best.append(places)
    if least and len(best) > 1:
        raise ColumnsError("it is not certain which columns are the same")
    return best[0]


def _new(ours: Rows, theirs: Rows, places: Sequence[Sequence[int | None]], after: int) -> Iterator[Column]:
    """The columns that were put in behind one; the same one of both sides once."""
    added = [
        list(_between(side, after, _count(rows))) for side, rows in zip(places, (ours, theirs), strict=True)
    ]
    mine = [_amounts(ours, at, ours.keys() & theirs.keys()) for at in added[0]]
    yield from (Column(None, at, None) for at in added[0][: 0 if added[1] else None])
    if not added[1]:
        return
    twins: dict[int, int] = {}
    for at in added[1]:
        amounts = _amounts(theirs, at, ours.keys() & theirs.keys())
        twin = next((i for i, one in enumerate(mine) if one == amounts and added[0][i] not in twins), None)
        if twin is not None:
            twins[added[0][twin]] = at
    yield from (Column(None, at, twins.get(at)) for at in added[0])
    yield from (Column(None, None, at) for at in added[1] if at not in twins.values())


def _between(places: Sequence[int | None], after: int, count: int) -> range:
    """The columns of a side behind where a column of the base stood, and before the next one that is left."""
    before = max((place for place in places[: after + 1] if place is not None), default=-1)
    if after >= 0 and places[after] is None:
        return range(0)  # what stands there is told of the column that is left before it
    behind = min((place for place in places[after + 1 :] if place is not None), default=count)
    return range(before + 1, behind)


def _amounts(rows: Rows, at: int, lines: object) -> tuple[tuple[tuple[str, ...], str], ...]:
    return tuple(sorted((line, row[at]) for line, row in rows.items() if line in lines))  # type: ignore[operator]


def _check_unchanged(base: Rows, side: Rows, at: int, place: int | None) -> None:
    """Raises ColumnsError where a side changed the column that the other took out."""
    assert place is not None
    if any(line in side and row[at] != side[line][place] for line, row in base.items()):
        raise ColumnsError("one side took a column out, and the other changed it")
