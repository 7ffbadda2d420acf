"""The page of results in a real browser: narrowed down by words and by what the command's options compare."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import Select

from tests.conftest import Run
from tests.output.page.conftest import A4, DESK, PHONE, Screen, printed

TIN = """\
glaze "Wet Slate"
cone: 5

base:
    soda feldspar   45
    silica          30
    whiting         25

variation "blue":
    cobalt carbonate   1
"""
ASH = TIN.replace("Wet Slate", "Ash <b>Grey</b>")
FIRST = """\
firing "Kiln 3"
date: 2026-06-06
kiln: round electric
cone: 5
reached: 5 1/2
body: Buff Stoneware

tile "a":
    test: glaze "Wet Slate"
    faults: pinholes, crazing
    remarks: </script><img src=x onerror=alert(1)>

tile "b":
    test: glaze "Wet Slate, blue"
    body: porcelain
    faults: Running
"""
SECOND = """\
firing "Kiln 4"
date: 2026-06-06
kiln: Gas 2
cone: 5

tile "a":
    test: glaze "Wet Slate"
    colour: pale "blue" slate

tile "b":
    test: glaze "Ash <b>Grey</b>"
    body: buff  stoneware
    faults: crazing
"""
ALL = [("Kiln 3", "a"), ("Kiln 3", "b"), ("Kiln 4", "a"), ("Kiln 4", "b")]


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.fixture
def page(tmp_path: Path, run: Run) -> Path:
    for name, text in (
        ("glost.yaml", "name: Test\n"), ("slate.glost", TIN), ("ash.glost", ASH), ("3.firing", FIRST),
        ("4.firing", SECOND),
    ):  # fmt: skip
        (tmp_path / name).write_text(text, "utf-8")
    page = tmp_path / "results.html"
    page.write_text(run("results", ".", "--output", "html").stdout, "utf-8")
    return page


def tiles(screen: Screen) -> list[tuple[str, str]]:
    """Firing and tile of what stands on the page, in the order of the firings."""
    heads = screen.driver.find_elements(By.CSS_SELECTOR, "section.tile h3")
    found = [one.text.partition("  ")[2] or one.text[11:] for one in heads if one.is_displayed()]
    return sorted((one.split(", ")[0].strip(), one.split(", ")[1].removeprefix("tile ")) for one in found)


def ask(screen: Screen, text: str) -> None:
    field = screen.one("#words")
    field.clear()
    field.send_keys(text)


def choose(screen: Screen, what: str, value: str) -> None:
    Select(screen.one(f"select[data-what={what}]")).select_by_visible_text(value)


@pytest.mark.parametrize("size", [DESK, PHONE])
def test_words_and_choices_narrow_it_down(screen: Screen, page: Path, size: tuple[int, int]) -> None:
    screen.show(page, size)
    assert tiles(screen) == ALL
    assert screen.one("#count").text == "4 fired tiles."
    ask(screen, 'SLATE "blue"')
    assert tiles(screen) == [("Kiln 4", "a")]
    assert screen.one("#count").text == '1 of 4 fired tiles; words: slate "blue".'
    assert [one.text for one in screen.driver.find_elements(By.TAG_NAME, "h2") if one.is_displayed()] == [
        'glaze "Wet Slate"'
    ]
    screen.press("Show all")
    assert tiles(screen) == ALL
    choose(screen, "fault", "crazing")
    choose(screen, "body", "Buff Stoneware")
    assert screen.one("#count").text == "2 of 4 fired tiles; fault: crazing; body: Buff Stoneware."
    ask(screen, "nothing such")
    assert tiles(screen) == []
    assert screen.one("#count").text.startswith("None of 4 fired tiles")
    assert screen.js("return document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    assert screen.complaints() == []


@pytest.mark.parametrize(
    ("what", "value"),
    [
        ("fault", "pinholes"), ("fault", "crazing"), ("cone", "5"), ("cone", "5 1/2"), ("kiln", "Gas 2"),
        ("body", "porcelain"), ("body", "Buff Stoneware"),
    ],
)  # fmt: skip
def test_a_choice_shows_what_the_option_of_the_command_does(
    screen: Screen, page: Path, run: Run, what: str, value: str
) -> None:
    said = run("results", ".", f"--{what}", value, "--output", "csv").stdout
    wanted = sorted((row["firing"], row["tile"]) for row in csv.DictReader(io.StringIO(said)))
    assert 0 < len(wanted) <= len(ALL)
    screen.show(page, DESK)
    choose(screen, what, value)
    assert tiles(screen) == wanted


def options(screen: Screen) -> Sequence[str]:
    return [str(one.get_attribute("data-what")) for one in screen.driver.find_elements(By.TAG_NAME, "select")]


def test_only_what_is_known_can_be_chosen(screen: Screen, page: Path) -> None:
    screen.show(page, DESK)
    assert options(screen) == ["fault", "cone", "kiln", "body"]


def test_without_the_script_all_of_it_stands_there(screen: Screen, page: Path) -> None:
    screen.driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        screen.show(page, DESK)
        assert tiles(screen) == ALL
        assert not screen.driver.find_element(By.ID, "narrow").is_displayed()
    finally:
        screen.driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


def test_paper_has_what_is_on_the_screen_and_says_what_it_is(
    screen: Screen, page: Path, tmp_path: Path
) -> None:
    screen.show(page, DESK)
    choose(screen, "kiln", "Gas 2")
    text = "\n".join(printed(screen.print(tmp_path / "results.pdf", A4)))
    assert "red tiles; kiln: Gas 2." in text  # "fi" is one sign on this paper
    assert "Kiln 4, tile a" in text
    assert "Kiln 3, tile b" not in text
    assert "Show all" not in text


def test_two_firings_of_a_day_are_told_apart(page: Path, run: Run) -> None:
    said = run("results", str(page.parent / "slate.glost")).stdout
    assert "since tile a of 2026-06-06, Kiln 3: nothing" in said
