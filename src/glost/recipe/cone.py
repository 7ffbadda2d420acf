"""Pyrometric cones: how they are written, and which is hotter."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from glost.errors import ValueRefusedError

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
    """A cone as written: "06", "6", "6 1/2", "5-6". Raises ValueRefusedError with what to write."""
    match = _WRITTEN.fullmatch(text)
    if match is None or (match["half"] and match["high"]):
        plain = plain_cone(text)
        if plain is not None:
            raise ValueRefusedError(f"'{text}' is another spelling of cone {plain}", f"write {plain}")
        raise ValueRefusedError(f"'{text}' is not a cone", _hint(text))
    low, high = match["low"], match["high"] or match["low"]
    if low in _RANK and high in _RANK and _RANK[low] > _RANK[high]:
        raise ValueRefusedError(
            f"the cones {low}-{high} stand from the hotter to the cooler", f"write {high}-{low}"
        )
    return Cone(low, high, bool(match["half"]))


# How cones are written on bags, kilns and pages: ^6, c/6, c10, cone 5-6, \u03946 (common practice).
_SIGN = re.compile(
    r"(?:[\^\u0394\u2206\u25b2\u25b3]|\bcones?\.?|\bc(?=[ ./]*[0-9])\.?)[ /]*(?=[0-9])", re.IGNORECASE
)
_TO = re.compile(r" *(?:\bto\b|[-\u2010-\u2014]+) *")
_HALVES = re.compile(r"(?<=[0-9])(?:\.50?| *\u00bd| +1/2)(?![0-9])")


def plain_cone(text: str) -> str | None:
    """The cone that a text means for certain, written as it is read here; None where it is none, or may be another."""
    bare = _HALVES.sub(" 1/2", _TO.sub("-", _SIGN.sub("", " ".join(text.split())).lower()))
    match = _WRITTEN.fullmatch(bare)
    if match is None or (match["half"] and match["high"]) or bare == text:
        return None
    if match["half"] and match["low"].startswith("0") and "1/2" not in text:
        return None  # 06.5 may be meant the other way, between 06 and 07
    low, high = match["low"], match["high"] or match["low"]
    known = low in _RANK and high in _RANK and _RANK[low] <= _RANK[high]
    return bare if known else None


_REDUCTION, _OXIDATION = ("r", "red", "redn", "redux", "reduction"), ("o", "ox", "oxid", "oxidation")
_WITH_ATMOSPHERE = re.compile(r"(?P<cone>[^;,a-z]*[0-9½])[ ;,/]*(?P<word>[a-z]+)\.?")
_HALF_IN_RANGE = re.compile(r"(?P<low>0?[0-9]{1,2})(?: 1/2)?-(?P<high>0?[0-9]{1,2})(?: 1/2)?")
_TWO = re.compile(r"(?P<low>0?[0-9]{1,2}) *(?:/|,|&|\bor\b|\band\b) *(?P<high>0?[0-9]{1,2})")


def _hint(text: str) -> str:
    """What to write in the place of a text that is no cone, where it shows what was meant."""
    bare = _HALVES.sub(" 1/2", _TO.sub("-", _SIGN.sub("", " ".join(text.split()).lower())))
    said = _WITH_ATMOSPHERE.fullmatch(bare)
    word = said["word"] if said else ""
    atmosphere = "reduction" if word in _REDUCTION else "oxidation" if word in _OXIDATION else ""
    if said and atmosphere:
        cone = said["cone"].strip()
        return f"write  cone: {plain_cone(cone) or cone}  and on a line of its own  atmosphere: {atmosphere}"
    if found := _HALF_IN_RANGE.fullmatch(bare):
        return f"a range runs from one whole cone to another, such as {found['low']}-{found['high']}"
    if found := _TWO.fullmatch(bare):
        return f"write {found['low']}-{found['high']} if it is fired from one to the other"
    if re.fullmatch(r"[0-9]{3,4} *(?:\u00b0|deg(?:rees)?)? *[cf]?", bare):
        return "write the cone; a temperature goes below  firing:"
    return "write such as 06, 6, 6 1/2 or 5-6"
