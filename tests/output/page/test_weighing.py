"""Weighing a batch from the page, in a real browser: what a potter does, what is kept, what is saved."""

from __future__ import annotations

import json
import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.remote.webelement import WebElement

from glost.output.format import Revision
from glost.output.formats import html
from glost.recipe.fields import Quantity
from glost.recipe.recipe import Ingredient, Recipe, Variation
from glost.recipe.settings import Settings
from glost.weighing.balance import Balance
from tests.conftest import Run
from tests.output.convert.bench import FINE, FLOOR, job_of, recipe_of
from tests.output.page.conftest import DESK, PHONE, Screen

D = Decimal
SCHEMA = json.loads((Path(__file__).parents[3] / "schema" / "record.schema.json").read_text("utf-8"))
EBB = """\
glaze "Ebb Test"
cone: 6
atmosphere: oxidation
batch: 500 g
water: 60 %

base:
    nepheline syenite    40
    silica               30
    kaolin               30

additions:
    tin oxide             5  (sift in last)

handling:
    tin oxide: no dust.
"""
HOUSE = Settings(balances=(FLOOR,))


def page(tmp_path: Path, text: str = EBB, settings: Settings = HOUSE, name: str = "page.html") -> Path:
    target = tmp_path / name
    job = job_of(recipe_of(text), settings, "ebb.glost", Revision("a1b2c3d", changed=False))
    target.write_text(html.write([job]), encoding="utf-8")
    return target


def reading(screen: Screen) -> WebElement:
    return screen.one(".now .reading input")


def enter(screen: Screen, figure: str) -> None:
    screen.free()
    reading(screen).send_keys(figure, Keys.ENTER)


def panel(screen: Screen) -> str:
    return " ".join(screen.one(".now").text.split())


def said(screen: Screen) -> str:
    return str(screen.js("return document.querySelector('[aria-live]').textContent"))


def saved(screen: Screen) -> dict[str, Any]:
    """The one record among the downloads, with its numbers exact."""
    screen.until(lambda: list(screen.downloads.glob("*.json")))
    [file] = screen.downloads.glob("*.json")
    record: dict[str, Any] = json.loads(file.read_text("utf-8"), parse_float=D, parse_int=D)
    plain = json.loads(file.read_text("utf-8"))
    checker = Draft202012Validator(SCHEMA, format_checker=Draft202012Validator.FORMAT_CHECKER)
    assert list(checker.iter_errors(plain)) == []
    return record


def save(screen: Screen) -> None:
    """Saves the record; where the page asks for a name, without one."""
    screen.press("Save record")
    if screen.js("return document.querySelector('dialog[open]') !== null"):
        screen.press("Without a name")


