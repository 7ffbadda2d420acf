"""The table of a collection in a real browser: found, sorted, read, sent on and printed, with the keyboard alone."""

from __future__ import annotations

import base64
import hashlib
import json
import random
import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import Select

from glost.language.parse import parse
from glost.language.source import Source
from glost.linter.finding import LEVELS
from glost.output.catalog import page as folder
from glost.output.catalog.hazard_groups import ALL, groups_on_record
from glost.output.catalog.page import page
from glost.output.catalog.rows import How, Row, RowBuilder
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.resolve import resolve
from glost.recipe.safety.cautions import PRECEDENCE
from glost.workspace.collection import Collections, find
from glost.workspace.runs.catalog import gather, see_all
from tests.conftest import STUDIO
from tests.output.page.conftest import A4, DESK, PHONE, Screen
from tests.output.page.test_markup import outline
from tests.output.page.test_printing import pages

Rows = Sequence[Row]
PART = """\
glaze "Half read"
cone: 6
base:
    silica    60
    kaolin    4O
"""
STRANGE = """\
glaze "Moon"
cone: 6
base:
    silica       60
    moon dust    40
"""
HOSTILE = """\
glaze "</script><img src=x onerror=document.title=1>"
colour: <b>blue</b>
base:
    silica    60  (</script> in a note)
    "<i>dust</i>"    40

notes:
    <!-- ]]></style></script><script>document.title='taken'</script>
"""


READ: Sequence[How] = ("whole", "in part", "not at all")


@cache
def studio() -> tuple[Rows, dict[str, tuple[str, ...]]]:
    collections = Collections()
    seen = see_all(find([str(STUDIO), str(STUDIO / "needs-work")], collections), collections)
    gathered = gather(list(seen), collections)
    return gathered.rows + rows_of(PART) + rows_of(STRANGE), gathered.aliases


def rows_of(text: str) -> tuple[Row, ...]:
    resolved = resolve(parse(Source("made.glost", text)), shipped_catalogue())
    return RowBuilder(shipped_catalogue()).rows(resolved)


def written(tmp_path: Path, rows: Rows | None = None) -> Path:
    every, aliases = studio()
    target = tmp_path / "catalog.html"
    target.write_text(page(every if rows is None else rows, aliases, "Studio", "2026-03-14"), "utf-8")
    return target


def told(screen: Screen) -> str:
    screen.drawn()
    return str(screen.js("return document.getElementById('told').textContent"))


def count(screen: Screen) -> int:
    return int(told(screen).removeprefix("All ").split(" ")[0].replace(",", ""))


def names(screen: Screen) -> list[str]:
    screen.drawn()
    found = screen.js("return [...document.querySelectorAll('tr[id] .name b')].map((it) => it.textContent)")
    assert isinstance(found, list)
    return found


def choose(screen: Screen, key: str, value: str) -> None:
    Select(screen.one(f"#{key}")).select_by_visible_text(value)


def active(screen: Screen) -> str:
    """What a reader of the screen is told of: the row that the table points at."""
    screen.drawn()
    return str(
        screen.js(
            "const at = document.getElementById('table').getAttribute('aria-activedescendant');"
            "return document.getElementById(at).querySelector('.name').textContent"
        )
    )


# ---- the file ------------------------------------------------------------------------------------------


def test_one_file_that_reaches_for_nothing(tmp_path: Path) -> None:
    text = written(tmp_path).read_text("utf-8")
    found = outline(text)
    assert not {"link", "img", "iframe", "object", "base"} & set(found.tags)
    assert not {"src", "href", "style", "action", "srcset"} & {name for name, _ in found.attributes}
    assert not [name for name, _ in found.attributes if name.startswith("on")]
    policy = next(value for _, value in found.attributes if value and value.startswith("default-src"))
    assert policy.startswith("default-src 'none'; ")
    assert "unsafe" not in policy
    inline = re.findall(r"<(style|script)>(.*?)</\1>", text, re.DOTALL)
    # What all pages share, the catalog's own, what paper has at its foot, and the words there.
    assert [kind for kind, _ in inline] == [*["style"] * 4, *["script"] * 2]
    for kind, inside in inline:
        digest = base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()
        assert re.search(rf"{kind}-src[^;]*'sha256-{re.escape(digest)}'", policy)


