"""Batch sheets: what stands on them, and that they stay within the page."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import replace
from html import unescape

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from syrupy.assertion import SnapshotAssertion

from glost.language.width import width
from glost.output.batch_sheet import batch_sheets
from glost.output.format import Revision
from glost.output.formats import markdown, sheet
from glost.output.model.markdown import escaped
from glost.recipe.fields import Quantity
from glost.recipe.recipe import Ingredient, Recipe
from glost.recipe.safety.cautions import DUST_CAUTION, FOOD_CAUTION, KILN_CAUTION, PRECEDENCE
from glost.recipe.safety.limits import leaching_caution
from glost.recipe.settings import Settings
from glost.weighing.balance import Balance
from tests.output.convert.bench import FINE, FLOOR, D, job_of, recipe_of, recipes, studio_jobs, texts

PLAIN = """\
glaze "Slack Water"
cone: 6
atmosphere: oxidation
surface: satin
origin: own test 3-A, invented
date: 2026-02-01
batch: 500 g

base:
    nepheline syenite   45
    whiting             20
    kaolin              20
    silica              15

notes:
    Sieve twice.
"""

BRANCHES = """\
slip "Mud Larks"
cone: 04
water: 80 %
sieve: 80 mesh

base:
    ball clay            60
    hrc                  40
additions:
    red iron oxide        2 %  (sift in last)
handling:
    copper carbonate: P100 respirator and gloves.
variation "green":
    red iron oxide        0
    copper carbonate      3
series "iron steps":
    red iron oxide        0.5, 1
"""

EVERYTHING = """\
glaze "Spring Tide and all that a long name may say of it, down to the last drop of the flood"
cone: 5-6
atmosphere: reduction
surface:
    satin where thin,
    matt where it lies thick
colour: blue | *green*
body: house stoneware
application: dip, 3 seconds
firing: slow cool to 950 C
use: food
tags: demo
batch: 2 kg
gravity: 1.45
sieve: 110 mesh

base:
    nepheline syenite                    38.5
    whiting                              20
    gullstone powder of the lower quarry 20
    釉薬の土                              1.5
    red lead                             20  (never again)
additions:
    cobalt carbonate      0.00125  (sift in last)
    soda ash              2.5 %
handling:
    all: P100 respirator.
    cobalt carbonate, "red lead": gloves; wet-clean spills.
notes:
    1. Stir & wait.

      Then wait.
