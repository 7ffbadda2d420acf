"""Two recipes side by side: what changed in meaning, and what is only written otherwise."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final, Literal, NamedTuple

from glost.changes.meaning import (
    AROUND,
    THROUGH,
    WEIGHED,
    Fact,
    Meaning,
    Place,
    Section,
    Told,
    Weighed,
    Written,
    rounded,
)
from glost.changes.rounding import close, rounded_places
from glost.errors import ValueRefusedError
from glost.weighing.rounding import trimmed


class Change(NamedTuple):
    """One place that says something else; None on the side that does not say it. ``follows``: its amount as written
    only went along with the scale of the base, and what moved it on a base of 100 is another material. ``rounding``: it
    only moved as rounding moves it (see compare.rounding)."""

    place: Place
    old: Fact | None
    new: Fact | None
    old_written: Written | None = None
    new_written: Written | None = None
    follows: bool = False
    rounding: bool = False

    @property
    def mirrored(self) -> Change:
        """The same change backwards."""
        return self._replace(
            old=self.new, new=self.old, old_written=self.new_written, new_written=self.old_written
        )


How = Literal["scale", "spelling", "amounts", "value", "order", "lines"]


class Rewording(NamedTuple):
    """Something that is written otherwise and means the same: ``scale`` of the whole base, ``spelling`` of a name,
    ``amounts`` in another unit or in more lines, a ``value`` of a field in another unit, ``order`` of the lines of a
    section, handling ``lines`` grouped anew."""

    how: How
    place: Place
    old: str
    new: str

    @property
    def mirrored(self) -> Rewording:
        """The same rewording backwards."""
        return self._replace(old=self.new, new=self.old)


@dataclass(frozen=True, slots=True)
class Comparison:
    """Old and new, by kind and name, and all that is between them. Changes and rewordings stand in the order of their
    places, which does not depend on the side they are seen from."""

    old_name: str
    new_name: str
    changes: tuple[Change, ...]
    rewordings: tuple[Rewording, ...]

    @property
    def real(self) -> tuple[Change, ...]:
        """The changes but for those of rounding."""
        return tuple(change for change in self.changes if not change.rounding)

    @property
    def same(self) -> bool:
        """Whether both mean the same, but for rounding."""
        return not self.real

    @property
    def empty(self) -> bool:
        """Whether there is nothing between them at all."""
        return not self.changes and not self.rewordings

    @property
    def renamed(self) -> bool:
        """Whether only the recipe's name changed."""
        return bool(self.real) and all(change.place.section == "name" for change in self.real)


def mirrored(comparison: Comparison) -> Comparison:
    """The comparison of new with old."""
    return replace(
        comparison,
        old_name=comparison.new_name,
        new_name=comparison.old_name,
        changes=tuple(change.mirrored for change in comparison.changes),
        rewordings=tuple(rewording.mirrored for rewording in comparison.rewordings),
    )


def apply(meaning: Meaning, comparison: Comparison) -> Meaning:
    """What ``meaning`` says after the changes. Raises ValueError where it does not say what a change begins with."""
    after = dict(meaning)
    for change in comparison.changes:
        if change.place.section in (*AROUND, THROUGH):
            continue
        if after.get(change.place) != change.old:
            raise ValueRefusedError(f"{change.place} does not say what the change begins with")
        if change.new is None:
            del after[change.place]
        else:
            after[change.place] = change.new
    return after


def compare(old: Told, new: Told) -> Comparison:
    """All that is between two recipes."""
    factor = scale(old, new)
    changes = []
    rewordings = list(_of_the_whole(old, new, factor))
    for place in sorted({*old.meaning, *new.meaning}, key=lambda place: place.order):
        before, after = old.meaning.get(place), new.meaning.get(place)
        written = old.written.get(place), new.written.get(place)
        if before != after:
            changes.append(Change(place, before, after, *written, _follows(before, after, *written, factor)))
        if written[0] is not None and written[1] is not None:
            rewordings += _reworded(place, written[0], written[1], before == after, factor)
    only_rounded = rounded_places(old, new)
    changes = [change._replace(rounding=change.place in only_rounded) for change in changes]
    changes += _through(old, new)
    for place in sorted({*old.around, *new.around}, key=lambda place: place.order):
        if old.around.get(place) != new.around.get(place):
            changes.append(Change(place, old.around.get(place), new.around.get(place)))
    rewordings.sort(key=lambda rewording: (rewording.place.order, rewording.how))
    return Comparison(old.name, new.name, tuple(changes), tuple(rewordings))