@pytest.mark.parametrize("size", [PHONE, DESK])
def test_a_batch_from_the_first_line_to_the_record(
    screen: Screen, tmp_path: Path, size: tuple[int, int], run: Run
) -> None:
    sheet = page(tmp_path)
    screen.show(sheet, size)
    assert screen.js("return document.documentElement.scrollWidth <= window.innerWidth")
    assert "nepheline syenite" in panel(screen)
    assert "weigh in 200.0 g cup then holds 200.0 g" in panel(screen)

    # A little off, but within the tolerance: the cup goes on from what is really in it.
    enter(screen, "200,4")
    assert "silica" in panel(screen)
    assert "weigh in 150.0 g cup then holds 350.4 g" in panel(screen)
    assert "200.4 g, read: 0.4 g over, 0.2 % off: within 2 %" in screen.one("li.done .result").text
    assert "Next: silica, weigh in 150.0 g, cup then holds 350.4 g." in said(screen)

    # Too much silica, read off the whole cup.
    screen.js("arguments[0].click()", screen.driver.find_elements(By.CSS_SELECTOR, ".modes input")[1])
    assert "until the cup shows 350.4 g" in panel(screen)
    reading(screen).send_keys("365.4")
    assert "15.0 g too much, 10 % over: outside 2 %" in screen.one(".verdict").text
    reading(screen).send_keys(Keys.ENTER)
    assert "Too much silica" in panel(screen)
    assert "Make more: base 550 g" in panel(screen)
    assert "19.6 g more nepheline syenite" in panel(screen)
    assert "165.0 g kaolin" in panel(screen)

    # A reload in the middle of it finds everything where it was.
    screen.driver.refresh()
    assert "Too much silica" in panel(screen)
    screen.press("Make more")
    assert "nepheline syenite" in panel(screen)
    assert "until the cup shows 385.0 g add on top 19.6 g" in panel(screen)
    assert "base 550 g instead of 500 g" in screen.one(".bench .notice").text
    assert "for the larger batch 346 g" in screen.one(".water").text
    screen.press("On target")
    assert "kaolin" in panel(screen)
    enter(screen, "550.0")
    assert "tin oxide" in panel(screen)
    assert "27.5 g" in panel(screen)
    screen.driver.refresh()
    enter(screen, "577.5")
    assert "All is in" in panel(screen)
    assert "Water: 346 g, 60 % of what is in." in panel(screen)

    screen.press("On to the record")
    for label, text in (
        ("Weighed by", "R."),
        ("Project", "shelf tests"),
        ("Water poured in, grams", "350"),
        ("Remarks", "lumps <b>&"),
    ):
        field = screen.driver.find_element(By.XPATH, f"//label[.='{label}']/following-sibling::*")
        field.send_keys(text)
    screen.js("document.querySelector('.record details').open = true")
    screen.driver.find_element(By.XPATH, "//label[.='Lot of silica']/following-sibling::*").send_keys("K 7")
    save(screen)
    record = saved(screen)
    assert screen.complaints() == []
    assert record["recorded_at"][19] in "+-"
    day = record.pop("recorded_at")[:10]
    lines = record.pop("lines")
    [rescue] = record.pop("rescues")
    assert rescue.pop("at")[:10] == day
    assert rescue == {
        "material": "silica",
        "target_g": D(150),
        "actual_g": D(165),
        "base_mass_g": D(550),
    }
    assert record == {
        "version": 3,
        "kind": "glost record",
        "weighed_on": day,
        "planned": {"base_mass_g": D(500), "total_mass_g": D(525)},
        "person": "R.",
        "project": "shelf tests",
        "recipe": "Ebb Test",
        "test": "",
        "file": "ebb.glost",
        "revision": {"text": "a1b2c3d", "changed": False},
        "uses": [],
        "batch": {"base_mass_g": D(550), "total_mass_g": D("577.5")},
        "water_g": D(350),
        "sieve": "",
        "remarks": "lumps <b>&\nMade larger for silica: base 550 g instead of 500 g.",
        "checked_by": "",
        "total_actual_g": D("577.5"),
    }
    assert [(it["material"], it["base"], str(it["target_g"]), str(it["actual_g"])) for it in lines] == [
        ("nepheline syenite", True, "220.0", "220.0"),
        ("silica", True, "165.0", "165.0"),
        ("kaolin", True, "165.0", "165.0"),
        ("tin oxide", False, "27.5", "27.5"),
    ]
    assert [str(it["planned_g"]) for it in lines] == ["200.0", "150.0", "150.0", "25.0"]
    # The top-up was ticked, the rest was read off the balance.
    assert [it["taken"] for it in lines] == ["partly", "read", "read", "read"]
    assert [it["at"][:10] for it in lines] == [day] * 4
    assert [it["lot"] for it in lines] == ["", "K 7", "", ""]
    assert {it["balance"] for it in lines} == {"floor"}

    # What the page saved goes into the log, and from there into what was used.
    studio = tmp_path / "studio"
    studio.mkdir()
    (studio / "glost.yaml").write_text("name: invented\n")
    [file] = [it for it in screen.downloads.iterdir() if it.suffix == ".json"]
    written = run("record", str(file), cwd=studio)
    assert written.returncode == 0, written.stderr
    assert len(list((studio / "log").rglob("*.batch"))) == 1
    used = run("usage", "--output", "json", cwd=studio)
    assert used.returncode == 0, used.stderr
    assert all(name in used.stdout for name in ("silica", "nepheline syenite", "kaolin", "tin oxide"))
    assert "165" in used.stdout


