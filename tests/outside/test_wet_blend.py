"""Blends that are poured: against a handbook, worked examples, and the laws that hold for any of them."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from glost.recipe.blends import points
from glost.weighing.wet_blend import Slip, rounded, shares_of, volumes

ALIKE = Fraction(100)


def slip(gravity: str, dry: str, parts: int = 100) -> Slip:
    return Slip(Decimal(gravity), Decimal(dry), Fraction(parts))


def test_dry_material_in_a_slip_as_a_handbook_has_it() -> None:
    """Forming Techniques for the Self-Reliant Potter (GTZ/GATE, 1991), "Dry content of liquid": 1700 g a litre, 2.5:
    1,166 g."""
    assert round(slip("1.7", "2.5").dry_g_per_ml * 1000, 2) == Fraction("1166.67")


@pytest.mark.parametrize(
    ("gravity", "grams"),
    [("1.05", 81), ("1.20", 325), ("1.40", 650), ("1.50", 812), ("1.60", 975), ("1.70", 1137)],
)
def test_dry_material_as_a_table_has_it(gravity: str, grams: int) -> None:
    """Table at 2.6 that quotes Harrison et al., Handbook for Australian Potters (second-hand), cut to whole grams."""
    assert int(slip(gravity, "2.6").dry_g_per_ml * 1000) == grams


def close(found: object, expected: list[str], off: str = "0.001") -> None:
    assert isinstance(found, tuple)
    for one, text in zip(found, expected, strict=True):
        assert abs(one - Fraction(text)) < Fraction(off), (float(one), text)


def test_two_slips_of_equal_parts() -> None:
    """Worked out by hand in fractions: 30.9250 and 29.0750 ml bring 22.6139 g each."""
    slips = [slip("1.45", "2.60"), slip("1.50", "2.80")]
    half = (Fraction(1, 2), Fraction(1, 2))
    found = volumes(half, 60, slips)
    close(found, ["30.9250", "29.0750"])
    close(tuple(v * s.dry_g_per_ml for v, s in zip(found, slips, strict=True)), ["22.6139", "22.6139"])
    close(tuple(one * 100 for one in shares_of([30, 30], slips)), ["48.458", "51.542"])


def test_three_slips_of_equal_parts() -> None:
    slips = [slip("1.40", "2.65"), slip("1.50", "2.60"), slip("1.60", "3.00")]
    shares = (Fraction(1, 5), Fraction(1, 5), Fraction(3, 5))
    close(volumes(shares, 50, slips), ["12.7159", "10.0541", "27.2300"])
    close(tuple(one * 100 for one in shares_of([10, 10, 30], slips)), ["15.46", "19.56", "64.98"], "0.006")


def test_three_slips_of_one_density_and_unequal_parts() -> None:
    slips = [slip("1.5", "2.6", 105), slip("1.5", "2.6", 110), slip("1.5", "2.6", 108)]
    close(
        volumes((Fraction(1, 5), Fraction(1, 5), Fraction(3, 5)), 50, slips), ["9.7403", "10.2041", "30.0557"]
    )
    given_by = shares_of([10, 10, 30], slips)
    close((given_by[0] * 1, given_by[1] * 6, given_by[2] * 4), ["0.2053", "1.1757", "2.3950"])


amounts = st.integers(1, 100)


@st.composite
def blends(draw: st.DrawFn) -> tuple[list[dict[str, Fraction]], list[Slip]]:
    """Corners as parts of materials with densities, and the slip of each."""
    densities = {"a": Fraction(26, 10), "b": Fraction(265, 100), "c": Fraction(42, 10), "d": Fraction(56, 10)}
    corners, slips = [], []
    for _ in range(draw(st.integers(2, 4))):
        mix = {name: Fraction(draw(st.integers(0, 60))) for name in "bcd"} | {"a": Fraction(draw(amounts))}
        whole = sum(mix.values(), Fraction(0))
        dry = whole / sum((grams / densities[name] for name, grams in mix.items()), Fraction(0))
        corners.append(mix)
        slips.append(Slip(Fraction(draw(st.integers(110, 190)), 100), dry, whole))
    return corners, slips


@given(blends(), st.sampled_from(["50", "25", "20"]), st.integers(5, 500))
def test_the_laws_of_pouring(made: tuple[list[dict[str, Fraction]], list[Slip]], step: str, ml: int) -> None:
    corners, slips = made
    poured = [Fraction(0)] * len(slips)
    in_cups = [Fraction(0)] * len(slips)
    for point in points(len(slips), Decimal(step)):
        found = volumes(point.shares, ml, slips)
        dry = [volume * one.dry_g_per_ml for volume, one in zip(found, slips, strict=True)]
        assert sum(found) == ml
        for at, (volume, grams) in enumerate(zip(found, dry, strict=True)):
            poured[at] += volume
            in_cups[at] += grams
        # Brongniart's relation holds for the cup itself.
        mass = sum(dry, Fraction(0))
        gravity = sum((Fraction(s.gravity) * v for s, v in zip(slips, found, strict=True)), Fraction(0)) / ml
        solid = mass / sum(
            (g / Fraction(s.dry_gravity) for s, g in zip(slips, dry, strict=True)), Fraction(0)
        )
        assert (gravity - 1) * ml * solid / (solid - 1) == mass
        # The materials stand as in the cup that is weighed dry: the sum of the corners by shares.
        wet = {
            name: sum(
                (g * mix[name] / s.parts for g, s, mix in zip(dry, slips, corners, strict=True)), Fraction(0)
            )
            for name in "abcd"
        }
        dried = {
            name: sum(
                (share * mix[name] for share, mix in zip(point.shares, corners, strict=True)), Fraction(0)
            )
            for name in "abcd"
        }
        whole = sum(dried.values(), Fraction(0))
        assert {name: one / mass for name, one in wet.items()} == {
            name: d / whole for name, d in dried.items()
        }
        assert shares_of(found, slips) == point.shares
    # What the buckets held is in the cups.
    assert in_cups == [volume * one.dry_g_per_ml for volume, one in zip(poured, slips, strict=True)]


@given(st.lists(st.fractions(0, 100), min_size=2, max_size=4))
def test_rounding_moves_no_volume_by_more_than_half_a_step(exact: list[Fraction]) -> None:
    for one, near in zip(exact, rounded(exact, Decimal("0.5")), strict=True):
        assert abs(Fraction(near) - one) <= Fraction(1, 4)
        assert near % Decimal("0.5") == 0


@pytest.mark.parametrize(("gravity", "dry"), [("1", "2.6"), ("0.9", "2.6"), ("2.6", "2.6"), ("1.5", "1")])
def test_a_slip_that_cannot_be_is_said(gravity: str, dry: str) -> None:
    with pytest.raises(ValueError, match=r"cannot be|would float"):
        _ = slip(gravity, dry).dry_g_per_ml
