"""The map of a board in a real browser: nothing overlaps, nothing is cut off, and a tick is kept."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from tests.conftest import Run
from tests.output.page.axe import SCHEMES, axe, findings
from tests.output.page.conftest import A4, DESK, LETTER, PHONE, Screen
from tests.output.page.test_weighing import enter

__all__ = ["axe"]

CORNERS = "cobalt carbonate", "red iron oxide", "rutile", "tin oxide"
# 6, 21 and 36 points; shares of many figures; more cups side by side than a phone holds.
BOARDS = {
    "line": (2, "20"),
    "triangle": (3, "20"),
    "square": (4, "20"),
    "fine": (4, "12.5"),
    "long": (2, "5"),
}

_TEXTS = """
    const board = [...document.querySelectorAll('.board')].find((one) => one.getClientRects().length);
    board.scrollIntoView();
    const svg = board.querySelector('svg').getBoundingClientRect();
    return [...board.querySelectorAll('.place')].map((place) => {
        const box = (item) => {
            const { left, top, right, bottom } = item.getBoundingClientRect();
            return [left, top, right, bottom];
        };
        return { cup: box(place.querySelector('.seat')), box: box(place.querySelector('.seat-box')),
            texts: [...place.querySelectorAll('text')].map(box), said: place.textContent,
            board: [svg.left, svg.top, svg.right, svg.bottom] };
    });
