"""Which points of a blend are meant: by their numbers on the board, or by their shares."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from fractions import Fraction

from glost.errors import ValueRefusedError
from glost.recipe.recipe import Test

_NUMBERS = re.compile(r"(?P<first>[1-9][0-9]{0,4})(?: *- *(?P<last>[1-9][0-9]{0,4}))?")
_SHARES = re.compile(r"[0-9]{1,3}(?:\.[0-9]{1,6})?(?: */ *[0-9]{1,3}(?:\.[0-9]{1,6})?){1,3}")


class Points:
    """The points that somebody asks for, as ``text`` has it. Raises ValueRefusedError for what names none."""

    def __init__(self, text: str) -> None:
        self.text = text
        self._numbers: dict[int, str] = {}
        self._shares: dict[tuple[Fraction, ...], str] = {}
        for word in filter(None, (part.strip() for part in text.split(","))):
            numbers = _NUMBERS.fullmatch(word)
            if numbers:
                first = int(numbers["first"])
                last = int(numbers["last"] or first)
                if last < first:
                    raise ValueRefusedError(f"'{word}' runs backwards", f"write {last}-{first}")
                self._numbers.update(dict.fromkeys(range(first, last + 1), word))
            elif _SHARES.fullmatch(word):
                shares = tuple(Fraction(share.strip()) / 100 for share in word.split("/"))
                if sum(shares) != 1:
                    whole = float(sum(shares) * 100)
                    raise ValueRefusedError(
                        f"the shares '{word}' add up to {whole:g}", "write shares that add up to 100"
                    )
                self._shares[shares] = word
            else:
                raise ValueRefusedError(
                    f"'{word}' names no point", "write numbers or shares, such as 1, 7-10, 20/20/60"
                )
        if not self._numbers and not self._shares:
            raise ValueRefusedError("no point is named", "write numbers or shares, such as 1, 7-10, 20/20/60")
        self._met: set[str] = set()

    def of(self, every: Iterable[Test]) -> Iterator[Test]:
        """Those of the tests that are meant."""
        for test in every:
            if test.point is None:
                continue
            words = (self._numbers.get(test.point.number), self._shares.get(test.point.shares))
            met = [word for word in words if word is not None]
            if met:
                self._met.update(met)
                yield test

    @property
    def unmet(self) -> list[str]:
        """What was asked for, and is the point of no blend that was looked at."""
        words = dict.fromkeys((*self._numbers.values(), *self._shares.values()))
        return [word for word in words if word not in self._met]