def test_the_files_of_the_page_end_no_element() -> None:
    files = sorted(Path(folder.__path__[0]).glob("*.[jc]s*"))
    assert {path.suffix for path in files} == {".css", ".js"}
    for path in files:
        text = path.read_bytes().decode("utf-8")
        assert not {"</", "<!--", "\r", "innerHTML", "insertAdjacentHTML", "http"} & {
            word for word in ("</", "<!--", "\r", "innerHTML", "insertAdjacentHTML", "http") if word in text
        }, path.name


def test_without_a_script_it_says_what_to_do(tmp_path: Path) -> None:
    text = written(tmp_path).read_text("utf-8")
    assert "glost catalog --to csv" in text.partition("<noscript>")[2].partition("</noscript>")[0]


def test_nothing_is_fetched_and_nothing_else_is_run(screen: Screen, tmp_path: Path) -> None:
    screen.show(written(tmp_path), DESK)
    assert screen.js("return performance.getEntriesByType('resource').length") == 0
    assert screen.complaints() == []
    screen.js(
        "const it = document.createElement('script'); it.textContent = 'window.taken = 1';"
        "document.body.append(it); document.body.append(Object.assign(new Image(), {src: 'http://127.0.0.1:9/x'}))"
    )
    assert screen.js("return window.taken") is None
    assert len([one for one in screen.complaints() if "Content Security Policy" in one]) == 2


def test_hostile_names_stay_text(screen: Screen, tmp_path: Path) -> None:
    rows = rows_of(HOSTILE)
    screen.show(written(tmp_path, rows), DESK)
    assert names(screen) == [rows[0].about.name]
    screen.one("#table").send_keys(Keys.ENTER)
    text = screen.one("#detail").text
    assert "</script> in a note" in text
    assert "document.title='taken'" in text
    screen.one("#close").click()
    screen.one("#with").send_keys("<I>dust</I>", Keys.ENTER)
    assert told(screen) == "All 1 row"
    screen.print(tmp_path / "one.pdf", A4)
    assert screen.js("return document.title") == "Studio"
    assert screen.js("return document.querySelectorAll('img, i').length") == 0
    assert screen.complaints() == []


# ---- the filters against the same in Python --------------------------------------------------------------


def folded(text: str) -> str:
    return "".join(
        sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.category(sign).startswith("M")
    ).lower()


def words_of(row: Row) -> str:
    about = row.about
    texts = [about.file, about.kind, about.name, about.cone, about.atmosphere, about.surface, about.colour]
    texts += [about.use, about.date, *about.tags, *(said for _, said in about.others), about.notes, row.test]
    for one in row.weighed:
        texts += [one.called, one.name, one.note]
    return "\n".join(map(folded, texts))


def fits(row: Row, wanted: Mapping[str, Any]) -> bool | None:
    """True, False, or None where only what is not known of it keeps it out."""
    about = row.about
    used = {folded(one.called) for one in row.weighed}
    low, high = (Decimal(wanted[end]) if wanted[end] else None for end in ("from", "to"))
    if low is not None and high is not None and low > high:
        low, high = high, low
    counts = [row.counts[level] for level in LEVELS]
    levels = {"": True, "none": not any(counts), "unread": about.read != "whole"}
    levels |= {level: any(counts[: at + 1]) for at, level in enumerate(LEVELS)}
    cone = True
    if low is not None or high is not None:
        cone = about.cone_low is not None and about.cone_high is not None
        cone = cone and (low is None or about.cone_high >= low)  # type: ignore[operator]
        cone = cone and (high is None or about.cone_low <= high)  # type: ignore[operator]
    groups = groups_on_record(row.hazards)
    if not (
        all(word in words_of(row) for word in folded(wanted["q"]).split())
        and all(folded(name) in used for name in wanted["with"])
        and not any(folded(name) in used for name in wanted["without"])
        and cone
        and all(wanted[key] in ("", getattr(about, key)) for key in ("kind", "atmosphere", "use"))
        and folded(wanted["surface"]) in folded(about.surface)
        and levels[wanted["findings"]]
        and not groups & set(wanted["free"])
    ):
        return False
    unsure = (wanted["free"] and not row.hazards_known) or (wanted["without"] and about.read != "whole")
    return None if unsure else True


