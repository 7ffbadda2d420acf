"""glost plot: as a process, its marks and names by their boxes, and its page in a browser where there is one."""

from __future__ import annotations

import json
import math
import random
import re
from collections import Counter
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from selenium.webdriver.common.keys import Keys

from glost.output.plot.chart import Chart, Mark, Stop, box_of, chart, in_short, path_chart, place_of
from glost.output.plot.draw import LETTERS, LOOKS
from glost.output.plot.labels import Box, Label, place, text_width
from glost.output.plot.page import page
from glost.output.plot.points import RANGES, LeftOut, Point
from glost.output.plot.svg import svg
from tests.conftest import STUDIO, TOP, Run
from tests.output.page.axe import SCHEMES, axe, findings
from tests.output.page.conftest import A4, LETTER, Screen, _screen, screen
from tests.repository import committed
from tests.work import steps_grow_in_proportion

__all__ = ["_screen", "axe", "screen"]

SVG = "{http://www.w3.org/2000/svg}"
LAPTOP = (1366, 768)
PHONE = (390, 844)
SIZES = (LAPTOP, PHONE, (360, 640), (195, 422))


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def many(count: int, seed: int = 7) -> list[Point]:
    """Points that crowd as those of a real collection do: most of them about 2.8 and 0.4, a few far out."""
    chance = random.Random(seed)
    out = []
    for at in range(count):
        low = 2 * chance.randrange(37) - 2  # a whole cone, or none
        spread = 0.25 if at % 12 else 0.9
        silica, alumina = 2.8 * chance.lognormvariate(0, spread), 0.4 * chance.lognormvariate(0, spread)
        alkalis, zinc = chance.random() / 2, chance.choice([0, 0, 0.2])
        out.append(
            Point(
                f"Tide Pool {at} {'of the long winter ' * (at % 3)}".strip(),
                f"a/{at}.glost",
                "6" if low >= 0 else "",
                low,
                low,
                chance.choice([*LETTERS, "", "smoke"]),
                silica,
                alumina,
                silica,
                alumina,
                chance.choice([0, 0.1, 0.4, 1.2]),
                alkalis,
                1 - alkalis - zinc,
                zinc,
            )
        )
    return sorted(out)


def all_marks(made: Chart) -> list[Mark]:
    return [mark for one in made.panels for mark in one.marks]


# ---- the layout --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [1, 2, 60, 300, 2000])
def test_every_glaze_stands_at_one_mark_of_the_panel_of_its_cones(count: int) -> None:
    points = many(count)
    made = chart(points, (), "")
    for one in made.panels:
        assert {RANGES[points[at].range] for mark in one.marks for at in mark.members} == {one.title}
    assert Counter(at for mark in all_marks(made) for at in mark.members) == Counter(range(count))


@pytest.mark.parametrize("count", [60, 300, 2000])
def test_a_mark_stands_where_its_glazes_do(count: int) -> None:
    """The first of them exactly, the others so near that there is no room for a mark beside it."""
    points = many(count)
    for one in chart(points, (), "").panels:
        for mark in one.marks:
            x, y, _, _ = place_of(points[mark.members[0]], one)
            assert (mark.x, mark.y) == (x, y)
            for at in mark.members:
                x, y, _, _ = place_of(points[at], one)
                assert math.hypot(mark.x - x, mark.y - y) < 41


def test_panels_have_the_same_axes() -> None:
    made = chart(many(300), (), "")
    assert len(made.panels) == len(RANGES)
    assert len({(one.frame, one.across, one.up) for one in made.panels}) == 1


def test_what_lies_beyond_an_axis_stands_in_the_margin_with_its_figure() -> None:
    points = many(300)
    made = chart(points, (), "")
    outside = [mark for mark in all_marks(made) if mark.beyond]
    assert outside
    for one in made.panels:
        for mark in one.marks:
            high = [points[at].x > one.across.high or points[at].y > one.up.high for at in mark.members]
            assert all(high) if mark.beyond else not any(high)
            is_within = one.frame.left <= mark.x <= one.frame.right and one.frame.top <= mark.y
            assert is_within != bool(mark.beyond)
            if mark.beyond and len(mark.members) == 1:
                point = points[mark.members[0]]
                figure = point.x if point.x > one.across.high else point.y
                assert mark.beyond == f"{figure:.2f}"


