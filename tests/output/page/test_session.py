"""Many cups from one page, in a real browser: both orders of one state, and what one cup says to the
others."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from selenium.webdriver.common.by import By

from tests.conftest import STUDIO, Run
from tests.output.page.conftest import A4, DESK, LETTER, Screen, printed
from tests.output.page.test_weighing import enter, panel, reading, said

SIZES = [(390, 844), (360, 640), (844, 390), (195, 422)]
HOUSE = """\
batch: 100 g
balances:
  - name: fine
    capacity: 300 g
    readability: 0.01 g
"""
TIDE = """\
glaze "Tide Test"
cone: 6
water: 60 %

base:
    nepheline syenite   50
    silica              30
    kaolin              20

series "cobalt":
    cobalt carbonate    0.5, 1, 1.5, 2, 3
"""


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def session(run: Run, tmp_path: Path, *paths: str, name: str = "session.html") -> tuple[Path, dict[str, Any]]:
    """The page of these recipes, and the figures that `session --output json` gives for them."""
    data = run("session", *paths, "--output", "json")
    assert data.returncode == 0, data.stderr
    page = run("session", *paths, "--output", "html")
    (tmp_path / name).write_text(page.stdout, encoding="utf-8")
    return tmp_path / name, json.loads(data.stdout, parse_float=Decimal, parse_int=Decimal)


@pytest.fixture
def tide(run: Run, tmp_path: Path) -> tuple[Path, dict[str, Any]]:
    (tmp_path / "glost.yaml").write_text(HOUSE, encoding="utf-8")
    (tmp_path / "tide.glost").write_text(TIDE, encoding="utf-8")
    return session(run, tmp_path, "tide.glost")


def head(screen: Screen) -> str:
    return str(screen.js("return document.querySelector('article.open .now .what').textContent"))


def take(screen: Screen, times: int = 1) -> None:
    """Takes what is asked for, so many times, each when the page takes it."""
    for _ in range(times):
        screen.free()
        screen.js("document.querySelector('article.open .reading .primary').click()")


def is_open(screen: Screen) -> bool:
    return bool(screen.js("return document.querySelector('article.open') !== null"))


def order(screen: Screen, kind: str) -> None:
    screen.js("location.hash = ''")
    screen.until(lambda: screen.js("return document.body.classList.contains('choosing')"))
    screen.js("document.querySelector(`input[name=order][value=${arguments[0]}]`).click()", kind)


def asked(screen: Screen) -> Decimal:
    text = screen.js("return document.querySelector('article.open .figures .large b').textContent")
    return Decimal(str(text).split()[0])


def walked(screen: Screen) -> list[tuple[str, str, Decimal]]:
    """Ticks all off as the page leads: cup, material, grams."""
    screen.press("Begin")
    found = []
    while is_open(screen):
        cup, material = head(screen).split(": ", 1)
        found.append((cup.removeprefix("Cup "), material, asked(screen)))
        take(screen)
    return found


@pytest.mark.usefixtures("tide")
def test_both_orders_are_those_of_the_plan_and_lead_to_one_state(
    screen: Screen, run: Run, tmp_path: Path
) -> None:
    (tmp_path / "tide.glost").write_text(TIDE.replace(", 1.5, 2, 3", ""), encoding="utf-8")
    page, data = session(run, tmp_path, "tide.glost")
    screen.show(page, SIZES[0])
    by_jar = walked(screen)
    assert by_jar == [
        (f"{pour['cup']}", jar["material"], pour["target_g"]) for jar in data["jars"] for pour in jar["pours"]
    ]
    assert "All cups are in" in screen.one(".handing").text
    screen.press("Start all cups over")
    screen.press("Clear and start over")
    order(screen, "cup")
    by_cup = walked(screen)
    assert by_cup == [
        (f"{cup['number']}", line["material"], line["target_g"])
        for cup in data["cups"]
        for line in cup["lines"]
    ]
    assert sorted(by_jar) == sorted(by_cup)
    assert screen.complaints() == []


def test_the_orders_can_be_changed_at_any_time(screen: Screen, tide: tuple[Path, dict[str, Any]]) -> None:
    screen.show(tide[0], SIZES[1])
    screen.press("Begin")
    take(screen, 2)
    assert head(screen) == "Cup 3: nepheline syenite"
    order(screen, "cup")
    screen.press("Go on")
    assert head(screen) == "Cup 3: nepheline syenite"
    take(screen)
    assert head(screen) == "Cup 3: silica"
    order(screen, "jar")
    assert "3 of 6 in" in screen.driver.find_elements(By.CSS_SELECTOR, ".jar-pick")[0].text
    screen.press("Go on")
    assert head(screen) == "Cup 3: silica"
    # The list of a jar and that of a cup tick the same line.
    screen.js("document.querySelectorAll('article.open .jar-list input')[4].click()")
    screen.driver.get("about:blank")
    screen.show(tide[0], SIZES[1], "#cup-5")
    order(screen, "cup")
    screen.js("location.hash = '#cup-5'")
    screen.until(lambda: screen.driver.find_elements(By.CSS_SELECTOR, "article.open"))
    boxes = screen.driver.find_elements(By.CSS_SELECTOR, "article.open .list:not(.jar-list) input")
    assert [box.is_selected() for box in boxes] == [False, True, False, False]


def test_a_second_tap_goes_into_no_other_cup(screen: Screen, tide: tuple[Path, dict[str, Any]]) -> None:
    screen.show(tide[0], SIZES[0])
    screen.press("Begin")
    # In one turn of the page: what is slow here must not let the moment pass.
    screen.js("document.querySelector('article.open .reading .primary').click();" * 4)
    assert head(screen) == "Cup 2: nepheline syenite"
    screen.free()
    assert head(screen) == "Cup 2: nepheline syenite"
    assert "Cup 1: 50.00 g nepheline syenite taken, ticked" in screen.one(".last").text
    # The way back is that of the cup that was filled last.
    screen.press("Undo")
    assert head(screen) == "Cup 1: nepheline syenite"
    assert "6 cups to go with this jar" in panel(screen)


def test_a_lot_is_asked_once_a_jar(screen: Screen, tide: tuple[Path, dict[str, Any]]) -> None:
    screen.show(tide[0], SIZES[0])
    screen.press("Begin")
    take(screen)
    # Written at the second cup: the first, which has none, gets it as well.
    screen.one(".options .lot input").send_keys("NS-1")
    take(screen, 3)
    assert screen.one(".options .lot input").get_attribute("value") == "NS-1"
    # A new bag for the last two.
    screen.js("document.querySelector('article.open .lot input').select()")
    screen.one(".options .lot input").send_keys("NS-2")
    take(screen, 2)
    assert screen.one(".options .lot input").get_attribute("value") == ""
    lots = screen.js(
        "return keeping.all().sort((a, b) => a.sheet.number - b.sheet.number).map((one) => one.state.lots[0])"
    )
    assert lots == ["NS-1", "NS-1", "NS-1", "NS-1", "NS-2", "NS-2"]


def test_too_much_in_one_cup_leaves_the_others_alone(
    screen: Screen, tide: tuple[Path, dict[str, Any]]
) -> None:
    screen.show(tide[0], SIZES[0])
    screen.press("Begin")
    take(screen, 7)
    assert head(screen) == "Cup 2: silica"
    enter(screen, "36")
    assert head(screen) == "Cup 2: Too much silica"
    assert "Make more: base 120 g" in panel(screen)
    screen.press("Make more")
    # The jar that is open goes on; what the larger cup lacks of earlier jars comes after the last one.
    assert head(screen) == "Cup 3: silica"
    assert asked(screen) == 30
    take(screen, 4 + 6 + 5)
    assert head(screen) == "Cup 2: nepheline syenite"
    assert "add on top" in panel(screen)
    assert asked(screen) == 10
    take(screen)
    assert "All cups are in" in screen.one(".handing").text


def test_a_slip_is_asked_about_and_the_mode_is_that_of_all_cups(
    screen: Screen, tide: tuple[Path, dict[str, Any]]
) -> None:
    screen.show(tide[0], SIZES[0])
    screen.press("Begin")
    enter(screen, "500")
    assert head(screen) == "Cup 1: Check the figure: nepheline syenite"
    screen.press("It showed 50.00")
    screen.js("document.querySelectorAll('article.open .modes input')[1].click()")
    take(screen, 5)
    assert "until the cup shows 80.00 g" in panel(screen)
    screen.driver.refresh()
    assert head(screen) == "Cup 1: silica"
    assert "until the cup shows 80.00 g" in panel(screen)


def test_another_window_goes_on_with_the_session(screen: Screen, tide: tuple[Path, dict[str, Any]]) -> None:
    screen.show(tide[0], SIZES[0])
    screen.press("Begin")
    take(screen)
    first = screen.driver.current_window_handle
    screen.driver.switch_to.new_window("tab")
    try:
        screen.driver.get(tide[0].as_uri())
        screen.press("Go on")
        assert head(screen) == "Cup 2: nepheline syenite"
        reading(screen).send_keys("50.3")
        screen.driver.switch_to.window(first)
        take(screen)
        screen.driver.switch_to.window(screen.driver.window_handles[-1])
        screen.until(lambda: head(screen) == "Cup 3: nepheline syenite")
        assert reading(screen).get_attribute("value") == ""
        assert "50.3 that stood here was not taken" in panel(screen)
        take(screen)
        screen.driver.switch_to.window(first)
        screen.until(lambda: head(screen) == "Cup 4: nepheline syenite")
    finally:
        screen.driver.switch_to.window(screen.driver.window_handles[-1])
        screen.driver.close()
        screen.driver.switch_to.window(first)


def test_the_same_batch_on_the_sheet_and_in_the_session(
    screen: Screen, run: Run, tmp_path: Path, tide: tuple[Path, dict[str, Any]]
) -> None:
    screen.show(tide[0], SIZES[0])
    screen.press("Begin")
    take(screen)
    assert run("convert", "--to", "html", "--out", "sheet.html", "tide.glost").returncode == 0
    screen.show(tmp_path / "sheet.html", SIZES[0], "#tide-test")
    screen.until(lambda: "silica" in panel(screen))


def test_two_files_of_one_name_are_two_cups(screen: Screen, run: Run, tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text(HOUSE, encoding="utf-8")
    for folder in ("", "old/"):
        (tmp_path / f"{folder}tide.glost").parent.mkdir(exist_ok=True)
        (tmp_path / f"{folder}tide.glost").write_text(TIDE.split("series", maxsplit=1)[0], encoding="utf-8")
    page, _ = session(run, tmp_path, "tide.glost", "old/tide.glost")
    screen.show(page, SIZES[0])
    screen.press("Begin")
    take(screen)
    assert head(screen) == "Cup 2: nepheline syenite"
    screen.driver.refresh()
    screen.drawn()
    boxes = screen.js("return [...document.querySelectorAll('.jar-pick')].map((one) => one.textContent)")
    assert isinstance(boxes, list)
    assert "1 of 2 in" in boxes[0]


@pytest.mark.parametrize("size", [*SIZES, DESK])
def test_nothing_is_cut_off_and_all_can_be_hit(
    screen: Screen, tide: tuple[Path, dict[str, Any]], size: tuple[int, int]
) -> None:
    screen.show(tide[0], size)
    small = (
        "return [document.documentElement.scrollWidth <= innerWidth,"
        " [...document.querySelectorAll('button, #choice a, .tick, .order label, .modes label, input[type=text]')]"
        "  .filter((it) => it.getClientRects().length)"
        "  .filter((it) => it.getBoundingClientRect().height < 44 || it.getBoundingClientRect().width < 44)"
        "  .map((it) => it.outerHTML.slice(0, 80))]"
    )
    assert screen.js(small) == [True, []]
    screen.js("document.querySelectorAll('.jar-pick')[3].click()")
    screen.drawn()
    assert head(screen) == "Cup 2: cobalt carbonate"
    assert screen.js(small) == [True, []]
    cut = screen.js(
        "return [...document.querySelectorAll("
        " 'article.open .now b, article.open .now .what, article.open .now button')]"
        " .filter((it) => it.getClientRects().length)"
        " .filter((it) => it.getBoundingClientRect().right > innerWidth || it.scrollWidth > it.clientWidth + 1"
        "  && getComputedStyle(it).display !== 'inline').map((it) => it.textContent)"
    )
    assert cut == []
    seen = screen.js(
        "const care = document.querySelector('article.open .careful').getBoundingClientRect();"
        "return Math.min(care.bottom, innerHeight) - Math.max(care.top, 0)"
    )
    assert isinstance(seen, int | float)
    assert seen >= 50
    # The panel stands whole in the window, or can be scrolled in itself.
    bottom = screen.js("return document.querySelector('article.open .now').getBoundingClientRect().bottom")
    assert isinstance(bottom, int | float)
    assert bottom <= size[1] + 1


@pytest.mark.slow
def test_the_whole_collection_is_short_and_every_figure_is_that_of_the_plan(
    screen: Screen, run: Run, tmp_path: Path
) -> None:
    page, data = session(run, tmp_path, str(STUDIO))
    screen.show(page, SIZES[0])
    height = screen.js("return document.documentElement.scrollHeight")
    assert isinstance(height, int)
    assert height < 10_000
    found = screen.js(
        "const { sheets, jars } = JSON.parse(document.getElementById('held').textContent);"
        "return [sheets.map((sheet) => sheet.lines.filter((line) => plans.weighs(line)).map((line) =>"
        " [line.material, line.target])), jars.map((jar) => [jar.material, jar.total])]"
    )
    assert isinstance(found, list)
    cups, jars = found
    assert [[[m, Decimal(g)] for m, g in cup] for cup in cups] == [
        [[line["material"], one["target_g"]] for line in cup["lines"] for one in line["weighings"]]
        for cup in data["cups"]
    ]
    assert [[m, Decimal(g)] for m, g in jars] == [[jar["material"], jar["total_g"]] for jar in data["jars"]]
    paper = screen.js(
        "return [...document.querySelectorAll('.orders > div')].map((order) =>"
        " [...order.querySelectorAll('[data-cup]')].map((row) =>"
        " [Number(row.dataset.cup) + 1, Number(row.dataset.line), row.querySelector('.grams').textContent]))"
    )
    assert isinstance(paper, list)
    by_jar, by_cup = paper
    assert sorted(by_jar) == sorted(by_cup)
    assert [[cup, Decimal(grams)] for cup, _, grams in by_jar] == [
        [pour["cup"], pour["target_g"]] for jar in data["jars"] for pour in jar["pours"]
    ]
    # The panel of a jar far down, and the search.
    screen.js("document.querySelectorAll('.jar-pick')[20].click()")
    screen.drawn()
    first = data["jars"][20]["pours"][0]
    assert head(screen) == f"Cup {first['cup']}: {data['jars'][20]['material']}"
    order(screen, "jar")
    screen.one("#find").send_keys("harbour mist storm")
    assert (
        len([it for it in screen.driver.find_elements(By.CSS_SELECTOR, ".places li") if it.is_displayed()])
        == 1
    )
    assert "One test is left." in said(screen)
    assert screen.complaints() == []


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
def test_on_paper(
    screen: Screen, tide: tuple[Path, dict[str, Any]], tmp_path: Path, paper: tuple[float, float]
) -> None:
    screen.show(tide[0], DESK)
    screen.press("Begin")
    take(screen)
    enter(screen, "50.1")
    pages = printed(screen.print(tmp_path / "session.pdf", paper))
    whole = " ".join(" ".join(pages).split())
    assert len(pages) > 2
    for number, text in enumerate(pages, 1):
        foot = " ".join(text.strip().splitlines()[-1].split())
        assert "6 tests to weigh, base by its recipe: Tide Test, not under version control" in foot
        assert f"page {number} of {len(pages)}" in foot
    for words in ("Map of the cups", "Jar by jar", "Cup by cup", "weighed", "50.1"):
        assert words in whole
    assert "On target" not in whole
    # No head alone at the foot of a page.
    for text in pages:
        *_, last, _ = text.strip().splitlines()
        assert not {"grams", "then", "weighed"} <= set(last.split())
        assert "in all" not in last


def test_what_to_fetch_is_ticked_on_its_line(screen: Screen, tide: tuple[Path, dict[str, Any]]) -> None:
    """On paper a row of what to fetch is one line of writing, and its box stands on it."""
    screen.show(tide[0], DESK)
    screen.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        rows = screen.js(
            "return [...document.querySelector('.set-out table').querySelectorAll('tbody tr')]"
            ".map((row) => [row, ...row.cells].map((it) => it.getBoundingClientRect()))"
            ".map(([row, ...cells]) => [row.height * 25.4 / 96, ...cells.map((it) => it.bottom)])"
        )
    finally:
        screen.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    assert isinstance(rows, list)
    assert len(rows) == len(tide[1]["pull"])
    for height, *bottoms in rows:
        assert height <= 8.5
        assert max(bottoms) - min(bottoms) < 1


def test_paper_names_the_vessel_that_a_larger_cup_goes_on_in(
    screen: Screen, run: Run, tmp_path: Path
) -> None:
    """192 g, then 168 g and 120 g in two vessels of at most 300 g. 210 g in the place of 192 g make it 35/32 of that:
    183.75 g of silica leave no room for 131.25 g of kaolin, which go into a third."""
    (tmp_path / "glost.yaml").write_text(HOUSE.replace("100 g", "480 g"), encoding="utf-8")
    text = TIDE.replace("syenite   50", "syenite   40").replace("silica              30", "silica  35")
    (tmp_path / "tide.glost").write_text(
        text.replace("kaolin              20", "kaolin  25"), encoding="utf-8"
    )
    made, _ = session(run, tmp_path, "tide.glost")
    screen.show(made, DESK)
    places = (
        "return [...document.querySelectorAll('tr[data-cup=\"0\"]')].map((row) =>"
        " ['grams', 'into'].map((name) => row.querySelector(`[data-fill=${name}]`).textContent))"
    )
    planned = screen.js(places)
    assert isinstance(planned, list)
    assert {tuple(row) for row in planned} == {
        ("192.00", "vessel 1"),
        ("168.00", "vessel 2"),
        ("120.00", "vessel 2"),
    }
    screen.press("Begin")
    assert head(screen) == "Cup 1: nepheline syenite"
    enter(screen, "210")
    screen.press("Make more")
    screen.print(tmp_path / "session.pdf", A4)
    rows = screen.js(places)
    assert isinstance(rows, list)
    assert {tuple(row) for row in rows} == {
        ("210.00", "vessel 1"),
        ("183.75", "vessel 2"),
        ("131.25", "vessel 3"),
    }
    assert screen.complaints() == []


def figures_now(screen: Screen) -> dict[str, list[str]]:
    """Every figure of the session that a larger cup changes, as it stands on the page."""
    found = screen.js(
        """const found = {};
        for (const place of document.querySelectorAll('#choice [data-now]')) {
            const name = `${place.dataset.now} ${place.dataset.of}`;
            (found[name] = found[name] || []).push(place.textContent.replaceAll('\\u00a0', ' '));
        }
        return found;"""
    )
    assert isinstance(found, dict)
    return found


def test_what_to_set_out_and_to_fetch_is_that_of_the_larger_cup(
    screen: Screen, run: Run, tmp_path: Path
) -> None:
    """Two cups of 480 g. 210 g in the place of 192 g of the first make it 35/32 of that, 525 g: 210, 183.75 and 131.25
    g, which go into three vessels of at most 300 g in the place of two. With 2.4 g of cobalt the second holds 482.4 g.
    Water is 60 % of each, and 5 % more are fetched, rounded up to 0.01 g."""
    (tmp_path / "glost.yaml").write_text(HOUSE.replace("100 g", "480 g"), encoding="utf-8")
    text = TIDE.replace("syenite   50", "syenite   40").replace("silica              30", "silica  35")
    text = text.replace("kaolin              20", "kaolin  25").replace("0.5, 1, 1.5, 2, 3", "0.5")
    (tmp_path / "tide.glost").write_text(text, encoding="utf-8")
    made, _ = session(run, tmp_path, "tide.glost")
    screen.show(made, DESK)
    planned = figures_now(screen)
    assert planned["mass 1"] == ["480.00 g"] * 2  # the map, and the list of the cup on paper
    assert planned["water 1"] == ["288 g"] * 2
    assert planned["vessels 1"] == [
        "cup 1 is 2 vessels on 'fine', of 192.00 g, 288.00 g, tipped together in the end"
    ]
    assert planned["fullest 0"] == ["482.40 g"]
    assert planned["all-water 0"] == ["577 g"]
    assert planned["sum 1"] == [
        "384.00 g",
        "384.00",
        "384.00 g",
    ]  # the jars, what to fetch, the list on paper
    assert planned["fetch 1"] == ["403.20"]
    assert screen.js("return document.querySelector('.grown').hidden")
    screen.press("Begin")
    enter(screen, "210")
    screen.press("Make more")
    now = figures_now(screen)
    assert now["mass 1"] == ["525.00 g"] * 2
    assert now["water 1"] == ["315 g"] * 2
    assert now["vessels 1"] == [
        "cup 1, made larger, is 3 vessels on 'fine', of 210.00 g, 183.75 g, 131.25 g, tipped together in the end"
    ]
    assert now["fullest 0"] == ["525.00 g"]
    assert now["all-water 0"] == ["604 g"]
    assert now["sum 1"] == ["402.00 g", "402.00", "402.00 g"]
    assert now["fetch 1"] == ["422.10"]
    # The cup beside it, and what it alone takes, are as they were planned.
    for name in ("mass 2", "water 2", "vessels 2", "sum 4", "fetch 4"):
        assert now[name] == planned[name]
    screen.js("location.hash = ''")
    screen.until(lambda: screen.js("return document.querySelector('.grown').offsetParent !== null"))
    assert "Made larger: cup 1 (base 525 g, 525.00 g in all)" in screen.one(".grown").text
    paper = " ".join(" ".join(printed(screen.print(tmp_path / "session.pdf", A4))).split())
    assert "210.00 g, 183.75 g, 131.25 g" in paper
    assert "192.00 g, 288.00 g, tipped" not in paper
    # Undone, all of it is as it was planned.
    screen.press("Go on")
    screen.press("Undo")
    assert figures_now(screen) == planned
    assert screen.js("return document.querySelector('.grown').hidden")
    assert screen.complaints() == []


def test_a_cup_that_had_one_vessel_is_told_where_it_needs_another(
    screen: Screen, run: Run, tmp_path: Path
) -> None:
    """250 g, made half as large again: 375 g, of which 300 g find room on the balance."""
    (tmp_path / "glost.yaml").write_text(HOUSE.replace("100 g", "250 g"), encoding="utf-8")
    (tmp_path / "tide.glost").write_text(TIDE.partition("series")[0], encoding="utf-8")
    (tmp_path / "ebb.glost").write_text(TIDE.partition("series")[0].replace("Tide", "Ebb"), encoding="utf-8")
    made, _ = session(run, tmp_path, "tide.glost", "ebb.glost")
    screen.show(made, DESK)
    assert figures_now(screen)["vessels 1"] == [""]
    screen.press("Begin")
    enter(screen, "187.5")
    screen.press("Make more")
    assert figures_now(screen)["vessels 1"] == [
        "cup 1, made larger, is 2 vessels on 'fine', of 300.00 g, 75.00 g, tipped together in the end"
    ]


def test_what_another_window_did_is_not_undone_beside_the_word_of_it(
    screen: Screen, tide: tuple[Path, dict[str, Any]]
) -> None:
    screen.show(tide[0], SIZES[0])
    screen.press("Begin")
    take(screen)
    assert screen.one("article.open .last button:not([hidden])").text == "Undo"
    here = screen.driver.current_window_handle
    screen.driver.switch_to.new_window("window")
    screen.driver.get(tide[0].as_uri())
    screen.press("Go on")
    take(screen)
    screen.driver.close()
    screen.driver.switch_to.window(here)
    screen.until(lambda: "Another window has gone on" in panel(screen))
    undo = (
        "return [...document.querySelectorAll('article.open .last button')].filter((one) => one.offsetParent)"
        ".map((one) => one.textContent)"
    )
    assert screen.js(undo) == []
    # What is done next here can be undone here.
    take(screen)
    assert screen.js(undo) == ["Undo"]
