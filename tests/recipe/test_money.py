"""Prices as people write them, and what is said of those that cannot be taken."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from glost.errors import ValueRefusedError
from glost.recipe.money import Money, read_price, told_sums


@pytest.mark.parametrize(
    ("text", "per_kg"),
    [
        ("1.26 EUR/kg", Fraction(126, 100)),
        ("1.26EUR / kg", Fraction(126, 100)),
        ("0.004 USD/g", Fraction(4)),
        ("1 GBP/lb", Fraction(1000) / Fraction("453.59237")),
        ("31.50 EUR", Fraction("31.50") / 25),  # for 25 kg
        ("0 EUR", Fraction(0)),
    ],
)
def test_the_price_of_a_gram(text: str, per_kg: Fraction) -> None:
    assert read_price(text).per_gram(Decimal(25_000)).amount * 1000 == per_kg


@pytest.mark.parametrize(
    ("text", "message", "hint"),
    [
        ("", "'' is no price", "write such as 31.50 EUR"),
        ("31.50", "it has no currency", "write such as 31.50 EUR"),
        ("€31.50", "a sign may stand for several currencies", "ISO 4217"),
        ("$5", "a sign may stand for several currencies", "ISO 4217"),
        ("31,50 EUR", "a comma stands in it", "write a point"),
        ("1,000 EUR", "a comma stands in it", "no mark for thousands"),
        ("3 eur", "'eur' is written EUR", "write such as"),
        ("-3 EUR", "a minus sign", "0 for what was a gift"),
        ("3 EUT", "'EUT' is no currency of ISO 4217", "its code of three letters"),
        ("3 XAU", "'XAU' is no currency of ISO 4217", "its code"),
        ("3 EUR/t", "'t' is no unit of mass", "write 3 EUR/kg"),
        ("3 EUR per kg", "is no price", "1.26 EUR/kg"),
        ("3.505 EUR", "EUR has 2 decimals", "write what was paid"),
        ("3.5 JPY", "JPY has no decimals", "write what was paid"),
        ("3.1234567 EUR/kg", "is no price", "write such as"),
        ("1234567890 EUR", "is no price", "write such as"),
    ],
)
def test_what_is_no_price(text: str, message: str, hint: str) -> None:
    with pytest.raises(ValueRefusedError) as caught:
        read_price(text)
    assert message in caught.value.message
    assert hint in caught.value.hint


def test_what_the_studio_charges_is_of_a_unit() -> None:
    with pytest.raises(ValueRefusedError, match=r"does not say for how much; write such as 31\.50 EUR/kg"):
        read_price("31.50 EUR", of_a_unit=True)


def test_currencies_are_never_added_up() -> None:
    amounts = [Money(Fraction(1, 3), "EUR"), Money(Fraction(400), "JPY"), Money(Fraction(1, 6), "EUR")]
    assert told_sums(amounts) == "0.50 EUR and 400 JPY"
    assert told_sums([]) == ""
