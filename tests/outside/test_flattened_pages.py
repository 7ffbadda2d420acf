"""A page with recipes among its ingredients against the same page in raw materials: every output is the same. The
oxides of a point against the mole-weighted mean of its corners, worked out with a general library."""

from __future__ import annotations

import json
from decimal import Decimal
from fractions import Fraction
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest
from tests.conftest import Run
from tests.outside.test_blends import EBB, mix, recipe_of

from glost.chemistry.firing import Calculator
from glost.chemistry.unity import Unity
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.recipe import tests as every_test

HEAD = "cone: 6\natmosphere: oxidation\norigin: invented\nbatch: 500 g\nwater: 75 %\n"
NOTE = "\nhandling:\n    all: P100 respirator and gloves; wet-clean spills.\n"
WHITE = f"""glaze "White One"
{HEAD}
base:
    silica                 40
    whiting                30
    tin oxide              10
    kaolin                 20
{NOTE}"""
USING = f"""glaze "The Page"
{HEAD}
base:
    glaze "White One"      50
    silica                 20
    zinc oxide             30

additions:
    glaze "White One"      10
    red iron oxide          2

variation "more":
    red iron oxide          4

blend "line" by 50 %:
    rutile                  4, 0
    glaze "White One"      10, 20
{NOTE}"""
FLAT = f"""glaze "The Page"
{HEAD}
base:
    silica                 40
    whiting                15
    tin oxide               5
    kaolin                 10
    zinc oxide             30

additions:
    silica                  4
    whiting                 3
    tin oxide               1
    kaolin                  2
    red iron oxide          2

variation "more":
    red iron oxide          4

blend "line" by 50 %:
    silica                  4, 8
    whiting                 3, 6
    tin oxide               1, 2
    kaolin                  2, 4
    rutile                  4, 0
{NOTE}"""
SAYS_WHAT_IS_WRITTEN = {"sets", "as_written", "note", "file", "findings"}


def told(value: Any) -> Any:
    """A document without what it says of how the page is written; lines by their material."""
    if isinstance(value, dict):
        return {name: told(one) for name, one in value.items() if name not in SAYS_WHAT_IS_WRITTEN}
    if isinstance(value, list):
        found = [told(one) for one in value]
        if found and all(isinstance(one, dict) and "material" in one for one in found):
            found.sort(key=lambda one: (not one.get("base", True), one["material"]))
            # The running totals go by the order of the lines, which is that of first appearance.
            for one in found:
                for name in ("display_g", "running_total_g", "weighings"):
                    one.pop(name, None)
        return found
    return value


@pytest.mark.parametrize("command", ["batch", "formula"])
def test_every_document_is_that_of_the_page_in_raw_materials(
    run_here: Run, tmp_path: Path, command: str
) -> None:
    found = []
    for folder, page in (("using", USING), ("flat", FLAT)):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "white-one.glost").write_text(WHITE, "utf-8")
        (tmp_path / folder / "the-page.glost").write_text(page, "utf-8")
        made = run_here(command, "the-page.glost", "--output", "json", cwd=tmp_path / folder)
        assert made.returncode == 0, made.stderr
        found.append(json.loads(made.stdout, parse_float=Decimal))
    using, flat = found
    assert len(using["tests"]) == 5
    assert told(using) == told(flat)


def test_every_test_weighs_what_it_weighs_in_raw_materials() -> None:
    using, flat = (list(every_test(recipe_of(page, WHITE))) for page in (USING, FLAT))
    assert [mix(test) for test in using] == [mix(test) for test in flat]


def test_the_order_in_which_pages_are_read_does_not_matter() -> None:
    middle = 'glaze "Middle"\nbase:\n    glaze "Clear Ebb"  60\n    glaze "White One"  40\n'
    page = (
        'glaze "Outer"\nbase:\n    glaze "Middle"  30\n    glaze "White One"  30\n    glaze "Clear Ebb"  40\n'
    )
    found = [mix(next(every_test(recipe_of(page, *order)))) for order in permutations((EBB, WHITE, middle))]
    assert all(one == found[0] for one in found)
    assert sum(found[0].values()) == 100
    assert found[0][True, "tin oxide"] == Fraction(42, 10)


# Theoretical formulas of what is weighed, and the oxides that a formula of each leaves.
FIRED = {
    "silica": ("SiO2", {"SiO2": 1}),
    "whiting": ("CaCO3", {"CaO": 1}),
    "zinc oxide": ("ZnO", {"ZnO": 1}),
    "kaolin": ("Al2Si2O9H4", {"Al2O3": 1, "SiO2": 2}),
    "tin oxide": ("SnO2", {"SnO2": 1}),
}
CORNERS = (
    {"silica": 40, "whiting": 30, "tin oxide": 10, "kaolin": 20},
    {"silica": 30, "whiting": 20, "zinc oxide": 20, "kaolin": 30},
    {"silica": 55, "whiting": 25, "zinc oxide": 5, "kaolin": 15},
)


@pytest.mark.parametrize("corners", [2, 3])
def test_the_unity_formula_of_a_point_is_the_mole_weighted_mean_of_its_corners(corners: int) -> None:
    """Molar masses: PyPI molmass. Common practice: alkalis and alkaline earths, zinc among them, are taken as 1."""
    molmass = pytest.importorskip("molmass")
    names = sorted({name for corner in CORNERS[:corners] for name in corner})
    lines = "".join(
        f"    {name}  {', '.join(str(corner.get(name, 0)) for corner in CORNERS[:corners])}\n"
        for name in names
    )
    kiln = Calculator(shipped_catalogue())
    moles: list[dict[str, float]] = []
    for corner in CORNERS[:corners]:
        moles.append({})
        for name, grams in corner.items():
            formula, oxides = FIRED[name]
            for oxide, count in oxides.items():
                moles[-1][oxide] = moles[-1].get(oxide, 0.0) + grams * count / molmass.Formula(formula).mass
    for test in every_test(recipe_of(f'glaze "Search"\nbase blend "all" by 25 %:\n{lines}')):
        assert test.point is not None
        mean: dict[str, float] = {}
        for share, one in zip(test.point.shares, moles, strict=True):
            for oxide, amount in one.items():
                mean[oxide] = mean.get(oxide, 0.0) + float(share) * amount
        fluxes = mean.get("CaO", 0.0) + mean.get("ZnO", 0.0)
        fired = kiln.fire(test)
        assert isinstance(fired.unity, Unity)
        for oxide, amount in mean.items():
            assert float(fired.unity.of(oxide)) == pytest.approx(amount / fluxes, rel=3e-4), oxide
