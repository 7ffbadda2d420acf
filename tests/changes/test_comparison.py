"""What changed in meaning, and what is only written otherwise."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from glost.changes.comparison import Comparison, apply, compare, mirrored, scale
from glost.changes.meaning import Place, Told, Weighed, rounded, told
from glost.recipe.fields import Quantity
from glost.recipe.recipe import Ingredient, Recipe, Step
from tests.output.convert.bench import recipe_of, recipes, studio_catalogue, studio_jobs

PAGE = """glaze "Dune"
cone: 6
batch: 200 g

base:
    silica      50
    kaolin      30
    whiting     20

additions:
    tin oxide   4
    rutile      2 %

handling:
    silica, kaolin: wet

variation "storm":
    rutile      0

series "steps":
    tin oxide   1, 2

notes:
    thin on the rim
"""


def of(page: str) -> Told:
    return told(recipe_of(page), studio_catalogue())


def between(*swaps: tuple[str, str]) -> Comparison:
    """PAGE against PAGE with words put in the place of others."""
    other = PAGE
    for old, new in swaps:
        assert old in other
        other = other.replace(old, new)
    return compare(of(PAGE), of(other))


def test_nothing_is_between_a_page_and_itself() -> None:
    assert between().empty


@pytest.mark.parametrize(
    ("old", "new", "how", "place"),
    [
        ("kaolin      30", "china clay  30", "spelling", Place("base", what="kaolin")),
        ("batch: 200 g", "batch: 0.2 kg", "value", Place("field", what="batch")),
        ("rutile      2 %", "rutile      2", "amounts", Place("additions", what="rutile")),
        ("silica      50", "silica      50.0", "amounts", Place("base", what="silica")),
        ("silica, kaolin: wet", "silica: wet\n    kaolin: wet", "lines", Place("handling")),
        (
            "tin oxide   4\n    rutile      2 %",
            "rutile      2 %\n    tin oxide   4",
            "order",
            Place("additions"),
        ),
        ("silica      50", "silica 30\n    silica      20", "amounts", Place("base", what="silica")),
    ],
)
def test_what_is_only_written_otherwise(old: str, new: str, how: str, place: Place) -> None:
    found = between((old, new))
    assert found.same
    assert [(one.how, one.place) for one in found.rewordings] == [(how, place)]


def test_another_scale_is_told_as_that() -> None:
    page = PAGE.replace("50", "100").replace("30", "60").replace("whiting     20", "whiting     40")
    page = page.replace("tin oxide   4", "tin oxide   8").replace("1, 2", "2, 4")
    found = compare(of(PAGE), of(page))
    assert found.same
    assert [(one.how, one.old, one.new) for one in found.rewordings] == [("scale", "100 parts", "200 parts")]


def test_an_addition_that_was_left_behind_by_another_scale_is_a_change() -> None:
    page = PAGE.replace("50", "100").replace("30", "60").replace("whiting     20", "whiting     40")
    found = compare(of(PAGE), of(page))
    assert {change.place for change in found.changes} == {
        Place("additions", what="tin oxide"),
        Place("series", "steps", "tin oxide"),
    }


def test_masses_and_parts_mean_the_same() -> None:
    pounds = 'glaze "A"\nbase:\n    whiting  1 lb\n    silica  16 oz\n'
    assert compare(of(pounds), of('glaze "A"\nbase:\n    whiting  50\n    silica  50\n')).same


@pytest.mark.parametrize(
    ("old", "new", "place"),
    [
        ("cone: 6", "cone: 7", Place("field", what="cone")),
        ("glaze", "slip", Place("kind")),
        ("rutile      0", "rutile      1", Place("variation", "storm", "rutile")),
        ("1, 2", "1, 3", Place("series", "steps", "tin oxide")),
        ("thin on", "thick on", Place("notes")),
        ("tin oxide   4", "tin oxide   4 (sieved)", Place("additions", what="tin oxide")),
        ("tin oxide   4", "tin oxide   5", Place("additions", what="tin oxide")),
    ],
)
def test_what_means_something_else(old: str, new: str, place: Place) -> None:
    found = between((old, new))
    assert [change.place for change in found.changes] == [place]
    assert not found.changes[0].follows


def test_a_change_of_one_material_is_told_apart_from_what_follows_the_total() -> None:
    found = between(("silica      50", "silica      60"))
    moved = [change for change in found.changes if not change.follows]
    assert [change.place.what for change in moved] == ["silica"]
    assert moved[0].new == Weighed((Fraction(600, 11),))
    assert {change.place.what for change in found.changes if change.follows} == {
        "kaolin",
        "whiting",
        "tin oxide",
    }


def test_handling_is_told_material_by_material() -> None:
    found = between(("silica, kaolin: wet", "silica: wet"))
    assert [(change.place.what, change.new) for change in found.changes] == [("kaolin", None)]


def test_a_new_name_alone_is_a_renaming() -> None:
    assert between(("Dune", "Dune Two")).renamed
    assert not between(("Dune", "Dune Two"), ("cone: 6", "cone: 7")).renamed


def test_apply_says_when_it_does_not_fit() -> None:
    with pytest.raises(ValueError, match="begins with"):
        apply(of(PAGE.replace("cone: 6", "cone: 8")).meaning, between(("cone: 6", "cone: 7")))


@pytest.mark.parametrize(
    ("amount", "shown"),
    [
        (Fraction(1, 3), "0.33"),
        (Fraction(5, 1000), "0.01"),
        (Fraction(1, 1000), "<0.01"),
        (Fraction(0), "0.00"),
        (Fraction(-1, 1000), "-<0.01"),
        (Fraction(200, 3), "66.67"),
    ],
)
def test_rounding_never_hides_that_there_is_something(amount: Fraction, shown: str) -> None:
    assert rounded(amount) == shown


# ---- for all recipes -------------------------------------------------------------------------------------

quick = settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])
told_recipes = recipes.map(lambda recipe: told(recipe, studio_catalogue()))


@quick
@given(told_recipes)
def test_compare_with_itself_is_empty(one: Told) -> None:
    assert compare(one, one).empty


@quick
@given(told_recipes, told_recipes)
def test_the_other_way_round_is_the_mirror_image(one: Told, other: Told) -> None:
    assert mirrored(compare(one, other)) == compare(other, one)
    assert scale(one, other) * scale(other, one) == 1


@quick
@given(told_recipes, told_recipes)
def test_applied_to_the_old_one_it_gives_the_new_one(one: Told, other: Told) -> None:
    found = compare(one, other)
    assert apply(one.meaning, found) == other.meaning
    assert apply(other.meaning, mirrored(found)) == one.meaning
    assert found.same == (one.meaning == other.meaning)


STUDIO: list[Recipe] = [job.recipe for job in studio_jobs()]


@quick
@given(st.sampled_from(STUDIO), st.sampled_from(STUDIO))
def test_recipes_of_the_studio(one: Recipe, other: Recipe) -> None:
    sides = told(one, studio_catalogue()), told(other, studio_catalogue())
    found = compare(*sides)
    assert mirrored(found) == compare(sides[1], sides[0])
    assert apply(sides[0].meaning, found) == sides[1].meaning


def multiplied(recipe: Recipe, times: int) -> Recipe:
    """The recipe with every amount of it times the same; per cents count from the base."""

    def times_it(quantity: Quantity) -> Quantity:
        return quantity if quantity.unit == "%" else quantity._replace(amount=quantity.amount * times)

    def lines(old: tuple[Ingredient, ...]) -> tuple[Ingredient, ...]:
        return tuple(line._replace(quantity=times_it(line.quantity)) for line in old)

    def steps(old: tuple[Step, ...]) -> tuple[Step, ...]:
        return tuple(step._replace(quantities=tuple(map(times_it, step.quantities))) for step in old)

    return replace(
        recipe,
        base=lines(recipe.base),
        additions=lines(recipe.additions),
        variations=tuple(
            one._replace(additions=lines(one.additions), base=lines(one.base)) for one in recipe.variations
        ),
        series=tuple(replace(one, steps=steps(one.steps), base=steps(one.base)) for one in recipe.series),
        blends=tuple(replace(one, steps=steps(one.steps), base=steps(one.base)) for one in recipe.blends),
    )


@quick
@given(st.sampled_from(STUDIO), st.integers(2, 9))
def test_every_amount_times_the_same_is_the_same_recipe(recipe: Recipe, times: int) -> None:
    found = compare(told(recipe, studio_catalogue()), told(multiplied(recipe, times), studio_catalogue()))
    assert found.same
    assert [one.how for one in found.rewordings] == ["scale"]


@quick
@given(recipes, st.integers(2, 9))
def test_so_it_is_of_any_recipe_with_a_base_of_any_kind(recipe: Recipe, times: int) -> None:
    one, other = told(recipe, studio_catalogue()), told(multiplied(recipe, times), studio_catalogue())
    assume(one.total)
    found = compare(one, other)
    assert found.same
    assert found.rewordings[0][:2] == ("scale", Place("base"))
    assert mirrored(found) == compare(other, one)


BLEND = """glaze "Between"
cone: 6

