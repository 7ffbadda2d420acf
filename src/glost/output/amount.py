"""Amounts as data files write them, held to what the language itself can write."""

from __future__ import annotations

import re
from decimal import Decimal

from glost.errors import ValueRefusedError

UNITS = ("", "%", "g", "kg", "oz", "lb")
"""Of an amount in a recipe; "" is parts."""

_NUMBER = re.compile(r"[0-9]{1,9}(?:\.[0-9]{1,6})?|\.[0-9]{1,6}")


def read_amount(text: str) -> Decimal:
    """An amount of at most 9 figures and 6 decimals, so that a double carries it too. Raises ValueError."""
    if _NUMBER.fullmatch(text):
        return Decimal(text)
    if not text:
        raise ValueRefusedError("there is no amount here", "write a number, such as 12 or 0.5")
    pointed = text.replace(",", ".", 1)
    if _NUMBER.fullmatch(pointed):
        raise ValueRefusedError(f"'{text}' has a comma", f"write a decimal point, {pointed}")
    raise ValueRefusedError(
        f"'{text[:40]}' is not an amount", "write a number of at most 9 figures and 6 decimals, such as 0.5"
    )


def bounded(number: Decimal) -> Decimal:
    """A number of a data file as an amount: no exponent is left in it. Raises ValueError where it is below 0
    or longer than an amount may be."""
    if not number:
        return Decimal(0)
    # Looked at before it is written out: 1E+999999 would fill the memory with noughts.
    if number < 0 or number >= 10**9 or len(number.as_tuple().digits) > 40 or number < Decimal("1e-40"):
        raise ValueRefusedError(
            f"{number} is not an amount", "write 0 or more, with at most 9 figures and 6 decimals"
        )
    whole, _, decimals = f"{number:f}".partition(".")
    kept = decimals[:6] if not decimals[6:].strip("0") else decimals
    return read_amount(f"{whole}.{kept}" if kept else whole)