def any_rows(chance: random.Random) -> Rows:
    """Rows of the studio, each with some of its facts taken from another or left out."""
    every, _ = studio()
    made = []
    for _ in range(250):
        row, other, third = (chance.choice(every) for _ in range(3))
        about = replace(
            row.about,
            read=chance.choices(READ, (8, 1, 1))[0],
            cone_low=other.about.cone_low,
            cone_high=other.about.cone_high,
            surface=chance.choice([other.about.surface, "", "Céladon ŒSS", "İ satin"]),
            atmosphere=third.about.atmosphere,
            use=chance.choice(["", "food", third.about.use]),
        )
        made.append(replace(row, about=about, findings=chance.choice([(), other.findings, third.findings])))
    return made


def any_wish(chance: random.Random, rows: Rows) -> dict[str, Any]:
    def sometimes(value: object, empty: object = "") -> Any:
        return value if chance.random() < 0.25 else empty

    row = chance.choice(rows)
    used = [one.called for one in row.weighed] or ["silica"]
    cones = ["-22", "-6", "-4", "1", "5", "6", "10", "14"]
    word = chance.choice([row.about.name, row.about.colour, "BLUE matt", "céladon", used[0][:4], "zz", "5-6"])
    return {
        "q": sometimes(word),
        "with": sometimes(chance.sample(used, min(len(used), chance.choice([1, 1, 2]))), []),
        "without": sometimes(
            [chance.choice(["silica", "tin oxide", "Cobalt carbonate", "nothing such"])], []
        ),
        "from": sometimes(chance.choice(cones)),
        "to": sometimes(chance.choice(cones)),
        "kind": sometimes(row.about.kind),
        "atmosphere": sometimes(row.about.atmosphere),
        "use": sometimes(chance.choice(["food", "decorative", "test"])),
        "surface": sometimes(chance.choice(["matt", "CELADON", "œ", "i", "gloss"])),
        "findings": sometimes(chance.choice(["none", "hint", "warning", "error", "unread"])),
        "free": sometimes(chance.sample([group.key for group in ALL], chance.choice([1, 1, 3])), []),
        "sort": "",
    }


@pytest.mark.parametrize("seed", range(4))
def test_the_page_finds_what_python_finds(screen: Screen, tmp_path: Path, seed: int) -> None:
    chance = random.Random(seed)
    rows = any_rows(chance)
    screen.show(written(tmp_path, rows), DESK)
    wishes = [any_wish(chance, rows) for _ in range(150)]
    found = screen.js(
        "const table = Rows.open(JSON.parse(document.getElementById('held').textContent));"
        "return arguments[0].map((wish) => { const back = Rows.fromPart(Rows.toPart(wish));"
        "const { found, leftOut } = Rows.select(table, table.rows, back);"
        "return [found.map((row) => row.place), leftOut]; })",
        wishes,
    )
    assert isinstance(found, list)
    sizes = set()
    for wish, (places, left_out) in zip(wishes, found, strict=True):
        verdicts = [fits(row, wish) for row in rows]
        assert places == [at for at, shown in enumerate(verdicts) if shown], wish
        assert left_out == verdicts.count(None), wish
        sizes.add((len(places) > 0, left_out > 0))
    assert len(sizes) >= 3


# ---- looking for something -------------------------------------------------------------------------------


