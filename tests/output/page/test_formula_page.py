"""The page of formulas in a real browser: on any screen, by night, on paper; and what a name may not do to it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import STUDIO, Run
from tests.output.page.conftest import A4, DESK, LETTER, Screen, printed

SIZES = [(1366, 768), (390, 844), (360, 640), (844, 390), (195, 422), (683, 384)]


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def page(run: Run, tmp_path: Path, *words: str) -> Path:
    done = run("formula", *words, "--output", "html")
    assert done.returncode == 0, done.stderr
    target = tmp_path / "formulas.html"
    target.write_text(done.stdout, encoding="utf-8")
    return target


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_nothing_is_cut_off_and_no_figure_is_broken(
    screen: Screen, run: Run, tmp_path: Path, size: tuple[int, int]
) -> None:
    # one that is partial, one with boron and the longest figures, a series
    shown = [str(STUDIO / name) for name in ("reduction", "earthenware", "stoneware/harbour-mist.glost")]
    screen.show(page(run, tmp_path, *shown), size)
    assert screen.js("return document.documentElement.scrollWidth <= innerWidth")
    cut = screen.js(
        "return [...document.querySelectorAll('main *')].filter((it) => it.getClientRects().length)"
        ".filter((it) => it.getBoundingClientRect().right > innerWidth + 1).map((it) => it.outerHTML.slice(0, 80))"
    )
    assert cut == []
    # A figure stands on one line, and is not too small to be read.
    broken = screen.js(
        "const out = [];"
        "for (const cell of document.querySelectorAll('.formula td')) {"
        "  const range = document.createRange();"
        "  range.selectNodeContents(cell.firstChild);"
        "  const lines = new Set([...range.getClientRects()].map((one) => one.top));"
        "  if (lines.size > 1) out.push(cell.textContent);"
        "}"
        "for (const it of document.querySelectorAll('main :is(small, td, th, dt, dd, p, li)'))"
        "  if (parseFloat(getComputedStyle(it).fontSize) < 12) out.push(it.outerHTML.slice(0, 80));"
        "return out"
    )
    assert broken == []
    bars = screen.js(
        "return [...document.querySelectorAll('.lanes svg')].map((it) => it.getBoundingClientRect())"
        ".filter((it) => it.width < 100 || it.height < 10).length"
    )
    assert bars == 0
    assert screen.complaints() == []


def test_a_list_leads_to_each_recipe(screen: Screen, run: Run, tmp_path: Path) -> None:
    screen.show(page(run, tmp_path, str(STUDIO)), DESK)
    links = screen.js(
        "return [...document.querySelectorAll('nav a')].map((it) => [it.textContent,"
        " document.querySelector(it.getAttribute('href')).querySelector('h2').textContent])"
    )
    assert isinstance(links, list)
    assert len(links) > 60
    assert [name for name, _ in links] == [name for _, name in links]
    # What is not the whole glaze says so before its bars.
    partial = screen.js(
        "return [...document.querySelectorAll('.test')].filter((it) => /PARTIAL/.test(it.textContent))"
        ".map((it) => it.querySelector('.warning').compareDocumentPosition(it.querySelector('.told'))"
        " & Node.DOCUMENT_POSITION_FOLLOWING)"
    )
    assert isinstance(partial, list)
    assert partial
    assert all(partial)


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
def test_a_test_stands_on_one_page_of_paper(
    screen: Screen, run: Run, tmp_path: Path, paper: tuple[float, float]
) -> None:
    screen.show(page(run, tmp_path, str(STUDIO / "stoneware" / "harbour-mist.glost")), DESK)
    pages = [" ".join(text.split()) for text in printed(screen.print(tmp_path / "formulas.pdf", paper))]
    assert len(pages) == 6
    for number, text in enumerate(pages, 1):
        assert "Harbour Mist, revision" in text
        assert text.endswith(f"page {number} of 6")
    steps = [f"cobalt steps {step}" for step in range(1, 5)]
    for name in ("the recipe as it stands", "storm", *steps):
        [own] = [text for text in pages if f"{name} fluxes" in text]
        behind = own[own.index(f"{name} fluxes") :]
        assert behind.index("oxide unity") < behind.index("taken as 1") < behind.index("taken for granted")


def test_a_name_stays_text(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(
        'glaze "<img src=x> & <b>"\ncone: 6\n\nbase:\n    whiting  50\n    "<i>dust"  50\n', encoding="utf-8"
    )
    text = page(run, tmp_path, "a.glost").read_text("utf-8")
    assert "<img" not in text
    assert "<i>" not in text
    assert "&lt;img src=x&gt; &amp; &lt;b&gt;" in text
    assert "PARTIAL: 50" in text


def test_without_a_recipe_the_page_says_so(run: Run, tmp_path: Path) -> None:
    assert "No recipe was calculated." in page(run, tmp_path).read_text("utf-8")


@pytest.mark.parametrize("option", ["--steps", "--spread"])
def test_what_is_for_text_alone_is_refused(run: Run, option: str) -> None:
    done = run("formula", option, "--output", "html")
    assert done.returncode == 2
    assert option in done.stderr
