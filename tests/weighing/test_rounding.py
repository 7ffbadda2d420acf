"""Rounding to a division, and sharing a total out on it."""

import ast
import sys
from collections.abc import Callable
from decimal import Decimal, localcontext
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import glost.weighing.rounding
from glost.weighing.rounding import (
    count_of,
    decimals_of,
    exact_sum,
    largest_remainder,
    multiple,
    plain,
    round_to,
    round_up_to,
    to_decimal,
)

DIVISIONS = st.sampled_from(
    [Decimal(text) for text in ("0.001", "0.01", "0.02", "0.1", "0.5", "1", "2", "5", "1E+1")]
)
AMOUNTS = st.decimals(min_value=0, max_value=10**6, places=4)


@pytest.mark.parametrize(
    ("value", "division", "expected"),
    [
        ("12.344", "0.01", "12.34"),
        ("12.25", "0.1", "12.2"),
        ("12.35", "0.1", "12.4"),
        ("12.25", "0.5", "12.0"),
        ("12.75", "0.5", "13.0"),
        ("0.03", "0.02", "0.04"),
        ("0.05", "0.02", "0.04"),
        ("3", "2", "4"),
        ("5", "2", "4"),
        ("0", "0.01", "0.00"),
        ("14", "1E+1", "10"),
        ("-0.25", "0.1", "-0.2"),
        ("0.07", "0.05", "0.05"),
        ("0.08", "0.05", "0.10"),
        ("1.13", "0.25", "1.25"),
    ],
)
def test_round_to_nearest_half_to_even(value: str, division: str, expected: str) -> None:
    assert str(round_to(Decimal(value), Decimal(division))) == expected


def test_round_to_takes_fractions() -> None:
    assert round_to(Fraction(1, 3), Decimal("0.01")) == Decimal("0.33")
    assert round_to(Fraction(1, 8), Decimal("0.01")) == Decimal("0.12")


@given(AMOUNTS, DIVISIONS)
def test_rounding_stays_on_the_division_and_within_half_of_it(value: Decimal, division: Decimal) -> None:
    rounded, up = round_to(value, division), round_up_to(value, division)
    assert count_of(rounded, division) is not None
    assert abs(Fraction(rounded) - Fraction(value)) <= Fraction(division) / 2
    assert 0 <= Fraction(up) - Fraction(value) < Fraction(division)
    assert round_to(rounded, division) == rounded
    assert max(0, -int(rounded.as_tuple().exponent)) == decimals_of(division)


@given(st.lists(AMOUNTS, min_size=1, max_size=15), st.integers(0, 10**7), DIVISIONS)
def test_shares_add_up_and_keep_the_quota(values: list[Decimal], count: int, division: Decimal) -> None:
    total = multiple(count, division)
    whole = sum((Fraction(value) for value in values), Fraction(0))
    if whole == 0:
        with pytest.raises(ValueError, match="all amounts are 0"):
            largest_remainder(values, total, division)
        return
    shares = largest_remainder(values, total, division)
    assert len(shares) == len(values)
    assert exact_sum(shares) == total
    for value, share in zip(values, shares, strict=True):
        quota = Fraction(value) * Fraction(total) / whole
        assert count_of(share, division) is not None
        assert abs(Fraction(share) - quota) < Fraction(division)
        if value == 0:
            assert share == 0
    # A larger amount never gets the smaller share.
    for one, its in zip(values, shares, strict=True):
        for other, others in zip(values, shares, strict=True):
            assert not (one > other and its < others)


def test_ties_go_to_the_first_position() -> None:
    third = [Decimal(1)] * 3
    assert [int(share) for share in largest_remainder(third, Decimal(100), Decimal(1))] == [34, 33, 33]
    assert largest_remainder(third, Decimal("100.00"), Decimal("0.01")) == (
        Decimal("33.34"),
        Decimal("33.33"),
        Decimal("33.33"),
    )
    shares = largest_remainder([Decimal(0), Decimal(1), Decimal(1)], Decimal(1), Decimal(1))
    assert [int(share) for share in shares] == [0, 1, 0]