def test_a_tick_is_a_line_on_target_and_can_be_taken_back(screen: Screen, tmp_path: Path) -> None:
    screen.show(page(tmp_path))
    boxes = screen.driver.find_elements(By.CSS_SELECTOR, ".lines input")
    for box in boxes[:3]:
        screen.free()
        screen.js("arguments[0].click()", box)
    screen.free()
    assert "weigh in 25.0 g cup then holds 525.0 g" in panel(screen)
    assert "sift in last" in screen.driver.find_elements(By.CSS_SELECTOR, "li.line")[3].text
    assert "no dust." in screen.one(".now .careful").text
    screen.js("arguments[0].click()", boxes[1])
    assert "silica is open again; 150.0 g was written down." in said(screen)
    assert "weigh in 150.0 g cup then holds 500.0 g" in panel(screen)
    screen.press("Undo")
    assert "tin oxide" in panel(screen)
    assert boxes[1].is_selected()


def test_too_little_stays_open_until_it_is_enough_or_left(screen: Screen, tmp_path: Path) -> None:
    screen.show(page(tmp_path))
    enter(screen, "150")
    assert "nepheline syenite" in panel(screen)
    assert "▼ 50.0 g still to go, 25 % short: outside 2 %" in panel(screen)
    enter(screen, "199.9")
    assert "silica" in panel(screen)
    enter(screen, "100")
    screen.press("Leave it at 100.0 g")
    assert "weigh in 150.0 g cup then holds 449.9 g" in panel(screen)
    assert "kaolin" in panel(screen)


def test_an_excess_can_be_left_or_weighed_again(screen: Screen, tmp_path: Path) -> None:
    screen.show(page(tmp_path))
    enter(screen, "220")
    screen.press("Weigh it again")
    assert "weigh in 200.0 g" in panel(screen)
    enter(screen, "220")
    screen.press("Leave it")
    assert "weigh in 150.0 g cup then holds 370.0 g" in panel(screen)
    assert "▲ 220.0 g, read: 20.0 g too much" in screen.one("li.done .result").text
    # More of what is within the tolerance is no overshoot.
    enter(screen, "152.9")
    assert "kaolin" in panel(screen)


def test_figures_that_cannot_be(screen: Screen, tmp_path: Path) -> None:
    screen.show(page(tmp_path))
    enter(screen, "2oo")
    assert "Write what the balance shows, in grams, such as 12.5." in screen.one(".verdict").text
    assert reading(screen).get_attribute("aria-invalid") == "true"
    assert screen.one(".reading button").text == "Not a figure"
    reading(screen).clear()
    enter(screen, "200")
    screen.js("arguments[0].click()", screen.driver.find_elements(By.CSS_SELECTOR, ".modes input")[1])
    enter(screen, "150")
    # Less than the cup holds, but all that this line asks for: the balance was tared.
    assert "150 is about this line alone (150.0 g); the whole cup would show 350.0 g." in panel(screen)
    screen.press("Correct the figure")
    reading(screen).clear()
    enter(screen, "20")
    assert "The cup holds 200.0 g already." in screen.one(".verdict").text
    assert screen.one(".reading button").text == "Not a figure"
    assert "silica" in panel(screen)


def test_a_line_on_a_finer_balance_is_weighed_apart(screen: Screen, tmp_path: Path) -> None:
    text = EBB.replace("tin oxide             5", "cobalt carbonate      0.13").replace(
        "tin oxide", "cobalt carbonate"
    )
    screen.show(page(tmp_path, text.replace("500 g", "2 kg"), Settings(balances=(FINE, FLOOR))))
    screen.js("arguments[0].click()", screen.driver.find_elements(By.CSS_SELECTOR, ".modes input")[1])
    for _ in range(3):
        screen.press("On target")
    assert "weigh apart on ‘fine’, in a cup of its own; tip it in when the running total is done" in panel(
        screen
    )
    assert "weigh in 2.60 g" in panel(screen)
    assert "then holds" not in panel(screen)
    assert "cup shows" not in panel(screen)
    assert not screen.driver.find_elements(By.CSS_SELECTOR, ".modes input")[0].is_enabled()
    assert screen.driver.find_elements(By.CSS_SELECTOR, "li.line .running")[-1].text == "apart"
    enter(screen, "2.63")
    assert "All is in 2002.63 g dry" in panel(screen)


SMALL = Settings(balances=(Balance("bench", D(3000), D(1), cup_g=D(100)),))
GRAMS = re.compile(r"([0-9]+(?:\.[0-9]+)?) g|(?:cup|vessel [0-9]+:) ([0-9]+(?:\.[0-9]+)?)")


