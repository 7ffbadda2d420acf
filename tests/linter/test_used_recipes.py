"""What a recipe among the ingredients brings in is looked at as if it stood on the page: nothing toxic stays unseen."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Run

SETTINGS = "balances:\n  - {name: bench, capacity: 2 kg, readability: 0.1 g}\nmaterials: materials.yaml\n"
OWN = "materials:\n  - name: creek clay\n    role: clay\n    source: dug behind the mill (invented)\n"
HEAD = "cone: 6\natmosphere: oxidation\norigin: invented\nbatch: 1 kg\n"
OLD = f"""glaze "Old Yellow"
{HEAD}
base:
    lead bisilicate frit   50
    potassium nitrate      20
    creek clay             29.99
    cobalt carbonate        0.01

handling:
    lead bisilicate frit: rubber gloves.
"""
GUM = f"""glaze "Gum One"
{HEAD}
base:
    kaolin                 98
    gum arabic              2
"""
PAGES = {
    "base": 'base:\n    glaze "Old Yellow"     50\n    glaze "Gum One"        50\n',
    "additions": 'base:\n    kaolin  100\nadditions:\n    glaze "Old Yellow"  5\n    glaze "Gum One"  5\n',
    "variation": 'base:\n    kaolin  100\nvariation "x":\n    glaze "Old Yellow"  5\n    glaze "Gum One"  5\n',
    "series": 'base:\n    kaolin  100\nseries "x":\n    glaze "Old Yellow"  5, 0\n    glaze "Gum One"  5, 5\n',
    "base variation": 'base:\n    kaolin  100\nbase variation "x":\n    kaolin 0\n    glaze "Old Yellow"  50\n'
    '    glaze "Gum One"  50\n',
    "base series": 'base series "x":\n    glaze "Old Yellow"  50\n    glaze "Gum One"  50\n',
    "blend": 'base:\n    kaolin  100\nblend "x" by 50 %:\n    glaze "Old Yellow"  9, 0\n    glaze "Gum One"  0, 9\n',
    "base blend": 'base blend "x" by 50 %:\n    glaze "Old Yellow"  100, 0\n    glaze "Gum One"  0, 100\n',
    "nested": 'base:\n    glaze "Between, x 50/50"  100\n',
}
RULES = {
    "restricted-material": "lead bisilicate frit in glaze",
    "soluble-material": "saltpetre in glaze",
    "incompatible-materials": "saltpetre (an oxidiser) and gum arabic",
    "missing-handling-note": "cobalt carbonate in glaze",
    "unknown-hazard": "creek clay in glaze",
    "dust-hazard": "lead bisilicate frit in glaze",
}


@pytest.fixture
def collection(tmp_path: Path) -> Path:
    texts = {"glost.yaml": SETTINGS, "materials.yaml": OWN, "old-yellow.glost": OLD, "gum-one.glost": GUM}
    texts["between.glost"] = f'glaze "Between"\n{HEAD}\n{PAGES["base blend"]}'
    for name, text in texts.items():
        (tmp_path / name).write_text(text, "utf-8")
    return tmp_path


def linted(run_here: Run, folder: Path, page: str) -> list[dict[str, Any]]:
    (folder / "page.glost").write_text(page, "utf-8")
    found = json.loads(run_here("lint", "page.glost", "--output", "json", cwd=folder).stdout)["findings"]
    assert "syntax" not in {one["rule"] for one in found}, found
    return list(found)


@pytest.mark.parametrize("where", PAGES)
def test_what_harms_is_found_wherever_a_recipe_stands(run_here: Run, collection: Path, where: str) -> None:
    found = linted(run_here, collection, f'glaze "Page"\n{HEAD}\n{PAGES[where]}')
    for rule, said in RULES.items():
        assert any(one["rule"] == rule and said in one["message"] for one in found), rule


@pytest.mark.parametrize("where", PAGES)
def test_what_harms_is_said_on_every_sheet_that_weighs_it(
    run_here: Run, collection: Path, where: str
) -> None:
    (collection / "page.glost").write_text(f'glaze "Page"\n{HEAD}\n{PAGES[where]}', "utf-8")
    for form in ("sheet", "markdown", "html"):
        shown = run_here("convert", "page.glost", "--to", form, cwd=collection).stdout
        for said in ("Contains lead", "saltpetre", "Feeds fire", "rubber gloves"):
            assert said in shown, (form, said)


def test_a_note_for_what_a_recipe_brings_in_is_not_idle(run_here: Run, collection: Path) -> None:
    notes = "handling:\n    lead bisilicate frit, cobalt carbonate: P100 respirator and gloves.\n"
    found = linted(run_here, collection, f'glaze "Page"\n{HEAD}\n{PAGES["base"]}{notes}')
    assert "idle-handling-note" not in {one["rule"] for one in found}
    unnoted = [one["message"].split(" in ")[0] for one in found if one["rule"] == "missing-handling-note"]
    assert "cobalt carbonate" not in unnoted
    assert "saltpetre" in unnoted


def test_what_a_recipe_brings_in_and_no_balance_weighs_is_found(run_here: Run, collection: Path) -> None:
    found = linted(run_here, collection, f'glaze "Page"\n{HEAD}\n{PAGES["additions"]}')
    (small,) = (one for one in found if one["rule"] == "below-readability" and "cobalt" in one["message"])
    assert small["message"].startswith(
        "cobalt carbonate in glaze \"Old Yellow\": 0.005 g in a batch of 1000 g, and the balance 'bench' reads steps"
    )
    assert small["line"] == 10


def test_a_recipe_among_the_ingredients_is_no_unknown_material_when_pages_are_compared(
    run_here: Run, collection: Path
) -> None:
    (collection / "plain.glost").write_text(
        f'glaze "Page"\n{HEAD}\nbase:\n    kaolin  98\n    gum arabic  2\n', "utf-8"
    )
    (collection / "page.glost").write_text(f'glaze "Page"\n{HEAD}\n{PAGES["base"]}', "utf-8")
    shown = run_here("compare", "plain.glost", "page.glost", "--output", "json", cwd=collection).stdout
    assert "restricted (lead)" in shown
    assert "Old Yellow" not in json.dumps(json.loads(shown).get("hazards", []))
