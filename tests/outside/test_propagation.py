"""Uncertainties of lines over vessels against the law of propagation, worked out from the readings with numpy."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from glost.weighing.balance import Balance, best_for
from glost.weighing.uncertainty import Weighed, total_uncertainty, uncertainties

np = pytest.importorskip("numpy")

D = Decimal


# A line: mass, whether of the base, and for each of its portions the vessel, 0 for a cup of its own.
LINES = st.lists(
    st.tuples(
        st.decimals("1", "900", places=1),
        st.booleans(),
        st.lists(st.integers(0, 3), min_size=1, max_size=3, unique=True),
    ),
    min_size=1,
    max_size=7,
)


# Source: JCGM 100:2008 (GUM), 5.1.2, 5.2.2 and its matrix form in JCGM 102:2011, 6.2 (from memory): for y = f(x) with
# the sensitivities C and the covariances V of x, the covariances of y are C V C'. Here x are the readings of the
# display, which do not depend on each other; a portion is the reading after it less the one before it.
@settings(max_examples=300, deadline=None)
@given(
    LINES,
    st.sampled_from([D("0.01"), D("0.1"), D(1)]),
    st.sampled_from([Fraction(41, 100), Fraction(1), Fraction(7, 2)]),
)
def test_propagation_from_the_readings(
    lines: list[tuple[Decimal, bool, list[int]]], division: Decimal, scatter: Fraction
) -> None:
    repeatability = D(scatter.numerator) * division / D(scatter.denominator)
    # One reading: half the variance of a repeated weighing, and rounding, d^2 / 12 (rectangular, 4.3.7).
    variance = float(repeatability) ** 2 / 2 + float(division) ** 2 / 12
    rows: list[dict[int, int]] = []
    last: dict[int, int] = {}
    readings = 0
    for _, _, vessels in lines:
        row: dict[int, int] = {}
        for vessel in vessels:
            if not vessel or vessel not in last:
                before, readings = readings, readings + 1
            else:
                before = last[vessel]
            after, readings = readings, readings + 1
            row[before] = row.get(before, 0) - 1
            row[after] = row.get(after, 0) + 1
            if vessel:
                last[vessel] = after
        rows.append(row)
    sensitivity = np.zeros((len(lines), readings))
    for at, row in enumerate(rows):
        for reading, sign in row.items():
            sensitivity[at, reading] = sign
    covariance = sensitivity @ (variance * np.eye(readings)) @ sensitivity.T

    weighed = [
        Weighed(Fraction(mass), base, division, repeatability, len(vessels), vessels=tuple(vessels))
        for mass, base, vessels in lines
    ]
    assert float(total_uncertainty(weighed)) == pytest.approx(covariance.sum() ** 0.5, rel=1e-9)
    base_at = [at for at, (_, base, _) in enumerate(lines) if base]
    masses = np.array([float(mass) for mass, _, _ in lines])
    for at, found in enumerate(uncertainties(weighed)):
        assert float(found.standard_g) == pytest.approx(covariance[at, at] ** 0.5, rel=1e-9)
        assert float(found.relative) == pytest.approx(covariance[at, at] ** 0.5 / masses[at], rel=1e-9)
        if not base_at:
            continue
        # The share of a line, m / B: its sensitivities are 1 / B for the line and - m / B^2 for each line of the base.
        whole = masses[base_at].sum()
        share = np.zeros(len(lines))
        share[at] += 1 / whole
        share[base_at] -= masses[at] / whole**2
        spread = (share @ covariance @ share) ** 0.5
        assert float(found.share) == pytest.approx(spread / (masses[at] / whole), rel=1e-6, abs=1e-12)


# Source: JCGM 100:2008 (GUM), 4.3.7 and 5.1.2 (from memory): contributions that do not depend on each other add as
# squares. A balance of 0.1 g steps whose maker states 0.02 g is surer than one of 0.01 g that scatters by 0.09 g:
# sqrt(0.041^2 + 0.1^2 / 6) = 0.0579 (the floor of USP <41>, 0.41 d) against sqrt(0.09^2 + 0.01^2 / 6) = 0.0901.
def test_the_finer_steps_are_not_always_the_surer_balance() -> None:
    steady = Balance("steady", D(2000), D("0.1"), repeatability_g=D("0.02"))
    shaky = Balance("shaky", D(2000), D("0.01"), repeatability_g=D("0.09"))
    assert round(float(steady.variance) ** 0.5, 4) == 0.0579
    assert round(float(shaky.variance) ** 0.5, 4) == 0.0901
    assert best_for(D(5), [shaky, steady]) is steady


# Source: OIML R 76-1:2006, 3.9 and table 3 (second-hand): a display of class II with e = 0.1 g is used from 50 e on,
# 5 g; of class III from 20 e on, 2 g. What is called weighable to 2 % lies between the two: 29 steps.
def test_the_least_mass_stands_among_those_of_the_scale_code() -> None:
    least = Balance("bench", D(3000), D("0.1")).smallest_for(D("0.02"))
    assert 20 * D("0.1") < least == D("2.9") < 50 * D("0.1")
