"""Pyrometric cones: how they are written, and which is hotter."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from glost.errors import ValueRefusedError

# From the coolest to the hottest: 022 to 01, then 1 to 42. Cone 06 is far cooler than cone 6 (C. F. Binns, The Potter's
# Craft, 1910: "more fusible numbers are 02, 03, etc., down to 022", and upwards to 36; to 42 by several general texts,
# second-hand). Large cones are made to 14; beyond it the scale is that of refractories.
KNOWN = tuple(f"0{n}" for n in range(22, 0, -1)) + tuple(str(n) for n in range(1, 43))
_HALF = " 1/2"
_HALF_CONE = Decimal("0.5")
# Places in the order of heat: those of whole cones are even, and between two of them there is room for a half. 5 1/2
# lies between 5 and 6, and 05 1/2 as well between the cones whose numbers it stands between, 06 and 05 (from memory).
_RANK = {name: 2 * at for at, name in enumerate(KNOWN)}
_NAME = "0?[0-9]{1,2}"
_WRITTEN = re.compile(
    rf"(?P<low>{_NAME})(?P<low_half> 1/2| ?\u00bd|\.5)?"
    rf"(?: ?- ?(?P<high>{_NAME})(?P<high_half> 1/2| ?\u00bd|\.5)?)?"
)


def rank_of(name: str) -> int:
    """The place of a cone or half cone in the order of heat, 022 at 0 and two on for each cone; -1 for one that there
    is not."""
    whole = _RANK.get(name.removesuffix(_HALF), -1)
    if whole < 0 or not name.endswith(_HALF):
        return whole
    half = whole - 1 if name.startswith("0") else whole + 1
    return half if half < 2 * len(KNOWN) - 1 else -1


def cone_at(rank: int) -> str:
    """The cone or half cone at a place in the order of heat."""
    if rank % 2 == 0:
        return KNOWN[rank // 2]
    above = KNOWN[rank // 2 + 1]
    return f"{above if above.startswith('0') else KNOWN[rank // 2]}{_HALF}"


def _number(name: str) -> Decimal:
    whole = Decimal(name.removesuffix(_HALF)) + (_HALF_CONE if name.endswith(_HALF) else 0)
    return -whole if name.startswith("0") else whole


@dataclass(frozen=True, slots=True)
class Cone:
    """A cone, or a range from the cooler to the hotter. Names as the trade writes them: 06, 6, 6 1/2."""

    low: str
    high: str

    def __str__(self) -> str:
        return self.low if self.low == self.high else f"{self.low}-{self.high}"

    @property
    def known(self) -> bool:
        """Whether the cones are among 022 to 42, and halves between them."""
        return rank_of(self.low) >= 0 and rank_of(self.high) >= 0

    @property
    def rank(self) -> int:
        """The place of the hotter end in the order of heat, from 0; -1 for an unknown cone."""
        return rank_of(self.high)

    @property
    def ranks(self) -> tuple[int, int]:
        """The places of the cooler and the hotter end; -1 for an unknown cone."""
        return rank_of(self.low), rank_of(self.high)

    @property
    def numbers(self) -> tuple[Decimal, Decimal] | None:
        """The cooler and the hotter end as numbers that grow with the heat: 022 is -22, 05 1/2 is -5.5, 01 is -1, 1 is
        1, 6 1/2 is 6.5. There is no 0. None for an unknown cone."""
        return (_number(self.low), _number(self.high)) if self.known else None


def read_cone(text: str) -> Cone:
    """A cone as written: "06", "6", "6 1/2", "6\u00bd", "6.5", "5-6", "5 1/2-6". Raises ValueRefusedError with what to
    write."""
    cone = _read(text)
    if cone is None:
        plain = plain_cone(text)
        if plain is not None:
            raise ValueRefusedError(f"'{text}' is another spelling of cone {plain}", f"write {plain}")
        raise ValueRefusedError(f"'{text}' is not a cone", _hint(text))
    low, high = cone.ranks
    if low > high and cone.known:
        raise ValueRefusedError(
            f"the cones {cone} stand from the hotter to the cooler", f"write {cone.high}-{cone.low}"
        )
    return cone


def _read(text: str) -> Cone | None:
    """What is written, whether or not there is such a cone; None where it is none or may be another."""
    match = _WRITTEN.fullmatch(text)
    if match is None:
        return None
    for end in ("low", "high"):
        if match[f"{end}_half"] == ".5" and match[end].startswith("0"):
            return None  # 06.5 may be meant either way, between 06 and 07 or between 06 and 05
    low = match["low"] + (_HALF if match["low_half"] else "")
    high = low if match["high"] is None else match["high"] + (_HALF if match["high_half"] else "")
    return Cone(low, high)


# How cones are written on bags, kilns and pages: ^6, c/6, c10, cone 5-6, \u03946 (common practice).
# Few pages hold a cone that is written so: these are compiled where one does.
_SIGN = r"(?:[\^\u0394\u2206\u25b2\u25b3]|\bcones?\.?|\bc(?=[ ./]*[0-9])\.?)[ /]*(?=[0-9])"
_TO = r" *(?:\bto\b|[-\u2010-\u2014]+) *"
_HALVES = r"(?<=[0-9])(?:\.50?| *\u00bd| +1/2)(?![0-9])"


def plain_cone(text: str) -> str | None:
    """The cone that a text means for certain, written as it is read here; None where it is none, or may be another."""
    if _read(text) is not None:
        return None
    bare = _bare(text)
    cone = _read(bare)
    return str(cone) if cone is not None and cone.known and cone.ranks[0] <= cone.rank else None


def _bare(text: str) -> str:
    without = re.sub(_SIGN, "", " ".join(text.split()).lower(), flags=re.IGNORECASE)
    return re.sub(_HALVES, _half_of, re.sub(_TO, "-", without))


def _half_of(found: re.Match[str]) -> str:
    return ".5" if found[0].startswith(".") else _HALF


_REDUCTION, _OXIDATION = ("r", "red", "redn", "redux", "reduction"), ("o", "ox", "oxid", "oxidation")
_WITH_ATMOSPHERE = r"(?P<cone>[^;,a-z]*[0-9½])[ ;,/]*(?P<word>[a-z]+)\.?"
_LOW_DECIMAL = r"(?P<cone>0[0-9]{1,2})\.5"
_TWO = r"(?P<low>0?[0-9]{1,2}) *(?:/|,|&|\bor\b|\band\b) *(?P<high>0?[0-9]{1,2})"


def _hint(text: str) -> str:
    """What to write in the place of a text that is no cone, where it shows what was meant."""
    bare = _bare(text)
    said = re.fullmatch(_WITH_ATMOSPHERE, bare)
    word = said["word"] if said else ""
    atmosphere = "reduction" if word in _REDUCTION else "oxidation" if word in _OXIDATION else ""
    if said and atmosphere:
        cone = said["cone"].strip()
        return f"write  cone: {plain_cone(cone) or cone}  and on a line of its own  atmosphere: {atmosphere}"
    if found := re.search(_LOW_DECIMAL, bare):
        at = rank_of(found["cone"])
        if at > 0:
            cooler, hotter = f"{found['cone']} 1/2", cone_at(at + 1)
            return f"write {cooler} for the half cone below {found['cone']}, or {hotter} for the one above it"
    if found := re.fullmatch(_TWO, bare):
        return f"write {found['low']}-{found['high']} if it is fired from one to the other"
    if re.fullmatch(r"[0-9]{3,4} *(?:\u00b0|deg(?:rees)?)? *[cf]?", bare):
        return "write the cone; a temperature goes below  firing:"
    return "write such as 06, 6, 6 1/2 or 5-6"