def test_words_and_what_is_counted(screen: Screen, tmp_path: Path) -> None:
    screen.show(written(tmp_path), DESK)
    every, _ = studio()
    assert told(screen) == f"All {len(every)} rows"
    screen.one("#q").send_keys("harbour")
    expected = [row for row in every if "harbour" in words_of(row)]
    assert told(screen) == f"{len(expected)} of {len(every)} rows"
    assert names(screen) == [row.about.name for row in expected][: len(names(screen))]
    screen.one("#q").send_keys(" nothing such")
    assert screen.one("#none").text == "No row fits what is asked for."
    screen.press("Show all rows")
    assert count(screen) == len(every)


def test_another_name_finds_the_material(screen: Screen, tmp_path: Path) -> None:
    every, aliases = studio()
    assert "china clay" in aliases["kaolin"]
    screen.show(written(tmp_path), DESK)
    screen.one("#with").send_keys("China Clay", Keys.ENTER)
    assert screen.one("#with-told").text == "'China Clay' is kaolin"
    having = {at for at, row in enumerate(every) if "kaolin" in [one.called for one in row.weighed]}
    assert count(screen) == len(having)
    screen.one("#without").send_keys("flint", Keys.ENTER)
    lacking = {at for at, row in enumerate(every) if "silica" not in [one.called for one in row.weighed]}
    assert "flint" in aliases["silica"]
    assert count(screen) == len(having & lacking)
    screen.one("#with").send_keys("moonlight", Keys.ENTER)
    assert screen.one("#with-told").text == "no one material here is called 'moonlight'"
    screen.one("#with-chosen button").click()
    assert screen.js("return document.activeElement.id") == "with"
    # A page with a line that was not read may hold silica too, but this one is read to hold it.
    assert count(screen) == len(lacking)


def test_free_of_never_counts_what_is_not_known(screen: Screen, tmp_path: Path) -> None:
    screen.show(written(tmp_path), DESK)
    every, _ = studio()
    screen.one("input[value=carcinogenic]").click()
    wish = {**dict.fromkeys(("q", "from", "to", "kind", "atmosphere", "use", "surface", "findings"), "")}
    verdicts = [fits(row, {**wish, "with": [], "without": [], "free": ["carcinogenic"]}) for row in every]
    assert count(screen) == verdicts.count(True) < len(every)
    left_out = verdicts.count(None)
    assert left_out >= 2
    said = screen.one("#left-out").text
    assert said.startswith(f"{left_out} rows left out: a material is not known, or a line cannot be read.")
    assert "no statement on record at all, which does not mean no hazard" in said
    screen.one("#q").send_keys("moon dust")
    assert told(screen).startswith("0 of")
    assert screen.one("#left-out").text.startswith("1 row left out")


def test_cones_atmosphere_and_findings(screen: Screen, tmp_path: Path) -> None:
    screen.show(written(tmp_path), DESK)
    every, _ = studio()
    choose(screen, "from", "06")
    choose(screen, "to", "02")
    low = [row for row in every if row.about.cone_low is not None and row.about.cone_low <= -2]
    low = [row for row in low if row.about.cone_high is not None and row.about.cone_high >= -6]
    assert count(screen) == len(low) > 0
    choose(screen, "atmosphere", "raku")
    assert count(screen) == sum(row.about.atmosphere == "raku" for row in low) > 0
    screen.press("Show all rows")
    choose(screen, "findings", "error")
    assert count(screen) == sum(row.counts["error"] > 0 for row in every) > 0
    choose(screen, "findings", "cannot be read whole")
    assert set(names(screen)) == {"Half read", "Unknown Field"}


