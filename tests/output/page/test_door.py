"""The list at the kiln door in a real browser, on a phone: what is filled in, kept, photographed and handed over; and
the whole circle from a recipe to what came of its change."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from selenium.webdriver.common.by import By

from tests.conftest import Run
from tests.output.page.conftest import A4, Screen, kill, printed, started
from tests.output.page.test_weighing import enter, save

SIZES = [(390, 844), (360, 640)]
RECIPE = """\
glaze "Low Tide"
cone: 6

base:
    nepheline syenite   50
    silica              30
    whiting             20
"""


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def record(number: int, hour: int) -> dict[str, Any]:
    """A batch as the page at the bench hands it over."""
    grams = {"nepheline syenite": 50, "silica": 30, "whiting": 20}
    return {
        "version": 1, "kind": "glost record", "recorded_at": f"2026-05-02T{hour:02}:15:00+02:00", "person": "R. T.",
        "project": "", "recipe": "Low Tide", "test": "", "file": "low-tide.glost", "revision": None,
        "batch": {"base_mass_g": 100, "total_mass_g": 100},
        "lines": [
            {"material": name, "name": name, "base": True, "target_g": mass, "actual_g": mass, "lot": f"L{number}",
             "balance": ""}
            for name, mass in grams.items()
        ],
        "water_g": None, "sieve": "", "remarks": "", "checked_by": "", "total_actual_g": 100,
    }  # fmt: skip


@pytest.fixture
def studio(tmp_path: Path, run: Run) -> Path:
    """A collection with two batches that wait for the kiln."""
    (tmp_path / "glost.yaml").write_text("name: Test\n")
    (tmp_path / "low-tide.glost").write_text(RECIPE)
    for number, hour in ((1, 9), (2, 11)):
        (tmp_path / "r.json").write_text(json.dumps(record(number, hour)))
        assert run("record", "r.json").returncode == 0
    return tmp_path


def door(run: Run, studio: Path, *options: str) -> Path:
    said = run("firing", "--output", "html", "--out", "door.html", *(options or ("--name", "Kiln 7")))
    assert said.returncode == 0, said.stderr
    return studio / "door.html"


def picture(path: Path, size: tuple[int, int] = (3000, 2000), turned: bool = True) -> Path:
    """A photo as a phone takes it held upright: it lies on its side, says so, and says where it was taken."""
    made = Image.new("RGB", size, "navy")
    made.paste("gold", (0, 0, size[0] // 2, size[1]))
    exif = Image.Exif()
    if turned:
        exif[0x0112] = 6  # "rotate by 90 degrees clockwise" (Exif 2.32, 4.6.5.1.1, Orientation)
    place = exif.get_ifd(0x8825)
    place[1], place[2] = "N", (47.0, 22.0, 1.0)
    place[3], place[4] = "E", (8.0, 32.0, 5.0)
    made.save(path, exif=exif)
    return path


def ready(screen: Screen, page: Path, size: tuple[int, int]) -> None:
    screen.show(page, size)
    screen.until(lambda: screen.js("return document.querySelector('#door[data-known] details.tile')"))
    screen.drawn()


def tile(screen: Screen, at: int) -> Any:
    found = screen.driver.find_elements(By.CSS_SELECTOR, "details.tile")[at]
    if not found.get_attribute("open"):
        screen.js("arguments[0].querySelector('summary').click()", found)
    return found


def write(screen: Screen, within: Any, key: str, text: str) -> None:
    field = within.find_element(By.CSS_SELECTOR, f"[data-key={key}]")
    screen.js("arguments[0].scrollIntoView({block: 'center'})", field)
    if key == "date":
        screen.js(
            "arguments[0].value = arguments[1]; arguments[0].dispatchEvent(new Event('input'))", field, text
        )
    else:
        field.clear()
        field.send_keys(text)


def about(screen: Screen) -> Any:
    found = screen.one("details.about")
    screen.js("arguments[0].open = true", found)
    return found


def photograph(screen: Screen, within: Any, path: Path) -> None:
    within.find_element(By.CSS_SELECTOR, "input[capture]").send_keys(str(path))
    screen.until(lambda: within.find_elements(By.CSS_SELECTOR, "canvas") and canvas(screen, within)[0] > 1)


def canvas(screen: Screen, within: Any) -> Any:
    return screen.js("const it = arguments[0].querySelector('canvas'); return [it.width, it.height]", within)


def fault(screen: Screen, within: Any, word: str) -> None:
    for chip in within.find_elements(By.CSS_SELECTOR, ".faults button"):
        if chip.text.endswith(word):
            screen.js("arguments[0].click()", chip)
            return
    raise AssertionError(word)


def press(screen: Screen, text: str) -> None:
    screen.js("arguments[0].click()", screen.button(text))


def told(screen: Screen) -> str:
    return str(screen.js("return document.getElementById('told').textContent"))


def saved(screen: Screen) -> Path:
    for old in screen.downloads.iterdir():
        old.unlink()
    press(screen, "Save the firing")
    screen.until(lambda: list(screen.downloads.glob("fired-*.json")))
    (found,) = screen.downloads.glob("fired-*.json")
    return found


def fill(screen: Screen, at: int, **said: str) -> Any:
    found = tile(screen, at)
    for key, text in said.items():
        write(screen, found, key, text)
    return found


@pytest.mark.parametrize("size", SIZES)
def test_a_firing_goes_from_the_door_into_the_collection(
    screen: Screen, run: Run, studio: Path, size: tuple[int, int]
) -> None:
    ready(screen, door(run, studio), size)
    assert screen.js("return document.documentElement.scrollWidth <= innerWidth")
    top = about(screen)
    for key, text in (
        ("date", "2026-05-14"),
        ("kiln", "small electric"),
        ("cone", "6"),
        ("reached", "6 1/2"),
    ):
        write(screen, top, key, text)
    first = fill(
        screen, 0, place="top shelf", surface="satin", flow="4,5", others="blue haze", remarks="breaks # 2"
    )
    fault(screen, first, "pinholes")
    fault(screen, first, "crazing")
    fault(screen, first, "crazing")
    photograph(screen, first, picture(studio / "IMG_1.jpg"))
    assert screen.js("return document.documentElement.scrollWidth <= innerWidth")
    small = screen.js(
        "return [...document.querySelectorAll('button, label.button, summary, .field input')]"
        ".filter((it) => it.offsetParent && it.getBoundingClientRect().height < 44).map((it) => it.textContent)"
    )
    assert small == []
    assert "1 of 2 tiles are in this firing; not in it: 2" in screen.one(".handing").text
    file = saved(screen)
    assert "look whether it is there" in told(screen)
    said = run("record", str(file))
    assert said.returncode == 0, said.stderr
    text = (studio / "firings" / "2026-05-14-kiln-7.firing").read_text("utf-8")
    assert "    faults: pinholes, blue haze\n" in text
    assert "    flow: 4.5 mm\n" in text
    assert "    remarks: breaks no. 2\n" in text
    assert 'tile "2"' not in text
    with Image.open(studio / "firings" / "photos" / "2026-05-14-kiln-7-1.jpg") as photo:
        assert photo.format == "JPEG"
        assert photo.size == (853, 1280)  # upright
        assert dict(photo.getexif()) == {}
        assert not {"exif", "comment", "xmp"} & set(photo.info)
        # Turned clockwise, what was on the left is on top.
        assert photo.convert("RGB").getpixel((400, 100))[2] < 90  # type: ignore[index]
        assert photo.convert("RGB").getpixel((400, 1200))[2] > 90  # type: ignore[index]
    assert run("lint", "firings").returncode == 0
    assert "2 tiles" not in run("firing", "--output", "html").stderr
    assert screen.complaints() == []


def test_all_of_it_is_there_after_a_flat_battery(run: Run, studio: Path) -> None:
    page = door(run, studio)
    photo = picture(studio / "IMG_2.jpg", (900, 600), turned=False)
    first = started(studio / "profile")
    try:
        ready(first, page, SIZES[0])
        one = fill(first, 1, place="bottom shelf", remarks="ran on the shelf")
        fault(first, one, "running")
        photograph(first, one, photo)
        first.until(
            lambda: first.js(
                "return new Promise((done) => { const asked = indexedDB.open('glost kiln'); asked.onsuccess = () => {"
                " const all = asked.result.transaction('kept').objectStore('kept').getAll();"
                " all.onsuccess = () => done(all.result.length === 2); }; })"
            )
        )
    finally:
        kill(first)
    again = started(studio / "profile")
    try:
        ready(again, page, SIZES[0])
        again.until(
            lambda: (
                "photo" in str(again.js("return document.querySelectorAll('details.tile')[1].textContent"))
            )
        )
        one = tile(again, 1)
        again.until(lambda: one.find_elements(By.CSS_SELECTOR, "canvas"))
        assert one.find_element(By.CSS_SELECTOR, "[data-key=place]").get_attribute("value") == "bottom shelf"
        write(again, about(again), "date", "2026-05-14")
        press(again, "Save the firing")
        again.until(lambda: list(again.downloads.glob("fired-*.json")))
        (file,) = again.downloads.glob("fired-*.json")
        value = json.loads(file.read_text())
        (said,) = value["tiles"]
        assert (said["faults"], said["remarks"], said["photo"]["width"]) == (
            ["running"],
            "ran on the shelf",
            900,
        )
    finally:
        again.driver.quit()


def test_what_would_be_refused_is_told_at_the_door(screen: Screen, run: Run, studio: Path) -> None:
    ready(screen, door(run, studio), SIZES[1])
    press(screen, "Save the firing")
    assert "No tile is in this firing" in told(screen)
    fill(screen, 0, place="top")
    press(screen, "Save the firing")
    assert "on which day" in told(screen)
    write(screen, about(screen), "date", "2026-05-14")
    fill(screen, 0, flow="far")
    press(screen, "Save the firing")
    assert "Tile 1: write how far it ran in mm" in told(screen)
    fill(screen, 0, flow="0", name="A 1")
    fill(screen, 1, place="top", name="a  1")
    press(screen, "Save the firing")
    assert "Two tiles are called" in told(screen)
    fill(screen, 1, name='6" bowl')
    press(screen, "Save the firing")
    assert "A quotation mark" in told(screen)
    assert list(screen.downloads.iterdir()) == []


def test_a_file_that_is_no_picture_takes_nothing_away(screen: Screen, run: Run, studio: Path) -> None:
    ready(screen, door(run, studio), SIZES[0])
    one = tile(screen, 0)
    photograph(screen, one, picture(studio / "a.jpg", (640, 480), turned=False))
    (studio / "b.jpg").write_text("<svg onload='alert(1)'/>")
    one.find_element(By.CSS_SELECTOR, "input[capture]").send_keys(str(studio / "b.jpg"))
    screen.until(lambda: "cannot read that picture" in one.text)
    screen.until(lambda: one.find_elements(By.CSS_SELECTOR, "canvas"))
    write(screen, about(screen), "date", "2026-05-14")
    assert json.loads(saved(screen).read_text())["tiles"][0]["photo"]["width"] == 640


def test_several_tiles_of_one_batch_and_a_photo_that_is_taken_away(
    screen: Screen, run: Run, studio: Path
) -> None:
    ready(screen, door(run, studio), SIZES[0])
    one = tile(screen, 0)
    photograph(screen, one, picture(studio / "a.jpg", (640, 480)))
    press(screen, "One more tile of this batch")
    names = [it.text.split()[0] for it in screen.driver.find_elements(By.CSS_SELECTOR, ".who")]
    assert names == ["1", "1a", "2"]
    one = tile(screen, 0)
    screen.js("arguments[0].scrollIntoView()", one)
    press(screen, "Take the photo away")
    press(screen, "Take it away for good")
    write(screen, about(screen), "date", "2026-05-14")
    value = json.loads(saved(screen).read_text())
    assert [(it["name"], it["photo"]) for it in value["tiles"]] == [("1", None), ("1a", None)]
    assert len({it["batch"] for it in value["tiles"]}) == 1


def test_the_next_list_begins_anew_once_this_one_is_recorded(screen: Screen, run: Run, studio: Path) -> None:
    page = door(run, studio, "--date", "2026-06-01")
    ready(screen, page, SIZES[0])
    fill(screen, 0, place="top")
    file = saved(screen)
    ready(screen, page, SIZES[0])
    assert "in this firing" in screen.driver.find_elements(By.CSS_SELECTOR, "details.tile")[0].text
    assert run("record", str(file)).returncode == 0
    ready(screen, door(run, studio, "--date", "2026-06-02"), SIZES[0])
    screen.until(lambda: len(screen.driver.find_elements(By.CSS_SELECTOR, "details.tile")) == 1)
    assert "in this firing" not in screen.driver.find_elements(By.CSS_SELECTOR, "details.tile")[0].text
    assert (
        about(screen).find_element(By.CSS_SELECTOR, "[data-key=date]").get_attribute("value") == "2026-06-02"
    )


def test_without_the_script_it_is_a_list_to_write_on(run: Run, studio: Path) -> None:
    text = door(run, studio).read_text("utf-8")
    assert "<noscript>" in text
    assert text.count('<th scope="row">') == 2
    assert "glaze &quot;Low Tide&quot;" in text


def test_paper_has_what_was_filled_in(screen: Screen, run: Run, studio: Path, tmp_path: Path) -> None:
    ready(screen, door(run, studio), SIZES[1])
    first = fill(screen, 0, place="top, left", flow="2,5", remarks="ran onto the shelf")
    write(screen, first, "name", "K-1")
    fault(screen, first, "pinholes")
    write(screen, first, "others", "a gold rim")
    [text] = printed(screen.print(tmp_path / "door.pdf", A4))
    assert "K-1" in text
    assert "2,5" in text
    rows = screen.js(
        "return [...document.querySelectorAll('#list tbody tr')]"
        ".map((row) => [...row.cells].map((it) => it.textContent))"
    )
    assert isinstance(rows, list)
    assert [rows[0][0], *rows[0][2:]] == [
        "✓ K-1",
        "top, left",
        "",
        "",
        "2,5",
        "pinholes, a gold rim",
        "ran onto the shelf",
    ]
    assert [rows[1][0], *rows[1][2:]] == ["2", *[""] * 6]


def test_the_page_asks_the_network_for_nothing(screen: Screen, run: Run, studio: Path) -> None:
    page = door(run, studio)
    text = page.read_text("utf-8")
    assert "http:" not in text.replace("http://www.w3.org", "")
    assert "https:" not in text
    ready(screen, page, SIZES[0])
    assert screen.js("return performance.getEntriesByType('resource').length") == 0


# ---- the whole circle ----------------------------------------------------------------------------------


def weigh(screen: Screen, run: Run, studio: Path, masses: tuple[str, ...]) -> None:
    """Weighs the recipe on its page, and records it."""
    assert (
        run("convert", "--to", "html", "--out", "bench.html", "low-tide.glost", "--batch", "100 g").returncode
        == 0
    )
    screen.show(studio / "bench.html", SIZES[0])
    for mass in masses:
        enter(screen, mass)
    save(screen)
    screen.until(lambda: list(screen.downloads.glob("record-*.json")))
    (file,) = screen.downloads.glob("record-*.json")
    said = run("record", str(file))
    assert said.returncode == 0, said.stderr
    file.unlink()


def fire(screen: Screen, run: Run, studio: Path, name: str, day: str, **said: str) -> None:
    """Fills in the list at the kiln door for all that waits, with a photo, and records it."""
    ready(screen, door(run, studio, "--name", name), SIZES[0])
    top = about(screen)
    for key, text in (("date", day), ("kiln", "small electric"), ("cone", "6"), ("reached", "6")):
        write(screen, top, key, text)
    one = fill(screen, 0, **said)
    photograph(screen, one, picture(studio / "IMG.jpg", (1600, 1200)))
    recorded = run("record", str(saved(screen)))
    assert recorded.returncode == 0, recorded.stderr


def test_the_whole_circle(screen: Screen, run: Run, tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("name: Test\n")
    recipe = tmp_path / "low-tide.glost"
    recipe.write_text(RECIPE)
    weigh(screen, run, tmp_path, ("50", "30", "20"))
    today = str(screen.js("return ways.dateOf(new Date())"))
    fire(screen, run, tmp_path, "Kiln 7", today, surface="matt", remarks="too dry")

    recipe.write_text(RECIPE.replace("silica              30", "silica              26").replace(
        "whiting             20", "whiting             24"))  # fmt: skip
    weigh(screen, run, tmp_path, ("50", "26", "24"))
    fire(screen, run, tmp_path, "Kiln 8", today, surface="satin", colour="sea green")

    told_ = run("results", "low-tide.glost")
    assert told_.returncode == 0, told_.stderr
    first, second = told_.stdout.split("Kiln 8")
    assert "the first fired tile of this recipe here" in first
    assert "matt" in first
    assert "too dry" in first
    assert "recipe    as it was weighed" in second
    assert "silica 30.00 -> 26.00" in second
    assert "whiting 20.00 -> 24.00" in second
    assert "nepheline" not in second.split("surface")[0]
    assert "satin" in second
    assert f"photos/{today}-kiln-8-1.jpg" in second
    rows = json.loads(run("results", "--output", "json").stdout)["results"]
    assert [one["surface"] for one in rows] == ["matt", "satin"]
    assert rows[1]["before"] == {"date": today, "tile": "1"}
    assert run("lint", "firings").returncode == 0
