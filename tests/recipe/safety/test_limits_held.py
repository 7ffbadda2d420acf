"""The limits that are held: every figure with its source and standing, and the sentence on leaching."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

import glost.chemistry.usual as usual
import glost.recipe.safety.limits as limits
from glost.chemistry.unity import unity
from glost.recipe.materials.oxides import COUNTED_AS
from glost.recipe.safety.limits import (
    STANDINGS,
    exposure_limits,
    food_metals,
    leaching_caution,
    leaching_limits,
)

FILES = [
    *(
        Path(limits.__file__).parent / "data" / f"{name}.json"
        for name in ("exposure-limits", "leaching-limits", "food-metals")
    ),
    Path(usual.__file__).parent / "data" / "usual-ranges.json",
]


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_every_figure_has_a_source_and_a_standing_and_the_file_a_date(file: Path) -> None:
    data = json.loads(file.read_text("utf-8"))
    assert date.fromisoformat(data["looked at"])
    assert data["what"].endswith(".")
    rows = next(value for value in data.values() if isinstance(value, list))
    assert rows
    for row in rows:
        assert row["source"].strip()
        assert row["standing"] in STANDINGS


def test_figures_are_exact_and_above_nothing() -> None:
    for value in (*(row.value for row in exposure_limits()), *(row.value for row in leaching_limits())):
        assert isinstance(value, Decimal)
        assert value > 0
    assert {row.unit for row in exposure_limits()} == {"µg/m³", "mg/m³"}
    assert {row.unit for row in leaching_limits()} == {"mg/dm²", "mg/l"}


def test_leaching_limits_are_for_lead_and_cadmium_alone() -> None:
    assert {row.metal for row in leaching_limits()} == {"lead", "cadmium"}
    assert len({(row.rule, row.ware, row.metal) for row in leaching_limits()}) == len(leaching_limits())


def test_sentence_on_leaching_names_rule_standing_and_figures() -> None:
    said = leaching_caution()
    for words in ("lead and cadmium", "Directive 84/500/EEC", "(read)", "4.0 mg/l of lead", "laboratory"):
        assert words in said
    assert "(from memory)" in leaching_caution("ISO 6486-2")
    with pytest.raises(ValueError, match="no limits of 'ISO 1'"):
        leaching_caution("ISO 1")


def test_metals_asked_after_are_told_by_an_oxide_that_is_calculated_or_by_name() -> None:
    for metal in food_metals():
        assert metal.oxide is not None or metal.words, metal
        assert (metal.oxide is None) == (metal.above is None)
        assert metal.oxide is None or metal.oxide in COUNTED_AS.values()
    assert [metal.metal for metal in food_metals()][:2] == ["lead", "cadmium"]


def test_usual_ranges_run_from_low_to_high() -> None:
    for row in usual.usual_ranges():
        assert all(0 <= low < high for low, high in row.oxides.values())
        assert row.absent <= set(row.oxides)


def test_kinds_of_glaze_are_told_apart_by_lead_and_boron() -> None:
    from tests.chemistry.glass import fired_glass

    plain = unity(fired_glass({"SiO2": Decimal(60), "CaO": Decimal(30), "Na2O": Decimal(10)}))
    lead = unity(fired_glass({"SiO2": Decimal(40), "PbO": Decimal(60)}))
    boron = unity(fired_glass({"SiO2": Decimal(50), "CaO": Decimal(20), "B2O3": Decimal(30)}))
    kinds = {row.kind: row for row in usual.usual_ranges()}
    assert [kinds["stoneware and porcelain glazes"].describes(one) for one in (plain, lead, boron)] == [
        True,
        False,
        True,
    ]
    assert [kinds["lead glazes"].describes(one) for one in (plain, lead, boron)] == [False, True, False]
    assert [kinds["boron glazes"].describes(one) for one in (plain, lead, boron)] == [False, False, True]
    assert usual.amount_of(plain, usual.KNAO) == plain.of("Na2O")
