"""Rounding to the division of a balance, and sharing out a total on it.

All of it is exact: values are taken as ratios of whole numbers, and a result is a whole number of divisions written
as a Decimal, so neither binary floats nor the precision of the decimal context can change a figure. Where a ratio is
only compared or rounded, its two numbers stay as they are: to make a Fraction of them first took a third of a plan.
"""

from collections.abc import Iterable, Sequence
from decimal import MAX_EMAX, MAX_PREC, MIN_EMIN, Context, Decimal
from fractions import Fraction
from functools import lru_cache
from math import lcm
from typing import Final, NamedTuple

from glost.errors import ValueRefusedError

Mass = Decimal | Fraction
"""A mass in grams (or any other quantity that is rounded here): exact in both forms."""


def check_division(division: Decimal) -> None:
    """Raise ValueError unless division is a finite number above 0."""
    if not division.is_finite() or division <= 0:
        raise ValueRefusedError(
            f"a division of {division} cannot be read", "it must be above 0, such as 0.01 g"
        )


def check_finite(value: Mass) -> None:
    """Raise ValueError for a Decimal that is infinite or not a number."""
    if isinstance(value, Decimal) and not value.is_finite():
        raise ValueRefusedError(f"{value} is not a number that can be weighed")


def plain(value: Decimal) -> Decimal:
    """The same number without trailing zeros and without an exponent above 0 (500, not 500.0 or 5E+2).

    Raises ValueError for a value that is not finite.
    """
    check_finite(value)
    text = format(value, "f")
    if "." not in text:
        return Decimal(text)
    return value if text[-1] != "0" else Decimal(text.rstrip("0").removesuffix("."))


def trimmed(figures: str) -> str:
    """A number in figures without zeros at the end of its decimals; one that is only said to be below another ("<0.01")
    as it is."""
    return figures.rstrip("0").rstrip(".") if "." in figures and "<" not in figures else figures


def decimals_of(division: Decimal) -> int:
    """How many decimals it takes to write any multiple of division: 2 for 0.01 and 0.02, 1 for 0.50, 0 for 2.

    Raises ValueError for a division that is not above 0.
    """
    return _step(division).places


def multiple(count: int, division: Decimal) -> Decimal:
    """count divisions, exact, with the decimals of the division.

    Raises ValueError for a division that is not above 0.
    """
    places, units, _ = _step(division)
    # Built from text: the constructor is exact, arithmetic would round to the precision of the context.
    return Decimal(f"{count * units}e-{places}")


class _Step(NamedTuple):
    """A division: its decimals, how many units of the last one it is, and how many of these make 1."""

    places: int
    units: int
    per_one: int


@lru_cache(maxsize=64)
def _step(division: Decimal) -> _Step:
    """The few divisions of a studio are asked for at every amount: what is kept of them is a fifth of the time of a
    plan. Raises ValueError for one that is not above 0."""
    check_division(division)
    places = len(format(plain(division), "f").partition(".")[2])
    return _Step(places, int(Fraction(division) * 10**places), 10**places)


def count_of(value: Mass, division: Decimal) -> int | None:
    """How many divisions value is, or None when it is not a whole number of them.

    Raises ValueError for a division that is not above 0 or a value that is not finite.
    """
    above, below = _ratio(value, division)
    count, rest = divmod(above, below)
    return None if rest else count


def _ratio(value: Mass, division: Decimal) -> tuple[int, int]:
    """value in divisions, as a number over another above 0. Raises ValueError as count_of does."""
    _, units, per_one = _step(division)
    check_finite(value)
    above, below = value.as_integer_ratio()
    return above * per_one, below * units


def round_to(value: Mass, division: Decimal) -> Decimal:
    """value rounded to the nearest multiple of division; a value half way goes to the even multiple.

    Half to even is the rule of ASTM E29 (as quoted in a state materials manual): over many lines it does not
    drift upwards. Raises ValueError for a division that is not above 0 or a value that is not finite.
    """
    above, below = _ratio(value, division)
    count, rest = divmod(above, below)
    return multiple(count + (2 * rest > below or (2 * rest == below and count % 2)), division)


