"""Units of mass and of volume: reading, converting and showing them.

Factors: NIST SP 811, appendix B, and NIST Handbook 44, appendix C, which carry the international pound of
1959, exactly 0.45359237 kg, and the avoirdupois ounce, exactly one sixteenth of it; the US gallon of 231 cubic
inches, exactly 3.785411784 l, and the imperial gallon, exactly 4.54609 l, with 8 pints each, of 16 and of 20
fluid ounces (figures from memory; the outside checks hold them against a general unit library).
"""

import re
from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Final, NoReturn

from glost.errors import ValueRefusedError
from glost.weighing.rounding import decimals_of, exact_product, plain, round_to

MASS_UNITS: Final[Mapping[str, Decimal]] = MappingProxyType(
    {
        "g": Decimal(1),
        "kg": Decimal(1000),
        "oz": Decimal("28.349523125"),
        "lb": Decimal("453.59237"),
    }
)
"""Grams in one unit, exact: the units of mass that are read here."""

_GRAMS: Final[Mapping[str, Decimal]] = MappingProxyType({**MASS_UNITS, "mg": Decimal("0.001")})
"""Grams in one of every unit that is known, those among them that the language does not write."""

VOLUME_UNITS: Final[Mapping[str, Decimal]] = MappingProxyType(
    {
        "ml": Decimal(1),
        "l": Decimal(1000),
        "US fl oz": Decimal("29.5735295625"),
        "imperial fl oz": Decimal("28.4130625"),
        "US pint": Decimal("473.176473"),
        "imperial pint": Decimal("568.26125"),
    }
)
"""Millilitres in one unit, exact. A pint or fluid ounce by itself is no unit: the two differ by a fifth."""

MOST_DIGITS: Final = 9
MOST_DECIMALS: Final = 6

# How people write a unit by habit, so that the message can show the very text to write.
_HABITS: Final[Mapping[str, str]] = MappingProxyType(
    {
        **dict.fromkeys(("g", "g.", "gr", "gr.", "gm", "gms", "gram", "grams", "gramme", "grammes"), "g"),
        **dict.fromkeys(("kg", "kg.", "kgs", "kilo", "kilos", "kilogram", "kilograms", "kilogramme"), "kg"),
        **dict.fromkeys(("oz", "oz.", "ozs", "ounce", "ounces"), "oz"),
        **dict.fromkeys(("lb", "lb.", "lbs", "lbs.", "pound", "pounds"), "lb"),
    }
)
_VOLUME_HABITS: Final[Mapping[str, str]] = MappingProxyType(
    {
        **dict.fromkeys(("ml.", "cc", "cm3", "millilitre", "millilitres", "milliliter", "milliliters"), "ml"),
        **dict.fromkeys(("l.", "lt", "ltr", "litre", "litres", "liter", "liters"), "l"),
        **{unit.lower(): unit for unit in VOLUME_UNITS},
        **{f"{unit.lower()}s": unit for unit in VOLUME_UNITS if unit.endswith("pint")},
    }
)
_EITHER_PINT: Final = frozenset({"pint", "pints", "pt", "pt."})
_EITHER_OUNCE: Final = frozenset({"fl oz", "floz", "fl. oz", "fl. oz.", "fluid ounce", "fluid ounces"})
_DIGITS: Final = "0123456789"
_BLANKS: Final = " \t"
_VOLUME: Final = re.compile(
    rf"(?P<number>[0-9]{{1,{MOST_DIGITS}}}(?:\.[0-9]{{0,{MOST_DECIMALS}}})?|\.[0-9]{{1,{MOST_DECIMALS}}})"
    r"[ \t]*(?P<unit>(?:[A-Za-z][A-Za-z0-9. \t]*)?)"
)
_VOLUME_CHOICE: Final = "ml, l, US fl oz, imperial fl oz, US pint or imperial pint"


class UnitError(ValueRefusedError):
    """A mass or volume that cannot be taken. ``meant``: the unit that was written some other way."""

    def __init__(self, message: str, hint: str, meant: str = "") -> None:
        super().__init__(message, hint)
        self.meant = meant