@pytest.mark.parametrize(
    ("values", "total", "division", "says"),
    [
        (["1", "2"], "1.05", "0.1", "in divisions of"),
        (["1", "-1"], "1", "1", "below 0"),
        (["0", "0"], "1", "1", "all amounts are 0"),
        ([], "1", "1", "all amounts are 0"),
        (["1"], "-1", "1", "below 0"),
        (["1"], "1", "0", "must be above 0"),
        (["1"], "1", "-0.1", "must be above 0"),
        (["NaN"], "1", "1", "not a number"),
        (["1"], "Infinity", "1", "not a number"),
        (["1"], "1", "NaN", "must be above 0"),
    ],
)
def test_refuses_what_cannot_be_shared(values: list[str], total: str, division: str, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        largest_remainder([Decimal(value) for value in values], Decimal(total), Decimal(division))


@pytest.mark.parametrize(
    ("division", "decimals"),
    [("0.01", 2), ("0.02", 2), ("0.50", 1), ("2", 0), ("10", 0), ("1E+1", 0), ("2.0", 0)],
)
def test_decimals_of(division: str, decimals: int) -> None:
    assert decimals_of(Decimal(division)) == decimals


@pytest.mark.parametrize(
    ("value", "division", "says"),
    [
        ("1", "0", "must be above 0"),
        ("1", "-0.1", "must be above 0"),
        ("1", "Infinity", "must be above 0"),
        ("NaN", "0.1", "not a number"),
        ("-Infinity", "0.1", "not a number"),
    ],
)
def test_refuses_what_cannot_be_weighed_in_a_potters_words(value: str, division: str, says: str) -> None:
    amount, step = Decimal(value), Decimal(division)
    refused: list[Callable[[], object]] = [
        lambda: round_to(amount, step),
        lambda: round_up_to(amount, step),
        lambda: count_of(amount, step),
    ]
    if step.is_finite() and step > 0:
        refused += [lambda: exact_sum([Decimal(1), amount]), lambda: to_decimal(amount)]
    else:
        refused += [lambda: multiple(1, step), lambda: decimals_of(step)]
    for work in refused:
        with pytest.raises(ValueError, match=says):
            work()


def test_multiple_and_count_of_undo_each_other() -> None:
    assert str(multiple(3, Decimal("0.50"))) == "1.5"
    assert str(multiple(-3, Decimal("0.05"))) == "-0.15"
    assert count_of(Decimal("-0.15"), Decimal("0.05")) == -3
    assert count_of(Fraction(1, 3), Decimal("0.05")) is None
    assert count_of(Fraction(3, 2), Decimal("0.5")) == 3
    assert count_of(Decimal(0), Decimal("0.5")) == 0


def test_the_fewest_divisions_go_to_the_largest_remainders() -> None:
    assert [str(share) for share in largest_remainder([Decimal(5)], Decimal("0.0"), Decimal("0.1"))] == [
        "0.0"
    ]
    shares = largest_remainder([Decimal(15), Decimal(26), Decimal(9)], Decimal(5), Decimal(1))
    assert [int(share) for share in shares] == [1, 3, 1]  # quotas 1.5, 2.6 and 0.9
    thirds = largest_remainder([Fraction(1, 3), Fraction(2, 3)], Decimal(3), Decimal(1))
    assert [int(share) for share in thirds] == [1, 2]


def test_figures_do_not_depend_on_the_context() -> None:
    with localcontext() as context:
        context.prec = 3
        assert round_to(Decimal("12345.678"), Decimal("0.01")) == Decimal("12345.68")
        assert exact_sum([Decimal("12345.67"), Decimal("0.001")]) == Decimal("12345.671")
        assert str(exact_sum([])) == "0"


def test_plain_and_to_decimal() -> None:
    assert str(plain(Decimal("500.00"))) == "500"
    assert str(plain(Decimal("5E+2"))) == "500"
    assert str(plain(Decimal("0.50"))) == "0.5"
    assert str(to_decimal(Fraction(1, 8))) == "0.125"
    assert str(to_decimal(Decimal("1.50"))) == "1.5"
    assert to_decimal(Fraction(1, 3)) == Decimal(1) / 3
    for bad in ("NaN", "Infinity"):
        with pytest.raises(ValueError, match="not a number"):
            plain(Decimal(bad))


def test_the_room_loads_only_the_standard_library_and_itself() -> None:
    folder = Path(glost.weighing.rounding.__file__).parent
    for path in folder.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom):
                assert node.level == 0
                names = [node.module or ""]
            for name in names:
                top = name.partition(".")[0]
                assert top in sys.stdlib_module_names or name.startswith(
                    ("glost.weighing", "glost.errors")
                ), (
                    path.name,
                    name,
                )
