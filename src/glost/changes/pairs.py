"""Which recipe of one side is which of the other: by path, then by what they mean, so that a file that was renamed
or moved is no loss and no gain."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Mapping, Sequence
from fractions import Fraction
from typing import Final, NamedTuple, TypeVar

from glost.changes.meaning import Place, Told, Weighed
from glost.recipe.materials.catalogue import key


class Page(NamedTuple):
    """A recipe file of one side: its path below that side, with / between folders; how it is shown; its recipe, or
    None where it cannot be read."""

    path: str
    shown: str
    told: Told | None


class Pair(NamedTuple):
    """A recipe on both sides, or on one."""

    old: Page | None
    new: Page | None


Kind = TypeVar("Kind", bound=Hashable)


def paired(old: Sequence[Page], new: Sequence[Page], named: bool = True) -> list[Pair]:
    """Every page of both sides, each once, in the order of the paths. ``named``: where there is one page on each
    side, they are a pair whatever their paths. Pages that have changed places are paired by what they are, where
    what lies on each path in question proves it; else a path is a page. One whose path the other side lacks is paired
    with one that means the same, then with one that means the same but for its name, then with one of the same name,
    last with the one whose base and additions it has most of."""
    if named and len(old) == 1 and len(new) == 1:
        return [Pair(old[0], new[0])]
    left, right = {page.path: page for page in old}, {page.path: page for page in new}
    pairs = [Pair(left.pop(here), right.pop(there)) for here, there in _exchanged(left, right).items()]
    pairs += [Pair(left.pop(path), right.pop(path)) for path in sorted(left.keys() & right.keys())]
    for by in (_meaning, _meaning_but_name, _name):
        pairs += _matched(left, right, by)
    pairs += _alike(left, right)
    pairs += [Pair(page, None) for page in left.values()]
    pairs += [Pair(None, page) for page in right.values()]
    return sorted(pairs, key=_path)


def _path(pair: Pair) -> str:
    page = pair.new or pair.old
    assert page is not None
    return page.path


def _exchanged(left: Mapping[str, Page], right: Mapping[str, Page]) -> dict[str, str]:
    """Where each page lies that has made room for another on its old path, or taken that of another. Whatever lies on
    a path of these on either side is one of them: a page that is only gone, or new, proves nothing of the others."""
    if not left.keys() & right.keys():
        return {}
    gone: dict[str, str] = {}
    settled: set[str] = set()
    for by in (_meaning, _name):
        olds, news = (
            _kinds({path: page for path, page in side.items() if path not in known}, by)
            for side, known in ((left, {*gone, *settled}), (right, {*gone.values(), *settled}))
        )
        for kind, (old, *others) in olds.items():
            if others or len(news.get(kind, [])) != 1:
                continue
            (new,) = news[kind]
            if old == new:
                settled.add(old)
            elif (old in right or new in left) and (by is _meaning or _is_rather(left, right, old, new)):
                gone[old] = new
    while True:
        taken = set(gone.values())
        unproven = [
            old
            for old, new in gone.items()
            if (old in right and old not in taken) or (new in left and new not in gone)
        ]
        if not unproven:
            return gone
        for old in unproven:
            del gone[old]


def _is_rather(left: Mapping[str, Page], right: Mapping[str, Page], old: str, new: str) -> bool:
    """Whether a page has more in common with one elsewhere than with what lies on its path now, and that one than with
    what lay there: two recipes that only changed names have not."""
    across = _in_common_of(left[old], right[new])
    by_path = [
        _in_common_of(left[path], right[path]) for path in (old, new) if path in left and path in right
    ]
    return all(across > each for each in by_path)


def _in_common_of(one: Page, other: Page) -> Fraction:
    return _in_common(_mix(one.told), _mix(other.told)) if one.told and other.told else Fraction(0)


def _matched(left: dict[str, Page], right: dict[str, Page], by: Callable[[Told], Hashable]) -> list[Pair]:
    """Takes out of both sides what is one of its kind there and here. Two that are alike are nobody's for sure."""
    kinds = [_kinds(pages, by) for pages in (left, right)]
    found = []
    for kind, olds in kinds[0].items():
        news = kinds[1].get(kind, [])
        if len(olds) == len(news) == 1:
            found.append(Pair(left.pop(olds[0]), right.pop(news[0])))
    return found


def are_alike(one: Told, other: Told) -> bool:
    """Whether two pages have so much of their mixes in common that one can be the other under a new name."""
    return _in_common(_mix(one), _mix(other)) >= _ALIKE


def _alike(left: dict[str, Page], right: dict[str, Page]) -> list[Pair]:
    """Takes out of both sides, the most alike first, what has most of its mix in common. Where a page is as much alike
    to two, it is nobody's for sure."""
    if len(left) * len(right) > _MOST_HELD:
        return []
    mixes = [{path: _mix(page.told) for path, page in side.items() if page.told} for side in (left, right)]
    held = [
        (alike, old, new)
        for old, one in mixes[0].items()
        for new, other in mixes[1].items()
        if (alike := _in_common(one, other)) >= _ALIKE
    ]
    times = Counter((alike, path) for alike, *paths in held for path in paths)
    found = []
    for alike, old, new in sorted(held, reverse=True):
        certain = times[alike, old] == times[alike, new] == 1
        if certain and old in left and new in right:
            found.append(Pair(left.pop(old), right.pop(new)))
    return found


_ALIKE: Final = Fraction(9, 10)
"""How much of the larger of two mixes both must have in common, to be taken for one recipe under a new name."""
_MOST_HELD: Final = 100_000
"""Pairs that are compared with each other at most; more stand on their own, since each costs some time."""


def _mix(one: Told) -> dict[tuple[str, str], Fraction]:
    """What goes into the bucket: the base and the additions, for 100 of the base."""
    return {
        (place.section, place.what): sum(fact.on_100, Fraction(0))
        for place, fact in one.meaning.items()
        if place.section in ("base", "additions") and isinstance(fact, Weighed)
    }


def _in_common(
    one: Mapping[tuple[str, str], Fraction], other: Mapping[tuple[str, str], Fraction]
) -> Fraction:
    """The part of the larger mix that both have."""
    larger = max(sum(one.values(), Fraction(0)), sum(other.values(), Fraction(0)))
    both = sum((min(amount, other.get(what, Fraction(0))) for what, amount in one.items()), Fraction(0))
    return both / larger if larger else Fraction(0)


def _kinds(pages: dict[str, Page], by: Callable[[Told], Kind]) -> dict[Kind, list[str]]:
    kinds: dict[Kind, list[str]] = {}
    for path, page in pages.items():
        if page.told is not None:
            kinds.setdefault(by(page.told), []).append(path)
    return kinds


def _meaning(one: Told) -> Hashable:
    return frozenset(one.meaning.items())


def _meaning_but_name(one: Told) -> Hashable:
    return frozenset((place, fact) for place, fact in one.meaning.items() if place != Place("name"))


def _name(one: Told) -> Hashable:
    return key(one.name)