def _through(old: Told, new: Told) -> Iterator[Change]:
    """What changed in the recipes that are among the ingredients of both. One that was brought to another scale and
    rounded, all of it by no more than that moves, is the same."""
    both = {place.within for place in old.through} & {place.within for place in new.through}
    for within in sorted(both):
        places = {place for side in (old, new) for place in side.through if place.within == within}
        moved = [
            Change(
                place,
                old.through.get(place),
                new.through.get(place),
                old.through_written.get(place),
                new.through_written.get(place),
            )
            for place in sorted(places, key=lambda place: place.order)
            if old.through.get(place) != new.through.get(place)
        ]
        only_rounded = all(close(one.old, one.new) for one in moved)
        yield from (one._replace(rounding=only_rounded) for one in moved)


def scale(old: Told, new: Told) -> Fraction:
    """By how much the amounts of the new base are larger as written: the factor that most of its materials share, so
    that a change of one is told as that, and not as one of all. Seen from the other side it is the inverse."""
    kinds = [{place.section == "base" for place in one.base_places} for one in (old, new)]
    both = set(old.base_places) & set(new.base_places)
    columns_differ = any(len(old.written[place].parts) != len(new.written[place].parts) for place in both)
    comparable = kinds[0] == kinds[1] and old.total and new.total and not columns_differ
    totals = new.total / old.total if comparable else Fraction(1)
    shared: Counter[Fraction] = Counter()
    for place in both:
        factor = _factor(old.written[place].parts, new.written[place].parts)
        if factor is not None:
            shared[factor] += 1
    most = max(shared.values(), default=0)
    factors = {factor for factor, count in shared.items() if count == most}
    for factor in (totals, Fraction(1)):
        if factor in factors:
            return factor
    return factors.pop() if len(factors) == 1 else totals


def _factor(old: Sequence[Fraction], new: Sequence[Fraction]) -> Fraction | None:
    """By what all of these amounts were multiplied; None where that is no one factor, or where there is nothing."""
    if len(old) != len(new) or [bool(one) for one in old] != [bool(one) for one in new]:
        return None
    factors = {b / a for a, b in zip(old, new, strict=True) if a}
    return factors.pop() if len(factors) == 1 else None


def _follows(
    before: Fact | None, after: Fact | None, was: Written | None, now: Written | None, factor: Fraction
) -> bool:
    if not isinstance(before, Weighed) or not isinstance(after, Weighed) or before.note != after.note:
        return False
    return was is not None and now is not None and tuple(one * factor for one in was.parts) == now.parts


_NAMED: Final[tuple[Section, ...]] = (
    "variation",
    "base variation",
    "series",
    "base series",
    "blend",
    "base blend",
)


def _of_the_whole(old: Told, new: Told, factor: Fraction) -> Iterator[Rewording]:
    base = Place("base")
    if factor != 1 or old.in_masses != new.in_masses:
        yield Rewording("scale", base, _total(old), _total(new))
    for section, within in sorted({(place.section, place.within) for place in old.meaning}):
        before, after = (_names(one, section, within) for one in (old, new))
        both = set(before) & set(after)
        was, now = ([name for name in names if name in both] for names in (before, after))
        if was != now:
            yield Rewording("order", Place(section, within), ", ".join(was), ", ".join(now))
    for group in _NAMED:
        names = [
            [place.within for place in one.meaning if place.section == group and not place.what]
            for one in (old, new)
        ]
        was, now = ([name for name in side if name in names[0] and name in names[1]] for side in names)
        if was != now:
            yield Rewording(
                "order",
                Place(group),
                ", ".join(was),
                ", ".join(now),
            )
    if old.handling != new.handling and _said_of(old) == _said_of(new):
        yield Rewording("lines", Place("handling"), _grouped(old), _grouped(new))


def _said_of(one: Told) -> dict[Place, Fact]:
    return {place: fact for place, fact in one.meaning.items() if place.section == "handling"}


def _grouped(one: Told) -> str:
    return "; ".join(", ".join(names) for names in one.handling)


def _total(one: Told) -> str:
    shown = trimmed(rounded(one.total, 6))
    return f"{shown} g" if one.in_masses else f"{shown} parts"


def _names(one: Told, section: Section, within: str) -> list[str]:
    return [place.what for place in one.meaning if place[:2] == (section, within) and place.what]


def _reworded(place: Place, was: Written, now: Written, same: bool, factor: Fraction) -> Iterator[Rewording]:
    if was.names != now.names:
        yield Rewording("spelling", place, " + ".join(was.names), " + ".join(now.names))
    if not same or was.amounts == now.amounts:
        return
    if place.section == "field":
        yield Rewording("value", place, was.amounts[0], now.amounts[0])
    elif place.section in WEIGHED and (
        # What only went along with the scale is told by the scale.
        len(was.amounts) != len(now.amounts) or factor == 1 or _units(was) != _units(now)
    ):
        yield Rewording("amounts", place, " + ".join(was.amounts), " + ".join(now.amounts))


def _units(written: Written) -> tuple[str, ...]:
    return tuple(amount.partition(" ")[2] for amount in written.amounts)
