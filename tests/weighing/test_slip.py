"""Gravity, water and volume of a slip."""

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from glost.weighing.batch import base_for_total
from glost.weighing.slurry import (
    dry_for_mass,
    dry_for_volume,
    dry_fraction,
    dry_in_volume,
    gravity_with_water,
    mixture_gravity,
    slip_volume,
    water_percent_for,
)

D = Decimal
CLOSE = D("1e-20")

heavies = st.decimals("1.5", "7", places=2)
waters = st.decimals("10", "300", places=1)
masses = st.decimals("1", "100000", places=2)


def test_a_mixture_is_weighted_by_volume() -> None:
    assert mixture_gravity([(D(2), D(2)), (D(6), D(6))]) == 4
    assert mixture_gravity([(D(5), D("2.65")), (D(0), D(6))]) == D("2.65")


@given(waters, heavies)
def test_gravity_and_water_both_ways(percent: Decimal, heavy: Decimal) -> None:
    gravity = gravity_with_water(percent, heavy)
    assert 1 < gravity < heavy
    assert abs(water_percent_for(gravity, heavy) - percent) < CLOSE
    fraction = dry_fraction(gravity, heavy)
    assert abs(fraction * (100 + percent) - 100) < CLOSE


@given(masses, waters, heavies)
def test_slip_by_volume_and_by_mass(slip: Decimal, percent: Decimal, heavy: Decimal) -> None:
    dry = dry_for_volume(slip, percent, heavy)
    assert abs(slip_volume(dry, dry * percent / 100, heavy) - slip) < D("1e-15")
    assert abs(dry_in_volume(slip, gravity_with_water(percent, heavy), heavy) - dry) < D("1e-15")
    assert abs(dry_for_mass(slip, percent) * (1 + percent / 100) - slip) < D("1e-15")


def test_the_base_in_a_total() -> None:
    assert base_for_total(D("104.5"), D(100), D("4.5")) == 100
    assert base_for_total(D(100), D(100), D(0)) == 100
    assert base_for_total(Fraction(3), D(2), D(1)) == 2


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: mixture_gravity([]), "no mixture"),
        (lambda: mixture_gravity([(D(-1), D(2))]), "0 g or more"),
        (lambda: mixture_gravity([(D(1), D(0))]), "above 0"),
        (lambda: dry_fraction(D("2.6"), D("2.5")), "lies from 1"),
        (lambda: water_percent_for(D(1), D("2.5")), "plain water"),
        (lambda: gravity_with_water(D(-1), D("2.5")), "0 % of the dry mass"),
        (lambda: slip_volume(D(-1), D(1), D("2.5")), "0 g or more"),
        (lambda: slip_volume(D(1), D(1), D(1)), "would float"),
        (lambda: dry_for_volume(D(0), D(60), D("2.5")), "above 0"),
        (lambda: dry_for_mass(D(0), D(60)), "above 0"),
        (lambda: dry_in_volume(D(0), D("1.5"), D("2.5")), "above 0"),
        (lambda: base_for_total(D(0), D(1), D(1)), "above 0"),
        (lambda: base_for_total(D(1), D(0), D(1)), "above 0"),
        (lambda: base_for_total(D(1), D(1), D(-1)), "below 0"),
    ],
)
def test_what_cannot_be(call: Callable[[], Decimal], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()