def figures(screen: Screen) -> list[float]:
    """Every mass that a display is to show: in the panel, and beside the lines."""
    shown = [screen.one(".now .figures").text]
    shown += [
        it.text for it in screen.driver.find_elements(By.CSS_SELECTOR, "li.line .running, li.line .grams")
    ]
    return [float(one or other) for text in shown for one, other in GRAMS.findall(text)]


@pytest.mark.parametrize("mode", [0, 1])
def test_a_batch_over_vessels(screen: Screen, tmp_path: Path, mode: int) -> None:
    """9 kg on a balance with room for 2900 g: each line in portions, no figure above what the display can show."""
    screen.show(page(tmp_path, EBB.replace("500 g", "9 kg"), SMALL))
    screen.js("arguments[0].click()", screen.driver.find_elements(By.CSS_SELECTOR, ".modes input")[mode])
    met = []
    for _ in range(5):
        assert max(figures(screen)) <= 2900
        met.append(f"{screen.one('.now .what').text}, {screen.one('.now .where').text}")
        screen.press("On target")
    assert met == [
        "nepheline syenite, portion 1 of 2, vessel 1: tare it empty · 5 to go",
        "nepheline syenite, portion 2 of 2, vessel 2: tare it empty · 4 to go",
        "silica, vessel 3: tare it empty · 3 to go",
        "kaolin, vessel 4: tare it empty · 2 to go",
        "tin oxide, vessel 5: tare it empty · the last line",
    ]
    assert "All is in 9450 g dry" in panel(screen)


def test_a_larger_batch_goes_on_in_further_vessels(screen: Screen, tmp_path: Path) -> None:
    """2.7 kg stand in one vessel of 2900 g; made larger, what has no room there goes into another."""
    screen.show(page(tmp_path, EBB.replace("500 g", "2700 g"), SMALL))
    screen.js("arguments[0].click()", screen.driver.find_elements(By.CSS_SELECTOR, ".modes input")[1])
    screen.press("On target")
    enter(screen, f"{1080 + 1000}")
    assert "Too much silica" in panel(screen)
    screen.press("Make more")
    for _ in range(10):
        if "All is in" in panel(screen):
            break
        assert max(figures(screen)) <= 2900
        screen.press("On target")
    assert "All is in" in panel(screen)
    assert "vessel 2" in " ".join(
        it.text for it in screen.driver.find_elements(By.CSS_SELECTOR, "li.line .running")
    )
    assert screen.complaints() == []


def test_the_record_has_a_parted_line_as_one(screen: Screen, tmp_path: Path) -> None:
    screen.show(page(tmp_path, EBB.replace("500 g", "9 kg"), SMALL))
    enter(screen, "1790")
    while "All is in" not in panel(screen):
        screen.press("On target")
    save(screen)
    record = saved(screen)
    assert [(it["material"], it["target_g"], it["actual_g"]) for it in record["lines"]] == [
        ("nepheline syenite", 3600, 3590),
        ("silica", 2700, 2700),
        ("kaolin", 2700, 2700),
        ("tin oxide", 450, 450),
    ]
    assert record["total_actual_g"] == 9440


def test_a_batch_that_nothing_carries_is_not_led_through(screen: Screen, tmp_path: Path) -> None:
    screen.show(page(tmp_path, EBB.replace("500 g", "900 kg"), SMALL))
    assert "This batch cannot be weighed: ‘bench’" in screen.one(".warning").text.replace(
        "'", "‘", 1
    ).replace("'", "’", 1)
    assert not screen.driver.find_elements(By.CSS_SELECTOR, ".now")
    assert screen.complaints() == []


def test_more_of_one_material_is_taken_up_by_its_other_line(screen: Screen, tmp_path: Path) -> None:
    text = EBB.replace("tin oxide", "kaolin").replace("    kaolin: no dust.", "    all: no dust.")
    screen.show(page(tmp_path, text))
    for _ in range(2):
        screen.press("On target")
    enter(screen, "160")
    assert "The same material comes again below" in panel(screen)
    screen.press("Take it up further down")
    assert "weigh in 15.0 g cup then holds 525.0 g" in panel(screen)


