"""A comparison as a page: what stands in its bars, and that names stay text."""

from __future__ import annotations

import json
import re
from html import unescape
from pathlib import Path

import pytest

from tests.conftest import Run
from tests.output.page.test_markup import outline

OLD = """\
glaze "{name}"
cone: 6

base:
    nepheline syenite    40
    silica               {silica}
    whiting              30

additions:
    tin oxide    {tin}

variation "plain":
    tin oxide    0
"""


OTHER = """\
glaze "C"
cone: 010

base:
    lithium carbonate    90
    kaolin               10
"""


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def compared(run: Run, folder: Path, old: str, new: str, status: int = 1) -> str:
    (folder / "old.glost").write_text(old, encoding="utf-8")
    (folder / "new.glost").write_text(new, encoding="utf-8")
    done = run("compare", "old.glost", "new.glost", "--output", "html", cwd=folder)
    assert done.returncode == status, done.stderr
    return done.stdout


def bars(markup: str) -> list[list[tuple[str, int]]]:
    """Tone and width of each part of each bar."""
    return [
        [(tone, int(wide)) for tone, wide in re.findall(r'<rect class="(\w+)"[^>]* width="(\d+)"', one)]
        for one in re.findall(r'<svg class="parts-bar".*?</svg>', markup, re.DOTALL)
    ]


def figures(markup: str) -> list[str]:
    return re.findall(r"<figure>.*?</figure>", markup, re.DOTALL)


def as_drawn(mol: float) -> str:
    """What is there and rounds to nothing is less than the last place."""
    return "<0.01" if 0 < mol < 0.005 else f"{mol:.2f}"


def drawn_formulas(markup: str) -> dict[str, dict[str, str]]:
    """The figures below the bars of unity formulas, by what each is called and by oxide."""
    found: dict[str, dict[str, str]] = {}
    for lane, inside in re.findall(r"<div><dt>(\w+)</dt>(.*?)</div>", markup, re.DOTALL):
        for name, said in re.findall(r'class="unity".*?<small>([^:<]+): (.*?)</small>', inside):
            said = unescape(said)
            of_lane = dict.fromkeys([lane], said.partition(",")[0])
            fluxes = dict(one.split(" ") for one in said.partition(" = ")[2].split(", ") if one)
            found.setdefault(name, {}).update(fluxes if lane == "fluxes" else of_lane)
    return found


def test_old_stands_above_new_on_one_scale(run: Run, tmp_path: Path) -> None:
    page = compared(
        run, tmp_path, OLD.format(name="A", silica=30, tin=4), OLD.format(name="A", silica=30, tin=104)
    )
    (only,) = figures(page)  # the variation without tin is the same on both sides
    assert re.findall(r"<dt>(old|new)</dt>", only) == ["old", "new"]
    old, new = bars(only)
    # 204 parts fill the width, less what sets the additions off; a base of 100 is as wide on both sides
    room = 1000 - 8
    for (_, was), (_, now), parts in zip(old[:3], new[:3], (40, 30, 30), strict=True):
        assert was == now
        assert abs(was + 2 - parts * room / 204) <= 1
    assert abs(old[3][1] + 2 - 4 * room / 204) <= 1
    assert abs(new[3][1] + 2 - 104 * room / 204) <= 1
    assert "nepheline syenite 40, silica 30, whiting 30; + tin oxide 4<" in only
    assert "nepheline syenite 40, silica 30, whiting 30; + tin oxide 104<" in only


def test_the_formula_is_that_of_the_formula_command(run: Run, tmp_path: Path) -> None:
    page = compared(
        run, tmp_path, OLD.format(name="A", silica=30, tin=4), OLD.format(name="A", silica=50, tin=4)
    )
    assert len(figures(page)) == 2
    for side in ("old", "new"):
        told = run("formula", f"{side}.glost", "--output", "json", cwd=tmp_path).stdout
        unity = json.loads(told)["tests"][0]["unity"]
        shown = drawn_formulas(figures(page)[0])[side]
        assert shown == {oxide: as_drawn(unity.get(oxide, 0)) for oxide in shown}
        assert {"CaO", "SiO2", "Al2O3"} <= set(shown)


def test_another_scale_has_no_picture(run: Run, tmp_path: Path) -> None:
    old = 'glaze "A"\nbase:\n    silica    60\n    whiting    40\n'
    new = 'glaze "A"\nbase:\n    silica    120\n    whiting    80\n'
    page = compared(run, tmp_path, old, new, 0)
    assert figures(page) == []
    assert "<h1>What changed</h1>" in page


def test_what_came_and_what_went(run: Run, tmp_path: Path) -> None:
    for side, names in (("before", "AB"), ("after", "BC")):
        (tmp_path / side).mkdir()
        for name in names:
            text = OLD.format(name=name, silica=30, tin=4) if name != "C" else OTHER
            (tmp_path / side / f"{name}.glost").write_text(text, encoding="utf-8")
    done = run("compare", "before", "after", "--output", "html", cwd=tmp_path)
    assert done.returncode == 1
    sections = re.findall(r"<section>\n<h2>(.*?)</h2>(.*?)</section>", done.stdout, re.DOTALL)
    sides = {name: set(re.findall(r"<dt>(old|new)</dt>", inside)) for name, inside in sections}
    assert sides == {"A": {"old"}, "C": {"new"}}


def test_names_stay_text_and_nothing_is_fetched(run: Run, tmp_path: Path) -> None:
    evil = "</title><script>alert(1)</script><img src=x onerror=alert(1)>"
    page = compared(
        run, tmp_path, OLD.format(name=evil, silica=30, tin=1), OLD.format(name=evil, silica=31, tin=1)
    )
    found = outline(page)
    assert not {"script", "img", "link", "iframe"} & set(found.tags)
    assert "default-src 'none'" in unescape(page)
    assert evil in unescape(page)


def test_brief_is_refused(run: Run, tmp_path: Path) -> None:
    done = run("compare", "a", "b", "--output", "html", "--brief", cwd=tmp_path)
    assert done.returncode == 2
    assert "JSON and HTML hold all" in done.stderr
