"""What a litre of mixed glaze costs: by the gravity or the water that the recipe says, else why nobody knows."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from tests.conftest import TOP, Run

MATERIALS = """materials:
    - name: shore powder
      role: clay
      source: invented
      price: 4.00 EUR/kg
"""
PAGE = 'glaze "Shore"\ncone: 6\n{said}\nbase:\n    shore powder  100\n'


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def litre(run: Run, folder: Path, said: str, settings: str = "") -> tuple[dict[str, Any], str]:
    (folder / "glost.yaml").write_text(f"name: a shelf\nmaterials: materials.yaml\n{settings}")
    (folder / "materials.yaml").write_text(MATERIALS)
    (folder / "shore.glost").write_text(PAGE.format(said=said))
    data = run("cost", "shore.glost", "--output", "json", cwd=folder)
    assert data.returncode == 0, data.stderr
    document = json.loads(data.stdout)
    jsonschema.validate(document, json.loads((TOP / "schema" / "cost.schema.json").read_text("utf-8")))
    found: dict[str, Any] = document["tests"][0]["litre"]
    return found, " ".join(run("cost", "shore.glost", cwd=folder).stdout.split())


def test_by_the_gravity(run: Run, tmp_path: Path) -> None:
    """Brongniart by hand: W = (1450 - 1000) * 2.6 / 1.6 = 731.25 g of dry material in a litre, at 4.00 a kilogram."""
    found, text = litre(run, tmp_path, "gravity: 1.45\nwater: 90 %\n")
    assert (found["dry_g"], found["gravity"], found["measured"]) == (731.25, 1.45, True)
    assert found["cost"] == [{"amount": 2.93, "currency": "EUR"}]
    assert "A litre mixed with water: 2.93 EUR; 731 g dry, gravity 1.45, as the recipe says" in text


@pytest.mark.parametrize(("said", "settings"), [("water: 60 %\n", ""), ("", "water: 60 %\n")])
def test_by_the_water(run: Run, tmp_path: Path, said: str, settings: str) -> None:
    """A gram of powder takes 1 / 2.6 ml and brings 0.6 ml of water: 1000 / (1 / 2.6 + 0.6) g in a litre of slip."""
    found, text = litre(run, tmp_path, said, settings)
    assert (found["dry_g"], found["gravity"], found["measured"]) == (1015.625, 1.625, False)
    assert found["cost"] == [{"amount": 4.06, "currency": "EUR"}]
    assert "gravity 1.62, worked out from its water" in text


def test_without_either_it_is_said_why(run: Run, tmp_path: Path) -> None:
    found, text = litre(run, tmp_path, "")
    assert found["dry_g"] is None
    assert found["cost"] == []
    assert "nothing says how much water the slip takes" in found["why"]
    assert "No figure for a litre: nothing says how much water the slip takes" in text


def test_a_gravity_that_cannot_be_is_told(run: Run, tmp_path: Path) -> None:
    found, text = litre(run, tmp_path, "gravity: 2.7\n")
    assert found["dry_g"] is None
    assert found["why"] in text


def test_an_assumed_density_is_said(run: Run, tmp_path: Path) -> None:
    found, text = litre(run, tmp_path, "gravity: 1.45\n")
    assert found["density_assumed"] == ["shore powder"]
    assert "No density is on record for shore powder: 2.6 is assumed (common practice)" in text


def test_a_litre_of_what_has_no_price_is_incomplete(run: Run, tmp_path: Path) -> None:
    found, _ = litre(run, tmp_path, "gravity: 1.45\n")
    page = tmp_path / "shore.glost"
    page.write_text(page.read_text().replace("100\n", "50\n    silica  50\n"))
    text = " ".join(run("cost", "shore.glost", cwd=tmp_path).stdout.split())
    assert "Incomplete: a litre mixed with water, without what has no price: " in text
    assert found["cost"]