def round_up_to(value: Mass, division: Decimal) -> Decimal:
    """The least multiple of division that is not below value.

    Raises ValueError for a division that is not above 0 or a value that is not finite.
    """
    above, below = _ratio(value, division)
    return multiple(-(-above // below), division)


def largest_remainder(values: Sequence[Mass], total: Decimal, division: Decimal) -> tuple[Decimal, ...]:
    """Share total out in proportion to values, each share a multiple of division, adding up to total exactly.

    Each share is its quota rounded down to a division; the divisions left over go, one each, to the largest
    remainders, the first position first where remainders are equal (the largest remainder method, also known
    as Hamilton's). So every share is less than one division from its quota, and a value of 0 gets 0.

    values: at least one above 0, none negative; any unit. total and division: the same unit as the result.
    Raises ValueError when total is not a multiple of division or is negative, when a value is negative or not
    finite, or when the values do not add up to more than 0.
    """
    count = count_of(total, division)
    if count is None:
        raise ValueRefusedError(f"a total of {total} cannot be weighed in divisions of {division}")
    if count < 0:
        raise ValueRefusedError(f"a total of {total} is below 0 and cannot be shared out")
    for value in values:
        check_finite(value)
    ratios = [value.as_integer_ratio() for value in values]
    for value, (above, _) in zip(values, ratios, strict=True):
        if above < 0:
            raise ValueRefusedError(f"an amount of {value} is below 0 and cannot be weighed")
    common = lcm(*(below for _, below in ratios))
    amounts = [above * (common // below) for above, below in ratios]
    whole = sum(amounts)
    if whole <= 0:
        raise ValueRefusedError("all amounts are 0", "there is nothing to share the total out on")
    quotas = [divmod(amount * count, whole) for amount in amounts]
    shares = [share for share, _ in quotas]
    # Fewer divisions are left over than lines have a remainder, so a line without one never gets any.
    by_remainder = sorted(range(len(quotas)), key=lambda at: (-quotas[at][1], at))
    for at in by_remainder[: count - sum(shares)]:
        shares[at] += 1
    return tuple(multiple(share, division) for share in shares)


_EVERY_DIGIT: Final = Context(prec=MAX_PREC, Emax=MAX_EMAX, Emin=MIN_EMIN)
"""In which no sum is rounded: to add up ratios of whole numbers takes ten times as long."""


def exact_sum(values: Iterable[Decimal]) -> Decimal:
    """The sum with every digit kept, however many. Raises ValueError for a value that is not finite."""
    total = Decimal(0)
    for value in values:
        if not value.is_finite():
            check_finite(value)
        total = _EVERY_DIGIT.add(total, value)
    return total


def exact_product(one: Decimal, other: Decimal) -> Decimal:
    """The product with every digit kept; by way of two fractions it takes five times as long."""
    return _EVERY_DIGIT.multiply(one, other)


def exact_total(values: Iterable[Mass]) -> Fraction:
    """The sum as a ratio, brought to one denominator once: sum() would cancel at every term, which takes four times as
    long. Decimals, as pages have them, are added up as such, in half of that."""
    amounts = list(values)
    decimals = [amount for amount in amounts if isinstance(amount, Decimal)]
    if len(decimals) == len(amounts):
        return Fraction(exact_sum(decimals))
    ratios = [amount.as_integer_ratio() for amount in amounts]
    common = lcm(*(below for _, below in ratios))
    return Fraction(sum(above * (common // below) for above, below in ratios), common)


def to_decimal(value: Mass) -> Decimal:
    """value as a plain Decimal: exact where it ends within 28 significant figures, else rounded there."""
    if isinstance(value, Decimal):
        return plain(value)
    return plain(Decimal(value.numerator) / Decimal(value.denominator))


def significant(value: Mass, figures: int = 2) -> Decimal:
    """value to so many significant figures, without trailing zeros; whole figures are kept: 1234 stays 1234."""
    exact = abs(Fraction(value))
    if not exact:
        return Decimal(0)
    step = Decimal(1)
    while exact < 10 ** (figures - 1) and step > Decimal("1e-12"):
        exact *= 10
        step = step.scaleb(-1)
    return plain(round_to(Fraction(value), step))
