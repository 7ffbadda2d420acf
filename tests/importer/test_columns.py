"""The heads of columns in the spellings that people use, and tables in any order of columns."""

from __future__ import annotations

from itertools import permutations

import pytest

from glost.importer.columns import head_word, is_any_head, unit_of_head
from glost.importer.import_file import Brought, bring
from glost.importer.materials import Names
from tests.importer.bench import CATALOGUE, lines, lines_of, read

NAMES = Names(CATALOGUE)
AMOUNTS = ["amt", "Amt.", "qty", "Qty (g)", "Quantity", "AMOUNT", "%", "(%)", "Percent", "parts", "Parts by weight",
           "wt", "Wt. %", "Weight [g]", "weight in grams", "grams", "g", "Amt (%)", "Amount_g", "% by weight",
           "Mass"]  # fmt: skip
MATERIALS = [
    "Material",
    "Raw materials",
    "Ingredient",
    "ingredient_name",
    "Component:",
    "CHEMICAL",
    "Name of material",
]
RECIPES = ["Recipe", "Recipe name", "glaze", "Glaze-Name", "Title", "name", "Name of the glaze", "Test name"]


def table(text: str) -> Brought:
    return bring("x.csv", text, "csv", NAMES, set())


def check(done: Brought) -> None:
    assert done.refused == ""
    assert [page.name for page in done.pages] == ["Ouzel", "Dipper"]
    first, second = (read(page.text) for page in done.pages)
    assert [(name, amount) for name, amount, _ in lines(first.base)] == [
        (n, a) for n, a, _ in lines_of("silica 40, whiting 60")
    ]
    assert [(name, amount) for name, amount, _ in lines(first.additions)] == [
        (n, a) for n, a, _ in lines_of("rutile 3")
    ]
    assert [(name, amount) for name, amount, _ in lines(second.base)] == [
        (n, a) for n, a, _ in lines_of("kaolin 55, silica 45")
    ]


ROWS = [("Ouzel", "silica", "40"), ("Ouzel", "whiting", "60"), ("Ouzel", "rutile", "3"), ("Dipper", "kaolin", "55"),
        ("Dipper", "silica", "45")]  # fmt: skip


@pytest.mark.parametrize("amount", AMOUNTS)
def test_head_of_amounts(amount: str) -> None:
    rows = [("Recipe", "Material", amount), *ROWS]
    check(table("\n".join(";".join(row) for row in rows)))


@pytest.mark.parametrize("material", MATERIALS)
@pytest.mark.parametrize("recipe", RECIPES)
def test_heads_of_names(recipe: str, material: str) -> None:
    rows = [(recipe, material, "Amt (%)"), *ROWS]
    check(table("\n".join(",".join(row) for row in rows)))


@pytest.mark.parametrize("order", list(permutations(range(3))))
@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("once", [False, True])
def test_any_order_and_any_separator(order: tuple[int, ...], separator: str, once: bool) -> None:
    rows, before = [("Glaze name", "Ingredient", "Qty")], ""
    for name, material, amount in ROWS:
        rows.append(("" if once and name == before else name, material, amount))
        before = name
    check(table("\n".join(separator.join(row[at] for at in order) for row in rows)))


def test_rows_above_the_head_are_told() -> None:
    rows = ["Our glazes, 2020", "", "do not copy", "Recipe,Material,Amount", *(",".join(row) for row in ROWS)]
    done = table("\n".join(rows))
    check(done)
    told = [(remark.line, remark.text) for remark in done.remarks if "above the head" in remark.said]
    assert told == [(1, "Our glazes  2020"), (3, "do not copy")]


def test_total_is_no_material() -> None:
    done = table("Glaze,silica,whiting,Total,rutile\nOuzel,40,60,100,3\n")
    listed = next(remark.said for remark in done.remarks if remark.said.startswith("the materials are"))
    assert listed == "the materials are 'silica', 'whiting', 'rutile'"


@pytest.mark.parametrize(
    ("head", "word"),
    [
        ("Recipe_Name:", "recipe name"),
        ("Amt (%)", "amt"),
        ("  Wt.  ", "wt"),
        ("(%)", "%"),
        ("\u0394", "cone"),
        ("^", "cone"),
    ],
)
def test_word_of_a_head(head: str, word: str) -> None:
    assert head_word(head) == word


@pytest.mark.parametrize(
    ("head", "unit"), [("Weight [g]", "g"), ("Amt (%)", "%"), ("lbs", "lb"), ("parts", ""), ("Qty", "")]
)
def test_unit_of_a_head(head: str, unit: str) -> None:
    assert unit_of_head(head) == unit


@pytest.mark.parametrize("name", ["Amt (%)", "Cone", "Ingredient", "Notes", "Atmosphere", "qty"])
def test_no_recipe_is_called_so(name: str) -> None:
    assert is_any_head(name)


@pytest.mark.parametrize("name", ["G", "Satin", "Name Day", "Amtrak", "Mineral", "Cone of Light"])
def test_a_recipe_may_be_called_so(name: str) -> None:
    assert not is_any_head(name)
