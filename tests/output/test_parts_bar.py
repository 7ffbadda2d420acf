"""The bar of a test's parts: what is drawn is as wide as it is much, and words say the same."""

from __future__ import annotations

import re
from fractions import Fraction
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from glost.output.parts_bar import GAP, SEAM, WIDTH, Slice, parts_bar, slices_of, told, tone_of, whole_of
from glost.output.web import css_string
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.recipe import tests as every_test
from tests.output.convert.bench import recipe_of

TEXT = """\
glaze "Bar"

base:
    nepheline syenite    20
    whiting              10
    silica               10
additions:
    cobalt carbonate      0.5
    nobody knows this     4
"""


def drawn(markup: str) -> list[tuple[str, int, int, int]]:
    return [
        (each.attrib["class"], *(int(each.attrib[key]) for key in ("x", "y", "width")))  # type: ignore[misc]
        for each in ElementTree.fromstring(markup)
    ]


def test_parts_as_wide_as_they_are_much() -> None:
    (test,) = every_test(recipe_of(TEXT))
    slices = slices_of(test.base, test.additions, shipped_catalogue())
    assert [one.tone for one in slices] == ["feldspar", "flux", "silica", "colourant", "unknown"]
    # Base 40 and additions 4.5 are 100 and 11.25.
    assert whole_of(slices) == Fraction("111.25")
    every = drawn(parts_bar(slices))
    unit = (WIDTH - GAP) / 111.25
    for (_, left, top, wide), start, share in zip(
        every, (0, 50, 75, 100, 101.25), (50, 25, 25, 1.25, 10), strict=True
    ):
        assert left == pytest.approx(start * unit + (GAP if top else 0), abs=1)
        assert wide + SEAM == pytest.approx(share * unit, abs=1)
    assert [top > 0 for _, _, top, _ in every] == [False] * 3 + [True] * 2
    assert told(slices) == (
        "made of nepheline syenite 50, whiting 25, silica 25; added cobalt carbonate 1.25, nobody knows this 10"
    )


def test_bars_that_are_compared_have_one_measure() -> None:
    small = [Slice("silica", Fraction(100), "silica", True)]
    large = [*small, Slice("tin oxide", Fraction(25), "opacifier", False)]
    (one,) = drawn(parts_bar(small, whole_of(large)))
    assert one[3] + SEAM == WIDTH * 100 // 125
    assert parts_bar([]) == parts_bar(large[1:]) == ""


def test_names_are_text() -> None:
    markup = parts_bar([Slice('"><b>', Fraction(1), "silica", True)])
    assert ElementTree.fromstring(markup).attrib["aria-label"] == 'made of "><b> 100'


def test_an_unknown_name_has_a_tone() -> None:
    assert tone_of("nobody knows this", shipped_catalogue()) == "unknown"
    assert tone_of("talc", shipped_catalogue()) in ("mineral", "flux")


parts = st.lists(
    st.builds(Slice, st.just("x"), st.fractions(Fraction(1, 10**6), 10**6), st.just("silica"), st.booleans()),
    max_size=40,
)


@given(parts)
def test_nothing_leaves_the_bar(slices: list[Slice]) -> None:
    markup = parts_bar(slices)
    if not markup:
        return
    every = drawn(markup)
    assert len(every) == len(slices)
    assert all(left >= 0 and wide > 0 and left + wide <= WIDTH + 2 * SEAM for _, left, _, wide in every)


@given(st.text())
def test_any_text_is_a_string_of_a_style_sheet(text: str) -> None:
    made = css_string(text)
    assert made[0] == made[-1] == '"'
    assert not set("\"'<>&\n\\") & set(re.sub(r"\\[0-9a-f]{1,6} ", "", made[1:-1]))
