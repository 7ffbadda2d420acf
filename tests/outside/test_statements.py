"""The hazard statements that are shipped, against the regulation's own texts.

Source: data/hp-statements-en.json, see data/README.md.
"""

import json
from pathlib import Path

import pytest

import glost.recipe.safety.statements
from glost.recipe.safety.statements import statement_text

HERE = Path(__file__).parent
SHIPPED = Path(glost.recipe.safety.statements.__file__).parent / "data" / "statements.json"
PREFIX = "latest/en/"


def _official() -> dict[str, str]:
    data = json.loads((HERE / "data" / "hp-statements-en.json").read_text(encoding="utf-8"))
    return {key.removeprefix(PREFIX): text for key, text in data["statements"].items()}


def test_every_shipped_statement_is_the_official_text() -> None:
    official = _official()
    shipped = json.loads(SHIPPED.read_text(encoding="utf-8"))
    assert shipped["statements"]
    wrong = {code: text for code, text in shipped["statements"].items() if official.get(code) != text}
    assert not wrong


def test_every_official_statement_on_health_and_water_life_is_shipped() -> None:
    health = [code for code in _official() if code.startswith(("H3", "H4")) and "+" not in code]
    assert len(health) > 40
    assert [code for code in health if statement_text(code) is None] == []


def test_the_notice_travels_with_the_texts() -> None:
    shipped = json.loads(SHIPPED.read_text(encoding="utf-8"))
    assert "European Union" in shipped["notice"]
    assert "CC BY 4.0" in shipped["notice"] or "Creative Commons Attribution 4.0" in shipped["notice"]
    assert shipped["source"]


# Source: Regulation (EC) No 1272/2008, annex III: not in the list.
@pytest.mark.parametrize("code", ["H303", "P281", "P285"])
def test_withdrawn_and_foreign_codes_are_not_shipped(code: str) -> None:
    assert statement_text(code) is None