def test_sorting_by_a_column(screen: Screen, tmp_path: Path) -> None:
    screen.show(written(tmp_path), DESK)
    every, _ = studio()

    def sorted_now() -> dict[str, str]:
        screen.drawn()
        found = screen.js(
            "return Object.fromEntries([...document.querySelectorAll('thead th')]"
            ".map((it) => [it.className, it.getAttribute('aria-sort')]))"
        )
        assert isinstance(found, dict)
        return {key: way for key, way in found.items() if way not in ("none", None)}

    def first_cones() -> list[str]:
        screen.drawn()
        found = screen.js("return [...document.querySelectorAll('tr[id] .cone')].map((it) => it.textContent)")
        assert isinstance(found, list)
        return found

    button = screen.one("button[data-sort=cone]")
    button.send_keys(Keys.ENTER)
    assert sorted_now() == {"cone": "ascending"}
    with_cone = [row.about for row in every if row.about.cone_high is not None]
    rising = sorted(with_cone, key=lambda about: (about.cone_high, about.cone_low))
    seen = first_cones()
    assert seen == [about.cone for about in rising][: len(seen)]
    button.send_keys(Keys.ENTER)
    assert sorted_now() == {"cone": "descending"}
    assert first_cones()[0] == rising[-1].cone
    button.send_keys(Keys.ENTER)
    assert sorted_now() == {}
    assert names(screen)[0] == every[0].about.name


def test_the_state_is_in_the_address(screen: Screen, tmp_path: Path) -> None:
    target = written(tmp_path)
    screen.show(target, DESK)
    screen.one("#q").send_keys("blue & <matt>")
    screen.one("#q").clear()
    screen.one("#q").send_keys("a")
    screen.one("#with").send_keys("silica", Keys.ENTER)
    screen.one("input[value=acute]").click()
    choose(screen, "from", "6")
    screen.one("button[data-sort=name]").click()
    before = told(screen), names(screen)
    screen.until(lambda: "sort=name" in str(screen.js("return location.hash")))
    part = str(screen.js("return location.hash"))
    assert part == "#q=a&with=silica&from=6&free=acute&sort=name"
    screen.show(target, DESK, part)
    assert (told(screen), names(screen)) == before
    assert screen.one("#q").get_attribute("value") == "a"
    screen.show(target, DESK, "#from=99&free=nothing&kind=%3Cb%3E&sort=toString&without=moon")
    assert count(screen) > 0
    screen.one("button[data-sort=name]").click()
    assert names(screen) == sorted(names(screen), key=str.casefold)
    assert screen.complaints() == []


# ---- the keyboard ----------------------------------------------------------------------------------------


def test_by_keyboard_alone(screen: Screen, tmp_path: Path) -> None:
    screen.show(written(tmp_path), DESK)
    every, _ = studio()
    body = screen.driver.find_element(By.TAG_NAME, "body")
    order = []
    for _ in range(60):
        screen.driver.switch_to.active_element.send_keys(Keys.TAB)
        order.append(str(screen.js("return document.activeElement.id || document.activeElement.name")))
        if order[-1] == "table":
            break
    assert body is not None
    assert order[:13] == [
        "skip", "q", "with", "without", "from", "to", "kind", "atmosphere", "use", "surface", "findings", "fired",
        "free",
    ]  # fmt: skip
    assert order[-1] == "table"
    table = screen.one("#table")
    assert screen.js("return document.querySelectorAll('tr.active').length") == 1
    table.send_keys(Keys.ARROW_DOWN, Keys.ARROW_DOWN, Keys.ARROW_UP)
    assert active(screen).startswith(every[1].about.name)
    table.send_keys(Keys.END)
    assert active(screen).startswith("Moon")
    box = screen.js(
        "const row = document.querySelector('tr.active').getBoundingClientRect();"
        "const room = document.getElementById('scroller').getBoundingClientRect();"
        "return row.top >= room.top && row.bottom <= room.bottom + 1"
    )
    assert box is True
    table.send_keys(Keys.PAGE_UP, Keys.HOME)
    assert active(screen).startswith(every[0].about.name)
    table.send_keys(Keys.ARROW_DOWN, Keys.ENTER)
    assert screen.js("return document.activeElement.id") == "detail-name"
    assert screen.one("#detail-name").text.startswith(every[1].about.name)
    screen.driver.switch_to.active_element.send_keys(Keys.ESCAPE)
    assert screen.js("return document.getElementById('detail').open") is False
    assert screen.js("return document.activeElement.id") == "table"
    assert active(screen).startswith(every[1].about.name)


