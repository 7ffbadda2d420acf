"""What another material may be ground with, and which jar comes last."""

from __future__ import annotations

import pytest

from glost.output.batch.character import fit_to_carry, toxic
from glost.recipe.materials.catalogue import shipped_catalogue

CATALOGUE = shipped_catalogue()


@pytest.mark.parametrize(
    "name", ["silica", "kaolin", "potash feldspar", "whiting", "nepheline syenite", "dolomite"]
)
def test_what_nearly_every_base_holds_may_carry(name: str) -> None:
    found = CATALOGUE.find(name)
    assert found is not None
    assert not toxic(found), "quartz in the dust says nothing of the order of the jars"
    assert fit_to_carry(name, CATALOGUE)


# What feeds fire, burns, or frees a gas with something else is ground with nothing: see safety/data/incompatible.json.
@pytest.mark.parametrize(
    "name",
    [
        *(
            "saltpetre",
            "sodium nitrate",
            "red lead",
            "cmc gum",
            "sugar",
            "starch",
            "wax emulsion",
            "silicon carbide",
        ),
        *(
            "quicklime",
            "galena",
            "vinegar",
            "manganese carbonate",
            "cobalt carbonate",
            "pearl ash",
            "moon dust",
        ),
    ],
)
def test_what_must_not_be_ground_with_another_does_not_carry(name: str) -> None:
    assert not fit_to_carry(name, CATALOGUE)


@pytest.mark.parametrize(
    "name", ["saltpetre", "manganese carbonate", "tetrasodium pyrophosphate", "lithium carbonate"]
)
def test_what_harms_by_more_than_dust_comes_last(name: str) -> None:
    found = CATALOGUE.find(name)
    assert found is not None
    assert toxic(found)