@pytest.mark.parametrize("count", [1, 2, 60, 300, 2000])
def test_names_meet_no_other_name_and_no_mark(count: int) -> None:
    for one in chart(many(count), (), "").panels:
        spots = [mark.spot for mark in one.marks if mark.spot]
        for first, second in combinations(spots, 2):
            assert not first.meets(second)
        for spot in spots:
            assert one.frame.holds(spot)
            assert not any(spot.meets(box_of(mark)) for mark in one.marks)


def test_most_names_are_written_where_they_are_short() -> None:
    (alone,) = all_marks(chart(many(1), (), ""))
    assert alone.spot
    points = [point._replace(name="Marram") for point in many(40)]
    made = chart(points, (), "")
    assert sum(mark.spot is not None for mark in all_marks(made)) > len(all_marks(made)) / 2


@given(st.lists(st.tuples(st.integers(20, 480), st.integers(20, 380), st.integers(0, 14)), max_size=40))
@settings(max_examples=60, deadline=None)
def test_names_of_any_marks_do_not_meet(places: list[tuple[int, int, int]]) -> None:
    labels = [Label("x" * length, Box(x - 8, y - 8, x + 8, y + 8)) for x, y, length in places]
    area = Box(0, 0, 500, 400)
    spots = [(spot, label) for spot, label in zip(place(labels, 11, area), labels, strict=True) if spot]
    for (first, _), (second, _) in combinations(spots, 2):
        assert not first.meets(second)
    for spot, label in spots:
        assert area.holds(spot)
        assert not any(spot.meets(other.mark) for other in labels)
        assert spot.right - spot.left == pytest.approx(text_width(label.text, 11))


def test_two_glazes_at_one_point_show_as_two() -> None:
    twin = many(1)[0]
    made = chart([twin, twin._replace(name="Twin")], (), "")
    (mark,) = all_marks(made)
    assert mark.members == (0, 1)
    drawn = svg(made)
    assert ">2</text>" in drawn
    assert "2 glazes at one place" in drawn


@pytest.mark.parametrize("form", [svg, page])
def test_work_grows_with_the_number_of_glazes(form: object) -> None:
    """From the points to the finished file, in counted steps: four times the glazes, about four times the work."""
    assert callable(form)
    crowds = {count: many(count) for count in (500, 2000)}
    assert steps_grow_in_proportion(lambda count: form(chart(crowds[count], (), "")), 500)


def test_a_panel_holds_no_more_marks_than_find_room() -> None:
    few, more = (chart(many(count), (), "") for count in (1000, 8000))
    most = max(len(one.marks) for one in more.panels)
    assert most <= 110
    assert len(svg(more)) < 8 * len(svg(few))


@pytest.mark.parametrize("points", [[], many(1), many(2) * 3], ids=["none", "one", "the same again"])
def test_few_points_make_a_chart_too(points: list[Point]) -> None:
    ElementTree.fromstring(svg(chart(points, (), "")))
    assert page(chart(points, (), ""))


def test_no_line_of_one_ratio_crosses_the_field() -> None:
    """Every line within a panel of a collection lies along an axis."""
    paths = re.findall(r' d="([^"]*)"', svg(chart(many(60), (), "")))
    assert paths
    for path in paths:
        assert re.fullmatch(r"M[\d.]+ [\d.]+[HV][\d.]+", path), path


HOSTILE = '<script>alert(1)</script> & "quoted" \u202e]]>\uffff\x07 class="ink"'


def test_names_are_text_whatever_they_hold() -> None:
    hostile = [point._replace(name=HOSTILE, file=HOSTILE, atmosphere=HOSTILE) for point in many(3)]
    stops = [Stop("1", HOSTILE, HOSTILE, HOSTILE, 0), Stop("a", HOSTILE, "", HOSTILE, None, HOSTILE, True)]
    left_out = (LeftOut(HOSTILE, HOSTILE),)
    for made in (
        chart(hostile, left_out, HOSTILE),
        path_chart(HOSTILE, stops, hostile[:1], hostile[1:], left_out, HOSTILE),
    ):
        drawn = svg(made)
        ElementTree.fromstring(drawn)
        for text in (drawn, page(made)):
            assert "<script>alert" not in text
            assert "\u202e" not in text
            assert "\x07" not in text


