"""glost plot: as a process, its labels by their boxes, and its page in a browser where there is one."""

from __future__ import annotations

import random
import re
from itertools import combinations, pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from selenium.webdriver.common.keys import Keys

from glost.output.plot.chart import MOST_NAMED, Chart, chart, x_of, y_of
from glost.output.plot.labels import Box, Spot, place
from glost.output.plot.page import page
from glost.output.plot.points import BANDS, LeftOut, Point
from glost.output.plot.svg import SHAPES, svg
from tests.conftest import STUDIO, Run
from tests.output.page.conftest import DESK, Screen, _screen, screen
from tests.work import count_steps

__all__ = ["_screen", "screen"]

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def many(count: int, seed: int = 7) -> list[Point]:
    """Points that crowd as those of a real collection do: most of them about 2.8 and 0.4, a few far out."""
    chance = random.Random(seed)
    out = []
    for at in range(count):
        low = chance.randrange(-1, 36)
        spread = 0.25 if at % 12 else 0.9
        out.append(
            Point(
                f"Tide Pool {at} {'of the long winter ' * (at % 3)}".strip(),
                f"a/{at}.glost",
                "6" if low >= 0 else "",
                low,
                low,
                chance.choice([*SHAPES, "", "smoke"]),
                2.8 * chance.lognormvariate(0, spread),
                0.4 * chance.lognormvariate(0, spread),
            )
        )
    return sorted(out)


def boxes(made: Chart) -> list[Box]:
    return [mark.spot.box for mark in made.marks]


def test_names_at_sixty_and_numbers_at_three_hundred() -> None:
    assert not chart(many(60), (), "").numbered
    assert chart(many(300), (), "").numbered
    assert MOST_NAMED < 300


@pytest.mark.parametrize("count", [1, 2, 60, 90, 300])
def test_labels_do_not_overlap_each_other_or_a_point(count: int) -> None:
    made = chart(many(count), (), "")
    for first, second in combinations(boxes(made), 2):
        assert not first.meets(second)
    for mark in made.marks:
        around = Box(mark.x - made.radius, mark.y - made.radius, mark.x + made.radius, mark.y + made.radius)
        assert not any(box.meets(around) for box in boxes(made))
    for box in boxes(made):
        assert made.frame.left <= box.left
        assert box.right <= made.frame.right
        assert made.frame.top <= box.top
        assert box.bottom <= made.frame.bottom
    for ratio in made.ratios:
        assert ratio.box is None or not any(box.meets(ratio.box) for box in boxes(made))


@given(
    st.lists(
        st.tuples(st.integers(20, 480), st.integers(20, 380), st.integers(8, 60)), min_size=1, max_size=40
    )
)
@settings(max_examples=60, deadline=None)
def test_labels_of_any_points_do_not_overlap(places: list[tuple[int, int, int]]) -> None:
    spots = [Spot(x, y, width, 11) for x, y, width in places]
    labels = place(spots, Box(0, 0, 500, 400), 4)
    if labels is not None:
        assert not any(first.box.meets(second.box) for first, second in combinations(labels, 2))


def test_lines_lead_from_a_point_to_its_label() -> None:
    made = chart(many(300), (), "")
    lined = [mark for mark in made.marks if mark.spot.line]
    assert lined
    for mark in lined:
        assert mark.spot.line is not None
        x, y, to_x, to_y = mark.spot.line
        assert abs((x - mark.x) ** 2 + (y - mark.y) ** 2 - (made.radius + 0.5) ** 2) < 0.1
        box = mark.spot.box
        assert box.left <= to_x <= box.right
        assert box.top <= to_y <= box.bottom


def test_most_labels_stand_by_their_point() -> None:
    made = chart(many(300), (), "")
    far = [
        mark
        for mark in made.marks
        if mark.spot.line and abs(mark.spot.line[2] - mark.x) + abs(mark.spot.line[3] - mark.y) > 90
    ]
    assert len(far) <= 15


def test_points_stand_where_their_figures_say() -> None:
    made = chart(many(60), (), "")
    inside = [mark for mark in made.marks if mark.away is None]
    assert len(inside) >= 50
    for mark in inside:
        assert mark.x == pytest.approx(x_of(mark.point.silica, made.silica, made.frame), abs=0.01)
        assert mark.y == pytest.approx(y_of(mark.point.alumina, made.alumina, made.frame), abs=0.01)


def test_lines_of_one_ratio_are_of_that_ratio() -> None:
    made = chart(many(60), (), "")
    assert made.ratios
    frame, silica, alumina = made.frame, made.silica, made.alumina
    for line in made.ratios:
        for x, y in ((line.x, line.y), (line.to_x, line.to_y)):
            of_silica = silica.low + (x - frame.left) / (frame.right - frame.left) * (
                silica.high - silica.low
            )
            of_alumina = alumina.low + (frame.bottom - y) / (frame.bottom - frame.top) * (
                alumina.high - alumina.low
            )
            assert of_silica == pytest.approx(line.value * of_alumina)


