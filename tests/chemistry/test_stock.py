"""What is taken to be at hand where nobody says."""

from __future__ import annotations

import pytest

from glost.chemistry.stock import usual_stock
from glost.recipe.materials.catalogue import shipped_catalogue

NAMES = usual_stock(shipped_catalogue()).names


@pytest.mark.parametrize("name", ["colemanite", "lithium carbonate", "ulexite", "washed wood ash"])
def test_what_dissolves_a_little_is_weighed_into_glazes_every_day(name: str) -> None:
    """Common practice; it comes late in the order of preference."""
    assert name in NAMES


@pytest.mark.parametrize(
    "name", ["silica", "kaolin", "whiting", "nepheline syenite", "tin oxide", "cobalt carbonate"]
)
def test_what_stands_on_every_shelf(name: str) -> None:
    assert name in NAMES


@pytest.mark.parametrize(
    "name",
    ["borax", "soda ash", "copper sulfate", "red lead", "lead bisilicate frit", "cadmium sulfide", "gum arabic",
     "sodium silicate", "certified plastic clay 98a", "nepheline", "diopside", "mica", "calcium borate frit"],
)  # fmt: skip
def test_what_is_not_reached_for_unasked(name: str) -> None:
    """What leaves with the glaze water, is restricted, only changes the slurry, is a sample or a pure mineral that
    nobody sells, or is a frit whose composition is made up."""
    assert shipped_catalogue().find(name) is not None
    assert name not in NAMES