"""

_SHOWN = "[...document.querySelectorAll('.board {}')].filter((one) => one.getClientRects().length)"
"""What is seen of the maps, of that kind."""


def page(run_here: Run, tmp_path: Path, name: str, command: str) -> Path:
    corners, step = BOARDS[name]
    rows = [
        f"    {material}  {', '.join('3' if at == column else '0' for column in range(corners))}\n"
        for at, material in enumerate(CORNERS[:corners])
    ]
    text = (
        f'glaze "Board"\ncone: 6\nbase:\n    silica  60\n    whiting  40\nblend "{name}" by {step} %:\n'
        f"{''.join(rows)}"
    )
    (tmp_path / "board.glost").write_text(text, "utf-8")
    words = ("session", "board.glost", "--output", "html") if command == "session" else (
        "convert", "board.glost", "--to", "html")  # fmt: skip
    made = run_here(*words, cwd=tmp_path)
    assert made.returncode == 0, made.stderr
    target = tmp_path / f"{command}.html"
    target.write_text(made.stdout, "utf-8")
    return target


def within(inner: list[float], outer: list[float]) -> bool:
    room = 0.6  # edges are drawn over the outline
    return (
        inner[0] >= outer[0] - room
        and inner[1] >= outer[1] - room
        and inner[2] <= outer[2] + room
        and inner[3] <= outer[3] + room
    )


def apart(one: list[float], other: list[float]) -> bool:
    return (
        one[2] <= other[0] + 0.5
        or other[2] <= one[0] + 0.5
        or one[3] <= other[1] + 0.5
        or other[3] <= one[1] + 0.5
    )


def opened(screen: Screen, target: Path, size: tuple[int, int]) -> None:
    screen.show(target, size)
    screen.js("document.querySelectorAll('.map.folded .fold').forEach((one) => one.click())")
    screen.drawn()


@pytest.mark.parametrize("command", ["convert", "session"])
@pytest.mark.parametrize("name", BOARDS)
@pytest.mark.parametrize("size", [PHONE, (390, 844), DESK])
def test_nothing_overlaps_and_nothing_is_cut_off(
    screen: Screen, run_here: Run, tmp_path: Path, name: str, size: tuple[int, int], command: str
) -> None:
    opened(screen, page(run_here, tmp_path, name, command), size)
    found: Any = screen.js(_TEXTS)
    corners, step = BOARDS[name]
    n = int(100 / float(step))
    assert len(found) == {2: n + 1, 3: (n + 1) * (n + 2) // 2, 4: (n + 1) ** 2}[corners]
    for at, one in enumerate(found):
        assert within(one["cup"], one["board"]), one["said"]
        every = [one["box"], *one["texts"]]
        assert all(within(text, one["cup"]) for text in every), one["said"]
        # Boxes of text hold the room above and below the letters: lines of one cup may share that, and no more.
        assert all(apart(one["box"], text) for text in one["texts"]), one["said"]
        for other in found[at + 1 :]:
            assert apart(one["cup"], other["cup"])
    # A phone shows six cups side by side as they are; what is wider is moved within the map, not the page.
    assert screen.js("return document.documentElement.scrollWidth <= innerWidth")
    smallest = min(one["cup"][2] - one["cup"][0] for one in found)
    assert smallest >= 44
    assert not screen.complaints()


@pytest.mark.parametrize("command", ["convert", "session"])
def test_a_tick_is_kept_with_its_cup(screen: Screen, run_here: Run, tmp_path: Path, command: str) -> None:
    target = page(run_here, tmp_path, "triangle", command)
    opened(screen, target, PHONE)
    ticked = f"return {_SHOWN.format('[aria-checked=true]')}.map((one) => one.getAttribute('aria-label'))"
    assert screen.js(ticked) == []
    tap = (
        f"{_SHOWN.format('[role=checkbox]')}[arguments[0]]"
        ".dispatchEvent(new MouseEvent('click', { bubbles: true }))"
    )
    for at in (0, 13, 20, 20):
        screen.js(tap, at)
    before = screen.js(ticked)
    assert isinstance(before, list)
    assert len(before) == 2
    assert "20/20/60" in before[1]
    opened(screen, target, DESK)
    assert screen.js(ticked) == before
    # The tick weighs nothing: no cup is begun by it.
    assert screen.js(
        "return [...document.querySelectorAll('#choice a .state')].every((one) => !one.textContent)"
    )
    assert not screen.complaints()


@pytest.mark.parametrize("paper", [A4, LETTER])
@pytest.mark.parametrize("name", ["line", "triangle", "square", "fine", "long"])
def test_on_paper_a_map_is_as_wide_as_its_page_and_whole(
    screen: Screen, run_here: Run, tmp_path: Path, name: str, paper: tuple[float, float]
) -> None:
    """Common practice: a tile of three centimetres, or a small cup, is set on each of six places side by side."""
    target = page(run_here, tmp_path, name, "convert")
    screen.show(target, DESK)
    made = pypdfium2.PdfDocument(screen.print(tmp_path / "board.pdf", paper))
    text = made[0].get_textpage()
    said = text.get_text_range()
    assert "map of the board" in said
    corners, step = BOARDS[name]
    n = int(100 / float(step))
    count = {2: n + 1, 3: (n + 1) * (n + 2) // 2, 4: (n + 1) ** 2}[corners]
    assert str(count) in said.split()
    assert "map of the board" not in made[1].get_textpage().get_text_range()
    boxes = [text.get_rect(at) for at in range(text.count_rects())]
    assert all(box[0] > 20 and box[2] < made[0].get_width() - 20 for box in boxes)
    # The first and the last cup of a row stand as far apart as the page allows.
    numbers = [box for box in boxes if box[3] - box[1] > 9 and box[3] < made[0].get_height() - 100]
    assert max(box[2] for box in numbers) > made[0].get_width() - 60


@pytest.mark.parametrize("dark", [False, True])
def test_a_map_is_read_by_day_and_by_night(screen: Screen, run_here: Run, tmp_path: Path, dark: bool) -> None:
    """Web Content Accessibility Guidelines 2.2, 1.4.3: 4.5 to 1 for text."""
    screen.driver.execute_cdp_cmd(
        "Emulation.setEmulatedMedia",
        {"features": [{"name": "prefers-color-scheme", "value": "dark" if dark else "light"}]},
    )
    try:
        opened(screen, page(run_here, tmp_path, "triangle", "session"), PHONE)
        found: Any = screen.js(
            "const look = (what) => getComputedStyle(document.querySelector(what)).fill;"
            "return [look('.board .seat'), look('.board .seat-number'), look('.board .seat-share')]"
        )
    finally:
        screen.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})

    def light(colour: str) -> float:
        parts = [float(one) / 255 for one in colour.removeprefix("rgb(").removesuffix(")").split(",")]
        linear = [one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    ground, *texts = (light(one) for one in found)
    for one in texts:
        assert (max(one, ground) + 0.05) / (min(one, ground) + 0.05) >= 4.5


@pytest.mark.network
@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("command", ["convert", "session", "pour"])
def test_a_map_has_no_finding_of_an_open_checker(
    screen: Screen, run_here: Run, tmp_path: Path, axe: str, command: str, scheme: str
) -> None:
    target = page(run_here, tmp_path, "triangle", "session" if command == "pour" else command)
    if command == "pour":
        made = run_here(
            "blend", "board.glost", "--wet", "60 ml", "--gravity", "1.45", "--output", "html", cwd=tmp_path
        )
        assert made.returncode == 0, made.stderr
        target = tmp_path / "pour.html"
        target.write_text(made.stdout, "utf-8")
    unfold = "document.querySelectorAll('.map.folded .fold').forEach((one) => one.click())"
    assert findings(screen, axe, target, PHONE, scheme, unfold) == []


def test_what_was_weighed_is_printed_beside_a_board(screen: Screen, run_here: Run, tmp_path: Path) -> None:
    """The first cup is the recipe as it stands, and silica comes first: 66 g in the place of 60 g make that cup a tenth
    larger, with 44 g of whiting. The cups beside it are as they were planned."""
    screen.show(page(run_here, tmp_path, "line", "session"), DESK)
    screen.complaints()
    screen.press("Begin")
    assert screen.one(".now .what").text == "Cup 1: silica"
    enter(screen, "66")
    screen.press("Make more")
    screen.print(tmp_path / "session.pdf", A4)
    assert screen.complaints() == []
    rows = screen.js(
        "return [...document.querySelectorAll('tr[data-cup]')].map((row) => [row.dataset.cup,"
        " ...['grams', 'weighed'].map((name) => row.querySelector(`[data-fill=${name}]`).textContent)])"
    )
    assert isinstance(rows, list)
    first = {(float(grams), float(weighed or 0)) for cup, grams, weighed in rows if cup == "0"}
    assert first == {(66, 66), (44, 0)}
    assert {float(grams) for cup, grams, _ in rows if cup == "1"} >= {60, 40}
    document = pypdfium2.PdfDocument(tmp_path / "session.pdf")
    try:
        whole = " ".join(sheet.get_textpage().get_text_range() for sheet in document)
    finally:
        document.close()
    assert "66.0" in whole