def test_style_sheet_knows_every_look() -> None:
    sheet = (TOP / "src/glost/output/web/plot.css").read_text("utf-8")
    for look in LOOKS:
        assert re.search(rf"\.{look}\b", sheet), look


# ---- the path of one recipe --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("signs", "said"),
    [
        (["1"], "1"),
        (["1", "2", "3"], "1-3"),
        (["1", "4"], "1, 4"),
        (["1", "2", "5", "6", "8"], "1-2, 5-6, 8"),
        (["3", "a", "b"], "3"),
        (["a"], "a"),
        (["a", "b", "c"], "a-c"),
    ],
)
def test_signs_in_short(signs: list[str], said: str) -> None:
    assert in_short(signs) == said


RECIPE = """glaze "Marram"
cone: 6
atmosphere: oxidation

base:
    nepheline syenite  {syenite}
    silica             {silica}
    whiting            20
    kaolin             15

variation "blue":
    cobalt carbonate   1

variation "with frit":
    calcium borate frit  12
"""


@pytest.fixture
def marram(tmp_path: Path) -> Path:
    """A collection with a recipe of three revisions, two of them the same but for a note, and a change since."""
    folder = tmp_path / "shelf"
    folder.mkdir()
    (folder / "glost.yaml").write_text("name: a shelf\n", "utf-8")
    other = RECIPE.replace("Marram", "Groyne").format(syenite=30, silica=32)
    (folder / "groyne.glost").write_text(other, "utf-8")
    file = folder / "marram.glost"
    for subject, text in (
        ("Begin", RECIPE.format(syenite=40, silica=25)),
        ("Say more", RECIPE.format(syenite=40, silica=25) + "\nnotes:\n    Thin.\n"),
        ("More silica", RECIPE.format(syenite=40, silica=30)),
    ):
        file.write_text(text, "utf-8")
        committed(folder, subject)
    file.write_text(RECIPE.format(syenite=45, silica=30), "utf-8")
    return file


def test_one_recipe_is_drawn_through_its_revisions_and_variations(run: Run, marram: Path) -> None:
    done = run("plot", "marram.glost", "--out", "path.svg", cwd=marram.parent)
    assert done.returncode == 0, done.stderr
    assert "path.svg: 4 revisions and 2 variations drawn, before 1 glaze" in done.stderr
    drawn = (marram.parent / "path.svg").read_text("utf-8")
    root = ElementTree.fromstring(drawn)
    words = [text.text for text in root.iter(f"{SVG}text")]
    for sign in ("1-2", "3", "4", "b", "now +1", "with frit", "Groyne"):
        assert sign in words, sign
    told = [group.get("aria-label") or "" for group in root.iter(f"{SVG}g") if group.get("data-mark")]
    assert sum("4, now: Marram: cone 6" in one and "a, blue:" in one for one in told) == 1


def test_revisions_that_lie_close_do_not_cover_each_other(run: Run, tmp_path: Path) -> None:
    """Twelve small steps to and fro: signs of several revisions are wider than the way from one to the next."""
    folder = tmp_path / "shelf"
    folder.mkdir()
    (folder / "glost.yaml").write_text("name: a shelf\n", "utf-8")
    for step in (0, 1, 2, 3, 4, 5, 4, 3, 2, 1, 0, 1):
        (folder / "marram.glost").write_text(RECIPE.format(syenite=40, silica=25 + step), "utf-8")
        committed(folder, f"Silica {25 + step}")
    assert run("plot", "marram.glost", "--out", "path.svg", cwd=folder).returncode == 0
    root = ElementTree.fromstring((folder / "path.svg").read_text("utf-8"))
    boxes = []
    for group in root.iter(f"{SVG}g"):
        at = re.fullmatch(r"translate\(([\d.]+) ([\d.]+)\)", group.get("transform") or "")
        for box in group.findall(f"{SVG}rect[@rx='4']"):
            assert at is not None
            left, top = float(at[1]) + float(box.get("x", 0)), float(at[2]) + float(box.get("y", 0))
            boxes.append((left, top, left + float(box.get("width", 0)), top + float(box.get("height", 0))))
    for one, other in combinations(boxes, 2):
        apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
        assert apart, (one, other)
    words = {text.text for text in root.iter(f"{SVG}text")}
    # Where there is room for it the sign stands beside its dot; the newest always has a place.
    assert "2, 10, 12 now" in words
    assert len([dot for dot in root.iter(f"{SVG}circle") if dot.get("r") == "3"]) == 6