def test_a_batch_that_the_balance_no_longer_carries(screen: Screen, tmp_path: Path) -> None:
    screen.show(page(tmp_path, settings=Settings(balances=(Balance("small", D(560), D("0.1")),))))
    enter(screen, "220")
    assert "That is more than the balance ‘small’ carries" in panel(screen)


def test_start_over_asks_first_and_can_be_undone(screen: Screen, tmp_path: Path) -> None:
    screen.show(page(tmp_path))
    enter(screen, "200")
    screen.press("Start over")
    screen.press("Keep them")
    assert "silica" in panel(screen)
    screen.press("Start over")
    screen.press("Clear and start over")
    assert "nepheline syenite" in panel(screen)
    screen.press("Undo: bring them back")
    assert "silica" in panel(screen)
    screen.press("Start over")
    screen.press("Clear and start over")
    screen.driver.refresh()
    assert "nepheline syenite" in panel(screen)
    # What was cleared stands on the shelf, and can be gone on with.
    screen.js("document.querySelector('.shelf details').open = true")
    screen.one(".shelf a").click()
    screen.until(lambda: "silica" in panel(screen))


def test_what_is_kept_belongs_to_a_file_and_what_it_asks_for(screen: Screen, tmp_path: Path) -> None:
    screen.show(page(tmp_path))
    enter(screen, "200")
    screen.show(page(tmp_path, EBB.replace("500 g", "400 g"), name="other.html"))
    assert "nepheline syenite" in panel(screen)
    # The recipe has changed: the old figures are not put to the new lines, and are not lost.
    changed = page(
        tmp_path, EBB.replace("silica               30", "silica               29"), name="new.html"
    )
    screen.show(changed)
    assert "nepheline syenite" in panel(screen)
    enter(screen, "200")
    screen.show(page(tmp_path))
    assert "silica" in panel(screen)
    # Another revision of the same targets, or a page made from another folder, goes on where the first one was.
    job = job_of(recipe_of(EBB), HOUSE, "studio/ebb.glost", Revision("0ddba11", changed=True))
    again = tmp_path / "again.html"
    again.write_text(html.write([job]), encoding="utf-8")
    screen.show(again)
    assert "weigh in 150.0 g cup then holds 350.0 g" in panel(screen)


def test_an_unfinished_batch_is_recorded_as_it_is(screen: Screen, tmp_path: Path) -> None:
    screen.show(page(tmp_path))
    enter(screen, "200")
    save(screen)
    record = saved(screen)
    assert [it["actual_g"] for it in record["lines"]] == [D(200), None, None, None]
    assert record["total_actual_g"] is None
    assert "3 lines have no figure yet" in screen.one(".record .notice").text


def test_several_tests_in_one_file(screen: Screen, tmp_path: Path) -> None:
    sheet = page(tmp_path, EBB + '\nvariation "storm":\n    tin oxide   8\n')
    screen.show(sheet)
    links = screen.driver.find_elements(By.CSS_SELECTOR, "#choice > ul a")
    assert links_text(screen) == ["Ebb Test, as it stands", "Ebb Test, storm: tin oxide 8"]
    assert not screen.driver.find_elements(By.CSS_SELECTOR, ".now")
    links[1].click()
    screen.until(lambda: "storm" in screen.driver.title)
    assert screen.one("article.sheet h2").text.split("\n") == ["Ebb Test", "storm: tin oxide 8"]
    assert screen.js("return document.activeElement.tagName") == "H2"
    screen.press("On target")
    screen.driver.refresh()
    assert "silica" in panel(screen)
    screen.js("window.scrollTo(0, 0)")
    screen.one(".back").click()
    assert "1 of 4 in" in links_text(screen)[1]
    assert screen.js("return document.activeElement.getAttribute('href')") == "#ebb-test/storm"


def links_text(screen: Screen) -> list[str]:
    return [
        " ".join(link.text.split()) for link in screen.driver.find_elements(By.CSS_SELECTOR, "#choice > ul a")
    ]


