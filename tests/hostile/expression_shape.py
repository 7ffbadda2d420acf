"""Whether a regular expression can go round in two ways on the same text, from its shape alone.

A backtracking matcher takes a time that doubles with every character where, and only where, some state of the
expression's automaton can come back to itself on one text by two paths. The automaton is Glushkov's: its states are
the places in the expression where a character is read, so it has no empty steps, and two paths are two ways to match.
Two paths exist where, in the product of the automaton with itself, a pair of one state twice and a pair of two
different states lie in one cycle.

What the automaton leaves out (that a look-ahead forbids a text, that a possessive repeat gives nothing back, what is
matched before and behind) only ever takes ways away, so that "none" is proven. A look-ahead for one character is
kept, since the grammar tells letters by it.
"""

from __future__ import annotations

import functools
import itertools
import re
import sys
from collections.abc import Iterable
from re import _constants, _parser
from typing import Any, NamedTuple

code: Any = _constants
Ranges = tuple[tuple[int, int], ...]
"""Characters, as ranges of code points in order; both ends are inside."""
_ALL: Ranges = ((0, sys.maxunicode),)


def _united(ranges: Iterable[tuple[int, int]]) -> Ranges:
    out: list[tuple[int, int]] = []
    for low, high in sorted(ranges):
        if out and low <= out[-1][1] + 1:
            out[-1] = (out[-1][0], max(out[-1][1], high))
        else:
            out.append((low, high))
    return tuple(out)


def _others(ranges: Ranges) -> Ranges:
    out, at = [], 0
    for low, high in ranges:
        if at < low:
            out.append((at, low - 1))
        at = high + 1
    return (*out, (at, sys.maxunicode)) if at <= sys.maxunicode else tuple(out)


def _shared(one: Ranges, other: Ranges) -> Ranges:
    return tuple(
        (max(a, c), min(b, d)) for a, b in one for c, d in other if max(a, c) <= min(b, d)
    )  # fmt: skip


@functools.cache
def _category(name: Any) -> Ranges:
    letter = {
        code.CATEGORY_DIGIT: r"\d", code.CATEGORY_NOT_DIGIT: r"\D", code.CATEGORY_SPACE: r"\s",
        code.CATEGORY_NOT_SPACE: r"\S", code.CATEGORY_WORD: r"\w", code.CATEGORY_NOT_WORD: r"\W",
    }[name]  # fmt: skip
    every = "".join(map(chr, range(sys.maxunicode + 1)))
    return tuple((found.start(), found.end() - 1) for found in re.finditer(f"{letter}+", every))


def _in_any_case(ranges: Ranges) -> Ranges:
    plain = [(low, high) for low, high in ranges if high < 128]
    turned = [
        (ord(turn), ord(turn))
        for low, high in plain
        for at in range(low, high + 1)
        for turn in chr(at).swapcase()
    ]
    return _united([*ranges, *turned])


class _Part(NamedTuple):
    """A piece of the expression: whether it can be empty, the states that it can begin and end with."""

    empty: bool
    first: frozenset[int]
    last: frozenset[int]


_EMPTY = _Part(True, frozenset(), frozenset())


