"""Amounts as people write them: decimal commas, fractions, ranges, units in many spellings."""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from typing import Final, NamedTuple

from glost.language.tables import lexicon
from glost.language.units import spellings

_VULGAR: Final = {
    "½": Fraction(1, 2), "¼": Fraction(1, 4), "¾": Fraction(3, 4), "⅓": Fraction(1, 3), "⅔": Fraction(2, 3),
    "⅛": Fraction(1, 8), "⅜": Fraction(3, 8), "⅝": Fraction(5, 8), "⅞": Fraction(7, 8),
}  # fmt: skip
_V = "".join(_VULGAR)
_FIGURE = r"(?:[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+)"
_NUMBER = rf"(?:{_FIGURE}(?: ?[{_V}]| [0-9]+/[0-9]+|/[0-9]+)?|[{_V}])"
UNITS: Final = spellings()
_UNIT = "|".join(re.escape(unit) for unit in sorted(UNITS, key=len, reverse=True))

WRITTEN: Final = re.compile(
    r"(?<![^\s:=|;,])(?P<sign>[-+\u2013\u2014]?)(?P<about>(?:~|\u2248|ca\.? ?|about |approx\.? ?)?)"
    rf"(?P<number>{_NUMBER})(?P<range> ?(?:-|\u2013|\u2014| to |\.\.) ?{_NUMBER})?"
    rf"(?: ?(?P<unit>{_UNIT})(?![^\W_]))?\.?(?P<doubt> ?\?+)?(?![\w/]|[.,][0-9])",
    re.IGNORECASE,
)
"""One amount on a line, with all that may stand about it."""

_SPACED: Final = re.compile(r"(?P<head>[-+~]?[0-9]{1,3})(?P<groups>(?:[ '\u2019][0-9]{3})+)(?![0-9])")
"""Thousands with a blank or an apostrophe between, which only a cell shows to be one number."""
_THOUSANDS_COMMA = re.compile(r"[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?")
_THOUSANDS_POINT = re.compile(r"[0-9]{1,3}(?:\.[0-9]{3})+(?:,[0-9]+)?")
_GROUP: Final = 3
_ANY_COMMA = re.compile(r"(?<![0-9.,])([0-9]*),([0-9]+)(?![0-9.,])")
_ANY_POINT = re.compile(r"(?<![0-9.,])[0-9]*\.[0-9]+(?![0-9.,])")
_MOST_FRACTION: Final = 20
_POINTED = re.compile(r"(?<![0-9.,])([0-9]*)\.([0-9]+)(?![0-9.,])")
_LEXICON: Final = lexicon()
_MOST: Final = 10**_LEXICON.figures
_DECIMALS: Final = _LEXICON.decimals


class Amount(NamedTuple):
    """``value`` None: it cannot be taken for one number, and ``why`` says why not. ``guess`` is what was assumed,
    or ""."""

    value: Decimal | None
    unit: str
    why: str = ""
    guess: str = ""


def commas_are_decimal(lines: Iterable[str]) -> bool:
    """Whether a page writes its decimals with a comma: some that can be nothing else, and no decimal points."""
    certain = False
    for line in lines:
        certain |= any(len(tail) != _GROUP or head in ("", "0") for head, tail in _ANY_COMMA.findall(line))
        if _ANY_POINT.search(line):
            return False
    return certain


class Marks(NamedTuple):
    """What stands before the decimals in a table: a comma, a point, or neither can be told."""

    comma: bool
    point: bool


def marks_of(cells: Iterable[str]) -> Marks:
    """How a table writes its decimals; only cells that are amounts count."""
    comma = point = False
    for cell in cells:
        if in_cell(cell):
            comma |= any(len(tail) != _GROUP or head in ("", "0") for head, tail in _ANY_COMMA.findall(cell))
            point |= any(len(tail) != _GROUP or head in ("", "0") for head, tail in _POINTED.findall(cell))
    return Marks(comma and not point, point and not comma)


def in_cell(cell: str) -> re.Match[str] | None:
    """The amount that a cell is and nothing else, or None."""
    return WRITTEN.fullmatch(_closed_up(cell)) if cell else None