def test_nothing_but_the_keyboard(screen: Screen, tmp_path: Path) -> None:
    screen.show(page(tmp_path), DESK)
    keys = screen.driver.switch_to.active_element

    def active() -> str:
        return str(
            screen.js(
                "const a = document.activeElement;"
                "return a.getAttribute('aria-label') || (a.role === 'group' ? a.role : a.textContent) || a.id"
            )
        )

    def tab_to(words: str, back: bool = False) -> None:
        for _ in range(60):
            if words in active():
                return
            screen.driver.switch_to.active_element.send_keys(Keys.SHIFT + Keys.TAB if back else Keys.TAB)
        raise AssertionError(f"no way to {words} by Tab")

    keys.send_keys(Keys.TAB)
    tab_to("nepheline syenite, 200.0 g, is in")
    screen.driver.switch_to.active_element.send_keys(Keys.SPACE)
    assert "silica" in panel(screen)
    tab_to("reading-1")
    screen.driver.switch_to.active_element.send_keys("165", Keys.ENTER)
    # A second Enter must not choose for the potter.
    screen.driver.switch_to.active_element.send_keys(Keys.ENTER)
    assert "Too much silica" in panel(screen)
    tab_to("Make more")
    screen.free()
    screen.driver.switch_to.active_element.send_keys(Keys.ENTER)
    screen.free()
    tab_to("On target")
    for _ in range(3):
        screen.free()
        screen.driver.switch_to.active_element.send_keys(Keys.ENTER)
    assert "All is in" in panel(screen)
    screen.free()
    assert "On to the record" in active()
    screen.driver.switch_to.active_element.send_keys(Keys.ENTER)
    assert active() == "Record"
    tab_to("Start over")
    screen.driver.switch_to.active_element.send_keys(Keys.ENTER)
    assert "Keep them" in active()
    screen.driver.switch_to.active_element.send_keys(Keys.ESCAPE)
    assert "All is in" in panel(screen)


_FAULTS = """
const seen = (it) => it.getClientRects().length > 0;
const names = (it) =>
  it.getAttribute("aria-label") || [...(it.labels || [])].map((label) => label.textContent).join(" ") ||
  it.textContent.trim();
const diagnostics = [];
const ids = [...document.querySelectorAll("[id]")].map((it) => it.id);
if (new Set(ids).size !== ids.length) diagnostics.push("an id twice");
for (const it of document.querySelectorAll("[aria-labelledby], [aria-describedby], label[for]")) {
  for (const name of ["aria-labelledby", "aria-describedby", "for"]) {
    const id = it.getAttribute(name);
    if (id && !document.getElementById(id)) diagnostics.push(`${name} of nothing: ${id}`);
  }
}
for (const it of [...document.querySelectorAll("button, input, textarea, summary, a")].filter(seen)) {
  if (!names(it)) diagnostics.push(`no name: ${it.outerHTML}`);
  const target = it.type === "checkbox" || it.type === "radio" ? it.closest("label") : it;
  const { width, height } = target.getBoundingClientRect();
  if (width < 44 || height < 44) diagnostics.push(`small: ${names(it)} ${width} x ${height}`);
}

function channel(value) {
  const part = value / 255;
  return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
}
const figures = (colour) => colour.match(/[0-9.]+/g).map(Number);
const light = (colour) => {
  const [red, green, blue] = figures(colour).map(channel);
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
};
function ground(it) {
  for (let at = it; at; at = at.parentElement) {
    const colour = getComputedStyle(at).backgroundColor;
    if (figures(colour)[3] !== 0) return colour;
  }
  return "rgb(255, 255, 255)";
}
const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
while (walker.nextNode()) {
  const it = walker.currentNode.parentElement;
  if (!walker.currentNode.textContent.trim() || !seen(it) || it.closest(":disabled, .unseen")) continue;
  const [one, two] = [light(getComputedStyle(it).color), light(ground(it))];
  const contrast = (Math.max(one, two) + 0.05) / (Math.min(one, two) + 0.05);
  if (contrast < 4.5) diagnostics.push(`contrast ${contrast.toFixed(2)}: ${it.textContent}`);
}
return diagnostics;
"""


