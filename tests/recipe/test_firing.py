"""The page of a firing: what it means, what is wrong with it, how it is laid out."""

from __future__ import annotations

from decimal import Decimal

import pytest

from glost.language.layout import format_text
from glost.language.parse import parse
from glost.language.source import Source, apply
from glost.recipe.firing import resolve_firing
from tests.conftest import STUDIO

HEAD = 'firing "Small kiln 41"\ndate: 2026-05-14\n'


def faults(text: str) -> list[tuple[int, str, str]]:
    """Line, message and what the line becomes, of each."""
    page = parse(Source("a.firing", text))
    found = sorted((*page.diagnostics, *resolve_firing(page).diagnostics), key=lambda one: one.span)
    return [
        (page.source.position(one.span.start).line, one.message, one.edits[0].text if one.edits else "")
        for one in found
    ]


def test_a_page_says_all_that_stands_on_it() -> None:
    path = STUDIO / "firings" / "small-kiln-41.firing"
    text = path.read_text("utf-8")
    page = parse(Source(path.name, text))
    resolved = resolve_firing(page)
    assert resolved.complete
    firing = resolved.firing
    assert (firing.name, firing.date, firing.kiln) == ("Small kiln 41", "2026-03-21", "small electric")
    assert (str(firing.cone), str(firing.reached)) == ("6", "6 1/2")
    first, second = firing.tiles
    assert first.test is not None
    assert first.test.written == 'glaze "Harbour Mist"'
    assert (first.faults, first.flow, first.body) == (("pinholes",), Decimal(1), "house stoneware")
    assert second.remarks == "breaks over texture"
    assert firing.notes.startswith("Witness cones")
    assert format_text(page) == text


@pytest.mark.parametrize("path", sorted((STUDIO / "firings").glob("*.firing")), ids=lambda path: path.name)
def test_each_firing_of_the_studio_is_whole_and_laid_out(path: object) -> None:
    text = path.read_text("utf-8")  # type: ignore[attr-defined]
    page = parse(Source("a.firing", text))
    assert resolve_firing(page).complete
    assert format_text(page) == text


@pytest.mark.parametrize(
    ("written", "message", "becomes"),
    [
        ("to 600 at 100 C/h", "no unit stands behind 600", ""),
        (
            "to 600 C at 100 C/h hold 15 min",
            "a comma stands before a hold",
            "to 600 C at 100 C/h, hold 15 min",
        ),
        ("to 600 C at 100 C/h, hold 15", "no unit stands behind the hold of 15", ""),
        ("to 600 C at 100", "a rate says how many degrees an hour", ""),
        ("to 600 C", "this line does not say how the kiln gets there", ""),
        ("to 600 C at 0 C/h", "at a rate of 0 the kiln never gets there", ""),
        ("to 600 C in 0 min", "a way of no time", ""),
        ("to 600 C at 100 C/h, hold 0 min", "a hold of no time", ""),
        ("to 600 C in 1 h 75 min", "75 minutes stand behind 1 h", ""),
        ("to 20 C at 100 C/h", "the kiln is at 20 C already", ""),
        ("to 1600 C at 100 C/h", "1600 C is hotter than any kiln goes", ""),
        ("to 600 C at 180 F/h", "F stands here, and C on other lines of the schedule", ""),
        (
            "To 600\u00b0C at 100\u00b0C per hour, hold for 2 hours",
            "a line of a schedule begins with a small letter",
            "to 600 C at 100 C/h, hold 2 h",
        ),
        ("cool slowly", "this line of the schedule cannot be read", ""),
        ("hold 15 min", "a hold stands behind the line that it belongs to", ""),
    ],
)
def test_a_slip_in_a_schedule_is_told_and_fixed_where_that_is_sure(
    written: str, message: str, becomes: str
) -> None:
    assert faults(f"{HEAD}schedule:\n    {written}\n") == [(4, message, becomes)]


@pytest.mark.parametrize(
    ("below", "line", "message", "becomes"),
    [
        (
            'tile "1"\n    test: glaze "A"\n',
            3,
            "the colon is missing behind the name of the tile",
            'tile "1":',
        ),
        ("tile 1:\n    batch: x\n", 3, "the name of a tile stands in double quotes", ""),
        ("base:\n    silica 10\n", 3, "'base' does not stand on the page of a firing", ""),
        ("Kiln: gas\n", 3, "'Kiln' is written in lower case", "kiln"),
        ("kiln gas\n", 3, "the colon is missing behind 'kiln'", "kiln: gas"),
        ("klin: gas\n", 3, "'klin' is nothing that is said of a firing", ""),
        ('tile "1":\n    place: top\n', 3, "nobody knows what tile '1' is a test of", ""),
        ('tile "1":\n    test: Harbour Mist\n', 4, "'Harbour Mist' names no test", ""),
        ('tile "1":\n    test: glaze "A"\n    flow: far\n', 5, "'far' does not say how far it ran", ""),
        ('tile "1":\n    test: glaze "A"\n    color: red\n', 5, "'color' is called colour here", "colour"),
        (
            'tile "1":\n    test: glaze "A"\n    colour red\n',
            5,
            "the colon is missing behind 'colour'",
            "colour: red",
        ),
        (
            'tile "1":\n    test: glaze "A"\n    photo: ../../x.jpg\n',
            5,
            "'../../x.jpg' does not lie beside this page",
            "",
        ),
        (
            'tile "A 1":\n    test: glaze "A"\ntile "a  1":\n    test: glaze "B"\n',
            5,
            "a tile 'a 1' stands here already (line 3)",
            "",
        ),
        ("date: 2026-05-15\n", 3, "'date' stands here a second time (first on line 2)", ""),
    ],
)
def test_a_slip_on_a_page_is_told_once(below: str, line: int, message: str, becomes: str) -> None:
    assert faults(HEAD + below) == [(line, message, becomes)]


def test_a_page_without_a_day_is_told() -> None:
    assert faults('firing "A"\n') == [(1, "the firing does not say the day on which it was lit", "")]


def test_what_is_fixed_is_read() -> None:
    text = HEAD + 'schedule\n    to 600 C at 100 C/h\ntile "1"\n    test: glaze "A"\n'
    page = parse(Source("a.firing", text))
    fixed = apply(text, [edit for one in page.diagnostics for edit in one.edits])
    resolved = resolve_firing(parse(Source("a.firing", fixed)))
    assert resolved.complete
    assert len(resolved.firing.tiles) == 1
    assert resolved.firing.schedule is not None
