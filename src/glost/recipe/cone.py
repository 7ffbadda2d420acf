"""Pyrometric cones: how they are written, and which is hotter."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

# From the coolest to the hottest of the ones used for glazes and bodies. 022 to 01, then 1 to 14: cone 06 is far
# cooler than cone 6 (C. F. Binns, The Potter's Craft, 1910: "more fusible numbers are 02, 03, etc., down to 022").
KNOWN = tuple(f"0{n}" for n in range(22, 0, -1)) + tuple(str(n) for n in range(1, 15))
_RANK = {name: rank for rank, name in enumerate(KNOWN)}
_HALF = Decimal("0.5")
_WRITTEN = re.compile(r"(?P<low>0?[0-9]{1,2})(?P<half> 1/2)?(?: ?- ?(?P<high>0?[0-9]{1,2}))?")


@dataclass(frozen=True, slots=True)
class Cone:
    """A cone, half a cone above it, or a range from the cooler to the hotter. Names as the trade writes them."""

    low: str
    high: str
    half: bool = False

    def __str__(self) -> str:
        if self.low != self.high:
            return f"{self.low}-{self.high}"
        return f"{self.low} 1/2" if self.half else self.low

    @property
    def known(self) -> bool:
        """Whether the cones are among 022 to 14."""
        return self.low in _RANK and self.high in _RANK

    @property
    def rank(self) -> int:
        """The place of the hotter end in the order of heat, from 0; -1 for an unknown cone."""
        return _RANK.get(self.high, -1)

    @property
    def numbers(self) -> tuple[Decimal, Decimal] | None:
        """The cooler and the hotter end as numbers that grow with the heat: 022 is -22, 01 is -1, 1 is 1, 6 1/2 is
        6.5. There is no 0. None for an unknown cone."""
        if not self.known:
            return None
        low, high = (Decimal(end) * (-1 if end.startswith("0") else 1) for end in (self.low, self.high))
        return (low + _HALF, high + _HALF) if self.half else (low, high)


def read_cone(text: str) -> Cone:
    """A cone as written: "06", "6", "6 1/2", "5-6". Raises ValueError with what to write."""
    match = _WRITTEN.fullmatch(text)
    if match is None or (match["half"] and match["high"]):
        raise ValueError(f"'{text}' is not a cone; write such as 06, 6, 6 1/2 or 5-6")
    low, high = match["low"], match["high"] or match["low"]
    if low in _RANK and high in _RANK and _RANK[low] > _RANK[high]:
        raise ValueError(f"the cones {low}-{high} stand from the hotter to the cooler; write {high}-{low}")
    return Cone(low, high, bool(match["half"]))