# Source of the contrast: WCAG 2.1, success criterion 1.4.3 and "relative luminance", from memory. Of the size of
# what is touched: 44 px, success criterion 2.5.5.
@pytest.mark.parametrize("size", [PHONE, DESK])
def test_names_sizes_and_contrast(screen: Screen, tmp_path: Path, size: tuple[int, int]) -> None:
    sheet = page(tmp_path, EBB + '\nvariation "storm":\n    tin oxide   8\n    red lead  0.01\n')
    screen.show(sheet, size)
    assert screen.js(_FAULTS) == []
    screen.show(sheet, size, "#ebb-test/storm")
    for figure in ("200.2", "100", "165", None, "", "", ""):
        assert screen.js(_FAULTS) == []
        if figure is None:
            screen.js("document.querySelector('.record details').open = true")
            continue
        screen.free()
        if figure:
            enter(screen, figure)
        elif "Too much" in panel(screen):
            screen.press("Leave it")
        else:
            screen.press("On target")
    assert screen.js(_FAULTS) == []
    assert screen.js("return [...document.querySelectorAll('[role=status]')].length >= 1")


def test_the_policy_lets_nothing_out_and_nothing_in(screen: Screen, tmp_path: Path) -> None:
    screen.show(page(tmp_path))
    assert screen.complaints() == []
    blocked = screen.driver.execute_async_script(
        """
        const done = arguments[arguments.length - 1];
        const seen = [];
        document.addEventListener("securitypolicyviolation", (event) => seen.push(event.effectiveDirective));
        fetch("http://127.0.0.1:9/").catch(() => {});
        document.body.append(Object.assign(new Image(), { src: "http://127.0.0.1:9/a.png" }));
        const script = document.createElement("script");
        script.textContent = "window.came = 1";
        document.body.append(script);
        const form = document.createElement("form");
        form.action = "http://127.0.0.1:9/";
        document.body.append(form);
        form.submit();
        setTimeout(() => done([seen.sort().join(" "), typeof window.came]), 300);
        """
    )
    assert blocked == ["connect-src form-action img-src script-src-elem", "undefined"]


HOSTILE = "</script><img src=x onerror=window.came=1>&quot;'\"`${1}"


def test_hostile_names_are_text(screen: Screen, tmp_path: Path) -> None:
    recipe = Recipe(
        "glaze",
        HOSTILE,
        {"colour": HOSTILE, "origin": f"{HOSTILE}\n\u202e{HOSTILE}"},
        base=(
            Ingredient(HOSTILE, None, Quantity(D(60), ""), HOSTILE),
            Ingredient("silica", "silica", Quantity(D(40), "")),
        ),
        variations=(
            Variation(HOSTILE, (Ingredient("tin oxide", "tin oxide", Quantity(D(2), ""), HOSTILE),)),
        ),
        notes=HOSTILE,
    )
    house = Settings(
        balances=(Balance(HOSTILE, D(3000), D("0.1")),), handling={HOSTILE: HOSTILE, "all": HOSTILE}
    )
    target = tmp_path / "hostile.html"
    target.write_text(
        html.write([job_of(recipe, house, f"{HOSTILE}.glost", Revision(HOSTILE, changed=True))]),
        encoding="utf-8",
    )
    screen.show(target)
    assert screen.js("return document.querySelector('#choice h2').textContent") == HOSTILE
    links = "return document.querySelectorAll('#choice > ul a')[1].getAttribute('href')"
    screen.show(target, part=str(screen.js(links)))
    assert HOSTILE in screen.one("article.sheet h2").text
    assert HOSTILE in panel(screen)
    enter(screen, "70")
    assert f"Too much {HOSTILE}" in panel(screen)
    screen.press("Make more")
    save(screen)
    record = saved(screen)
    assert (record["recipe"], record["test"]) == (HOSTILE, HOSTILE)
    assert (record["lines"][0]["name"], record["lines"][0]["balance"]) == (HOSTILE, HOSTILE)
    assert screen.js("return typeof window.came") == "undefined"
    assert screen.js("return document.images.length") == 0
    assert "\u202e" not in str(screen.js("return document.body.innerText"))
    assert screen.complaints() == []


def test_without_the_script_the_page_reads_all_the_same(screen: Screen, tmp_path: Path) -> None:
    sheet = page(tmp_path, EBB + '\nvariation "storm":\n    tin oxide   8\n')
    screen.driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        screen.show(sheet)
        assert len(screen.driver.find_elements(By.CSS_SELECTOR, "table.paper tbody tr")) == 12
        assert all(it.is_displayed() for it in screen.driver.find_elements(By.CSS_SELECTOR, "table.paper"))
    finally:
        screen.driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