def grams(amount: Decimal, unit: str) -> Decimal:
    """amount of unit in grams, exact, without trailing zeros.

    Raises ValueError for a unit that is not known or an amount that is not finite.
    """
    factor = _GRAMS.get(unit)
    if factor is None:
        raise ValueRefusedError(f"the unit '{unit}' is not known here", "write g, kg, oz or lb")
    if not amount.is_finite():
        raise ValueRefusedError(f"{amount} is not a mass", "write a number, such as 500 g")
    # Grams are nearly all that is asked about: 3 % of a lint.
    return plain(amount) if factor == 1 else _product(amount, factor)


def millilitres(amount: Decimal, unit: str) -> Decimal:
    """amount of unit in millilitres, exact, without trailing zeros.

    Raises ValueError for a unit that is not in VOLUME_UNITS or an amount that is not finite.
    """
    factor = VOLUME_UNITS.get(unit)
    if factor is None:
        raise ValueRefusedError(f"the unit '{unit}' is not known here", f"write {_VOLUME_CHOICE}")
    if not amount.is_finite():
        raise ValueRefusedError(f"{amount} is not a volume", "write a number, such as 500 ml")
    return _product(amount, factor)


def read_mass(text: str) -> Decimal:
    """The mass written in text ("500 g", "0.5 kg", "1 lb", ".5 oz"), in grams, exact and above 0.

    A number of at most 9 digits, then a point and at most 6 decimals if need be, then g, kg, oz or lb; blanks
    between them are free. Raises ValueError with a message that says how to write it.
    """
    written = text.strip(_BLANKS)
    if not written:
        _refuse("no mass is given", "write a number and a unit, such as 500 g or 0.5 kg")
    _check_characters(written)
    end = 0
    while end < len(written) and written[end] in _DIGITS + ".,":
        end += 1
    number, unit = written[:end], written[end:].strip(_BLANKS)
    _check_number(written, number, unit)
    if not unit:
        _refuse(f"'{written}' has no unit", f"write {number} g, or kg, oz or lb in place of g")
    if unit not in MASS_UNITS:
        meant = _HABITS.get(unit.lower())
        if meant is not None:
            _refuse(f"the unit '{unit}' is written {meant}", f"write {number} {meant}", meant)
        _refuse(
            f"'{unit}' is not a unit of mass here",
            f"write one number and g, kg, oz or lb, such as {number} g",
        )
    mass = grams(Decimal(number), unit)
    if mass == 0:
        _refuse(f"a mass of {written} cannot be weighed out", "write a mass above 0, such as 500 g")
    return mass


def read_volume(text: str) -> Decimal:
    """The volume written in text ("500 ml", "2.5 l", "1 US pint"), in millilitres, exact and above 0.

    The number is as in read_mass; the unit is one of VOLUME_UNITS, with plain blanks. Raises ValueError with a
    message that says how to write it.
    """
    written = text.strip(_BLANKS)
    if not written:
        _refuse("no volume is given", "write a number and a unit, such as 500 ml or 2.5 l")
    match = _VOLUME.fullmatch(written)
    if match is None:
        _refuse(
            f"'{written}' cannot be read as a volume",
            f"write one number of at most {MOST_DIGITS} digits, with a"
            f" point and at most {MOST_DECIMALS} decimals if need be, and a unit, such as 500 ml or 2.5 l",
        )
    number, unit = match["number"], " ".join(match["unit"].split())
    if not unit:
        _refuse(f"'{written}' has no unit", f"write {number} ml, or {_VOLUME_CHOICE}")
    if unit not in VOLUME_UNITS:
        folded = unit.lower()
        if folded in _EITHER_PINT:
            _refuse("a pint is one of two", f"write {number} US pint or {number} imperial pint")
        if folded in _EITHER_OUNCE:
            _refuse("a fluid ounce is one of two", f"write {number} US fl oz or {number} imperial fl oz")
        meant = _VOLUME_HABITS.get(folded)
        if meant is not None:
            _refuse(f"the unit '{unit}' is written {meant}", f"write {number} {meant}", meant)
        _refuse(f"'{unit}' is not a unit of volume here", f"write {_VOLUME_CHOICE}, such as {number} ml")
    volume = millilitres(Decimal(number), unit)
    if volume == 0:
        _refuse(f"a volume of {written} cannot be filled", "write a volume above 0, such as 500 ml")
    return volume


