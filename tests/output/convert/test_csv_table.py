"""The table: its rows, its guard against formulas, and what it says of a table that cannot be read."""

from __future__ import annotations

import csv
import io

import pytest

from glost.output.formats.csv import COLUMNS, read_csv, write
from glost.recipe.fields import Quantity
from glost.recipe.recipe import Handling, Ingredient, Recipe
from tests.output.convert.bench import D, job_of, recipe_of

PAGE = """\
glaze "Tide Line"
cone: 06

base:
    silica          60
    kaolin          40
additions:
    tin oxide       2 %  (sift)
handling:
    tin oxide, silica: mask.
variation "green":
    copper carbonate  2
series "steps":
    tin oxide   1, 2
"""

# Source: OWASP, "CSV Injection" (from memory): cells that begin with = + - @, a tab or a carriage return,
# later also a line feed and the wide forms of the signs, may be run as formulas; the payloads are its kind
# of example.
FORMULAS = [
    "=1+2",
    '=1+2";=1+2',
    "=cmd|' /C calc'!A0",
    "+1+2",
    "-1+2",
    "@SUM(1+2)",
    "\t=1+2",
    "\r=1+2",
    "\n=1+2",
    "＝1+2",
    "'=1+2",
    "'",
    "''",
    "'tis grey",
]


def rows(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text, newline="")))


def test_rows_of_a_page() -> None:
    head, *body = rows(write([job_of(recipe_of(PAGE))]))
    assert tuple(head) == COLUMNS
    assert [row[COLUMNS.index("section") : COLUMNS.index("test") + 1] for row in body] == [
        ["base", "", "", "silica", "silica", "60", "", "", ""],
        ["base", "", "", "kaolin", "kaolin", "40", "", "", ""],
        ["additions", "", "", "tin oxide", "tin oxide", "2", "%", "sift", ""],
        ["variation", "green", "", "copper carbonate", "copper carbonate", "2", "", "", "green"],
        ["series", "steps", "1", "tin oxide", "tin oxide", "1", "", "", "steps 1"],
        ["series", "steps", "2", "tin oxide", "tin oxide", "2", "", "", "steps 2"],
        ["handling", "", "", "tin oxide; silica", "", "", "", "mask.", ""],
    ]
    assert all(row[:3] == ["Tide Line", "glaze", "cone 06"] for row in body)


@pytest.mark.parametrize("text", FORMULAS)
def test_no_cell_is_a_formula_and_every_text_comes_back(text: str) -> None:
    line = Ingredient(text, text, Quantity(D("0.5"), ""), text)
    recipe = Recipe(
        "glaze", text, {"surface": text}, (line,), handling=(Handling((text,), text),), notes=text
    )
    written = write([job_of(recipe)])
    for row in rows(written):
        for cell in row:
            assert not cell or cell[0] not in "=+-@\t\r\n＝＋－＠"
    assert read_csv(written) == [recipe]


def test_names_of_a_handling_note_are_parted_without_doubt() -> None:
    kinds = [("a; b", "c"), ("a", "b", "c"), ('"a"', "b;"), ("", ""), ("",), (), (" a ",), ('a"; "b',)]
    recipe = Recipe("glaze", "x", handling=tuple(Handling(names, "t") for names in kinds))
    written = write([job_of(recipe)])
    assert read_csv(written) == [recipe]
    cells = [row[COLUMNS.index("name")] for row in rows(written)[1:]]
    assert len(set(cells)) == len(cells)


def test_a_table_written_by_hand() -> None:
    text = "\ufeffkind,recipe,section,name,amount\nglaze,Mist,base,silica,60\n"
    text += "glaze,Mist,base,'tis clay,.5\n,,,,\n"
    (recipe,) = read_csv(text)
    assert [(line.name, line.quantity) for line in recipe.base] == [
        ("silica", Quantity(D(60), "")),
        ("'tis clay", Quantity(D("0.5"), "")),
    ]


HEAD = "recipe,kind,cone,section,group,step,name,amount,unit\n"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "row 1: the column recipe is missing; write a first row"),
        (
            "recipe;kind;section\n",
            "row 1: the columns are separated by semicolons or tabs; save the table with commas",
        ),
        ("recipe,kind,section,name,amount,price\n", "row 1: 'price' is not a column of this table"),
        ("recipe,kind,section,name,amount,name\n", "row 1, column name: this column stands here twice"),
        (
            HEAD + "M,glase,6,base,,,silica,1,\n",
            "row 2, column kind: 'glase' is not a kind of recipe; write one of",
        ),
        (
            HEAD + "M,glaze,6-May,base,,,silica,1,\n",
            "row 2, column cone: '6-May' is not a cone; write such as 06",
        ),
        (
            HEAD + "M,glaze,6,bottom,,,silica,1,\n",
            "row 2, column section: 'bottom' is not a section; write one of",
        ),
        (
            HEAD + 'M,glaze,6,base,,,silica,"1,5",\n',
            "row 2, column amount: '1,5' has a comma; write a decimal point",
        ),
        (
            HEAD + "M,glaze,6,base,,,silica,-1,\n",
            "row 2, column amount: '-1' is not an amount; write a number",
        ),
        (
            HEAD + "M,glaze,6,base,,,silica,,\n",
            "row 2, column amount: there is no amount here; write a number",
        ),
        (
            HEAD + "M,glaze,6,base,,,,1,\n",
            "row 2, column name: there is no name here; write that of the material",
        ),
        (
            HEAD + "M,glaze,6,base,,,silica,1,gram\n",
            "row 2, column unit: 'gram' is not a unit here; write %, g",
        ),
        (HEAD + "M,glaze,6,base,,,silica,1\n", "row 2: 8 cells stand here under 9 columns"),
        (
            HEAD + "M,glaze,6,base,,,silica,1,\nM,glaze,7,base,,,clay,1,\n",
            "row 3, column cone: '7' stands here and '6' on row 2 of the same recipe; write the same in both",
        ),
        (
            HEAD + "M,glaze,6,base,,,silica,1,\nN,glaze,6,base,,,clay,1,\nM,glaze,6,base,,,clay,1,\n",
            "row 4, column recipe: 'M' goes on here below another recipe; put all rows of a recipe together",
        ),
        (HEAD + "M,glaze,6,series,s,2,silica,1,\n", "row 2, column step: '2' stands here; write 1,"),
        (
            HEAD + "M,glaze,6,series,s,1,silica,1,\nM,glaze,6,series,s,2,clay,1,\n",
            "row 3, column name: 'clay' stands here and 'silica' in test 1",
        ),
        (
            HEAD + "M,glaze,6,series,s,1,silica,1,\nM,glaze,6,series,s,2,silica,1,\n"
            "M,glaze,6,series,s,1,clay,1,\n",
            "row 2, column step: the series 's' of this recipe has 2 tests of silica and 1 of clay;",
        ),
        (
            HEAD + 'M,glaze,6,base,,,"silica,1,\n',
            "row 2: a cell opens with a double quote that is never closed; close it",
        ),
        (
            HEAD + 'M,glaze,6,base,,,"silica"s,1,\n',
            "row 2: something stands behind the closing quote of a cell",
        ),
        (HEAD + 'M,glaze,6,base,,,sil"ica,1,\n', "row 2: a double quote stands inside the cell"),
    ],
)
def test_what_is_said_of_a_table_that_cannot_be_read(text: str, message: str) -> None:
    with pytest.raises(ValueError) as caught:  # noqa: PT011 - the message is compared below, as a whole beginning
        read_csv(text)
    assert str(caught.value).startswith(message)