def test_drawing_takes_no_more_than_each_glaze_against_each() -> None:
    """A name looks for its place among all the others, so that four times the glazes take sixteen times the steps."""
    few, more = many(40), many(160)
    svg(chart(few, (), ""))
    assert count_steps(lambda: svg(chart(more, (), ""))) < 24 * count_steps(lambda: svg(chart(few, (), "")))


@pytest.mark.parametrize("points", [[], many(1), many(2) * 3], ids=["none", "one", "the same again"])
def test_few_points_make_a_chart_too(points: list[Point]) -> None:
    ElementTree.fromstring(svg(chart(points, (), "")))
    assert page(chart(points, (), ""))


HOSTILE = '<script>alert(1)</script> & "quoted" \u202e]]>\uffff\x07'


def test_names_are_text_whatever_they_hold() -> None:
    hostile = [point._replace(name=HOSTILE, file=HOSTILE, atmosphere=HOSTILE) for point in many(3)]
    made = chart(hostile, (LeftOut(HOSTILE, HOSTILE),), HOSTILE)
    drawn = svg(made)
    ElementTree.fromstring(drawn)
    for text in (drawn, page(made)):
        assert "<script>alert" not in text
        assert "\u202e" not in text
        assert "\x07" not in text


def test_drawing_is_well_formed_and_needs_nothing_else(run: Run, run_process: Run, tmp_path: Path) -> None:
    done = run("plot", str(STUDIO), "--out", "studio.svg")
    assert done.returncode == 0, done.stderr
    assert "Stoke Line: not on the chart; what wood ash brings is not known" in done.stderr
    text = (tmp_path / "studio.svg").read_text("utf-8")
    root = ElementTree.fromstring(text)
    groups = [group for group in root.iter(f"{SVG}g") if group.get("id", "").startswith("p")]
    assert f"studio.svg: {len(groups)} glazes drawn" in done.stderr
    shown = [words for group in groups for words in group.itertext()]
    assert "Clear Ebb" in shown
    assert any(words.startswith("Clear Ebb: cone 5-6, oxidation; SiO2 3.60, Al2O3 0.45") for words in shown)
    for said in ("SiO\u2082, mol per mol of flux", "Al\u2082O\u2083, mol per mol of flux", "8 : 1"):
        assert said in "\n".join(root.itertext())
    assert "together are 1 mol of flux" in " ".join("".join(part) for part in root.itertext())
    assert not re.search(r"https?://(?!www\.w3\.org/2000/svg\")|<image|<style|<script|url\(", text)
    run_process("plot", str(STUDIO), "--out", "again.svg", PYTHONHASHSEED="99")
    assert (tmp_path / "again.svg").read_text("utf-8") == text


def test_tones_and_shapes_are_told_and_differ(run: Run, tmp_path: Path) -> None:
    run("plot", str(STUDIO), "--out", "studio.svg")
    text = (tmp_path / "studio.svg").read_text("utf-8")
    for said in (*BANDS[:3], "oxidation", "reduction", "raku"):
        assert f">{said}<" in text
    tones = set(re.findall(r'fill="(#[0-9a-f]{6})" stroke="#20262b"', text))
    light = sorted(sum(int(tone[at : at + 2], 16) for at in (1, 3, 5)) for tone in tones - {"#b9c0c4"})
    assert all(second - first > 120 for first, second in pairwise(light))


def test_cones_and_atmospheres_are_chosen(run: Run, tmp_path: Path) -> None:
    done = run("plot", str(STUDIO), "--cone", "5-7", "--atmosphere", "oxidation", "--out", "six.svg")
    assert done.returncode == 0
    text = (tmp_path / "six.svg").read_text("utf-8")
    assert "Cone 5-7, oxidation" in text
    for words in re.findall(r"<title>(.*?)</title>", text)[1:]:
        assert re.search(r": cone (?:5|6|5-6|6-7|7|4-6|04-6), oxidation", words), words


def test_half_cones_are_chosen_by_where_they_lie(run: Run, tmp_path: Path) -> None:
    for name, cone in (("Low", "05 1/2"), ("Even", "05"), ("High", "5\u00bd"), ("Top", "6")):
        (tmp_path / f"{name}.glost").write_text(
            f'glaze "{name}"\ncone: {cone}\nbase:\n    potash feldspar  60\n    whiting  40\n', "utf-8"
        )
    for asked, found in (
        ("06-05 1/2", ["Low"]),
        ("05-04", ["Even"]),
        ("5-5.5", ["High"]),
        ("5 1/2-6", ["High", "Top"]),
    ):
        done = run("plot", str(tmp_path), "--cone", asked, "--out", str(tmp_path / "made.svg"), "--force")
        assert done.returncode == 0, done.stderr
        drawn = (tmp_path / "made.svg").read_text("utf-8")
        assert [name for name in ("Low", "Even", "High", "Top") if f">{name}: cone" in drawn] == found, asked
    page = run("plot", str(tmp_path), "--out", str(tmp_path / "made.html"))
    assert page.returncode == 0, page.stderr
    assert ">05 1/2</option>" in (tmp_path / "made.html").read_text("utf-8")


