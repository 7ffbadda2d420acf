"""The points of blends against their definition, worked numbers, and the property that a page which uses recipes weighs
what the same page in raw materials weighs."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from functools import partial
from itertools import product
from math import comb

import pytest
from hypothesis import given
from hypothesis import strategies as st

from glost.language.layout import content, format_text
from glost.language.parse import parse
from glost.language.source import Source
from glost.recipe.blends import count_of_points, points
from glost.recipe.library import Kept, Library, Read
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.points import Points
from glost.recipe.recipe import Recipe, Test
from glost.recipe.recipe import tests as every_test
from glost.recipe.resolve import resolve, resolve_own
from glost.weighing.batch import Line, plan

STEPS = [Decimal(step) for step in ("50", "25", "20", "12.5", "10", "5")]

EBB = """glaze "Clear Ebb"
base:
    nepheline syenite      40
    silica                 30
    whiting                20
    kaolin                 10
"""
MIST = """glaze "Harbour Mist"
base:
    nepheline syenite      38
    silica                 22
    whiting                14
    kaolin                 16
    zinc oxide             10
additions:
    tin oxide               4
    cobalt carbonate        0.5
"""
SHORT = """glaze "Short Ebb"
base:
    nepheline syenite      40
    silica                 29
    whiting                20
    kaolin                 10
