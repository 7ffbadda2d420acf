"""The sheets on paper: one test a page, and all that the plain sheet says."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

import pytest
from selenium.webdriver.common.keys import Keys

from glost.output.batch_sheet import batch_sheets
from glost.output.format import Job
from glost.output.formats import html, sheet
from tests.output.convert.bench import studio_jobs
from tests.output.page.conftest import A4, LETTER, PHONE, Screen
from tests.output.page.test_weighing import EBB, page

BRANCHES = EBB + '\nvariation "storm":\n    tin oxide   8\n\nseries "steps":\n    tin oxide   1, 2, 3\n'


def pages(target: Path) -> int:
    return len(re.findall(rb"/Type\s*/Page\b", target.read_bytes()))


def written(tmp_path: Path, jobs: Sequence[Job]) -> Path:
    target = tmp_path / "studio.html"
    target.write_text(html.write(jobs), encoding="utf-8")
    return target


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
def test_one_test_a_page(screen: Screen, tmp_path: Path, paper: tuple[float, float]) -> None:
    sheets = page(tmp_path, BRANCHES)
    screen.show(sheets)
    assert pages(screen.print(tmp_path / "all.pdf", paper)) == 5
    screen.show(sheets, part="#ebb-test/steps-1")
    assert pages(screen.print(tmp_path / "open.pdf", paper)) == 1


def test_which_sheets_are_printed_can_be_chosen(screen: Screen, tmp_path: Path) -> None:
    screen.show(page(tmp_path, BRANCHES), part="#ebb-test/steps-1")
    # The print dialogue is left out; what it would have printed is noted.
    screen.js("window.asked = []; window.print = () => window.asked.push(document.body.dataset.print)")
    screen.press("Print this sheet")
    screen.press("Print all 5 sheets")
    assert screen.js("return window.asked") == ["one", "all"]
    assert pages(screen.print(tmp_path / "all.pdf", A4)) == 5
    screen.js("window.dispatchEvent(new Event('afterprint'))")
    assert pages(screen.print(tmp_path / "one.pdf", A4)) == 1


def test_the_studio_on_paper(screen: Screen, tmp_path: Path) -> None:
    """A test with many hazards may need a second page for their texts and notes; hardly one needs a third."""
    jobs = studio_jobs()[::4]
    count = sum(len(batch_sheets(job)) for job in jobs)
    screen.show(written(tmp_path, jobs))
    for paper in (A4, LETTER):
        printed = pages(screen.print(tmp_path / "studio.pdf", paper))
        assert count <= printed <= count * (1.45 if paper == A4 else 1.75)  # Letter is 18 mm shorter
    assert screen.complaints() == []


def bare(text: str) -> list[str]:
    """The words of a text, without the signs that stand for a line, a box or the end of a sentence."""
    return [word.rstrip(",;") for word in re.sub(r"[_=\-☐|]+|\[ \]!?", " ", text).split()]


def test_paper_says_what_the_plain_sheet_says(screen: Screen, tmp_path: Path) -> None:
    """Word by word. Blanks to write in have no words; how many there are is counted."""
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
    plain = [text for job in jobs for text in sheet.write([job]).split("\f\n")]
    lines = [len(one.base) + len(one.additions) for job in jobs for one in batch_sheets(job)]
    for paper, text, count, rows in zip(texts, plain, blanks, lines, strict=True):
        missing = set(bare(text)) - set(bare(paper)) - {"!"}
        assert not missing, (missing, text[:60])
        # A mass and a lot a line, the total, four and three by hand, and two lines of remarks twice.
        assert count == 2 * rows + 1 + 4 + 3 + 4


def test_what_was_weighed_is_printed(screen: Screen, tmp_path: Path) -> None:
    screen.show(page(tmp_path), PHONE)
    screen.one(".now .reading input").send_keys("200.6", Keys.ENTER)
    assert screen.js("return document.querySelector('td[data-fill=weighed]').textContent") == "200.6"