def test_what_a_reader_of_the_screen_is_told(screen: Screen, tmp_path: Path) -> None:
    screen.show(written(tmp_path), DESK)
    every, _ = studio()
    found = screen.js(
        "const it = document.getElementById('table'); const row = it.querySelector('tr[id]');"
        "return [it.getAttribute('role'), it.getAttribute('aria-rowcount'), row.getAttribute('aria-rowindex'),"
        "[...row.cells].map((cell) => cell.getAttribute('role')),"
        "[...document.querySelectorAll('input, select')].filter((field) => !field.labels.length).length]"
    )
    assert found == ["grid", str(len(every) + 1), "2", ["rowheader", *["gridcell"] * 10], 0]
    assert screen.one("#told").get_attribute("aria-live") == "polite"


# ---- one row in full -------------------------------------------------------------------------------------


def test_the_detail_says_all(screen: Screen, tmp_path: Path) -> None:
    every, _ = studio()
    at = next(at for at, row in enumerate(every) if row.test and row.statements and row.findings == ())
    row = every[at]
    screen.show(written(tmp_path, [row]), DESK)
    screen.one("tr[id]").click()
    text = screen.one("#detail").text
    for one in row.weighed:
        assert one.called in text
    for code in row.statements:
        assert code in text
    assert PRECEDENCE in text
    assert f"{row.about.file}:{row.line}" in text
    assert row.revision is None or row.revision.short in text


def test_the_detail_of_what_cannot_be_read(screen: Screen, tmp_path: Path) -> None:
    screen.show(written(tmp_path, rows_of(PART)), PHONE)
    screen.one("tr[id]").click()
    text = screen.one("#detail").text
    assert "Lines of this page cannot be read" in text
    assert "Amounts, as far as they can be read" in text
    assert PRECEDENCE in text


@pytest.mark.parametrize("size", [PHONE, (390, 844), (768, 1024), DESK])
def test_nothing_sticks_out(screen: Screen, tmp_path: Path, size: tuple[int, int]) -> None:
    screen.show(written(tmp_path), size)
    assert screen.js("return document.documentElement.scrollWidth") == size[0]
    if size[0] < 600:
        assert screen.js("return document.getElementById('scroller').scrollWidth") == size[0]
        assert screen.js("return document.getElementById('filters').open") is False


# ---- paper -----------------------------------------------------------------------------------------------


def test_paper_holds_the_rows_that_were_found(screen: Screen, tmp_path: Path) -> None:
    screen.show(written(tmp_path), DESK, "#from=6&q=matt&free=acute")
    screen.js(
        "addEventListener('beforeprint', () => { const it = document.getElementById('paper');"
        "window.paper = [it.querySelectorAll('tbody tr').length, it.innerText,"
        "[...it.querySelectorAll('tbody th b')].map((one) => one.textContent)]; })"
    )
    every, _ = studio()
    wish = dict.fromkeys(("to", "kind", "atmosphere", "use", "surface", "findings"), "")
    wanted = {**wish, "from": "6", "q": "matt", "free": ["acute"], "with": [], "without": []}
    expected = [row for row in every if fits(row, wanted)]
    assert len(expected) > 15
    assert pages(screen.print(tmp_path / "found.pdf", A4)) >= 2
    printed = screen.js("return window.paper")
    assert isinstance(printed, list)
    assert printed[0] == len(expected) == count(screen)
    assert printed[2] == [row.about.name for row in expected]
    text = str(printed[1])
    assert (
        f"{len(expected)} of {len(every)} rows: words 'matt'; cone 6 or hotter; free of, on record:" in text
    )
    assert re.search(r"Table of 2026-03-14, printed \d{4}-\d\d-\d\d\.", text)
    assert PRECEDENCE in text
    assert screen.js("return document.getElementById('paper').childElementCount") == 0


