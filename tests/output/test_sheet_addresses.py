"""Where sheets stand on a page, read from any text that may be given for one."""

from __future__ import annotations

import pytest

from glost.output.formats import html
from glost.output.sheet_addresses import addresses_in
from glost.output.web import document
from tests.output.convert.bench import job_of, recipe_of

TEXT = 'glaze "釉 / A&B"\ncone: 6\nbase:\n    silica    60\n    kaolin    40\nvariation "50 %":\n    zinc oxide    1\n'


def test_the_sheets_of_a_page() -> None:
    page = html.write([job_of(recipe_of(TEXT), file="a b.glost")])
    assert addresses_in(page) == {
        ("a b.glost", ""): "%E9%87%89-a-b",
        ("a b.glost", "50 %"): "%E9%87%89-a-b/50",
    }


@pytest.mark.parametrize(
    "held", [None, [], {}, "text", [1, {"file": 1}, {"file": "a", "test": "b"}], {"sheets": [{"file": "a"}]}]
)
def test_a_page_of_anything_else_has_none(held: object) -> None:
    assert addresses_in(document("Other", [], styles=(), scripts=("slips.js",), held=held)) == {}


def test_a_page_that_was_cut_off_has_none() -> None:
    page = html.write([job_of(recipe_of(TEXT))])
    assert addresses_in(page[: page.index('id="held"') + 200]) == {}
    assert addresses_in(page.replace('id="held">[', 'id="held">[[')) == {}


@pytest.mark.parametrize("text", ["", "<p>mine</p>", "glaze"])
def test_what_glost_did_not_write_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="no page that glost wrote"):
        addresses_in(text)
