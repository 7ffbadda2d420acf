"""Masses as people write them, and as they are shown."""

from decimal import Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from glost.errors import ValueRefusedError
from glost.weighing.units import MASS_UNITS, grams, read_mass, show_mass


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("500 g", "500"),
        ("0.5 kg", "500"),
        ("1 lb", "453.59237"),
        ("1 oz", "28.349523125"),
        (".5 oz", "14.1747615625"),
        ("500g", "500"),
        ("  2.50\tkg ", "2500"),
        ("5. g", "5"),
        ("999999999.999999 g", "999999999.999999"),
        ("0.000001 g", "0.000001"),
    ],
)
def test_reads_a_mass_in_grams(text: str, expected: str) -> None:
    mass = read_mass(text)
    assert str(mass) == expected


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "no mass is given"),
        ("   ", "no mass is given"),
        ("500", "write 500 g"),
        ("1,5 kg", "write a point, 1.5 kg"),
        ("1,000 g", "write 1000 g if it stands for thousands, 1.000 g if"),
        ("1,000.5 g", "no mark for thousands"),
        (",5 g", "write a point"),
        ("500 stone", "'stone' is not a unit of mass here"),
        ("500 mg", "'mg' is not a unit of mass here"),
        ("500 grams", "write 500 g"),
        ("2 Lbs", "write 2 lb"),
        ("2 KG", "write 2 kg"),
        ("0 g", "above 0"),
        ("0.000 kg", "above 0"),
        ("-5 g", "has a sign"),
        ("+5 g", "has a sign"),
        ("\u0665\u0660\u0660 g", "digits 0 to 9"),
        ("\uff1500 g", "digits 0 to 9"),
        ("½ lb", "digits 0 to 9"),
        ("500\u00a0g", "plain blank"),
        ("500 µg", "does not belong"),
        ("nan", "does not start with a number"),
        ("inf g", "does not start with a number"),
        ("g", "does not start with a number"),
        (". g", "does not start with a number"),
        ("1e5", "exponent"),
        ("1E+5 g", "exponent"),
        ("1.2.3 g", "more than one point"),
        ("1 000 g", "blank inside the number"),
        ("1234567890 g", "more than 9 digits"),
        ("0.1234567 g", "more than 6 decimals"),
        ("1_000 g", "not a unit"),
        ("5 lb 3 oz", "one number"),
    ],
)
def test_refuses_and_says_how_to_write_it(text: str, says: str) -> None:
    with pytest.raises(ValueRefusedError) as caught:
        read_mass(text)
    assert says in str(caught.value)
    assert caught.value.hint


@given(st.text(max_size=12))
def test_any_text_is_a_mass_or_a_message(text: str) -> None:
    try:
        said = read_mass(text) > 0
    except ValueRefusedError as error:
        said = bool(error.message and error.hint)
    assert said


@given(
    st.decimals(min_value=0, max_value=10**9 - 1, places=6),
    st.sampled_from(sorted(MASS_UNITS)),
)
def test_conversion_is_exact_in_any_context(amount: Decimal, unit: str) -> None:
    with localcontext() as context:
        context.prec = 5
        mass = grams(amount, unit)
    assert Fraction(mass) == Fraction(amount) * Fraction(MASS_UNITS[unit])


def test_grams_refuses_what_is_no_mass() -> None:
    with pytest.raises(ValueError, match="not known here"):
        grams(Decimal(1), "st")
    with pytest.raises(ValueError, match="not a mass"):
        grams(Decimal("NaN"), "g")


@pytest.mark.parametrize(
    ("mass", "division", "shown"),
    [
        ("12.4", "0.01", "12.40 g"),
        ("12.4", "0.1", "12.4 g"),
        ("2500", "1", "2500 g"),
        ("2500", "0.01", "2500.00 g"),
        ("12.4", "0.50", "12.4 g"),
        ("0.125", "0.01", "0.12 g"),
        ("3", "2", "3 g"),
        ("12.40", None, "12.4 g"),
        ("5E+2", None, "500 g"),
        ("0.000001", None, "0.000001 g"),
    ],
)
def test_shows_grams_with_the_decimals_of_the_division(mass: str, division: str | None, shown: str) -> None:
    assert show_mass(Decimal(mass), None if division is None else Decimal(division)) == shown


@given(st.decimals(min_value="0.000001", max_value=10**8, places=6))
def test_what_is_shown_reads_back(mass: Decimal) -> None:
    assert read_mass(show_mass(mass)) == mass
