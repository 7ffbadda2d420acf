"""The order of the cones, against temperatures that were published for them.

Source: data/cone-temperatures.csv, see data/README.md: end points of self-supporting cones in degrees C at 15, 60 and
150 degrees an hour, from a maker's chart of 2016; rows 022 to 08 second-hand (two copies of the chart), rows 07 to 13
from memory. Beyond 13: cone 15 at 1430 and 14 at 1410 nominal degrees in G. J. Cox, Pottery, 1914 (read); 31 at 1683,
32 at 1717, 33 at 1743, 34 at 1763, 35 at 1785 in ASTM C24 (from memory).
"""

from __future__ import annotations

import csv
from itertools import pairwise
from pathlib import Path

import pytest

from glost.recipe.cone import rank_of, read_cone

TABLE = Path(__file__).parent / "data" / "cone-temperatures.csv"
ROWS = list(csv.DictReader(TABLE.read_text("utf-8").splitlines()))
BEYOND = {"14": 1410, "15": 1430, "31": 1683, "32": 1717, "33": 1743, "34": 1763, "35": 1785}


@pytest.mark.parametrize("rate", ["ss_15", "ss_60", "ss_150"])
def test_whole_cones_stand_in_the_order_of_their_temperatures(rate: str) -> None:
    held = {row["cone"]: int(row[rate]) for row in ROWS if row[rate]} | BEYOND
    assert len(held) > 35
    assert sorted(held, key=rank_of) == sorted(held, key=lambda cone: held[cone])


def test_a_slower_fire_ends_lower() -> None:
    for row in ROWS:
        found = [int(row[rate]) for rate in ("ss_15", "ss_60", "ss_150") if row[rate]]
        assert found == sorted(found), row["cone"]


def test_a_range_of_the_chart_s_neighbours_is_read_upwards_alone() -> None:
    for cooler, hotter in pairwise(row["cone"] for row in ROWS):
        assert read_cone(f"{cooler}-{hotter}").ranks == (rank_of(cooler), rank_of(hotter))
        with pytest.raises(ValueError, match="from the hotter to the cooler"):
            read_cone(f"{hotter}-{cooler}")
