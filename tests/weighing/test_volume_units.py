"""Volumes: reading and converting."""

from decimal import Decimal

import pytest

from glost.weighing.units import millilitres, read_volume

D = Decimal


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("500 ml", "500"),
        ("2.5 l", "2500"),
        (".5l", "500"),
        ("1 US pint", "473.176473"),
        ("2 imperial  pint", "1136.5225"),
        ("8 US fl oz", "236.5882365"),
        ("20 imperial fl oz", "568.26125"),
    ],
)
def test_volumes(text: str, expected: str) -> None:
    assert str(read_volume(text)) == expected


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "no volume is given"),
        ("500", "has no unit; write 500 ml"),
        ("1 pint", "write 1 US pint or 1 imperial pint"),
        ("2 pt", "write 2 US pint or 2 imperial pint"),
        ("3 fl oz", "write 3 US fl oz or 3 imperial fl oz"),
        ("3 us pints", "is written US pint; write 3 US pint"),
        ("2 litres", "is written l; write 2 l"),
        ("2 L", "is written l; write 2 l"),
        ("2 ML", "is written ml"),
        ("2 cups", "not a unit of volume"),
        ("2,5 l", "cannot be read"),
        ("-1 l", "cannot be read"),
        ("1e3 ml", "not a unit of volume"),
        ("1\u00a0l", "cannot be read"),
        ("\u0661 l", "cannot be read"),
        ("1234567890 l", "cannot be read"),
        ("0 l", "above 0"),
    ],
)
def test_what_cannot_be_read_says_what_to_write(text: str, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        read_volume(text)


def test_a_unit_that_is_not_known() -> None:
    with pytest.raises(ValueError, match="'pint' is not known"):
        millilitres(D(1), "pint")
    with pytest.raises(ValueError, match="not a volume"):
        millilitres(D("Infinity"), "l")