def read_cell(cell: str, marks: Marks) -> Amount:
    """The amount of a cell. With points for decimals elsewhere in the table, the comma of 1,500 parts thousands."""
    found = in_cell(cell)
    if found is None:
        return Amount(None, "", f"'{cell[:40]}' is no amount" if cell else "there is no amount")
    amount = read(found, marks.comma)
    parted = _THOUSANDS_POINT if marks.comma else _THOUSANDS_COMMA
    if any(marks) and parted.fullmatch(found["number"]) and not found["range"]:
        value, why = number(found["number"].replace("." if marks.comma else ",", ""), marks.comma)
        amount = Amount(value, amount.unit, why, amount.guess)
    if amount.value is not None and not amount.guess and f"{amount.value:f}" not in cell.replace(",", "."):
        amount = amount._replace(guess=f"'{cell}' is read as {amount.value:f}")
    return amount


def _closed_up(cell: str) -> str:
    """A cell without the blanks and apostrophes between thousands."""
    return _SPACED.sub(lambda found: found["head"] + re.sub(r"[^0-9]", "", found["groups"]), cell, count=1)


def read(found: re.Match[str], decimal_comma: bool) -> Amount:
    """The amount that WRITTEN has found."""
    unit = UNITS[(found["unit"] or "parts").lower()]
    if found["range"]:
        return Amount(None, unit, f"'{found['number']}{found['range']}' is a range; choose one amount")
    value, why = number(found["number"], decimal_comma)
    guess = ""
    if found["about"] or found["doubt"]:
        guess = "an amount that the notes are not sure of is taken as it stands"
    elif found["sign"] and found["sign"] != "+":
        guess = "a stroke before an amount is taken for a dash, not for a minus"
    return Amount(value, unit, why, guess)


def number(text: str, decimal_comma: bool) -> tuple[Decimal | None, str]:
    """The number that is written, or None and why there is none."""
    bare = text.strip(" ")
    if "/" in bare or any(sign in _VULGAR for sign in bare):
        return _fraction(bare)
    bare = _pointed(bare, decimal_comma)
    if not bare:
        head, _, tail = text.strip(" ").rpartition(",")
        return None, f"'{text}' may be {head}.{tail} or {head}{tail}"
    bare = f"0{bare}" if bare.startswith(".") else bare
    if not re.fullmatch(_LEXICON.number, bare):
        return (
            None,
            f"'{text[:40]}' is no number of at most {_LEXICON.figures} figures and {_DECIMALS} decimals",
        )
    return Decimal(bare), ""


def _pointed(bare: str, decimal_comma: bool) -> str:
    """A number with a point before its decimals and no sign between thousands; "" where a comma may be either."""
    if "," not in bare:
        many = bare.count(".") > 1 and _THOUSANDS_POINT.fullmatch(bare)
        return bare.replace(".", "") if many else bare
    if "." in bare or bare.count(",") > 1:
        if _THOUSANDS_COMMA.fullmatch(bare):
            return bare.replace(",", "")
        return bare.replace(".", "").replace(",", ".") if _THOUSANDS_POINT.fullmatch(bare) else bare
    head, _, tail = bare.rpartition(",")
    certain = len(tail) != _GROUP or head in ("", "0") or decimal_comma
    return f"{head}.{tail}" if certain else ""


def _fraction(text: str) -> tuple[Decimal | None, str]:
    sign = next((sign for sign in text if sign in _VULGAR), "")
    try:
        if sign:
            value = _VULGAR[sign] + int(text.replace(sign, "").strip(" ")[:_MOST_FRACTION] or "0")
        else:
            whole, _, part = text.rpartition(" ")
            above, _, below = part.partition("/")
            if len(above) + len(below) + len(whole) > _MOST_FRACTION:
                raise ValueError
            value = int(whole or "0") + Fraction(int(above), int(below))
    except (ValueError, ZeroDivisionError):
        return None, f"'{text[:40]}' is no number that can be read"
    smallest = value * 10**_DECIMALS
    if smallest.denominator != 1 or value >= _MOST:
        return None, f"'{text}' has no end as a decimal; write how much is meant"
    return Decimal(f"{Decimal(smallest.numerator).scaleb(-_DECIMALS):f}".rstrip("0").rstrip(".")), ""
