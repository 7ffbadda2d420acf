"""About which temperature a cone falls at, for what needs no more than that.

A cone shows work of heat and no temperature: how fast the end of a firing goes and how long it holds move it, and
tables differ. So two old tables are held beside each other, and whoever asks leaves room around both.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from glost.recipe.cone import Cone, cone_at, rank_of

LARGE: Final = {
    "022": 600, "021": 614, "020": 635, "019": 683, "018": 717, "017": 747, "016": 792, "015": 804, "014": 838,
    "013": 852, "012": 884, "011": 894, "010": 900, "09": 923, "08": 955, "07": 984, "06": 999, "05": 1046,
    "04": 1060, "03": 1101, "02": 1120, "01": 1137, "1": 1154, "2": 1162, "3": 1168, "4": 1186, "5": 1196, "6": 1222,
    "7": 1240, "8": 1263, "9": 1280, "10": 1305, "11": 1315, "12": 1326, "13": 1346,
}  # fmt: skip
"""Large cones at 150 degrees C an hour, in degrees C. Source: an older chart of a maker of cones, second-hand: two
dealers' copies of it agree, but for cone 010, which one of them prints as 894."""

SEGER: Final = {
    "022": 600, "020": 670, "018": 710, "015": 790, "010": 900, "09": 920, "08": 940, "07": 960, "06": 980, "05": 1000,
    "04": 1020, "03": 1040, "02": 1060, "01": 1080, "1": 1100, "2": 1120, "3": 1140, "4": 1160, "5": 1180, "6": 1200,
    "7": 1230, "8": 1250, "9": 1280, "10": 1300, "11": 1320, "12": 1350, "13": 1380, "14": 1410, "15": 1430,
}  # fmt: skip
"""Seger cones, nominal, in degrees C. Source: G. J. Cox, "Pottery, for Artists, Craftsmen & Teachers", Macmillan, 1914,
table of cones (Project Gutenberg 38248), read."""


class Heat(NamedTuple):
    """From the lower to the higher figure of the tables, in degrees C."""

    low: int
    high: int


def heat_of(cone: Cone) -> Heat | None:
    """Where a cone, or the cones of a range, fall by the tables; a half cone lies between its neighbours. None where no
    table has it."""
    if not cone.known:
        return None
    low = _of(_whole_below(cone.low))
    high = _of(_whole_above(cone.high))
    return None if low is None or high is None else Heat(low.low, high.high)


def _of(name: str) -> Heat | None:
    figures = [table[name] for table in (LARGE, SEGER) if name in table]
    return Heat(min(figures), max(figures)) if figures else None


def _whole_below(name: str) -> str:
    rank = rank_of(name)
    return cone_at(rank - rank % 2)


def _whole_above(name: str) -> str:
    rank = rank_of(name)
    return cone_at(rank + rank % 2)