base blend "line" by 25 %:
    silica      60, 20
    whiting     40, 0
    kaolin      0, 80

blend "line" by 25 %:
    tin oxide   4, 0
    rutile      0 %, 2 %
"""
STEPS = """glaze "Steps"

base series "steps":
    silica      60, 50, 40
    kaolin      40, 50, 60
"""


@pytest.mark.parametrize(
    ("page", "swaps", "scaled"),
    [
        (BLEND, ["60, 20:120, 40", "40, 0:80, 0", "0, 80:0, 160", "4, 0:8, 0"], ("100 parts", "200 parts")),
        (BLEND, ["60, 20:30, 10", "40, 0:20, 0", "0, 80:0, 40", "4, 0:2, 0"], ("100 parts", "50 parts")),
        (STEPS, ["60, 50, 40:30, 25, 20", "40, 50, 60:20, 25, 30"], ("100 parts", "50 parts")),
        (STEPS, ["60, 50, 40:60 g, 50 g, 40 g", "40, 50, 60:40 g, 50 g, 60 g"], ("100 parts", "100 g")),
    ],
)
def test_a_base_that_blends_or_series_say_may_stand_at_any_scale(
    page: str, swaps: list[str], scaled: tuple[str, str]
) -> None:
    other = page
    for swap in swaps:
        old, new = swap.split(":")
        assert old in other
        other = other.replace(old, new, 1)
    found = compare(of(page), of(other))
    assert found.same
    first, *others = found.rewordings
    assert (first.how, first.old, first.new) == ("scale", *scaled)
    assert {one.how for one in others} <= {"amounts"}  # parts or grams


def test_one_corner_at_another_scale_is_another_blend() -> None:
    """The middle of 200 and 100 is two parts of the one and one of the other."""
    other = BLEND.replace("60, 20", "120, 20").replace("40, 0", "80, 0").replace("4, 0", "8, 0")
    assert not compare(of(BLEND), of(other)).same


def test_an_addition_that_the_scale_of_a_blend_left_behind_is_a_change() -> None:
    other = BLEND.replace("60, 20", "120, 40").replace("40, 0", "80, 0").replace("0, 80", "0, 160")
    found = compare(of(BLEND), of(other))
    assert [change.place for change in found.changes] == [Place("blend", "line", "tin oxide")]


def test_a_blend_that_is_brought_to_another_total_and_rounded_is_the_same_but_for_rounding() -> None:
    thirds = STEPS.replace("60, 50, 40", "30.1, 25.1, 20.2").replace("40, 50, 60", "20.2, 25, 30.1")
    rounded_ = STEPS.replace("60, 50, 40", "59.84, 49.9, 40.16").replace("40, 50, 60", "40.16, 49.7, 59.84")
    found = compare(of(thirds), of(rounded_))
    assert found.same
    assert found.changes
