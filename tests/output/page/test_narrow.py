"""No page is wider than its window, with and without its script: names, amounts and balances of awkward lengths on a
phone, on one at 200 %, and on a tablet. Labels are left out: they have the size of their paper."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import Run
from tests.output.page.conftest import Screen

SIZES = [(360, 640), (195, 422), (820, 1180)]
HOUSE = """\
name: Mühlhof am Überlauf (invented)
balances:
  - {name: Apothekerwaage im Schrank, capacity: 120 g, readability: 0.005 g}
  - {name: counter, capacity: 3200 g, readability: 0.5 g}
materials: materials.yaml
"""
LOESS = """\
materials:
  - name: Grünbühler Löß
    role: clay
    source: invented
    hazards: []
    hazard source: invented
    analysis: {SiO2: 61.2, Al2O3: 11.3, Fe2O3: 3.9, CaO: 8.1, MgO: 1.9, K2O: 2.1, Na2O: 1.0}
    loss: 10.2
"""
RAIN = """\
glaze "Regen über der Mühle"
cone: 7
water: 88 %
batch: 430 g

base:
    potash feldspar    31.5
    silica             19.25
    dolomite            8.75
    whiting            12.5
    Grünbühler Löß     17
    kaolin             11

additions:
    red iron oxide      3.4
    nickel oxide        0.35  (dissolve lumps first)

variation "Föhn, sehr trocken und heiß":
    manganese dioxide   2.2

series "Eisen":
    red iron oxide      1.75, 3.45, 5.15, 6.85, 10.25, 11.75

base series "Quarz gegen Kaolin":
    silica   15.25, 19.25, 23.25
    kaolin   15, 11, 7
"""
POND = """\
glaze "Morgen am Weiher"
cone: 6-7
water: 70 %

base:
    soda feldspar      47.25
    silica             34.5
    whiting            18.25

additions:
    copper carbonate    1.9
"""
PAGES = {
    "sheets": ("convert", "rain.glost", "--to", "html", "--out", "made.html"),
    "session": ("session", "rain.glost", "--output", "html"),
    "comparison": ("compare", "rain.glost", "pond.glost", "--output", "html"),
    "catalog": ("catalog", "rain.glost", "pond.glost", "--out", "made.html"),
    "formula": ("formula", "rain.glost", "--output", "html"),
    "pour": ("blend", "line.glost", "--wet", "85 ml", "--gravity", "1.42, 1.47", "--output", "html"),
}


def made(run: Run, tmp_path: Path, kind: str) -> Path:
    """The page of that kind."""
    files = {"glost.yaml": HOUSE, "materials.yaml": LOESS, "rain.glost": RAIN, "pond.glost": POND}
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    if kind == "pour":
        run("blend", "rain.glost", "pond.glost", "--by", "25 %", "--out", "line.glost")
    done = run(*PAGES[kind])
    assert done.returncode in (0, 1), done.stderr
    if done.stdout.startswith("<!"):
        (tmp_path / "made.html").write_text(done.stdout, encoding="utf-8")
    return tmp_path / "made.html"


@pytest.mark.parametrize("kind", PAGES)
def test_nothing_stands_beside_the_window(screen: Screen, run_here: Run, tmp_path: Path, kind: str) -> None:
    target = made(run_here, tmp_path, kind)
    wide: dict[tuple[bool, int, int], int] = {}
    for script in (True, False):
        screen.driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": not script})
        try:
            for size in SIZES:
                screen.show(target, size)
                content = screen.driver.execute_cdp_cmd("Page.getLayoutMetrics", {})["cssContentSize"]
                wide[script, *size] = content["width"] - size[0]
        finally:
            screen.driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
    assert {case: more for case, more in wide.items() if more > 0} == {}


def test_the_name_of_a_jar_is_not_torn(screen: Screen, run_here: Run, tmp_path: Path) -> None:
    screen.show(made(run_here, tmp_path, "session"), (195, 422))
    # Each word on one line: a rectangle for each line that it takes.
    torn = screen.js(
        "return [...document.querySelectorAll('.jar-pick b')].flatMap((name) => {"
        "  const text = name.firstChild, range = document.createRange();"
        "  return [...text.data.matchAll(/\\\\S+/g)].filter((word) => {"
        "    range.setStart(text, word.index); range.setEnd(text, word.index + word[0].length);"
        "    return range.getClientRects().length > 1;"
        "  }).map((word) => word[0]);"
        "})"
    )
    assert torn == []
    assert screen.js("return document.querySelectorAll('.jar-pick b').length") == 9


@pytest.mark.parametrize("kind", PAGES)
def test_large_text_is_large_in_every_control(
    screen: Screen, run_here: Run, tmp_path: Path, kind: str
) -> None:
    target = made(run_here, tmp_path, kind)
    sizes = []
    for text in ("100%", "200%"):
        screen.show(target, SIZES[0])
        screen.js("document.documentElement.style.fontSize = arguments[0]", text)
        sizes.append(
            screen.js(
                "return [...document.querySelectorAll('input:not([type=checkbox], [type=radio]), select, button, a')]"
                ".map((it) => [it.outerHTML.slice(0, 60), parseFloat(getComputedStyle(it).fontSize)])"
            )
        )
    before, after = sizes
    assert isinstance(before, list)
    assert isinstance(after, list)
    assert [who for (who, one), (_, other) in zip(before, after, strict=True) if other < 1.5 * one] == []
