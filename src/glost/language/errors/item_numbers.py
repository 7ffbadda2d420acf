"""Lines of materials: numbers that are written otherwise than in plain figures."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple, TypeAlias

from glost.language.diagnostics import Diagnostic
from glost.language.errors.item_line import BEFORE, FIGURE, WORDS, ItemLine


def _decimal_of(value: Fraction) -> str | None:
    """The fraction in as many decimals as are read, where that is exact."""
    text = f"{Decimal(value.numerator) / Decimal(value.denominator):f}"
    return text if len(text.partition(".")[2]) <= WORDS.decimals and Fraction(text) == value else None


def _in_full(found: re.Match[str]) -> str | None:
    power = int(re.split("[eE]", found["n"])[1])
    return f"{Decimal(found['n']):f}" if abs(power) <= 9 and found["n"].count(".") <= 1 else None


_AFTER = rf"(?=[\s%,;\x02]|{WORDS.mass}\b|$)"


_Becomes: TypeAlias = Callable[[re.Match[str]], str | None]


class _NumberAccident(NamedTuple):
    """A way to write a number that is none here. ``becomes`` gives the plain number, where there is one, which then
    stands in ``with_number``; ``sure`` says whether that is the only reading of it."""

    pattern: re.Pattern[str]
    message: str
    hint: str
    becomes: _Becomes | None = None
    sure: bool = True
    with_number: str = "write {}"


_NUMBERS = tuple(
    _NumberAccident(re.compile(BEFORE + rf"(?P<n>{pattern})" + _AFTER), *rest)
    for pattern, *rest in (
        (
            r"[+-]?(?i:nan|infinity|inf)(?=\s*(?:$|[%,(\x02]))",
            "'{0}' is not an amount",
            "write a number of parts, such as 22",
        ),
        (
            rf"{FIGURE} ?-+ ?{FIGURE}|{FIGURE} ?\.\.+ ?{FIGURE}",
            "'{0}' is a range, and a line takes one amount",
            "write one amount, or the amounts of a series with commas between",
        ),
        (r"-[0-9.]+", "'{0}' is a negative amount", "write an amount of 0 or more"),
        (
            r"[0-9]+(?:\.[0-9]*)?[eE][+-]?[0-9]{1,4}",
            "'{0}' is written with an exponent",
            "write the number in full",
            _in_full,
            False,
            "write the number in full: {}",
        ),
        (
            r"[0-9]+(?:[_'][0-9]+)+(?:\.[0-9]+)?",
            "'{0}' has a sign between its figures",
            "write a plain number",
            lambda m: m["n"].replace("_", "").replace("'", ""),
        ),
        (
            r"[0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+",
            "'{0}' has a comma between its thousands",
            "write a plain number",
            lambda m: m["n"].replace(",", ""),
        ),
        (
            r"[0-9]{1,3}(?:\.[0-9]{3})+,[0-9]+",
            "'{0}' has a point between its thousands and a decimal comma",
            "write a plain number",
            lambda m: m["n"].replace(".", "").replace(",", "."),
        ),
        (r"[0-9]+(?:\.[0-9]*){2,}", "'{0}' has two decimal points", "write one number, such as 12.5"),
        (r"[0-9]+\.", "'{0}' ends in a decimal point", "write a plain number", lambda m: m["n"][:-1]),
        (
            rf"[0-9]{{{WORDS.figures + 1},}}(?:\.[0-9]*)?|[0-9]*\.[0-9]{{{WORDS.decimals + 1},}}",
            "this number has too many figures",
            f"write at most {WORDS.figures} figures before the point and {WORDS.decimals} behind it",
        ),
    )
)


def bad_number(item: ItemLine) -> Diagnostic | None:
    """A number that is not written as a plain decimal."""
    for accident in _NUMBERS:
        found = accident.pattern.search(item.open)
        if found:
            plain = accident.becomes(found) if accident.becomes else None
            return item.diagnostic(
                *found.span("n"),
                accident.message.format(found["n"]),
                accident.hint if plain is None else accident.with_number.format(plain),
                plain if accident.sure else None,
            )
    return None


_SIXTEENTHS = frozenset((2, 4, 8, 16))


_WITH_FRACTION = re.compile(
    BEFORE
    + rf"(?P<n>(?P<whole>[0-9]{{1,{WORDS.figures}}}(?P<gap> *))??"
    + r"(?:(?P<above>[0-9]{1,4})/(?P<below>[0-9]{1,4})|(?P<sign>[\u00bc-\u00be\u2150-\u215e])))"
    + _AFTER
)


def fraction(item: ItemLine) -> Diagnostic | None:
    """A number with a fraction. A whole number beside it may belong to the name, and 2/4 may be 2 or 4."""
    found = _WITH_FRACTION.search(item.open)
    if found is None or (found["above"] and found["whole"] and not found["gap"]):
        return None
    if found["sign"]:
        part = Fraction(unicodedata.numeric(found["sign"])).limit_denominator(10)
    else:
        part = Fraction(int(found["above"]), int(found["below"])) if int(found["below"]) else Fraction(-1)
    plain = _decimal_of(int(found["whole"] or 0) + part) if part >= 0 else None
    written, span = found["n"], found.span("n")
    message = f"'{written}' is a fraction"
    if plain is None:
        return item.diagnostic(*span, message, "write it as a decimal, such as 0.5")
    if found["gap"]:
        whole = found["whole"].strip(" ")
        hint = f"write {plain}; where {whole} ends the name, put the name in double quotes"
        return item.diagnostic(*span, message, hint)
    if found["sign"] or (part < 1 and int(found["below"]) in _SIXTEENTHS and int(found["above"]) % 2):
        return item.diagnostic(*span, message, f"write {plain}", plain)
    return item.diagnostic(
        *span,
        f"'{written}' may be a fraction, or {found['above']} or {found['below']}",
        f"write {plain} if it is the fraction, else the one amount that is meant",
    )


def plus(item: ItemLine) -> Diagnostic | None:
    """A plus sign before the amount. Among the additions it can only mean that this much is added."""
    found = re.search(rf"{BEFORE}(?P<n>\+ ?(?P<amount>[0-9.]+)){_AFTER}", item.open)
    if found is None:
        return None
    amount = found["amount"]
    hint = {
        "additions": f"write {amount}",
        "base": f"write {amount} if it is part of the base; what is added to it stands below  additions:",
    }.get(
        item.role,
        f"write {amount} if the test has so much of it; {amount} more than elsewhere is written as the sum",
    )
    sure = amount if item.role == "additions" else None
    return item.diagnostic(*found.span("n"), f"'{found['n']}' carries a plus sign", hint, sure)


def commas(item: ItemLine) -> Diagnostic | None:
    """A comma inside a number: a decimal comma, one between thousands, or one between two amounts."""
    found = re.search(rf"{BEFORE}(?P<n>[0-9.]*(?:,[0-9.]+)+){_AFTER}", item.open)
    if found is None:
        return None
    written = found["n"]
    left, *others = written.split(",")
    if len(others) > 1:
        return item.diagnostic(
            *found.span("n"),
            f"'{written}' may be one amount or several",
            f"write {', '.join([left, *others])} for several amounts of a series"
            if item.series
            else "write one amount, with a decimal point and no sign between thousands",
        )
    right = others[0]
    if not left and item.series:
        return None
    if not left:
        return item.diagnostic(
            *found.span("n"),
            f"'{written}' may be 0.{right}, or {right} behind a comma",
            f"write 0.{right}, or {right} with only blanks before it",
        )
    if item.series:
        return item.diagnostic(
            *found.span("n"),
            f"'{written}' may be one amount or two",
            f"write {left}.{right} for one amount, or {left}, {right} with a blank for two",
        )
    if "." in left or "." in right:
        return item.diagnostic(
            *found.span("n"), f"'{written}' is not an amount", "write a number of parts, such as 22.5"
        )
    if len(right) == 3 and left.strip("0"):
        return item.diagnostic(
            *found.span("n"),
            f"'{written}' may be {left}.{right} or {left}{right}",
            "write a decimal point, and no sign between thousands",
        )
    return item.diagnostic(
        *found.span("n"), f"'{written}' has a decimal comma", f"write {left}.{right}", f"{left}.{right}"
    )
