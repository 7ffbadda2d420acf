"""The sheets on paper: one test a page, and all that the plain sheet says."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

import pypdfium2
import pytest
from selenium.webdriver.common.keys import Keys

from glost.output.batch_sheet import batch_sheets
from glost.output.format import Job
from glost.output.formats import html, sheet
from tests.output.convert.bench import studio_jobs
from tests.output.page.conftest import A4, LETTER, PHONE, Screen
from tests.output.page.test_weighing import EBB, SMALL, enter, page

BRANCHES = EBB + '\nvariation "storm":\n    tin oxide   8\n\nseries "steps":\n    tin oxide   1, 2, 3\n'


MAP_OF = ": map of the board"
"""What stands in the title of a map."""


def pages(target: Path) -> int:
    return len(re.findall(rb"/Type\s*/Page\b", target.read_bytes()))


def texts_of(target: Path) -> list[str]:
    """What stands on each page."""
    found = pypdfium2.PdfDocument(target)
    try:
        return [one.get_textpage().get_text_range().replace("\r\n", "\n") for one in found]
    finally:
        found.close()


def written(tmp_path: Path, jobs: Sequence[Job]) -> Path:
    target = tmp_path / "studio.html"
    target.write_text(html.write(jobs), encoding="utf-8")
    return target


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
def test_one_test_a_page(screen: Screen, tmp_path: Path, paper: tuple[float, float]) -> None:
    sheets = page(tmp_path, BRANCHES)
    screen.show(sheets)
    # Five tests, and behind them what is to be looked up, once.
    assert pages(screen.print(tmp_path / "all.pdf", paper)) == 6
    screen.show(sheets, part="#ebb-test/steps-1")
    assert pages(screen.print(tmp_path / "open.pdf", paper)) == 1


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
def test_every_page_says_whose_it_is(screen: Screen, tmp_path: Path, paper: tuple[float, float]) -> None:
    screen.show(page(tmp_path, BRANCHES))
    texts = texts_of(screen.print(tmp_path / "all.pdf", paper))
    whose = [
        "as it stands",
        "storm: tin oxide 8",
        *(f"steps {step}: tin oxide {step}" for step in (1, 2, 3)),
    ]
    for number, (text, test) in enumerate(zip(texts, whose, strict=False), 1):
        # The second comes from the foot; the first is the title.
        assert text.count("Ebb Test") >= 2
        assert f"Ebb Test, {test}, revision a1b2c3d" in text
        assert f"page {number} of 6" in text
        assert "Hazard statements on record here" not in text
    assert "Hazard statements on record here" in texts[5]
    assert "page 6 of 6" in texts[5]


def test_statements_of_one_sheet_stand_on_it(screen: Screen, tmp_path: Path) -> None:
    screen.show(page(tmp_path, BRANCHES), part="#ebb-test/steps-1")
    texts = texts_of(screen.print(tmp_path / "one.pdf", A4))
    assert sum("Hazard statements on record here" in text for text in texts) == 1
    assert not any("Hazard statements for these sheets" in text for text in texts)


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
@pytest.mark.parametrize("lines", [20, 33, 45, 70])
def test_the_sum_stands_once_behind_the_last_line(
    screen: Screen, tmp_path: Path, paper: tuple[float, float], lines: int
) -> None:
    names = "".join(f"    batch part {chr(97 + at // 26)}{chr(97 + at % 26)}   1\n" for at in range(lines))
    screen.show(page(tmp_path, f"glaze \"Many 'Lines' <é> 2\"\nbatch: 700 g\n\nbase:\n{names}"))
    texts = texts_of(screen.print(tmp_path / "long.pdf", paper))
    assert len(texts) > 1
    rows = [re.findall(r"^batch part [a-d][a-z] 1 ", text, re.MULTILINE) for text in texts]
    assert sum(map(len, rows)) == lines
    last = max(at for at, found in enumerate(rows) if found)
    assert [at for at, text in enumerate(texts) if "total on the balance" in text] == [last]
    assert texts[last].index(rows[last][-1]) < texts[last].index("total on the balance")
    for number, text in enumerate(texts, 1):
        assert f"page {number} of {len(texts)}" in text
        assert "Many 'Lines' <é> 2, " in text


def test_there_is_room_to_write(screen: Screen, tmp_path: Path) -> None:
    """8 mm a line, as ruled paper for a large hand has (ruled school paper of 8 to 9 mm: common practice)."""
    screen.show(page(tmp_path, BRANCHES))
    screen.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        heights = screen.js(
            "const at = document.getElementById('ebb-test');"
            "return [...at.querySelectorAll('td.blank, .form > div, .remarks .blank')]"
            ".map((it) => it.getBoundingClientRect().height * 25.4 / 96)"
        )
        tile = screen.js(
            "const it = document.querySelector('#ebb-test .room').getBoundingClientRect(); return [it.width, it.height]"
        )
    finally:
        screen.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    assert isinstance(heights, list)
    assert len(heights) == 2 * 4 + 1 + 7 + 4
    assert min(heights) >= 7.99
    assert isinstance(tile, list)
    assert min(tile) * 25.4 / 96 >= 45


def test_which_sheets_are_printed_can_be_chosen(screen: Screen, tmp_path: Path) -> None:
    screen.show(page(tmp_path, BRANCHES), part="#ebb-test/steps-1")
    # The print dialogue is left out; what it would have printed is noted.
    screen.js("window.asked = []; window.print = () => window.asked.push(document.body.dataset.print)")
    screen.press("Print this sheet")
    screen.press("Print all 5 sheets")
    assert screen.js("return window.asked") == ["one", "all"]
    assert pages(screen.print(tmp_path / "all.pdf", A4)) == 6
    screen.js("window.dispatchEvent(new Event('afterprint'))")
    assert pages(screen.print(tmp_path / "one.pdf", A4)) == 1


def test_the_studio_on_paper(screen: Screen, tmp_path: Path) -> None:
    """A test of many lines or cautions may need a second page; none needs a third. The statements take a few, once."""
    jobs = studio_jobs()[::4]
    count = sum(len(batch_sheets(job)) for job in jobs)
    screen.show(written(tmp_path, jobs))
    for paper in (A4, LETTER):
        printed = pages(screen.print(tmp_path / "studio.pdf", paper))
        assert count < printed <= count * (1.35 if paper == A4 else 1.5)  # Letter is 18 mm shorter
    assert screen.complaints() == []


def bare(text: str) -> list[str]:
    """The words of a text, without the signs that stand for a line, a box or the end of a sentence."""
    return [word.rstrip(",;:") for word in re.sub(r"[_=\-☐|]+|\[ \]!?", " ", text).split()]


def test_paper_says_what_the_plain_sheet_says(screen: Screen, tmp_path: Path) -> None:
    """Word by word; what is to be looked up stands behind them all. Blanks to write in have no words; how many there
    are is counted."""
    jobs = studio_jobs()[::6]
    screen.show(written(tmp_path, jobs))
    screen.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        texts = screen.js("return [...document.querySelectorAll('article.sheet')].map((it) => it.innerText)")
        blanks = screen.js(
            "return [...document.querySelectorAll('article.sheet')].map((it) =>"
            " [...it.querySelectorAll('.blank')].filter((one) => one.getClientRects().length).length)"
        )
    finally:
        screen.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    assert isinstance(texts, list)
    assert isinstance(blanks, list)
    every = [sheet.write([job]).split("\f\n") for job in jobs]
    # The map of a board is no sheet: on paper it is a drawing.
    sheets = [[text for text in texts if MAP_OF not in text.partition("\n")[0]] for texts in every]
    plain = [
        text for job, found in zip(jobs, sheets, strict=True) for text in found[: len(batch_sheets(job))]
    ]
    lines = [len(one.base) + len(one.additions) for job in jobs for one in batch_sheets(job)]
    for paper, text, count, rows in zip(texts, plain, blanks, lines, strict=True):
        missing = set(bare(text.split("Hazard statements on record here")[0])) - set(bare(paper)) - {"!"}
        missing -= {"test", "kind", "To", "fill"}  # heads that the page shows by their place
        assert not missing, (missing, text[:60])
        # A mass and a lot a line, the total, four and three by hand, and two lines of remarks twice. What is poured and
        # measured of the slurry stands in its sentences.
        assert count == 2 * rows + 1 + 4 + 3 + 4


def test_what_was_weighed_is_printed(screen: Screen, tmp_path: Path) -> None:
    screen.show(page(tmp_path), PHONE)
    screen.one(".now .reading input").send_keys("200.6", Keys.ENTER)
    assert screen.js("return document.querySelector('td[data-fill=weighed]').textContent") == "200.6"


def test_vessels_on_paper_are_those_of_the_larger_batch(screen: Screen, tmp_path: Path) -> None:
    """4 kg on a balance with room for 2900 g. 1300 g of silica in the place of 1200 g make it 13/12 of that: vessel 1
    is full with 1600 g and 1300 g, 133 g of nepheline syenite go into a third, and 1300 g and 217 g into the second."""
    screen.show(page(tmp_path, EBB.replace("500 g", "4 kg"), SMALL))
    before = texts_of(screen.print(tmp_path / "before.pdf", A4))[0]
    assert "vessel 1 of 2: tare it empty; it holds 2800 g in the end" in before
    assert "vessel 2 of 2: tare it empty; it holds 1400 g in the end" in before
    screen.press("On target")
    enter(screen, "1300")
    screen.press("Make more")
    after = texts_of(screen.print(tmp_path / "after.pdf", A4))[0]
    assert "vessel 1 of 3: tare it empty; it holds 2900 g in the end" in after
    assert "vessel 2 of 3: tare it empty; it holds 1517 g in the end" in after
    assert "nepheline syenite 40 1733 vessel 3: 133 1600 + 133:" in after
    assert "Attention, of the batch as it was planned:" in after
    screen.press("Undo")
    screen.press("Undo")
    assert texts_of(screen.print(tmp_path / "again.pdf", A4))[0].count("it holds 2800 g in the end") == 1
