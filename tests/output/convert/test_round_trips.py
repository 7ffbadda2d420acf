"""What is written as data and read again is the recipe that it was."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given, settings

from glost.output.format import all_formats, find_format
from glost.recipe.fields import Quantity
from glost.recipe.recipe import Ingredient, Recipe, Series, Step, Variation
from tests.output.convert.bench import D, job_of, several, studio_jobs, text_in

DATA = [format.name for format in all_formats() if format.read is not None]


def again(name: str, recipes: list[Recipe]) -> list[Recipe]:
    format = find_format(name)
    assert format.read is not None
    return format.read(text_in(name, [job_of(recipe) for recipe in recipes]))


def test_the_formats_that_can_be_read() -> None:
    assert {"csv", "json", "jsonl"} <= set(DATA)


@pytest.mark.parametrize("name", DATA)
def test_the_whole_studio(name: str) -> None:
    recipes = [job.recipe for job in studio_jobs()]
    assert again(name, recipes) == recipes
    for recipe in recipes:
        assert again(name, [recipe]) == [recipe]


@pytest.mark.parametrize("name", DATA)
@given(recipes=several)
@settings(max_examples=60, deadline=None)
def test_recipes_of_any_kind(name: str, recipes: list[Recipe]) -> None:
    assert again(name, recipes) == recipes


@pytest.mark.parametrize("name", DATA)
def test_what_is_empty_or_has_a_double(name: str) -> None:
    line = Ingredient("silica", "silica", Quantity(D("0.50"), ""), "")
    bare = Recipe("glaze", "bare")
    doubles = replace(
        bare,
        variations=(Variation("a", ()), Variation("b", (line,)), Variation("b", (line,)), Variation("b", ())),
        series=(Series("s", ()), Series("s", ())),
    )
    recipes = [
        bare,
        bare,
        doubles,
        Recipe("slip", ""),
        bare,
        replace(bare, base=(line,)),
        replace(bare, notes="n"),
    ]
    assert again(name, recipes) == recipes
    assert again(name, []) == []


@pytest.mark.parametrize("name", DATA)
def test_units_of_a_step_that_differ(name: str) -> None:
    step = Step("tin oxide", "tin oxide", (Quantity(D(1), "%"), Quantity(D(5), "g")))
    recipe = Recipe("glaze", "x", series=(Series("s", (step,)),))
    assert again(name, [recipe]) == [recipe]


def test_a_document_without_recipes() -> None:
    assert json.loads(text_in("json", [])) == {"version": 3, "recipes": []}


def test_json_keeps_the_digits_of_the_recipe() -> None:
    line = Ingredient("silica", "silica", Quantity(D("123456789.123456"), ""), "")
    recipe = Recipe("glaze", "x", base=(line,))
    text = text_in("json", [job_of(recipe)])
    assert '"amount": 123456789.123456' in text
    # A program that reads doubles and writes their shortest form gives the same digits.
    assert json.dumps(json.loads(text)["recipes"][0]["base"][0]["amount"]) == "123456789.123456"


def test_jsonl_is_one_recipe_a_line_with_its_version() -> None:
    lines = text_in("jsonl", studio_jobs()).splitlines()
    assert len(lines) == len(studio_jobs())
    assert all(json.loads(line)["version"] == 3 for line in lines)
    assert [json.loads(line)["name"] for line in lines] == [job.recipe.name for job in studio_jobs()]