"""


def recipe_of(text: str, *others: str) -> Recipe:
    """A page in a collection with these others."""
    catalogue = shipped_catalogue()

    def read(page: object) -> Read:
        own = resolve_own(page, catalogue)  # type: ignore[arg-type]
        return Read(own.page, own.recipe, own.complete)

    kept = [Kept(f"{at}.glost", partial(str, other)) for at, other in enumerate(others)]
    resolved = resolve(parse(Source("page.glost", text)), catalogue, Library(lambda: kept, read))
    assert resolved.complete, [*resolved.page.diagnostics, *resolved.diagnostics]
    return resolved.recipe


def mix(test: Test) -> dict[tuple[bool, str], Fraction]:
    found: dict[tuple[bool, str], Fraction] = {}
    for base, lines in ((True, test.base), (False, test.additions)):
        for part in lines:
            found[base, part.called] = found.get((base, part.called), Fraction(0)) + part.exact
    return {at: amount for at, amount in found.items() if amount}


@pytest.mark.parametrize("step", STEPS)
def test_a_triangle_is_the_simplex_lattice(step: Decimal) -> None:
    """Scheffe, Experiments with Mixtures (J. Roy. Stat. Soc. B 20, 1958; from memory): the {3, m} lattice holds every
    point whose shares are 0, 1/m, ... 1 and add up to 1, (m + 1)(m + 2) / 2 of them."""
    m = int(100 / step)
    lattice = {
        tuple(Fraction(n, m) for n in shares)
        for shares in product(range(m + 1), repeat=3)
        if sum(shares) == m
    }
    found = [point.shares for point in points(3, step)]
    assert set(found) == lattice
    assert len(found) == len(lattice) == comb(m + 2, 2) == (m + 1) * (m + 2) // 2 == count_of_points(3, step)


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("corners", [2, 3, 4])
def test_points_are_numbered_as_they_are_read_and_their_shares_add_up(corners: int, step: Decimal) -> None:
    found = list(points(corners, step))
    assert [point.number for point in found] == list(range(1, count_of_points(corners, step) + 1))
    assert all(sum(point.shares) == 1 and min(point.shares) >= 0 for point in found)
    assert len({point.label for point in found}) == len(found)
    assert sorted(point.corner for point in found if point.corner is not None) == list(range(corners))


def test_a_triangle_by_20_has_its_corners_at_1_16_and_21() -> None:
    found = list(points(3, Decimal(20)))
    assert [point.number for point in found if point.corner is not None] == [1, 16, 21]
    assert found[13].label == "20/20/60"


def test_the_middle_of_two_glazes_is_the_mean_of_both_in_dry_mass() -> None:
    """Worked out by hand in fractions: of 104.5 parts of one mix and 100 of the other, half the dry mass each."""
    corners = '    glaze "Harbour Mist"  100, 0\n    glaze "Clear Ebb"  0, 100\n'
    page = f'glaze "Between"\nbase blend "line" by 50 %:\n{corners}'
    middle = next(Points("50/50").of(every_test(recipe_of(page, EBB, MIST))))
    assert mix(middle) == {
        (True, "nepheline syenite"): Fraction(420, 11),
        (True, "silica"): Fraction(485, 19),
        (True, "whiting"): Fraction(3490, 209),
        (True, "kaolin"): Fraction(2645, 209),
        (True, "zinc oxide"): Fraction(1000, 209),
        (True, "tin oxide"): Fraction(400, 209),
        (True, "cobalt carbonate"): Fraction(50, 209),
    }
    assert middle.base_exact == 100


def test_a_recipe_whose_base_totals_99_is_taken_in_its_own_proportions() -> None:
    page = 'glaze "White"\nbase:\n    glaze "Short Ebb"  85\n    tin oxide  15\n'
    (whole,) = every_test(recipe_of(page, SHORT))
    assert mix(whole)[True, "nepheline syenite"] == Fraction(3400, 99)
    assert whole.base_exact == 100


def test_an_endless_fraction_comes_into_the_plan_as_it_is() -> None:
    page = 'glaze "White"\nbase:\n    glaze "Short Ebb"  85\n    tin oxide  15\n'
    (whole,) = every_test(recipe_of(page, SHORT))
    lines = [Line(part.called, part.parts, True, "", part.fraction) for part in whole.base]
    planned = plan(lines, whole.base_exact, Decimal(99), (), Decimal("0.02"))
    assert planned.lines[0].exact_g == Fraction(3400, 100)


amounts = st.integers(1, 90)


@given(amounts, amounts, amounts, st.sampled_from(["100", "50", "7.5"]))
def test_a_page_that_uses_recipes_weighs_what_its_raw_materials_weigh(
    a: int, b: int, c: int, step: str
) -> None:
    """Flattened page by page or all at once: the same shares of every material."""
    inner = f'glaze "Inner"\nbase:\n    glaze "Clear Ebb"  {a}\n    tin oxide  {b}\n'
    outer = f'glaze "Outer"\nbase:\n    glaze "Inner"  {c}\n    silica  {step}\n'
    (nested,) = every_test(recipe_of(outer, inner, EBB))
    raw = {"nepheline syenite": 40, "silica": 30, "whiting": 20, "kaolin": 10}
    shares = {name: Fraction(parts, 100) * Fraction(a, a + b) for name, parts in raw.items()}
    shares["tin oxide"] = Fraction(b, a + b)
    expected = {(True, name): share * c for name, share in shares.items()}
    expected[True, "silica"] += Fraction(Decimal(step))
    assert mix(nested) == expected


@given(
    st.lists(amounts, min_size=3, max_size=3),
    st.lists(amounts, min_size=3, max_size=3),
    st.sampled_from(STEPS),
)
def test_a_point_is_the_sum_of_its_corners_by_shares(
    ones: list[int], others: list[int], step: Decimal
) -> None:
    lines = [
        f"    {name}  {', '.join(map(str, column))}\n"
        for name, column in (("silica", ones), ("kaolin", others))
    ]
    page = f'glaze "Search"\nbase blend "all" by {step} %:\n{"".join(lines)}additions:\n    tin oxide  4 %\n'
    for test in every_test(recipe_of(page)):
        assert test.point is not None
        shares = test.point.shares
        silica = sum((share * one for share, one in zip(shares, ones, strict=True)), Fraction(0))
        kaolin = sum((share * one for share, one in zip(shares, others, strict=True)), Fraction(0))
        assert mix(test) == {
            (True, "silica"): silica,
            (True, "kaolin"): kaolin,
            (False, "tin oxide"): (silica + kaolin) * Fraction(4, 100),
        }


names = st.text(st.sampled_from("abc xyz-12"), min_size=1, max_size=8).map(
    lambda name: " ".join(name.split()) or "a"
)


@given(
    names,
    st.lists(st.lists(st.integers(0, 100), min_size=3, max_size=3), min_size=1, max_size=4),
    st.sampled_from(STEPS),
)
def test_a_laid_out_page_with_a_blend_says_the_same(name: str, rows: list[list[int]], step: Decimal) -> None:
    lines = "".join(f'  glaze   "m{at}"   {", ".join(map(str, row))}  (n)\n' for at, row in enumerate(rows))
    page = parse(Source("page.glost", f'glaze "Page"\nbase   blend  "{name}"  by   {step}%:  # why\n{lines}'))
    assert not page.diagnostics
    text = format_text(page)
    again = parse(Source("page.glost", text))
    assert content(again) == content(page)
    assert format_text(again) == text
