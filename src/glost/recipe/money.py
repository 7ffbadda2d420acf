"""Prices and amounts of money: read, and rounded once.

A currency is the code of ISO 4217, since a sign such as $ stands for a dozen of them. Nothing is ever converted from
one currency to another. Which currencies there are, and how many decimals each has, is list one of ISO 4217
(published 2026-01-01, by way of the package iso4217, which the outside checks hold it against); codes of metals, funds
and tests, which nobody pays powder with, are left out.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Final, NamedTuple

from glost.errors import ValueRefusedError
from glost.language.tables import lexicon
from glost.weighing.rounding import multiple, plain
from glost.weighing.units import MASS_UNITS

_TWO: Final = (
    "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BRL BSD BTN BWP BYN BZD CAD "
    "CDF CHF CNY COP CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD "
    "GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL "
    "MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN "
    "PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP "
    "SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD UYU UZS VED VES WST XAD XCD XCG YER ZAR ZMW "
    "ZWG"
)
_OTHERS: Final = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF",
    3: "BHD IQD JOD KWD LYD OMR TND",
}
MINOR_UNITS: Final[Mapping[str, int]] = {
    **dict.fromkeys(_TWO.split(), 2),
    **{code: decimals for decimals, codes in _OTHERS.items() for code in codes.split()},
}
"""The decimals of the smallest amount of each currency."""


@functools.cache
def _price() -> re.Pattern[str]:
    return re.compile(
        rf"(?P<number>{lexicon().number}) *(?P<currency>[A-Z]{{3}})(?: */ *(?P<unit>[a-z]{{1,2}}))?"
    )


_SHOW: Final = "write such as 31.50 EUR, or 1.26 EUR/kg"


class Money(NamedTuple):
    """An amount that is exact, as it comes out of a sum; ``told`` rounds it."""

    amount: Fraction
    currency: str

    @property
    def rounded(self) -> Decimal:
        """To the smallest amount of its currency, half away from zero as bills are (common practice)."""
        places = MINOR_UNITS[self.currency]
        scaled = abs(self.amount) * 10**places
        count = (2 * scaled.numerator + scaled.denominator) // (2 * scaled.denominator)
        return multiple(-count if self.amount < 0 else count, Decimal(1).scaleb(-places))

    @property
    def told(self) -> str:
        return f"{self.rounded:f} {self.currency}"


class Price(NamedTuple):
    """A price as it was written: for so much of a ``unit`` of mass, or with a unit of "" for all of what came."""

    amount: Decimal
    currency: str
    unit: str = ""

    @property
    def text(self) -> str:
        return f"{self.amount:f} {self.currency}{f'/{self.unit}' if self.unit else ''}"

    def per_gram(self, mass_g: Decimal | None = None) -> Money:
        """The exact price of a gram; ``mass_g`` is what a price without a unit was paid for."""
        grams = MASS_UNITS[self.unit] if self.unit else mass_g
        assert grams, "a price for the whole needs the mass that it was paid for"
        return Money(Fraction(self.amount) / Fraction(grams), self.currency)


def read_price(text: str, of_a_unit: bool = False) -> Price:
    """The price in a text: "1.26 EUR/kg", or "31.50 EUR" for the whole unless ``of_a_unit``. Raises
    ValueRefusedError."""
    found = _price().fullmatch(text.strip(" "))
    if found is None:
        raise ValueRefusedError(*_no_price(text))
    currency, unit = found["currency"], found["unit"] or ""
    amount = Decimal(found["number"])
    if currency not in MINOR_UNITS:
        raise ValueRefusedError(
            f"'{currency}' is no currency of ISO 4217",
            "write its code of three letters, such as EUR",
        )
    if unit and unit not in MASS_UNITS:
        raise ValueRefusedError(
            f"'{unit}' is no unit of mass that a price can be of",
            f"write {amount:f} {currency}/kg, or /g, /oz, /lb",
        )
    if of_a_unit and not unit:
        raise ValueRefusedError(
            f"'{text.strip(' ')}' does not say for how much", f"write such as {amount:f} {currency}/kg"
        )
    places = MINOR_UNITS[currency]
    if not unit and -int(plain(amount).as_tuple().exponent) > places:
        raise ValueRefusedError(
            f"{amount:f} {currency} cannot be paid: {currency} has {places or 'no'} decimals",
            "write what was paid, or the price of a unit such as 1.2625 EUR/kg",
        )
    return Price(amount, currency, unit)


def _no_price(text: str) -> tuple[str, str]:
    shown = f"'{text.strip()[:40]}' is no price"
    if re.search(r"[0-9],[0-9]", text):
        return f"{shown}: a comma stands in it", "write a point before the decimals and no mark for thousands"
    if re.search(r"[$\u00a2-\u00a5\u20a0-\u20cf]", text):
        return (
            f"{shown}: a sign may stand for several currencies",
            "write the code of ISO 4217, as in 31.50 EUR",
        )
    if text.strip().startswith("-"):
        return f"{shown}: it has a minus sign", "write what was paid, 0 for what was a gift"
    bare = text.strip(" ")
    code = re.search(r"[A-Za-z]{3}", bare)
    if code is not None and code[0] != code[0].upper() and code[0].upper() in MINOR_UNITS:
        return f"{shown}: '{code[0]}' is written {code[0].upper()}", _SHOW
    if re.fullmatch(r"[0-9]+(?:\.[0-9]+)?", bare):
        return f"{shown}: it has no currency", f"write such as {bare[:20]} EUR"
    return shown, _SHOW


def sums_of(amounts: Iterable[Money]) -> tuple[Money, ...]:
    """One exact sum a currency, by code. Nothing is converted."""
    sums: dict[str, Fraction] = {}
    for one in amounts:
        sums[one.currency] = sums.get(one.currency, Fraction(0)) + one.amount
    return tuple(Money(amount, currency) for currency, amount in sorted(sums.items()))


def told_sums(amounts: Iterable[Money]) -> str:
    """The sums as text: "3.20 EUR", "3.20 EUR and 400 JPY"; "" for none."""
    return " and ".join(one.told for one in sums_of(amounts))