def show_mass(grams: Decimal, division: Decimal | None = None) -> str:
    """A mass for reading, always in grams: "12.40 g" on a division of 0.01 g, "12.4 g" on 0.1 g.

    With a division the figure has as many decimals as the division (rounded half to even where the mass has
    more, which changes what is shown and not the mass); without one it has just those it needs. Raises
    ValueError for a mass that is not finite or a division that is not above 0.
    """
    if division is None:
        return f"{plain(grams):f} g"
    return f"{round_to(grams, Decimal(1).scaleb(-decimals_of(division))):f} g"


def _product(amount: Decimal, factor: Decimal) -> Decimal:
    return plain(exact_product(amount, factor))


def _check_characters(written: str) -> None:
    for character in written:
        if character.isascii():
            continue
        if character.isspace():
            _refuse(f"'{written}' holds a blank that is not a plain one", "delete it and type a plain blank")
        if character.isnumeric():
            _refuse(
                f"'{character}' in '{written}' is not a plain digit",
                "write it with the digits 0 to 9, as in 500 g",
            )
        _refuse(
            f"'{character}' in '{written}' does not belong in a mass",
            "write a number and a unit, such as 500 g",
        )


def _check_number(written: str, number: str, unit: str) -> None:
    """Raise ValueError, saying what to write, unless number is one that a mass can have."""
    if written[0] in "+-":
        _refuse(f"'{written}' has a sign", "write a mass above 0 without one, such as 500 g")
    if not any(character in _DIGITS for character in number):
        _refuse(f"'{written}' does not start with a number", "write a number and a unit, such as 500 g")
    if "," in number:
        _refuse(*_comma_message(written, number, unit))
    if number.count(".") > 1:
        _refuse(
            f"'{number}' has more than one point",
            "write one for the decimals, none for thousands, as in 1000.5 g",
        )
    if unit[:1] in ("e", "E") and unit[1:2] and unit[1] in _DIGITS + "+-":
        _refuse(f"'{written}' has an exponent", "write the number in full, such as 100000 g")
    if unit[:1] and unit[0] in _DIGITS + ".,":
        _refuse(f"'{written}' has a blank inside the number", "write it in one piece, such as 1000 g")
    whole, _, decimals = number.partition(".")
    if len(whole) > MOST_DIGITS:
        _refuse(f"'{number}' has more than {MOST_DIGITS} digits", "write it in a larger unit, such as kg")
    if len(decimals) > MOST_DECIMALS:
        _refuse(
            f"'{number}' has more than {MOST_DECIMALS} decimals",
            f"write at most {MOST_DECIMALS}, such as 0.000001 g",
        )


def _comma_message(written: str, number: str, unit: str) -> tuple[str, str]:
    shown = unit if unit in MASS_UNITS else "g"
    head, *rest = number.split(",")
    if len(rest) == 1 and "." not in number and head and rest[0]:
        pointed = f"{head}.{rest[0]} {shown}"
        if len(rest[0]) == 3:  # 1,000 may be meant either way; only the writer knows
            as_thousands = f"{head}{rest[0]} {shown} if it stands for thousands"
            return (
                f"'{written}' has a comma",
                f"write {as_thousands}, {pointed} if it stands for a decimal point",
            )
        return f"'{written}' has a decimal comma", f"write a point, {pointed}"
    how = f"write a point for the decimals and no mark for thousands, as in 1000.5 {shown}"
    return f"'{written}' has a comma", how


def _refuse(message: str, hint: str, meant: str = "") -> NoReturn:
    raise UnitError(message, hint, meant)