def test_figures_of_a_path_are_those_of_the_formula(run: Run, marram: Path) -> None:
    """Each stop, against `glost formula` of the page as that commit has it."""
    run("plot", "marram.glost", "--out", "path.html", cwd=marram.parent)
    html = (marram.parent / "path.html").read_text("utf-8")
    rows = re.findall(r'<tr data-row="\d+"><td>(\w+)</td>(.*?)</tr>', html)
    shown = {sign: re.findall(r'<td class="figure">([\d.]+)</td>', cells) for sign, cells in rows}
    assert list(shown) == ["1", "2", "3", "4", "a", "b"]
    texts = {
        "1": RECIPE.format(syenite=40, silica=25),
        "3": RECIPE.format(syenite=40, silica=30),
        "4": RECIPE.format(syenite=45, silica=30),
    }
    for sign, text in texts.items():
        (marram.parent / "then.glost").write_text(text, "utf-8")
        done = run("formula", "then.glost", "--output", "json", cwd=marram.parent)
        tests = json.loads(done.stdout)["tests"]
        assert shown[sign] == figures(tests[0]["unity"])
        if sign == "4":
            assert shown["a"] == figures(tests[1]["unity"])
            assert shown["b"] == figures(tests[2]["unity"])


ASH = """materials:
  - name: tip ash
    role: ash
    source: invented
    hazards: []
    analysis: {{CaO: {lime}, K2O: {potash}}}
    loss: 0
"""


def test_a_revision_has_the_materials_of_its_own_commit(run: Run, tmp_path: Path) -> None:
    """An analysis that is changed moves the glaze, though its page stays: also before it is committed, and under
    another name of the file."""
    folder = tmp_path / "shelf"
    folder.mkdir()
    (folder / "glost.yaml").write_text("name: a shelf\nmaterials: own.yaml\n", "utf-8")
    page = RECIPE.format(syenite=40, silica=25).replace("whiting", "tip ash")
    assert "tip ash" in page
    meant: list[list[str]] = []
    for step, (lime, name) in enumerate(((80, "marram"), (60, "marram"), (60, "sea-lyme"), (40, "sea-lyme"))):
        for old in folder.glob("*.glost"):
            old.unlink()
        (folder / f"{name}.glost").write_text(page, "utf-8")
        (folder / "own.yaml").write_text(ASH.format(lime=lime, potash=100 - lime), "utf-8")
        done = run("formula", f"{name}.glost", "--output", "json", cwd=folder)
        if step != 2:  # a rename alone lies where the glaze lay
            meant.append(figures(json.loads(done.stdout)["tests"][0]["unity"]))
        if step < 3:
            committed(folder, f"Step {step}", f"2026-03-0{step + 1}")
    assert run("plot", "sea-lyme.glost", "--out", "path.html", cwd=folder).returncode == 0
    html = (folder / "path.html").read_text("utf-8")
    rows = re.findall(r'<tr data-row="\d+"><td>(\d+)</td>(.*?)</tr>', html)
    shown = [re.findall(r'<td class="figure">([\d.]+)</td>', cells) for _, cells in rows]
    assert shown == [meant[0], meant[1], meant[1], meant[2]]


def figures(unity: dict[str, float]) -> list[str]:
    def of(*oxides: str) -> float:
        return sum(unity.get(oxide, 0) for oxide in oxides)

    parts = (
        of("SiO2"),
        of("Al2O3"),
        of("B2O3"),
        of("Li2O", "Na2O", "K2O", "Rb2O", "Cs2O"),
        of("MgO", "CaO", "SrO", "BaO"),
        of("ZnO", "PbO"),
    )
    return [f"{part:.2f}" for part in parts]


def test_what_could_not_be_read_then_is_told(run: Run, marram: Path) -> None:
    good = marram.read_text("utf-8")
    marram.write_text(good.replace("kaolin             15", "kaolin"), "utf-8")
    committed(marram.parent, "Spoil it")
    marram.write_text(good, "utf-8")
    done = run("plot", "marram.glost", "--out", "path.html", cwd=marram.parent)
    assert done.returncode == 0
    assert "not on the chart; the page could not be read whole then" in done.stderr
    assert "no place: the page could not be read whole then" in (marram.parent / "path.html").read_text(
        "utf-8"
    )


