"""The grammar is the one place that says which units, numbers, kinds and characters there are.

A unit is added to the text of the grammar in a copy of the checkout, and to nothing else; then it is read, told,
laid out, weighed, brought in and described like any other.
"""

from __future__ import annotations

import json
import re
import sys
from decimal import Decimal
from pathlib import Path

import pytest
from tests.checkout import call, copy_checkout
from tests.conftest import TOP

from glost.language.tables import hidden, in_words, lexicon
from glost.weighing.units import MASS_UNITS, MOST_DECIMALS, MOST_DIGITS, grams

PAGE = """glaze "Milligram Mist"
cone: 6
atmosphere: oxidation
origin: own test, invented
batch: 900000 mg

base:
  silica  60000 mg
  whiting  40000 mg
additions:
  tin oxide  5000 mg
handling:
  all: respirator and gloves
"""


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A checkout whose grammar knows milligrams too."""
    folder = tmp_path_factory.mktemp("copy")
    copy_checkout(folder)
    grammar = folder / "grammar" / "glost.lark"
    text = grammar.read_text("utf-8")
    changed = text.replace('| "oz" | "lb"', '| "oz" | "lb" | "mg"').replace(
        "(?:kg|g|oz|lb)", "(?:kg|g|oz|lb|mg)"
    )
    assert changed.count("mg") == text.count("mg") + 3
    grammar.write_text(changed, "utf-8")
    (folder / "milligram-mist.glost").write_text(PAGE)
    return folder


def glost(folder: Path, *words: str) -> tuple[int, str]:
    return call(
        folder, sys.executable, "-m", "glost", *words, PYTHONPATH=str(folder / "src"), GLOST_CACHE="off"
    )


def test_a_unit_of_the_grammar_is_read_and_laid_out(copy: Path) -> None:
    assert glost(copy, "lint", "milligram-mist.glost")[0] == 0
    assert glost(TOP, "lint", str(copy / "milligram-mist.glost"))[0] == 1, "without the change it is no unit"
    (copy / "laid.glost").write_text(PAGE)
    assert glost(copy, "format", "laid.glost")[0] == 0
    lines = (copy / "laid.glost").read_text().splitlines()
    assert [line for line in lines if " mg" in line] == [
        "batch: 900000 mg",
        "    silica                60000 mg",
        "    whiting               40000 mg",
        "    tin oxide              5000 mg",
    ]


def test_it_is_weighed_and_written(copy: Path) -> None:
    status, sheet = glost(copy, "convert", "milligram-mist.glost", "--to", "sheet", "--batch", "100 g")
    assert status == 0
    assert re.search(r"^\[ \] silica +60 +60\.0 +60\.0 ", sheet, re.MULTILINE)
    assert re.search(r"^\[ \] tin oxide +5 +5\.0 +105\.0 ", sheet, re.MULTILINE)
    status, text = glost(copy, "convert", "milligram-mist.glost", "--to", "json")
    recipe = json.loads(text)["recipes"][0]
    assert (status, recipe["base"][0]["amount"], recipe["base"][0]["unit"]) == (0, 60000, "mg")
    assert recipe["fields"]["batch"] == {"amount": 900000, "unit": "mg"}
    assert recipe["base_total"] == 100, "in grams"
    status, text = glost(copy, "convert", "milligram-mist.glost", "--to", "csv")
    (copy / "mist.csv").write_text(text)
    assert glost(copy, "import", "mist.csv", "--to", "back")[0] == 0
    assert "60000 mg" in next((copy / "back").glob("*.glost")).read_text()


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("silica  60000 MG", "write 60000 mg"),
        ("silica  60000 cups", "a mass in g, kg, oz, lb or mg"),
        ("silica  60000 mg mg", "a second unit stands behind the amount: mg"),
        ("60000 mg silica", "write  silica  60000 mg"),
    ],
)
def test_messages_know_it(copy: Path, line: str, message: str) -> None:
    (copy / "bad.glost").write_text(PAGE.replace("silica  60000 mg", line))
    status, said = glost(copy, "lint", "bad.glost")
    assert (status, message in said) == (1, True), said


def test_a_field_says_which_units_there_are(copy: Path) -> None:
    (copy / "field.glost").write_text(PAGE.replace("900000 mg", "900000 cups"))
    assert (
        "write such as 500 g (g, kg, oz, lb or mg, with a decimal point)"
        in glost(copy, "lint", "field.glost")[1]
    )


def test_old_notes_with_it_are_brought_in(copy: Path) -> None:
    (copy / "notes.txt").write_text("Tern Grey\ncone 6\nSilica 60 g\nWhiting 40 g\nCobalt carbonate 500 mg\n")
    status, said = glost(copy, "import", "notes.txt", "--to", "notes")
    assert status == 0, said
    assert "500 mg" in next((copy / "notes").glob("*.glost")).read_text()


def test_the_schemas_are_written_with_it(copy: Path) -> None:
    status, said = call(
        copy, sys.executable, "-m", "tests.generate", "tables", "schema", PYTHONPATH=f"{copy / 'src'}:{copy}"
    )
    assert (status, "schema/recipe.schema.json: written" in said) == (0, True), said
    inside = json.loads((copy / "schema" / "recipe.schema.json").read_text("utf-8"))["$defs"]
    assert inside["unit"]["enum"][-1] == "mg"
    assert inside["fields"]["properties"]["batch"]["properties"]["unit"]["enum"][-1] == "mg"


def test_what_is_weighed_knows_all_that_is_written() -> None:
    """Weighing imports nothing of the language; so what both know is held together here."""
    words = lexicon()
    assert tuple(MASS_UNITS) == words.masses
    assert all(grams(Decimal(1), unit) > 0 for unit in words.masses)
    assert (words.figures, words.decimals) == (MOST_DIGITS, MOST_DECIMALS)
    assert in_words(words.masses) == "g, kg, oz or lb"


def test_hidden_characters_are_those_of_the_grammar() -> None:
    assert all(hidden().match(sign) for sign in "\u200b\u202e\ufeff\x00\u061c")
    assert not any(hidden().match(sign) for sign in "a 1\u00e9#")


def test_no_unit_and_no_number_is_written_out_a_second_time() -> None:
    """A new copy would be right today and wrong when the grammar changes."""
    copied = re.compile(r"kg\|g|g\|oz|oz\|lb|kg\|oz|\"g\", \"kg\", \"oz\"|\{1,9\}\(\?:\\\\?\.\[0-9\]\{1,6\}")
    found = [
        f"{path.relative_to(TOP)}: {line.strip()}"
        for path in sorted((TOP / "src").rglob("*.py"))
        for line in path.read_text("utf-8").splitlines()
        if copied.search(line)
    ]
    assert found == []