class _Automaton:
    def __init__(self, pattern: str) -> None:
        self.reads: list[Ranges] = []
        self.follows: dict[int, set[int]] = {}
        self.doubled = False
        """Whether one step can be made in two ways, which paths between states do not show."""
        parsed = _parser.parse(pattern)
        self._sequence(list(parsed), bool(parsed.state.flags & re.IGNORECASE))

    def _state(self, reads: Ranges) -> _Part:
        self.reads.append(reads)
        new = frozenset({len(self.reads) - 1})
        return _Part(False, new, new)

    def _joined(self, one: _Part, other: _Part) -> _Part:
        for state in one.last:
            self.follows.setdefault(state, set()).update(other.first)
        return _Part(
            one.empty and other.empty,
            one.first | other.first if one.empty else one.first,
            one.last | other.last if other.empty else other.last,
        )

    def _sequence(self, items: list[Any], any_case: bool) -> _Part:
        part = _EMPTY
        ahead: Ranges | None = None
        for operation, argument in items:
            if operation is code.ASSERT and argument[0] == 1:
                only = list(argument[1])
                one = self._characters(only[0][0], only[0][1], any_case) if len(only) == 1 else None
                ahead = one if ahead is None or one is None else _shared(ahead, one)
                continue
            if operation in (code.ASSERT, code.ASSERT_NOT, code.AT):
                continue
            reads = self._characters(operation, argument, any_case)
            if reads is not None:
                part = self._joined(part, self._state(reads if ahead is None else _shared(reads, ahead)))
            else:
                part = self._joined(part, self._group(operation, argument, any_case))
            ahead = None
        return part

    def _characters(self, operation: Any, argument: Any, any_case: bool) -> Ranges | None:
        """What one character may be, or None for what is no single character."""
        if operation is code.LITERAL:
            ranges: Ranges = ((argument, argument),)
        elif operation is code.NOT_LITERAL:
            ranges = _others(((argument, argument),))
        elif operation is code.ANY:
            ranges = _others(((10, 10),))
        elif operation is code.IN:
            negated = argument[0][0] is code.NEGATE
            held: list[tuple[int, int]] = []
            for kind, what in argument[negated:]:
                if kind is code.LITERAL:
                    held.append((what, what))
                elif kind is code.RANGE:
                    held.append(what)
                else:
                    held += _category(what)
            ranges = _united(held)
            ranges = _others(ranges) if negated else ranges
        else:
            return None
        return _in_any_case(ranges) if any_case else ranges

    def _group(self, operation: Any, argument: Any, any_case: bool) -> _Part:
        if operation is code.SUBPATTERN:
            _, on, off, items = argument
            return self._sequence(
                list(items), (any_case or bool(on & re.IGNORECASE)) and not off & re.IGNORECASE
            )
        if operation is code.ATOMIC_GROUP:
            return self._sequence(list(argument), any_case)
        if operation is code.BRANCH:
            parts = [self._sequence(list(items), any_case) for items in argument[1]]
            return _Part(
                any(part.empty for part in parts),
                frozenset().union(*(part.first for part in parts)),
                frozenset().union(*(part.last for part in parts)),
            )
        if operation in (code.MAX_REPEAT, code.MIN_REPEAT, code.POSSESSIVE_REPEAT):
            least, most, items = argument
            return self._repeat(least, most, items, any_case)
        raise NotImplementedError(str(operation))

    def _repeat(self, least: int, most: Any, items: Any, any_case: bool) -> _Part:
        rest = _EMPTY
        if most is code.MAXREPEAT:
            once = self._sequence(list(items), any_case)
            self.doubled |= any(once.first & self.follows.get(state, set()) for state in once.last)
            rest = self._joined(once, once)._replace(empty=True)
        else:
            for _ in range(most - least):  # a{0,2} is (a(a)?)?, which goes one way where a?a? goes two
                rest = self._joined(self._sequence(list(items), any_case), rest)._replace(empty=True)
        part = _EMPTY
        for _ in range(least):
            part = self._joined(part, self._sequence(list(items), any_case))
        return self._joined(part, rest)


def two_ways_round(pattern: str) -> tuple[int, int] | None:
    """Two states that a text can be in at once on the way round from a state to itself; None where there are none."""
    automaton = _Automaton(pattern)
    if automaton.doubled:
        return (0, 0)
    meet = functools.cache(lambda one, other: bool(_shared(automaton.reads[one], automaton.reads[other])))
    follows = {state: sorted(automaton.follows.get(state, ())) for state in range(len(automaton.reads))}

    def steps(pair: tuple[int, int]) -> list[tuple[int, int]]:
        return [both for both in itertools.product(follows[pair[0]], follows[pair[1]]) if meet(*both)]

    for state in follows:
        if not automaton.reads[state]:
            continue
        reached = _reached([(state, state)], steps)
        backwards: dict[tuple[int, int], list[tuple[int, int]]] = {}
        for pair in reached:
            for after in steps(pair):
                backwards.setdefault(after, []).append(pair)
        for one, other in _reached([(state, state)], functools.partial(_steps_of, backwards)):
            if one != other:
                return one, other
    return None


def _steps_of(
    kept: dict[tuple[int, int], list[tuple[int, int]]], pair: tuple[int, int]
) -> list[tuple[int, int]]:
    return kept.get(pair, [])


def _reached(begin: list[tuple[int, int]], steps: Any) -> set[tuple[int, int]]:
    met, left = set(begin), list(begin)
    while left:
        for pair in steps(left.pop()):
            if pair not in met:
                met.add(pair)
                left.append(pair)
    return met
