"""Chemical formulas as they are printed, read into counts of atoms."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache
from types import MappingProxyType

from glost.errors import ValueRefusedError
from glost.recipe.materials.elements import ATOMIC_WEIGHTS

LONGEST = 200
"""Characters of the longest formula that is read."""
DEEPEST = 4
"""How many round brackets may stand inside each other."""

_TOKEN = re.compile(
    r"(?P<element>[A-Z][a-z]?)(?P<count>[0-9]{1,6})?|(?P<open>\()|(?P<close>\))(?P<times>[0-9]{1,6})?"
)
_COEFFICIENT = re.compile(r"[0-9]{1,6}(?:\.[0-9]{1,6})?|\.[0-9]{1,6}")


class FormulaError(ValueRefusedError):
    """A text that cannot be read as a chemical formula. The message says where and why."""


@lru_cache(maxsize=1024)
def atoms(text: str) -> Mapping[str, Decimal]:
    """How many atoms of each element one unit of the formula holds, exact, in the order of first mention.

    Read are element symbols with a count behind them, round brackets with a count behind them, and parts divided
    by ``·`` with a coefficient in front. Coefficients may be decimal, as in ``0.5Na2O·2.5SiO2``; counts may not, for
    ``CaSO4.2H2O`` would then be read as 4.2 atoms of oxygen. Raises FormulaError.
    """
    if len(text) > LONGEST:
        raise FormulaError(f"a formula of {len(text)} characters is not read", f"{LONGEST} are the most")
    total: dict[str, Decimal] = {}
    at = 0
    for part in text.split("·"):
        if not part:
            raise _refused(text, at, "a part of the formula is missing beside '·'" if text else "it is empty")
        coefficient = _COEFFICIENT.match(part)
        factor = Decimal(coefficient[0]) if coefficient else Decimal(1)
        start = coefficient.end() if coefficient else 0
        if not factor:
            raise _refused(text, at, "a coefficient of 0 counts nothing")
        for element, count in _part(text, at + start, at + len(part)).items():
            total[element] = total.get(element, Decimal(0)) + factor * count
        at += len(part) + 1
    return MappingProxyType(total)


def _part(text: str, start: int, end: int) -> dict[str, Decimal]:
    """The atoms of one part without its coefficient: ``text[start:end]``."""
    levels: list[dict[str, Decimal]] = [{}]
    opened: list[int] = []
    at = start
    while at < end:
        token = _TOKEN.match(text, at, end)
        if token is None:
            raise _refused(text, at, f"'{text[at]}' cannot stand here", _hint(text[at]))
        if token["element"]:
            # Every symbol of two letters is an element or a slip; 'Co' and 'CO' differ by nothing else.
            symbol = token["element"]
            if symbol not in ATOMIC_WEIGHTS:
                raise _refused(text, at, f"'{symbol}' is no element in the table of atomic weights")
            levels[-1][symbol] = levels[-1].get(symbol, Decimal(0)) + _count(text, at, token["count"])
        elif token["open"]:
            if len(opened) == DEEPEST:
                raise _refused(text, at, f"more than {DEEPEST} brackets stand inside each other")
            opened.append(at)
            levels.append({})
        else:
            if not opened:
                raise _refused(text, at, "a bracket is closed that was not opened")
            inside = levels.pop()
            if not inside:
                raise _refused(text, opened[-1], "a pair of brackets holds nothing")
            opened.pop()
            times = _count(text, at, token["times"])
            for element, count in inside.items():
                levels[-1][element] = levels[-1].get(element, Decimal(0)) + times * count
        at = token.end()
    if opened:
        raise _refused(text, opened[-1], "a bracket is not closed")
    if not levels[0]:
        raise _refused(text, start, "a coefficient stands before nothing")
    return levels[0]


def _count(text: str, at: int, figures: str | None) -> Decimal:
    count = Decimal(figures) if figures else Decimal(1)
    if not count:
        raise _refused(text, at, "a count of 0 counts nothing")
    return count


def _hint(character: str) -> str:
    if character in ".*•∙⋅":
        return "parts are divided by '·', as in CaSO4·2H2O"
    if character in "[{":
        return "write round brackets"
    if character.isdigit() and not character.isascii():
        return "write counts in plain figures, as in Al2O3"
    return ""


def _refused(text: str, at: int, why: str, hint: str = "") -> FormulaError:
    message = f"'{text}' is not a chemical formula: character {at + 1}: {why}"
    return FormulaError(message, hint or "write such as CaCO3 or Al2O3·2SiO2·2H2O")