def test_a_recipe_without_git_is_drawn_as_it_stands(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(RECIPE.format(syenite=40, silica=25), "utf-8")
    done = run("plot", "a.glost", "--out", "a.svg")
    assert done.returncode == 0
    assert "in no git repository of its collection; drawn without revisions" in done.stderr
    assert "a.svg: 1 revision and 2 variations drawn, before 0 glazes" in done.stderr


def test_what_is_no_glaze_has_no_path(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(
        RECIPE.format(syenite=40, silica=25).replace("glaze", "slip", 1), "utf-8"
    )
    done = run("plot", "a.glost", "--out", "a.svg")
    assert done.returncode == 2
    assert "is a recipe of the kind slip; only glazes are drawn" in done.stderr
    assert not (tmp_path / "a.svg").exists()


# ---- as a process ------------------------------------------------------------------------------------------


def test_drawing_is_well_formed_and_needs_nothing_else(run: Run, run_process: Run, tmp_path: Path) -> None:
    done = run("plot", str(STUDIO), "--out", "studio.svg")
    assert done.returncode == 0, done.stderr
    assert "Reed Celadon: not on the chart; what washed wood ash brings is not known" in done.stderr
    text = (tmp_path / "studio.svg").read_text("utf-8")
    root = ElementTree.fromstring(text)
    numbers = [
        int(number) for group in root.iter(f"{SVG}g") for number in (group.get("data-mark") or "").split()
    ]
    assert sorted(numbers) == list(range(len(numbers)))
    assert f"studio.svg: {len(numbers)} glazes drawn" in done.stderr
    words = " ".join(" ".join(root.itertext()).split())
    for said in (
        "Cone 1 to 7: 23 glazes",
        "SiO\u2082, mol to 1 of flux",
        "Clear Ebb",
        "together are 1 mol of flux",
    ):
        assert said in words
    assert not re.search(r"https?://(?!www\.w3\.org/2000/svg\")|<image|<style|<script|url\(|class=", text)
    run_process("plot", str(STUDIO), "--out", "again.svg", PYTHONHASHSEED="99")
    assert (tmp_path / "again.svg").read_text("utf-8") == text


def test_every_glaze_is_named_on_the_drawing_or_below_it(run: Run, tmp_path: Path) -> None:
    run("plot", str(STUDIO), "--out", "studio.svg")
    run("plot", str(STUDIO), "--out", "studio.html")
    root = ElementTree.parse(tmp_path / "studio.svg").getroot()
    words = " ".join("".join(text.itertext()) for text in root.iter(f"{SVG}text"))
    names = re.findall(
        r'<tr data-row="\d+"><th scope="row">(.*?)</th>', (tmp_path / "studio.html").read_text("utf-8")
    )
    assert len(names) == 52
    missing = [name for name in names if name not in words and f"{name[:9]}" not in words]
    assert not missing


def test_figures_of_the_page_are_those_of_the_formula(run: Run, tmp_path: Path) -> None:
    """The whole demo collection."""
    run("plot", str(STUDIO), "--out", "studio.html")
    html = (tmp_path / "studio.html").read_text("utf-8")
    shown = {
        name: re.findall(r'<td class="figure">([\d.]+)</td>', cells)
        for name, cells in re.findall(r'<tr data-row="\d+"><th scope="row">(.*?)</th>(.*?)</tr>', html)
    }
    tests = json.loads(run("formula", str(STUDIO), "--output", "json").stdout)["tests"]
    held = {one["name"]: figures(one["unity"]) for one in tests if one["name"] in shown}
    assert len(held) == 52
    assert shown == held


def test_cones_and_atmospheres_are_chosen(run: Run, tmp_path: Path) -> None:
    done = run("plot", str(STUDIO), "--cone", "5-7", "--atmosphere", "oxidation", "--out", "six.svg")
    assert done.returncode == 0
    text = (tmp_path / "six.svg").read_text("utf-8")
    assert "Only these: cone 5-7, oxidation." in text
    root = ElementTree.fromstring(text)
    for group in root.iter(f"{SVG}g"):
        if group.get("data-mark"):
            for words in re.findall(r": ((?:no )?cone.*?);", group.get("aria-label") or ""):
                assert re.search(r"cone (?:5|6|5-6|6-7|7|4-6|04-6), oxidation", words), words


def test_other_figures_are_drawn_on_request(run: Run, tmp_path: Path) -> None:
    done = run("plot", str(STUDIO), "--across", "alkalis", "--up", "boron", "--out", "studio.html")
    assert done.returncode == 0
    text = (tmp_path / "studio.html").read_text("utf-8")
    assert "52 glazes by alkalis and B\u2082O\u2083" in text
    assert "alkalis, mol to 1 of flux" in text
    assert "SiO\u2082, mol" not in text


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
        assert [name for name in ("Low", "Even", "High", "Top") if name in drawn] == found, asked
    page = run("plot", str(tmp_path), "--out", str(tmp_path / "made.html"))
    assert page.returncode == 0, page.stderr
    assert ">05 1/2</option>" in (tmp_path / "made.html").read_text("utf-8")


def test_page_holds_the_same_glazes_and_a_policy(run: Run, tmp_path: Path) -> None:
    run("plot", str(STUDIO), "--out", "studio.html")
    text = (tmp_path / "studio.html").read_text("utf-8")
    members = [int(one) for found in re.findall(r'data-mark="([\d ]+)"', text) for one in found.split()]
    rows = [int(one) for one in re.findall(r'<tr data-row="(\d+)"', text)]
    assert sorted(members) == rows == list(range(52))
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
        (("--out", "x.svg", "--up", "silica"), "--across and --up are both silica"),
        (("--out", "x.svg", "--up", "hue"), "hue"),
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


THREE = """glaze "Three"
cone: 6
atmosphere: oxidation

base blend "triangle" by 25 %:
    nepheline syenite  50, 20, 30
    silica  20, 50, 30
    whiting  20, 20, 40
    kaolin  10, 10, 0
"""


def test_the_points_of_a_blend_make_a_net(run: Run, tmp_path: Path) -> None:
    """Its neighbours are those of the simplex lattice {3, 4}: 15 points, and 30 lines between them."""
    (tmp_path / "three.glost").write_text(THREE, "utf-8")
    done = run("plot", "three.glost", "--out", "three.svg")
    assert done.returncode == 0, done.stderr
    assert "15 points of blends" in done.stderr
    drawn = (tmp_path / "three.svg").read_text("utf-8")
    nets = re.findall(r'<path fill="none" stroke="#88928f"[^>]* d="([^"]+)"/>', drawn)
    (net,) = nets
    lines = re.findall(r"M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)", net)
    assert len(lines) == 30
    # Every line ends at the mark of a point, and every point has one.
    ends = {end for one in lines for end in (one[:2], one[2:])}
    circles = re.findall(
        r'<g data-mark=[^>]*>\s*<g transform="translate\(([\d.]+) ([\d.]+)\)"><circle', drawn
    )
    assert set(circles) == ends
    assert len(ends) == 15
    run("plot", "three.glost", "--out", "three.html")
    page_of = (tmp_path / "three.html").read_text("utf-8")
    assert page_of.count('class="net"') == 1
    for number in range(1, 16):
        assert f"{number}, triangle " in page_of


def test_the_points_of_two_blends_are_told_apart(run: Run, tmp_path: Path) -> None:
    second = 'base blend "line" by 50 %:\n    silica  40, 60\n    whiting  30, 20\n    kaolin  30, 20\n'
    (tmp_path / "three.glost").write_text(f"{THREE}\n{second}", "utf-8")
    run("plot", "three.glost", "--out", "three.html")
    page_of = (tmp_path / "three.html").read_text("utf-8")
    assert "1.15, triangle " in page_of
    assert "2.3, line 0/100" in page_of
    assert len(re.findall(r"M[\d.]+ [\d.]+L", re.search(r'class="net" d="([^"]+)"', page_of)[1])) == 32  # type: ignore[index]


# ---- in a browser ----------------------------------------------------------------------------------------


@pytest.fixture
def pages(tmp_path: Path) -> dict[str, Path]:
    """The page of a collection, and that of a path."""
    points = many(120)
    stops = [
        *(Stop(str(at + 1), f"{at}abc123", "2026-03-01", f"Change {at}", at) for at in range(3)),
        Stop("a", "storm", "", "cobalt carbonate 1", 3, "", True),
    ]
    made = {
        "collection": chart(points, (LeftOut("Ash", "what ash brings is not known"),), ""),
        "path": path_chart("Marram", stops, points[:4], points[4:], (), ""),
    }
    for name, one in made.items():
        (tmp_path / f"{name}.html").write_text(page(one), encoding="utf-8")
    return {name: tmp_path / f"{name}.html" for name in made}


VISIBLE = (
    "return [...document.querySelectorAll(arguments[0])].filter(it => it.getClientRects().length).length"
)


def test_page_filters_and_keeps_the_filter_in_its_address(screen: Screen, pages: dict[str, Path]) -> None:
    points = many(120)
    screen.show(pages["collection"], LAPTOP)
    assert screen.one("#asked").text == "All 120 glazes"
    screen.one("input[value=oxidation]").click()
    left = sum(point.atmosphere != "oxidation" for point in points)
    assert screen.one("#asked").text.endswith(f": {left} of 120 glazes")
    assert screen.js(VISIBLE, "tbody tr") == left
    counted = screen.js(
        "return [...document.querySelectorAll('figcaption')].filter(it => it.getClientRects().length)"
        ".reduce((sum, it) => sum + Number(it.textContent.match(/: (\\d+)/)[1]), 0)"
    )
    assert counted == left

    part = str(screen.js("return location.hash"))
    assert "atmosphere=" in part
    screen.show(pages["collection"], LAPTOP, part)
    assert screen.one("#asked").text.endswith(f": {left} of 120 glazes")
    assert not screen.one("input[value=oxidation]").is_selected()
    screen.one("input[value=raku]").click()
    screen.driver.back()
    screen.until(lambda: screen.one("#asked").text.endswith(f": {left} of 120 glazes"))
    screen.press("Show all")
    screen.until(lambda: screen.one("#asked").text == "All 120 glazes")
    assert screen.js("return location.hash") == ""
    assert screen.complaints() == []


def test_a_mark_says_how_many_of_its_glazes_are_shown(screen: Screen, pages: dict[str, Path]) -> None:
    screen.show(pages["collection"], LAPTOP)
    read = (
        "return [...document.querySelectorAll('g[data-mark]')].filter(it => it.getClientRects().length)"
        ".map(it => [it.dataset.mark.split(' ').length, it.querySelector('g').textContent])"
    )
    for count, text in screen.js(read):  # type: ignore[attr-defined]
        assert text == str(count) if count > 1 else not text.isdigit()
    for box in ("oxidation", "reduction", "neutral", "raku"):
        screen.one(f"input[value={box}]").click()
    wanted = {"oxidation", "reduction", "neutral", "raku"}
    points = many(120)
    read = (
        "return [...document.querySelectorAll('g[data-mark]')].filter(it => it.getClientRects().length)"
        ".map(it => [it.dataset.mark.split(' ').map(Number), it.querySelector('g').textContent])"
    )
    found = screen.js(read)
    assert isinstance(found, list)
    assert found
    for members, text in found:
        left = [at for at in members if points[at].atmosphere not in wanted]
        assert (
            text == str(len(left))
            if len(left) > 1
            else text == LETTERS.get(points[left[0]].atmosphere, "\u2013")
        )


def test_keys_and_taps_open_a_card(screen: Screen, pages: dict[str, Path]) -> None:
    screen.show(pages["collection"], LAPTOP)
    screen.js("document.querySelector('g[tabindex=\"0\"]').focus()")
    assert "SiO\u2082" in screen.one("#card").text
    met = set()
    for key in (Keys.END, Keys.ARROW_LEFT, Keys.ARROW_UP, Keys.HOME, Keys.ARROW_RIGHT, Keys.ARROW_DOWN):
        screen.driver.switch_to.active_element.send_keys(key)
        met.add(screen.one("#card").text)
    assert len(met) >= 4
    screen.driver.switch_to.active_element.send_keys(Keys.ESCAPE)
    assert screen.js("return document.getElementById('card').hidden")

    # A thumb that comes down 10 pixels beside a mark means it.
    screen.show(pages["collection"], PHONE)
    told = screen.js(
        "const mark = document.querySelector('g[data-mark]'); mark.scrollIntoView({block: 'center'});"
        "const box = mark.querySelector('g').getBoundingClientRect();"
        "mark.ownerSVGElement.dispatchEvent(new MouseEvent('click', {bubbles: true,"
        " clientX: box.left + box.width / 2, clientY: box.top + box.height / 2 + 10}));"
        "return document.getElementById('card').textContent"
    )
    assert "Tide Pool" in str(told)
    assert screen.complaints() == []


@pytest.mark.parametrize("name", ["collection", "path"])
@pytest.mark.parametrize("size", SIZES, ids=str)
def test_page_fits_the_screen(
    screen: Screen, pages: dict[str, Path], name: str, size: tuple[int, int]
) -> None:
    screen.show(pages[name], size)
    assert screen.js("return document.documentElement.scrollWidth <= window.innerWidth")
    small = screen.js(
        "document.getElementById('choose')?.setAttribute('open', '');"
        "return [...document.querySelectorAll('button, select, input, summary')]"
        ".map(it => it.getBoundingClientRect()).filter(it => it.width && (it.width < 24 || it.height < 24)).length"
    )
    assert small == 0


def test_the_panels_stand_on_the_first_screen_of_a_laptop(screen: Screen, pages: dict[str, Path]) -> None:
    for name in pages:
        screen.show(pages[name], LAPTOP)
        bottom = screen.js("return document.querySelector('figure').getBoundingClientRect().bottom")
        assert isinstance(bottom, (int, float))
        assert bottom <= LAPTOP[1]


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
def test_print_says_its_filter(
    screen: Screen, pages: dict[str, Path], tmp_path: Path, paper: tuple[float, float]
) -> None:
    screen.show(pages["collection"], LAPTOP, "#cone=022-6&atmosphere=oxidation")
    screen.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        # The width of the paper without its margins of 0.4 inches, at 96 pixels an inch.
        screen.driver.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": round((paper[0] - 0.8) * 96), "height": 1000, "deviceScaleFactor": 1, "mobile": False},
        )
        assert re.match(r"cone .* to 6, .*oxidation: \d+ of 120 glazes", screen.one("#asked").text)
        wide = screen.js(
            "return Math.max(...[...document.querySelectorAll('main *')].map(it => it.getBoundingClientRect().right))"
            " - document.documentElement.clientWidth"
        )
        assert isinstance(wide, (int, float))
        assert wide <= 1
    finally:
        screen.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    assert screen.print(tmp_path / "plot.pdf", paper).stat().st_size > 1000


def test_names_fit_their_boxes_in_a_browser(screen: Screen, tmp_path: Path) -> None:
    """The widths that names are placed by are those of no one font; what a browser draws must not be wider."""
    for count in (60, 300):
        made = chart(many(count), (), "")
        target = tmp_path / "plot.svg"
        target.write_text(svg(made), encoding="utf-8")
        screen.show(target, LAPTOP)
        drawn = screen.js(
            "return [...document.querySelectorAll('g[data-mark] > text')].map(it => {"
            "const box = it.getBBox(); return [it.textContent, box.width]; })"
        )
        assert isinstance(drawn, list)
        written = [mark for mark in all_marks(made) if mark.spot or mark.beyond]
        assert len(drawn) == len(written)
        for (text, width), mark in zip(drawn, written, strict=True):
            assert text == (mark.beyond or mark.label)
            assert mark.spot is None or width <= mark.spot.right - mark.spot.left + 0.5


@pytest.mark.network
@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("size", [LAPTOP, PHONE], ids=str)
@pytest.mark.parametrize("name", ["collection", "path"])
def test_nothing_keeps_anybody_out(
    screen: Screen, axe: str, pages: dict[str, Path], name: str, size: tuple[int, int], scheme: str
) -> None:
    assert findings(screen, axe, pages[name], size, scheme) == []
    with_card = "document.querySelector('g[tabindex=\"0\"]').focus()"
    assert findings(screen, axe, pages[name], size, scheme, with_card) == []


@pytest.mark.network
def test_nothing_keeps_anybody_out_of_an_empty_list(screen: Screen, axe: str, pages: dict[str, Path]) -> None:
    empty = "document.getElementById('choose').open = true;"
    empty += "document.querySelectorAll('input[name=atmosphere]').forEach(box => box.checked && box.click())"
    assert findings(screen, axe, pages["collection"], PHONE, "light", empty) == []
