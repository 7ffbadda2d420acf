"""Sieve openings, and the dry material in a slurry."""

from decimal import Decimal

import pytest

from glost.weighing.sieve import SIEVE_OPENINGS_UM, opening_um
from glost.weighing.slurry import water_for

D = Decimal


def test_openings_fall_as_the_mesh_number_rises() -> None:
    openings = [SIEVE_OPENINGS_UM[mesh] for mesh in sorted(SIEVE_OPENINGS_UM)]
    assert openings == sorted(openings, reverse=True)
    assert len(set(openings)) == len(openings)
    assert opening_um(100) == 150
    assert opening_um(101) is None
    assert opening_um(0) is None


def test_water_is_a_percentage_of_the_dry_mass() -> None:
    assert str(water_for(D("102"), D(60))) == "61.2"
    assert water_for(D(0), D(60)) == 0
    for mass, percent in (("-1", "60"), ("NaN", "60"), ("1", "-1"), ("1", "Infinity")):
        with pytest.raises(ValueError, match="cannot be"):
            water_for(D(mass), D(percent))
