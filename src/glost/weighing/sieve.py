"""Openings of test sieves by mesh number.

Source: ASTM E11, as tabulated in the PyPI package fluids 1.3.1 (ASTM_E11_sieves). Older US tables and the
Tyler series give other openings for the same number (Tyler 200 is 74 µm), so a mesh number alone is only as
exact as its standard.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

SIEVE_OPENINGS_UM: Final[Mapping[int, int]] = MappingProxyType(
    {
        20: 850,
        25: 710,
        30: 600,
        35: 500,
        40: 425,
        45: 355,
        50: 300,
        60: 250,
        70: 212,
        80: 180,
        100: 150,
        120: 125,
        140: 106,
        170: 90,
        200: 75,
        230: 63,
        270: 53,
        325: 45,
        400: 38,
        450: 32,
        500: 25,
        635: 20,
    }
)
"""Nominal opening in micrometres of each sieve number from 20 to 635."""


def opening_um(mesh: int) -> int | None:
    """The nominal opening of an ASTM E11 sieve in micrometres, or None for a number not in the table."""
    return SIEVE_OPENINGS_UM.get(mesh)
