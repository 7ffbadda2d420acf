"""Amounts as data files write them, held to what the language itself can write."""

from __future__ import annotations

import re
from decimal import Decimal

from glost.errors import ValueRefusedError
from glost.language.tables import lexicon


def read_amount(text: str) -> Decimal:
    """An amount of no more figures than the language takes, so that a double carries it too. Raises ValueError."""
    number = lexicon().number
    if re.fullmatch(number, text):
        return Decimal(text)
    if not text:
        raise ValueRefusedError("there is no amount here", "write a number, such as 12 or 0.5")
    pointed = text.replace(",", ".", 1)
    if re.fullmatch(number, pointed):
        raise ValueRefusedError(f"'{text}' has a comma", f"write a decimal point, {pointed}")
    raise ValueRefusedError(f"'{text[:40]}' is not an amount", f"write a number of {_most()}, such as 0.5")


def _most() -> str:
    words = lexicon()
    return f"at most {words.figures} figures and {words.decimals} decimals"


def bounded(number: Decimal) -> Decimal:
    """A number of a data file as an amount: no exponent is left in it. Raises ValueError where it is below 0
    or longer than an amount may be."""
    if not number:
        return Decimal(0)
    # Looked at before it is written out: 1E+999999 would fill the memory with zeros.
    if (
        number < 0
        or number >= 10 ** lexicon().figures
        or len(number.as_tuple().digits) > 40
        or number < Decimal("1e-40")
    ):
        raise ValueRefusedError(f"{number} is not an amount", f"write 0 or more, with {_most()}")
    whole, _, decimals = f"{number:f}".partition(".")
    most = lexicon().decimals
    kept = decimals[:most] if not decimals[most:].strip("0") else decimals
    return read_amount(f"{whole}.{kept}" if kept else whole)
