"""Cones and atmospheres in a cell and in a title: a row a way to write them."""

from __future__ import annotations

import pytest

from glost.importer.firing import firing_in_cell, firing_in_title
from glost.importer.heading import values_of


@pytest.mark.parametrize(
    ("cell", "fields"),
    [
        ("^6", {"cone": "6"}),
        ("\u25b3 6", {"cone": "6"}),
        ("c10", {"cone": "10"}),
        ("C 10", {"cone": "10"}),
        ("cone 6", {"cone": "6"}),
        ("Cone 04", {"cone": "04"}),
        ("04", {"cone": "04"}),
        ("'04", {"cone": "04"}),
        ("4", {"cone": "4"}),
        ("6.0", {"cone": "6"}),
        ("5-6", {"cone": "5-6"}),
        ("5/6", {"cone": "5-6"}),
        ("5 to 6", {"cone": "5-6"}),
        ("^5-^6", {"cone": "5-6"}),
        ("04-03", {"cone": "04-03"}),
        ("6 1/2", {"cone": "6 1/2"}),
        ("6\u00bd", {"cone": "6 1/2"}),
        ("5 1/2-6", {"cone": "5 1/2-6"}),
        ("5-6\u00bd", {"cone": "5-6 1/2"}),
        ("5.5 to 6.5", {"cone": "5 1/2-6 1/2"}),
        ("10 R", {"cone": "10", "atmosphere": "reduction"}),
        ("10R", {"cone": "10", "atmosphere": "reduction"}),
        ("10 red.", {"cone": "10", "atmosphere": "reduction"}),
        ("cone 10 (reduction)", {"cone": "10", "atmosphere": "reduction"}),
        ("c/6 ox", {"cone": "6", "atmosphere": "oxidation"}),
        ("6ox", {"cone": "6", "atmosphere": "oxidation"}),
        ("06 - Oxidation", {"cone": "06", "atmosphere": "oxidation"}),
        ("fired to cone 9 neutral", {"cone": "9", "atmosphere": "neutral"}),
        ("^5-6 Ox/Red", {"cone": "5-6", "firing": "oxidation or reduction"}),
        ("^6 electric", {"cone": "6", "firing": "electric"}),
        ("6 ox, slow cool", {"cone": "6", "atmosphere": "oxidation", "firing": "ox, slow cool"}),
    ],
)
def test_cell_of_a_cone(cell: str, fields: dict[str, str]) -> None:
    values = values_of("cone", cell)
    assert values.fields == fields
    assert not values.left


@pytest.mark.parametrize("cell", ["6/10", "6, 10", "6 and 10", "06-May", "5.6.2026", "2026-05-06", "May-06", "low",
                                  "60", "1240", "1240 C", "6-04", "", "?"])  # fmt: skip
def test_cell_that_is_no_cone(cell: str) -> None:
    assert firing_in_cell(cell) is None
    assert values_of("cone", cell).left == cell


@pytest.mark.parametrize(
    ("title", "rest", "cone", "atmosphere"),
    [
        ("Heron ^10 R", "Heron", "10", "reduction"),
        ("Heron ^10R", "Heron", "10", "reduction"),
        ("Heron c10", "Heron", "10", ""),
        ("Heron C10 R", "Heron", "10", "reduction"),
        ("Heron 10R", "Heron", "10", "reduction"),
        ("Heron 6 ox", "Heron", "6", "oxidation"),
        ("Heron, cone 5/6 ox.", "Heron", "5-6", "oxidation"),
        ("Heron (cone 6, oxidation)", "Heron", "6", "oxidation"),
        ("Cone 10 Red", "Red", "10", ""),
        ("Heron cone 6.", "Heron", "6", ""),
        ("Test C4", "Test C4", "", ""),
        ("Tile 7 R", "Tile 7 R", "", ""),
        ("Heron no. 12", "Heron no. 12", "", ""),
        ("Cones 6 and 10", "Cones 6 and 10", "", ""),
        ("Heron", "Heron", "", ""),
        ("Heron, reduction", "Heron", "", "reduction"),
    ],
)
def test_title(title: str, rest: str, cone: str, atmosphere: str) -> None:
    found = firing_in_title(title)
    assert (found.rest, found.cone, found.atmosphere) == (rest, cone, atmosphere)


@pytest.mark.parametrize(("cell", "bare"), [("4", "4"), ("6.0", "6"), ("04", ""), ("10", ""), ("^4", ""), ("4 ox", ""),
                                            ("4-5", ""), ("cone 4", "")])  # fmt: skip
def test_cone_that_may_have_lost_its_zero(cell: str, bare: str) -> None:
    assert values_of("cone", cell).bare == bare
