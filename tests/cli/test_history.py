"""glost history, as it is read: as text, and as a page in a browser where there is one."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path

import pytest

from tests.changes.test_html import as_drawn, drawn_formulas
from tests.conftest import Run
from tests.output.page.axe import SCHEMES, axe, findings
from tests.output.page.conftest import A4, LETTER, Screen, _screen, screen
from tests.repository import committed

__all__ = ["_screen", "axe", "screen"]

LAPTOP = (1366, 768)
PHONE = (390, 844)
SIZES = (LAPTOP, PHONE, (360, 640), (195, 422))

RECIPE = """glaze "{name}"
cone: {cone}
atmosphere: oxidation

base:
    nepheline syenite  {syenite}
    silica             {silica}
    whiting            20
    kaolin             {kaolin}
{more}"""


def recipe(name: str = "Marram", cone: str = "6", silica: float = 25, more: str = "") -> str:
    return RECIPE.format(name=name, cone=cone, syenite=40, silica=silica, kaolin=15, more=more)


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    """A repository of thirteen revisions of one recipe, and a change since."""
    folder = tmp_path / "shelf"
    folder.mkdir()
    (folder / "glost.yaml").write_text("name: a shelf\n", "utf-8")
    for at in range(12):
        text = recipe(silica=25 + (at % 3) * 2.5)
        (folder / "marram.glost").write_text(text, "utf-8")
        committed(folder, f"Step {at} of the silica of spring", f"2026-03-{at + 1:02}")
    addition = "\nadditions:\n    tin oxide  4\n"
    (folder / "marram.glost").write_text(recipe(more=addition), "utf-8")
    committed(folder, "Try tin", "2026-04-01")
    (folder / "marram.glost").write_text(recipe(silica=30, more=addition), "utf-8")
    return folder


@pytest.fixture
def shown(run: Run, shelf: Path) -> Path:
    """The page of that recipe."""
    target = shelf.parent / "history.html"
    target.write_text(run("history", "marram.glost", "--output", "html", cwd=shelf).stdout, "utf-8")
    return target


def test_newest_stands_first(run: Run, shelf: Path) -> None:
    lines = run("history", "marram.glost", cwd=shelf).stdout.splitlines()
    assert lines[0] == "Marram"
    first = next(at for at, line in enumerate(lines) if line.startswith("material"))
    assert lines[first].split()[1] == "now"
    assert re.findall(r"\d{4}-\d\d-\d\d", lines[first + 1])[:2] == ["2026-04-01", "2026-03-12"]
    days = re.findall(r"\d{4}-\d\d-\d\d", "\n".join(line for line in lines if line.startswith("day")))
    assert days == sorted(days, reverse=True)
    assert len(days) == 13
    assert max(map(len, lines)) <= 80


def test_what_never_changed_is_said_once(run: Run, shelf: Path) -> None:
    text = run("history", "marram.glost", cwd=shelf).stdout
    for said in ("cone       6", "atmosphere oxidation"):
        assert text.count(said) == 1
    assert text.count("Marram") == 1
    (shelf / "marram.glost").write_text(recipe("Bent", "5-6", 30), "utf-8")
    text = run("history", "marram.glost", cwd=shelf).stdout
    assert text.startswith("Bent\n")
    assert re.search(r"^cone +\*5-6 +6", text, re.MULTILINE)
    assert re.search(r"^name +\*Bent +Marram", text, re.MULTILINE)
    assert text.count("atmosphere") == 1


def test_figures_of_text_and_page_are_those_of_the_table_for_a_spreadsheet(
    run: Run, shelf: Path, shown: Path
) -> None:
    rows = list(csv.reader(io.StringIO(run("history", "marram.glost", "--output", "csv", cwd=shelf).stdout)))
    held = {
        (section, material): [
            f"{float(cell):.2f}".rstrip("0").rstrip(".") if cell else "-" for cell in reversed(cells)
        ]
        for section, material, *cells in rows[1:]
        if section not in ("", "commit")
    }
    assert ("additions", "tin oxide") in held
    html = shown.read_text("utf-8")
    whole = html[: html.index('<div class="paper">')]
    for (_, material), cells in held.items():
        row = re.search(rf'<th scope="row"> *{material}</th>(.*?)</tr>', whole)
        assert row, material
        found = re.findall(r'<td class="figure[^"]*">(?:<b>)?([^<]*?)(?: \*</b>)?</td>', row[1])
        assert found == cells
    on_paper = html[html.index('<div class="paper">') :]
    for (_, material), cells in held.items():
        found = [
            cell
            for row in re.findall(rf'<th scope="row"> *{material}</th>(.*?)</tr>', on_paper)
            for cell in re.findall(r'<td class="figure[^"]*">(?:<b>)?([^<]*?)(?: \*</b>)?</td>', row)
        ]
        assert found == cells


def test_small_lines_say_in_words_what_they_show(shown: Path) -> None:
    html = shown.read_text("utf-8")
    words = re.findall(r'class="trend"[^>]* aria-label="([^"]*)"', html)
    silica = next(one for one in words if one.startswith("25; "))
    assert re.match(r"25; 26.83 in [0-9a-f]{7}; 28.57 in [0-9a-f]{7}; 25 in", silica)
    assert any(re.fullmatch(r"none; 4 in [0-9a-f]{7}; at last 3.81", one) for one in words)


def test_formula_of_the_oldest_and_the_newest_stand_as_bars(run: Run, shelf: Path, shown: Path) -> None:
    html = shown.read_text("utf-8")
    (oldest, was), (newest, now) = drawn_formulas(html).items()
    assert re.fullmatch(r"[0-9a-f]{7}", oldest)
    assert newest == "now"
    assert {"CaO", "SiO2", "Al2O3"} <= set(was) & set(now)
    unity = json.loads(run("formula", "marram.glost", "--output", "json", cwd=shelf).stdout)["tests"][0][
        "unity"
    ]
    for oxide, figure in now.items():
        assert figure == as_drawn(unity.get(oxide, 0)), oxide
    (shelf / "marram.glost").write_text(recipe(), "utf-8")
    first = json.loads(run("formula", "marram.glost", "--output", "json", cwd=shelf).stdout)["tests"][0][
        "unity"
    ]
    for oxide, figure in was.items():
        assert figure == as_drawn(first.get(oxide, 0)), oxide


def test_figures_of_an_unknown_material_are_no_formula(run: Run, shelf: Path) -> None:
    (shelf / "marram.glost").write_text(recipe(more="\nadditions:\n    quay dust  4\n"), "utf-8")
    html = run("history", "marram.glost", "--output", "html", cwd=shelf).stdout
    assert "now" not in drawn_formulas(html)
    assert drawn_formulas(html)


def test_one_revision_has_no_lines(run: Run, tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("name: a shelf\n", "utf-8")
    (tmp_path / "a.glost").write_text(recipe(), "utf-8")
    committed(tmp_path, "Begin")
    html = run("history", "a.glost", "--output", "html").stdout
    assert 'class="trend"' not in html
    assert len(drawn_formulas(html)) == 1


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_page_fits_the_screen_and_the_names_stay(screen: Screen, shown: Path, size: tuple[int, int]) -> None:
    screen.show(shown, size)
    assert screen.js("return document.documentElement.scrollWidth <= window.innerWidth")
    moved = screen.js(
        "const pane = document.querySelector('.screen'); pane.scrollLeft = 200;"
        "const name = [...pane.querySelectorAll('tbody th[scope=row]')].find(it => it.textContent.includes('silica'));"
        "return [pane.scrollLeft, name.getBoundingClientRect().left - pane.getBoundingClientRect().left]"
    )
    assert isinstance(moved, list)
    assert moved[0] > 0
    assert abs(moved[1]) < 2


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_the_words_of_the_bars_can_be_read(screen: Screen, shown: Path, size: tuple[int, int]) -> None:
    screen.show(shown, size)
    sizes = screen.js(
        "return [...document.querySelectorAll('.lanes :is(dt, small)')]"
        ".map((it) => parseFloat(getComputedStyle(it).fontSize))"
    )
    assert isinstance(sizes, list)
    assert len(sizes) == 9  # fluxes, alumina and silica of two revisions
    assert min(sizes) >= 12
    wide = screen.js(
        "return [...document.querySelectorAll('.lanes svg')].map((it) => it.getBoundingClientRect().width)"
    )
    assert isinstance(wide, list)
    assert min(wide) >= 100
    assert screen.js("return document.querySelectorAll('.lanes svg text').length") == 0


def test_days_do_not_break(screen: Screen, shown: Path) -> None:
    screen.show(shown, PHONE)
    heights = screen.js(
        "const row = document.querySelector('.screen tbody tr');"
        "return [...row.cells].slice(1).map(it => it.getBoundingClientRect().height)"
    )
    assert isinstance(heights, list)
    assert max(heights) < 40


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
def test_nothing_is_cut_off_on_paper(
    screen: Screen, shown: Path, tmp_path: Path, paper: tuple[float, float]
) -> None:
    screen.show(shown, LAPTOP)
    screen.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        width = round((paper[0] - 0.8) * 96)
        screen.driver.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": width, "height": 1000, "deviceScaleFactor": 1, "mobile": False},
        )
        cells = screen.js(
            "return [...document.querySelectorAll('.paper td, .paper th')].map(it => "
            "[it.getBoundingClientRect().right, it.scrollWidth - it.clientWidth])"
        )
        assert isinstance(cells, list)
        assert max(right for right, _ in cells) <= width
        assert max(over for _, over in cells) <= 1
        assert screen.js("return document.querySelectorAll('.paper table').length") == 3
    finally:
        screen.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    assert screen.print(tmp_path / "history.pdf", paper).stat().st_size > 1000


@pytest.mark.network
@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("size", [LAPTOP, PHONE], ids=str)
def test_nothing_keeps_anybody_out(
    screen: Screen, axe: str, shown: Path, size: tuple[int, int], scheme: str
) -> None:
    assert findings(screen, axe, shown, size, scheme) == []