# ---- many ------------------------------------------------------------------------------------------------


def test_ten_thousand_rows(screen: Screen, tmp_path: Path, record_property: Any) -> None:
    every, _ = studio()
    many = [
        replace(row, about=replace(row.about, name=f"{row.about.name} {number}", file=f"{number}.glost"))
        for number in range(10_000 // len(every) + 1)
        for row in every
    ][:10_000]
    screen.show(written(tmp_path, many), DESK)
    assert told(screen) == "All 10,000 rows"
    took = screen.js(
        "const q = document.getElementById('q'); return ['b', 'bl', 'blu', 'blue', 'blue m', ''].map((word) => {"
        "const begun = performance.now(); q.value = word; q.dispatchEvent(new Event('input', {bubbles: true}));"
        "document.body.offsetHeight; return Math.round(performance.now() - begun); })"
    )
    print(f"10,000 rows, each keystroke to the finished layout, ms: {json.dumps(took)}")
    record_property("keystrokes in ms", json.dumps(took))
    screen.js("document.getElementById('scroller').scrollTop = 250000")
    screen.drawn()
    places = screen.js("return [...document.querySelectorAll('tr[id]')].map((it) => Number(it.id.slice(1)))")
    assert isinstance(places, list)
    assert 10 < len(places) < 100
    assert places == list(range(places[0], places[-1] + 1))
    shown = screen.js(
        "const room = document.getElementById('scroller').getBoundingClientRect();"
        "const all = [...document.querySelectorAll('tr[id]')].map((it) => it.getBoundingClientRect());"
        "return all[0].top <= room.top && all[all.length - 1].bottom >= room.bottom"
    )
    assert shown is True
    assert int(str(screen.js("return document.getElementsByTagName('tr').length"))) < 500
    screen.one("#table").send_keys(Keys.END)
    assert active(screen).startswith(many[-1].about.name)
    assert screen.complaints() == []


def test_work_of_opening_and_of_a_keystroke_does_not_grow_with_the_rows(
    screen: Screen, tmp_path: Path, record_property: Any
) -> None:
    """Counted in what a script does to the page: elements made and nodes put in. Only what is seen is drawn."""
    count = (
        "window.made = 0;"
        "const create = Document.prototype.createElement;"
        "Document.prototype.createElement = function (...words) {"
        "  window.made += 1; return create.apply(this, words); };"
    )
    script = screen.driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": count})
    every, _ = studio()
    work: dict[int, list[Any]] = {}
    try:
        for size in (500, 2_000):
            many = [
                replace(
                    row, about=replace(row.about, name=f"{row.about.name} {number}", file=f"{number}.glost")
                )
                for number in range(size // len(every) + 1)
                for row in every
            ][:size]
            screen.show(written(tmp_path, many), DESK)
            assert told(screen) == f"All {size:,} rows"
            opened = screen.js("return window.made")
            done: Any = screen.js(
                "const q = document.getElementById('q');"
                "const all = ['b', 'bl', 'blu', 'blue', ''].map((word) => {"
                "window.made = 0; const begun = performance.now(); q.value = word;"
                "q.dispatchEvent(new Event('input', {bubbles: true})); document.body.offsetHeight;"
                "return [window.made, Math.round(performance.now() - begun)]; });"
                "return [all.map((one) => one[0]), all.map((one) => one[1])]"
            )
            record_property(f"{size} rows, each keystroke to the finished layout, ms", json.dumps(done[1]))
            work[size] = [opened, *done[0]]
    finally:
        screen.driver.execute_cdp_cmd(
            "Page.removeScriptToEvaluateOnNewDocument", {"identifier": script["identifier"]}
        )
    assert min(work[500]) > 0
    for few, more in zip(work[500], work[2_000], strict=True):
        assert more <= 2 * few, work
    assert max(work[2_000][1:]) < 2_000, work