"""

STUDIO = Settings(
    balances=(FINE, FLOOR), handling={"all": "Wipe the bench.", "soda ash": "Goggles.", "talc": "No."}
)
REVISION = Revision("1a2b3c4", changed=True)


@pytest.mark.parametrize("write", [sheet.write, markdown.write], ids=["sheet", "markdown"])
@pytest.mark.parametrize(
    "job",
    [
        job_of(recipe_of(PLAIN), STUDIO, "glazes/slack-water.glost", Revision("1a2b3c4", changed=False)),
        job_of(recipe_of(BRANCHES), Settings(), "slips/mud-larks.glost", REVISION),
        job_of(recipe_of(EVERYTHING), STUDIO, "glazes/spring-tide.glost"),
    ],
    ids=["plain", "branches", "everything"],
)
def test_pages(write: object, job: object, snapshot: SnapshotAssertion) -> None:
    assert write([job]) == snapshot  # type: ignore[operator]


def lines_of(page: str, conditions: Settings = STUDIO) -> list[str]:
    return sheet.write([job_of(recipe_of(page), conditions)]).split("\n")


def words_of(page: str, conditions: Settings = STUDIO) -> str:
    return " ".join(" ".join(lines_of(page, conditions)).split())


def test_one_sheet_a_test_with_a_form_feed_between() -> None:
    text = sheet.write([job_of(recipe_of(BRANCHES)), job_of(recipe_of(PLAIN))])
    sheets = text.split("\n\f\n")
    assert [page.split("\n")[0] for page in sheets] == [
        "Mud Larks",
        "Mud Larks, green",
        "Mud Larks, iron steps 1",
        "Mud Larks, iron steps 2",
        "Mud Larks: hazard statements",
        "Slack Water",
    ]
    assert [page.split("\n")[2].removeprefix("  test      ") for page in sheets[:4]] == [
        "as it stands",
        "green: no red iron oxide, copper carbonate 3",
        "iron steps 1: red iron oxide 0.5",
        "iron steps 2: red iron oxide 1",
    ]
    assert text.count("\f") == 5
    assert [page.count("Hazard statements on record here;") for page in sheets] == [0, 0, 0, 0, 1, 1]
    assert markdown.write([job_of(recipe_of(BRANCHES))]).count("\n## ") == 4


def test_figures_are_those_of_the_plan() -> None:
    text = "\n".join(
        lines_of(PLAIN.replace("batch: 500 g", "batch: 100 g") + "additions:\n    tin oxide  2 %\n")
    )
    assert "base 100 g + 2 % additions = 102.00 g on the balance 'fine'" in text
    assert re.search(r"^\[ \] tin oxide +2 +2\.00  102\.00  _+  _+$", text, re.MULTILINE)
    assert re.search(r"^ +total on the balance +102\.00 +_+$", text, re.MULTILINE)


def test_a_line_outside_the_tolerance() -> None:
    page = PLAIN.replace("batch: 500 g", "batch: 100 g") + "additions:\n    cobalt carbonate  0.25\n"
    words = words_of(page, Settings())
    assert (
        "! cobalt carbonate: 0.25 g reads 0.2 or 0.3 on this balance, 20 % off; smallest batch that would do:"
        in words
    )
    assert "No balance is listed in glost.yaml: one of 3000 g that reads 0.1 g is assumed." in words
    assert any(line.startswith("[ ]!cobalt carbonate") for line in lines_of(page, Settings()))
    assert "!" not in words_of(page.replace("0.25", "0.29"))
    # On the fine balance it reads 0.25 g without any rounding, and is not sure to 2 % all the same.
    assert (
        "! cobalt carbonate: 0.25 g is sure to ± 0.0058 g on 'fine', which is 2.3 % of it; smallest batch that would"
        " do: 120 g"
    ) in words_of(page)
    limited = Settings(balances=(replace(FINE, minimum_g=D(1)),))
    assert (
        "cobalt carbonate: 0.25 g is less than the 1 g that 'fine' is to be used from; smallest"
        in words_of(page, limited)
    )


def test_more_than_a_balance_carries() -> None:
    words = words_of(PLAIN.replace("500 g", "20 kg"))
    assert (
        "The whole batch is more than the balance 'floor' carries (6000 g): weigh it into 5 vessels, each with a"
        " running total of its own, and tip them all together."
    ) in words
    assert "[ ] nepheline syenite 45 4500.0 4500.0 ________ ________ portion 1 of 2" in words
    assert "vessel 5 of 5: tare it empty; it holds 3000.0 g in the end [ ] silica 15 3000.0 3000.0" in words
    assert "all tipped together 20000.0" in words
    assert "This batch cannot be weighed: 'floor' has room for 6000 g at a time" in words_of(
        PLAIN.replace("500 g", "999 kg")
    )
    coarse = Settings(balances=(Balance("bench", D(9000), D(3)),))
    assert "On the balance the base comes to 498 g, not 500 g." in words_of(PLAIN, coarse)


def test_the_batch_is_the_commands_then_the_recipes_then_the_collections() -> None:
    recipe, house = recipe_of(PLAIN), Settings(batch_g=D(250))
    bare = replace(recipe, fields={})
    assert [
        batch_sheets(job)[0].mass.split(" ")[1]
        for job in (
            job_of(recipe, house, batch_g=D(50)),
            job_of(recipe, house),
            job_of(bare, house),
            job_of(bare),
        )
    ] == ["50", "500", "250", "100"]


def test_water_and_sieve() -> None:
    assert "water 400 g (80 % of 500.00 g dry)" in words_of(PLAIN.replace("batch", "water: 80 %\nbatch"))
    assert "water 300 g (60 % of 500.00 g dry)" in words_of(PLAIN, replace(STUDIO, water=D(60)))
    assert "water ________ g (about half the dry mass to wet a test: common practice)" in words_of(PLAIN)
    assert "sieve 100 mesh (150 µm opening, ASTM E11)" in words_of(PLAIN, replace(STUDIO, sieve=100))
    assert "sieve ________ mesh" in words_of(PLAIN)


def test_cautions() -> None:
    plain = words_of(PLAIN)
    assert PRECEDENCE in plain
    assert DUST_CAUTION in plain
    assert KILN_CAUTION in plain
    assert FOOD_CAUTION in plain
    assert leaching_caution() not in plain
    full = words_of(EVERYTHING)
    assert FOOD_CAUTION in full
    assert f"red lead: {leaching_caution()}" in full
    assert leaching_caution() in words_of(PLAIN.replace("batch", "use: food\nbatch"))
    assert "soda ash: Caustic when wet" in full
    assert "soda ash: Dissolves in water" in full
    assert "red lead: restricted (lead): " in full
    assert re.search(
        r"nothing is known here of their hazards: gullstone powder of the lower quarry, 釉薬の土\.", full
    )
    assert re.search(r"kaolin H373 \[1\], H350i \[2\] silica H372 \[3\], H350i \[2\]", plain)
    assert "H373 May cause damage to the lungs through prolonged or repeated exposure by inhalation." in plain
    assert "H372 Causes damage to the lungs through prolonged or repeated exposure by inhalation." in plain
    assert "[1] industry: no harmonised entry" in plain
    assert ", from memory" in plain
    assert "[2] a committee's opinion, not law: International Agency for Research on Cancer" in plain
    assert "Notes on the materials" in plain
    assert "silica: The dust scars the lungs for good" in plain


def test_handling_notes_of_what_is_in_the_test() -> None:
    sheets = batch_sheets(job_of(recipe_of(BRANCHES), replace(STUDIO, handling={"house red clay": "Wet."})))
    notes = [[(note.names, note.house) for note in one.handling] for one in sheets]
    house = (("house red clay",), True)
    assert notes == [[house], [(("copper carbonate",), False), house], [house], [house]]


def test_an_empty_base() -> None:
    for recipe in (
        Recipe("glaze", "x"),
        Recipe("glaze", "x", base=(Ingredient("a", None, Quantity(D(0), "")),)),
    ):
        assert "The base of this recipe is empty: there is nothing to weigh." in sheet.write([job_of(recipe)])
        assert "The base of this recipe is empty" in markdown.write([job_of(recipe)])


def test_the_studio_stays_within_the_page() -> None:
    for line in sheet.write(studio_jobs()).split("\n"):
        assert width(line) <= 80
        assert line == line.rstrip(" ")


balances = st.sampled_from(
    [(), (FINE,), (FINE, FLOOR), (FINE, Balance("the big one by the door", D(99), D("0.1")))]
)


@given(recipe=recipes, balances=balances)
@settings(max_examples=150, deadline=None)
def test_any_recipe_stays_within_the_page_and_hides_nothing(
    recipe: Recipe, balances: tuple[Balance, ...]
) -> None:
    # A column must hold the mass; a batch of a thousand tonnes is nobody's test.
    quantities = [i.quantity for i in (*recipe.base, *recipe.additions)]
    quantities += [i.quantity for v in recipe.variations for i in v.additions]
    quantities += [q for s in recipe.series for step in s.steps for q in step.quantities]
    assume(all(quantity.amount < 10_000 for quantity in quantities))
    text = sheet.write([job_of(recipe, Settings(balances=balances))])
    for line in text.replace("\f\n", "").split("\n"):
        assert width(line) <= 80
        assert not [character for character in line if unicodedata.category(character) == "Cc"]
    assert not set("\u202e\u2028\u2066") & set(text + markdown.write([job_of(recipe)]))


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("a|b", "a\\|b"),
        ("<b>&amp;", "&lt;b&gt;&amp;<!-- -->amp;"),
        ("*a* _b_ `c` [d](e) \\", "\\*a\\* \\_b\\_ \\`c\\` \\[d\\](e) \\\\"),
        ("# head", "\\# head"),
        ("- item", "\\- item"),
        ("12. item", "12\\. item"),
        ("12.5 parts", "12.5 parts"),
        ("http://a.b www.a.b", "http:<!-- -->//a.b www.<!-- -->a.b"),
        ("/close", "\\/close"),
        ("two\nlines\u202e", "two&lt;U+000A&gt;lines&lt;U+202E&gt;"),
    ],
)
def test_marks_are_escaped(text: str, shown: str) -> None:
    assert escaped(text) == shown


@given(text=texts)
def test_nothing_is_lost_by_escaping(text: str) -> None:
    printed = "".join(c for c in text if c.isprintable())
    if printed == text:
        shown = escaped(text).replace("<!-- -->", "")  # a comment, which is shown nowhere
        assert unescape(re.sub(r"\\([!-/:-@\[-`{-~])", r"\1", shown)) == text


@pytest.mark.parametrize("name", ["talc", "soda feldspar", "calcium borate frit"])
def test_the_words_of_the_total_end_before_its_figure(name: str) -> None:
    page = f'glaze "A"\nbatch: 500 g\nbase:\n    {name}  50\n    kaolin  50\n'
    [line] = [
        line for line in sheet.write([job_of(recipe_of(page))]).splitlines() if "total on the balance" in line
    ]
    assert re.search(r"total on the balance +500", line)
