"""Sieve openings, and the dry material in a slurry."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from glost.weighing.sieve import SIEVE_OPENINGS_UM, opening_um
from glost.weighing.slurry import dry_per_litre, slurry_per_litre, water_for

D = Decimal


def test_openings_fall_as_the_mesh_number_rises() -> None:
    openings = [SIEVE_OPENINGS_UM[mesh] for mesh in sorted(SIEVE_OPENINGS_UM)]
    assert openings == sorted(openings, reverse=True)
    assert len(set(openings)) == len(openings)
    assert opening_um(100) == 150
    assert opening_um(101) is None
    assert opening_um(0) is None


@given(
    st.decimals(min_value=1000, max_value=2200, places=1),
    st.decimals(min_value="2.2", max_value=7, places=2),
)
def test_the_two_ways_are_inverse(slurry: Decimal, gravity: Decimal) -> None:
    back = slurry_per_litre(dry_per_litre(slurry, gravity), gravity)
    assert abs(back - slurry) < D("1e-20")


def test_limits_of_a_slurry() -> None:
    assert dry_per_litre(D(1000), D("2.5")) == 0
    assert dry_per_litre(D(2500), D("2.5")) == 2500
    assert slurry_per_litre(D(0), D("2.5")) == 1000
    assert slurry_per_litre(D(2500), D("2.5")) == 2500


@pytest.mark.parametrize(
    ("slurry", "gravity", "says"),
    [
        ("999", "2.5", "at least 1000 g"),
        ("2501", "2.5", "heavier than its dry material"),
        ("1500", "1", "would float"),
        ("1500", "NaN", "would float"),
        ("NaN", "2.5", "at least 1000 g"),
    ],
)
def test_refuses_slurries_that_cannot_be(slurry: str, gravity: str, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        dry_per_litre(D(slurry), D(gravity))


@pytest.mark.parametrize(
    ("dry", "gravity", "says"),
    [
        ("-1", "2.5", "cannot hold"),
        ("2501", "2.5", "do not go into"),
        ("NaN", "2.5", "cannot hold"),
        ("1", "1", "float"),
    ],
)
def test_refuses_dry_masses_that_cannot_be(dry: str, gravity: str, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        slurry_per_litre(D(dry), D(gravity))


def test_water_is_a_percentage_of_the_dry_mass() -> None:
    assert str(water_for(D("102"), D(60))) == "61.2"
    assert water_for(D(0), D(60)) == 0
    for mass, percent in (("-1", "60"), ("NaN", "60"), ("1", "-1"), ("1", "Infinity")):
        with pytest.raises(ValueError, match="cannot be"):
            water_for(D(mass), D(percent))
