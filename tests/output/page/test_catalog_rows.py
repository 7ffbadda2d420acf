"""A row of the table in a real browser: seen whole, marked, copied, sent on, and followed to its sheet."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from urllib.parse import quote_plus

import pytest
from selenium.webdriver.common.keys import Keys

from glost.output.catalog.page import Links, page
from glost.output.catalog.rows import Row
from glost.output.formats import html
from glost.output.sheet_addresses import addresses_in
from tests.output.convert.bench import job_of, recipe_of
from tests.output.page.conftest import DESK, PHONE, Screen
from tests.output.page.test_catalog import choose, count, rows_of, studio, told, written

SIZES = [PHONE, (390, 844), (195, 422), (844, 390), (1024, 768), (1366, 768), (1920, 1080)]
TEXT = """\
glaze "Ebb / Flow, no. 2"
cone: 6
colour: white
surface: satin

base:
    silica    60
    kaolin    40

variation "storm":
    cobalt carbonate    1

variation "calm":
    surface: matt
    zinc oxide    1
"""


def opened(screen: Screen) -> str:
    """The head of the row that is shown in full, "" where none is."""
    screen.drawn()
    return str(
        screen.js(
            "const it = document.getElementById('detail');"
            "return it.open ? document.getElementById('detail-name').textContent : ''"
        )
    )


def hash_of(screen: Screen) -> str:
    return str(screen.js("return location.hash"))


# ---- seen whole ------------------------------------------------------------------------------------------


def test_the_materials_have_room_at_any_width(screen: Screen, tmp_path: Path) -> None:
    page = written(tmp_path)
    found = {}
    for width in (
        901,
        1000,
        1001,
        1024,
        1100,
        1101,
        1200,
        1201,
        1300,
        1301,
        1366,
        1500,
        1501,
        1750,
        1751,
        1920,
    ):
        screen.show(page, (width, 768))
        found[width] = screen.js(
            "const wide = (it) => it.scrollWidth > it.clientWidth;"
            "const head = document.querySelector('thead .materials').getBoundingClientRect();"
            "return [head.width >= 145, head.height < 40, wide(document.getElementById('scroller')),"
            "wide(document.documentElement), [...document.querySelectorAll('#more select')]"
            ".filter((it) => it.getBoundingClientRect().width < 80).map((it) => it.id)]"
        )
    assert {width: told for width, told in found.items() if told != [True, True, False, False, []]} == {}


@pytest.mark.parametrize("size", [(390, 844), (700, 900)])
def test_a_phone_shows_colour_and_surface(screen: Screen, tmp_path: Path, size: tuple[int, int]) -> None:
    screen.show(written(tmp_path, rows_of(TEXT)), size)
    screen.drawn()
    shown = screen.js(
        "return ['surface', 'colour'].map((what) => [...document.querySelectorAll(`tr[id] > .${what}`)]"
        ".filter((it) => it.getClientRects().length).map((it) => it.innerText.trim()))"
    )
    assert shown == [["satin", "matt"], ["white"]]


@pytest.mark.parametrize("size", SIZES)
def test_hazards_are_never_cut(screen: Screen, tmp_path: Path, size: tuple[int, int]) -> None:
    screen.show(written(tmp_path), size)
    every, _ = studio()
    met = 0
    for at in range(0, len(every), 12):
        screen.js(
            "const it = document.getElementById('table'); it.focus();"
            "const press = (key) => it.dispatchEvent(new KeyboardEvent('keydown', {key, bubbles: true}));"
            "press('Home'); for (let at = 0; at < arguments[0]; at += 1) press('ArrowDown');",
            at,
        )
        screen.drawn()
        cut = screen.js(
            "return [...document.querySelectorAll('tr[id] > :not(.materials)')].filter((cell) =>"
            "cell.getClientRects().length && [cell, ...cell.querySelectorAll('*')].some((it) =>"
            "getComputedStyle(it).display !== 'inline' && (it.scrollWidth > it.clientWidth + 1 ||"
            "it.scrollHeight > it.clientHeight + 1))).map((cell) => cell.textContent)"
        )
        assert cut == []
        met += int(str(screen.js("return document.querySelectorAll('tr[id] .hazards div').length")))
    assert met > len(every)


@pytest.mark.parametrize("size", SIZES)
def test_rows_of_any_height_stand_below_each_other(
    screen: Screen, tmp_path: Path, size: tuple[int, int]
) -> None:
    """Each row begins where the one before ends, wherever the table is scrolled to, and fills what is seen."""
    screen.show(written(tmp_path), size)
    every, _ = studio()
    heights = set()
    for share in (0, 0.3, 0.31, 0.9, 0.5, 1):
        screen.js(
            "const it = document.getElementById('scroller'); it.scrollTop = arguments[0] * it.scrollHeight",
            share,
        )
        screen.drawn()
        found = screen.js(
            "const room = document.getElementById('scroller').getBoundingClientRect();"
            "const all = [...document.querySelectorAll('tr[id]')];"
            "const boxes = all.map((it) => it.getBoundingClientRect());"
            "return [all.map((it) => Number(it.id.slice(1))), boxes.map((it) => [it.top, it.bottom]),"
            "room.top, room.top + document.getElementById('scroller').clientHeight]"
        )
        assert isinstance(found, list)
        places, boxes, top, bottom = found
        assert places == list(range(places[0], places[-1] + 1))
        assert all(abs(one[1] - other[0]) < 1 for one, other in pairwise(boxes))
        assert boxes[0][0] <= top + 60 or places[0] == 0
        assert boxes[-1][1] >= bottom - 1 or places[-1] == len(every) - 1
        heights |= {round(one[1] - one[0]) for one in boxes}
    assert len(heights) > 1
    screen.one("#table").send_keys(Keys.END)
    assert screen.js("return document.querySelector('tr.active').id") == f"r{len(every) - 1}"
    assert screen.complaints() == []


def test_a_colour_is_that_of_the_test(screen: Screen, tmp_path: Path) -> None:
    """Chalk white with cobalt is not white: what was seen on one tile is said of that one alone."""
    rows = rows_of(TEXT)
    screen.show(written(tmp_path, rows), (1600, 900))
    found = screen.js(
        "return [...document.querySelectorAll('tr[id]')].map((it) =>"
        "[it.querySelector('.surface').textContent, it.querySelector('.colour').textContent])"
    )
    assert found == [["satin", "white"], ["", ""], ["matt", ""]]
    screen.one("#q").send_keys("white")
    assert told(screen) == "1 of 3 rows"


# ---- marked and copied -----------------------------------------------------------------------------------


def test_text_of_a_row_can_be_marked(screen: Screen, tmp_path: Path) -> None:
    screen.show(written(tmp_path), DESK)
    row = "document.querySelectorAll('tr[id]')[2]"
    screen.js(f"getSelection().selectAllChildren({row}.querySelector('.hazards')); {row}.click()")
    assert opened(screen) == ""
    marked = screen.js("return getSelection().toString()")
    screen.js("document.getElementById('scroller').scrollTop += 40")
    screen.drawn()
    assert screen.js("return getSelection().toString()") == marked != ""
    screen.js(f"getSelection().removeAllRanges(); {row}.click()")
    assert opened(screen) != ""


def test_a_row_is_copied_whole(screen: Screen, tmp_path: Path) -> None:
    rows = rows_of(TEXT)
    screen.show(written(tmp_path, rows), DESK)
    table = screen.one("#table")
    table.send_keys(Keys.ARROW_DOWN)
    text = str(
        screen.js(
            "const about = new ClipboardEvent('copy',"
            "{clipboardData: new DataTransfer(), bubbles: true, cancelable: true});"
            "document.getElementById('table').dispatchEvent(about);"
            "return about.clipboardData.getData('text/plain')"
        )
    )
    assert text.startswith(
        "Ebb / Flow, no. 2, storm: cobalt carbonate 1\ncone 6\nbase of 100:\n  silica 60\n"
    )
    assert "additions:\n  cobalt carbonate 1\n" in text
    for code in rows[1].statements:
        assert code in text
    assert "Local codes, the supplier's safety data sheet" in text


def test_a_browser_that_does_not_copy_shows_the_text(screen: Screen, tmp_path: Path) -> None:
    screen.show(written(tmp_path, rows_of(TEXT)), PHONE)
    screen.js("navigator.clipboard.writeText = () => Promise.reject(new Error('no'))")
    screen.js("document.querySelector('tr[id]').click()")
    screen.js("document.getElementById('copy').click()")
    screen.until(lambda: screen.js("return document.querySelector('textarea')"))
    assert "silica 60" in str(screen.js("return document.querySelector('textarea').value"))


# ---- the address -----------------------------------------------------------------------------------------


def test_back_undoes_a_filter(screen: Screen, tmp_path: Path) -> None:
    screen.show(written(tmp_path), DESK)
    every, _ = studio()
    screen.one("#q").send_keys("harbour")
    screen.until(lambda: "q=harbour" in hash_of(screen))
    words = told(screen)
    choose(screen, "findings", "none")
    screen.until(lambda: "findings=none" in hash_of(screen))
    both = told(screen)
    assert both != words
    screen.driver.back()
    screen.until(lambda: told(screen) == words)
    assert screen.one("#findings").get_attribute("value") == ""
    screen.driver.back()  # all letters of the word at once
    screen.until(lambda: told(screen) == f"All {len(every)} rows")
    assert screen.one("#q").get_attribute("value") == ""
    screen.driver.forward()
    screen.until(lambda: told(screen) == words)


def test_a_row_has_an_address(screen: Screen, tmp_path: Path) -> None:
    every, _ = studio()
    target = written(tmp_path)
    at = next(at for at, row in enumerate(every) if row.test and at > 60)
    row = every[at]
    key = f"{row.about.file}, {row.test}"
    screen.show(target, DESK, f"#row={quote_plus(key)}")
    assert opened(screen).startswith(f"{row.about.name}, {row.test}")
    screen.one("#close").click()
    screen.until(lambda: hash_of(screen) == "")
    assert opened(screen) == ""
    assert screen.js("return document.querySelector('tr.active').id") == f"r{at}"
    screen.one("#table").send_keys(Keys.ENTER)
    assert f"row={quote_plus(key)}" in hash_of(screen)
    screen.driver.back()  # as the back of a phone
    screen.until(lambda: opened(screen) == "")
    assert count(screen) == len(every)
    screen.show(target, DESK, "#row=nothing+such")
    assert opened(screen) == ""
    assert "nothing such" in screen.one("#left-out").text


def test_what_was_asked_for_stays_when_a_row_is_closed(screen: Screen, tmp_path: Path) -> None:
    screen.show(written(tmp_path), DESK)
    screen.one("#q").send_keys("harbour")
    asked = told(screen)
    screen.js("document.querySelector('tr[id]').click()")  # before the address was written
    assert hash_of(screen).startswith("#q=harbour&row=")
    screen.js("document.getElementById('close').click()")
    screen.js("const it = document.getElementById('findings'); it.value = 'none';"
              "it.dispatchEvent(new Event('change', {bubbles: true}))")  # fmt: skip
    screen.until(lambda: hash_of(screen) == "#q=harbour&findings=none")
    assert told(screen) != asked
    screen.driver.back()
    screen.until(lambda: told(screen) == asked)
    assert opened(screen) == ""


# ---- the sheet -------------------------------------------------------------------------------------------


def linked(tmp_path: Path, rows: tuple[Row, ...]) -> Path:
    sheets = tmp_path / "sheets #1.html"
    sheets.write_text(html.write([job_of(recipe_of(TEXT), file="made.glost")]), "utf-8")
    found = addresses_in(sheets.read_text("utf-8"))
    links = Links({key: f"./sheets%20%231.html#{part}" for key, part in found.items()}, ".")
    target = tmp_path / "catalog.html"
    target.write_text(page(rows, {}, "Studio", "2026-03-14", links=links), "utf-8")
    return target


def test_a_row_leads_to_its_sheet(screen: Screen, tmp_path: Path) -> None:
    rows = rows_of(TEXT)
    target = linked(tmp_path, rows)
    screen.show(target, PHONE)
    screen.js("document.querySelectorAll('tr[id] .name a')[1].click()")
    screen.until(lambda: "batch sheet" in str(screen.js("return document.title")))
    assert screen.js("return document.querySelector('article.open h2').textContent").startswith(  # type: ignore[attr-defined]
        "Ebb / Flow, no. 2"
    )
    assert "storm" in screen.one("article.open").text
    screen.driver.back()
    screen.until(lambda: screen.js("return document.title") == "Studio")
    screen.js("document.querySelectorAll('tr[id]')[2].click()")
    links = screen.js(
        "return [...document.querySelectorAll('#detail a')].map((it) => it.getAttribute('href'))"
    )
    assert links == ["./made.glost", "./sheets%20%231.html#ebb-flow-no-2/calm"]
    assert screen.complaints() == []


def test_a_hostile_name_of_a_file_is_no_address_of_its_own(screen: Screen, tmp_path: Path) -> None:
    (row, *_) = rows_of(TEXT)
    names = ["javascript:alert(1)", "a/../b c#?.glost", "/etc/x.glost"]
    rows = tuple(replace(row, about=replace(row.about, file=name)) for name in names)
    screen.show(linked(tmp_path, rows), DESK)
    found = []
    for at in range(len(names)):
        screen.js(f"document.querySelectorAll('tr[id]')[{at}].click()")
        found.append(
            screen.js(
                "return [...document.querySelectorAll('#detail a')].map((it) => it.getAttribute('href'))"
            )
        )
        screen.js("document.getElementById('close').click()")
        screen.until(lambda: hash_of(screen) == "")
    assert found == [[], ["./a/../b%20c%23%3F.glost"], []]
