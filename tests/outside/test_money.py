"""Currencies and their decimals against a package of ISO 4217, and rounding against the decimal module."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Context, Decimal
from fractions import Fraction

import iso4217
import pytest
from babel.numbers import format_currency
from hypothesis import given
from hypothesis import strategies as st

from glost.recipe.money import MINOR_UNITS, Money, read_price, sums_of

# Codes of list one that are no money anybody pays with: units of the bond market, funds and indices. Those of metals,
# drawing rights and tests have no decimals of their own. Source: the names in list one of ISO 4217, as the package has
# them.
FUNDS = {"BOV", "CHE", "CHW", "CLF", "COU", "MXV", "USN", "UYI", "UYW"}

codes = st.sampled_from(sorted(MINOR_UNITS))
amounts = st.fractions(min_value=0, max_value=10**9, max_denominator=10**9)


# Source: list one of ISO 4217 as the PyPI package iso4217 carries it, published by SIX on behalf of ISO.
def test_currencies_and_their_decimals_are_those_of_the_list() -> None:
    listed = {
        one.code.upper(): one.exponent
        for one in iso4217.Currency
        if one.exponent is not None and one.code.upper() not in FUNDS
    }
    # A later list may drop a currency that is still on old bills, and add one.
    both = listed.keys() & MINOR_UNITS.keys()
    assert len(both) > 150
    assert {code: MINOR_UNITS[code] for code in both} == {code: listed[code] for code in both}
    if str(iso4217.__published__) == "2026-01-01":
        assert dict(MINOR_UNITS) == listed


# Source: Decimal.quantize of Python's standard library, the General Decimal Arithmetic Specification, round-half-up.
@given(amounts, codes)
def test_an_amount_is_rounded_once_half_away_from_zero(amount: Fraction, code: str) -> None:
    wide = Context(prec=60)
    # Exact up to 40 decimals, and cut off there: a half has one decimal more than the currency at most.
    whole = Decimal(amount.numerator * 10**40 // amount.denominator)
    exact = wide.scaleb(whole, -40)
    step = Decimal(1).scaleb(-MINOR_UNITS[code])
    assert Money(amount, code).rounded == exact.quantize(step, ROUND_HALF_UP, wide)


# Source: Unicode CLDR by way of the PyPI package Babel, which knows the decimals of currencies too.
@pytest.mark.parametrize(("code", "shown"), [("EUR", "1,234.57"), ("JPY", "1,235"), ("KWD", "1,234.568")])
def test_the_decimals_are_those_that_people_see(code: str, shown: str) -> None:
    amount = Decimal("1234.5678")
    assert format_currency(amount, code, "#,##0.00", locale="en_US").endswith(shown)
    assert Money(Fraction(amount), code).rounded == Decimal(shown.replace(",", ""))


@given(st.lists(st.tuples(amounts, codes), max_size=12))
def test_a_sum_is_exact_and_rounded_at_its_end(those: list[tuple[Fraction, str]]) -> None:
    sums = {one.currency: one for one in sums_of(Money(*one) for one in those)}
    for code in {code for _, code in those}:
        exact = sum((amount for amount, its in those if its == code), Fraction(0))
        assert sums[code].amount == exact
        assert abs(Fraction(sums[code].rounded) - exact) <= Fraction(1, 2 * 10 ** MINOR_UNITS[code])
    assert sums.keys() == {code for _, code in those}


@given(st.integers(0, 10**9), codes, st.sampled_from(["", "g", "kg", "oz", "lb"]))
def test_a_price_is_read_as_it_was_written(count: int, code: str, unit: str) -> None:
    amount = Decimal(count).scaleb(-MINOR_UNITS[code])
    if len(f"{amount:f}".partition(".")[0]) > 9:
        return
    text = f"{amount:f} {code}{f'/{unit}' if unit else ''}"
    assert read_price(text).text == text
    assert read_price(text) == (amount, code, unit)