def test_page_holds_the_same_glazes_and_a_policy(run: Run, tmp_path: Path) -> None:
    run("plot", str(STUDIO), "--out", "studio.html")
    run("plot", str(STUDIO), "--out", "studio.svg")
    text = (tmp_path / "studio.html").read_text("utf-8")
    count = len(re.findall(r'<g id="p\d+"', (tmp_path / "studio.svg").read_text("utf-8")))
    assert len(re.findall(r'<g id="p\d+"', text)) == len(re.findall(r'<tr id="r\d+"', text)) == count
    assert "default-src 'none'" in text
    assert not re.search(r"https?://(?!www\.w3\.org/2000/svg\")|\bstyle=|\bon[a-z]+=", text)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--out", "x.png"), "ends neither in .svg nor in .html"),
        (("--out", "x.svg", "--cone", "99"), "cone 99 is not one of"),
        (("--out", "x.svg", "--cone", "warm"), "'warm' is not a cone"),
        (("--out", "x.svg", "--atmosphere", "smoke"), "smoke"),
        (("nowhere", "--out", "x.svg"), "there is no file or folder 'nowhere'"),
        ((), "--out"),
    ],
)
def test_wrong_usage_is_answered(run: Run, tmp_path: Path, arguments: tuple[str, ...], said: str) -> None:
    done = run("plot", *arguments)
    assert done.returncode == 2
    assert said in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_recipe_is_not_written_over(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.svg").write_text('glaze "A"\n\nbase:\n    whiting  50\n    silica  50\n')
    done = run("plot", "a.svg", "--out", "a.svg")
    assert done.returncode == 2
    assert "would be lost" in done.stderr
    assert (tmp_path / "a.svg").read_text().startswith("glaze")


# ---- in a browser ----------------------------------------------------------------------------------------


def test_page_filters_and_goes_by_keys(screen: Screen, tmp_path: Path) -> None:
    points = many(120)
    target = tmp_path / "plot.html"
    target.write_text(page(chart(points, (), "")), encoding="utf-8")
    screen.complaints()
    screen.show(target, DESK)
    assert screen.one("#told").text == "120 of 120 glazes shown"

    box = screen.one("input[value=oxidation]")
    box.click()
    left = sum(point.atmosphere != "oxidation" for point in points)
    assert screen.one("#told").text == f"{left} of 120 glazes shown"
    visible = (
        "return [...document.querySelectorAll(arguments[0])].filter(it => it.getClientRects().length).length"
    )
    assert screen.js(visible, "#chart g[data-low]") == screen.js(visible, "tbody tr") == left
    screen.press("Show all")
    screen.until(lambda: screen.one("#told").text == "120 of 120 glazes shown")

    screen.js("document.querySelector('#chart g[tabindex=\"0\"]').focus()")
    active = screen.driver.switch_to.active_element
    active.send_keys(Keys.END)
    assert screen.js("return document.activeElement.id") == "p120"
    assert screen.one("#told").text.startswith(points[-1].name)
    screen.driver.switch_to.active_element.send_keys(Keys.HOME)
    assert screen.js("return document.activeElement.id") == "p1"
    met = set()
    for key in (Keys.ARROW_RIGHT, Keys.ARROW_LEFT, Keys.ARROW_UP, Keys.ARROW_DOWN):
        screen.driver.switch_to.active_element.send_keys(key)
        met.add(screen.js("return document.activeElement.id"))
    assert len(met) >= 2
    assert screen.complaints() == []


def test_labels_fit_their_boxes_in_a_browser(screen: Screen, tmp_path: Path) -> None:
    """The widths that labels are placed by are those of no one font; what a browser draws must not be wider."""
    for count in (60, 300):
        made = chart(many(count), (), "")
        target = tmp_path / "plot.svg"
        target.write_text(svg(made), encoding="utf-8")
        screen.show(target, DESK)
        drawn = screen.js(
            "return [...document.querySelectorAll('g[data-low] text')].map(it => {"
            "const box = it.getBBox(); return [box.x, box.y, box.x + box.width, box.y + box.height]; })"
        )
        assert isinstance(drawn, list)
        assert len(drawn) == count
        for (left, _, right, _), mark in zip(drawn, made.marks, strict=True):
            assert mark.spot.box.left - 0.5 <= left
            assert right <= mark.spot.box.right + 0.5
