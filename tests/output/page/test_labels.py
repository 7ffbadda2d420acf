"""Labels for cups and tiles."""

from __future__ import annotations

import base64
import io
import re
import sys
from pathlib import Path

import pytest
import zxingcpp

from glost.output.batch_sheet import batch_sheets
from glost.output.format import Job, Revision
from glost.output.formats import labels
from glost.output.formats.labels import DUST, HAZARD_WORDS, NOT_FOR_FOOD, code_text, hazard_words
from glost.output.parts_bar import listed
from glost.recipe.safety.statements import CLASSES
from tests.output.convert.bench import job_of, recipe_of, studio_jobs
from tests.output.page.conftest import A4, DESK, LETTER, Screen
from tests.output.page.test_printing import pages, texts_of

TEXT = """\
glaze "Ebb 釉 Test"
cone: 6
atmosphere: oxidation
batch: 500 g

base:
    nepheline syenite    40
    silica               30
    red lead             20
    gullstone powder     10

variation "storm":
    cobalt carbonate      1
"""


def job() -> Job:
    return job_of(recipe_of(TEXT), revision=Revision("a1b2c3d", changed=True))


def test_each_test_has_a_cup_and_a_tile() -> None:
    text = labels.write([job()])
    assert text.count('<article class="cup">') == text.count('<article class="tile">') == 2
    assert text.count(NOT_FOR_FOOD) == 4
    assert "cone 6; oxidation; 500 g base, 505.0 g in all" in text
    assert text.count('<p class="revision">revision a1b2c3d, changed since</p>') == 4
    assert text.count("cone 6; oxidation; 500 g base</p>") == 2
    assert text.count('<p class="test">storm: <span class="sets">cobalt carbonate 1</span></p>') == 2
    assert text.count(">date<") == text.count(">tile<") == 4
    assert text.count('class="parts-bar"') == 4
    made = "nepheline syenite 40, silica 30, red lead 20, gullstone powder 10"
    assert text.count(f'<p class="made">{made}</p>') == 2
    assert text.count(f'<p class="made">{made}; + cobalt carbonate 1</p>') == 2


def test_hazards_in_plain_words() -> None:
    assert set(HAZARD_WORDS) == set(CLASSES)
    plain, storm = (list(hazard_words(sheet)) for sheet in batch_sheets(job()))
    assert "red lead: restricted (lead)." in plain
    assert "gullstone powder: hazards not known." in plain
    assert any(line.startswith("silica") and "scars the lungs and causes cancer" in line for line in plain)
    assert DUST in plain
    assert not any("cobalt" in line for line in plain)
    assert any("cobalt carbonate" in line and "cancer" in line for line in storm)


def test_without_segno_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "segno", None)
    with pytest.raises(ValueError, match=r"pip install 'glost\[labels\]'"):
        labels.write([job()])


def test_a_text_too_long_for_a_code() -> None:
    long = job_of(recipe_of(TEXT.replace("Ebb 釉 Test", "Ebb " * 120)))
    assert "too long for a QR code" in labels.write([long])


# Source: zxing-cpp, a reader of QR codes, on what the browser shows.
def test_a_phone_reads_the_codes(screen: Screen, tmp_path: Path) -> None:
    image = pytest.importorskip("PIL.Image", reason="pillow reads the picture of the page")
    target = tmp_path / "labels.html"
    target.write_text(labels.write([job()]), encoding="utf-8")
    screen.show(target, DESK)
    shot = image.open(io.BytesIO(base64.b64decode(screen.driver.get_screenshot_as_base64()))).convert("L")
    read = sorted(found.text for found in zxingcpp.read_barcodes(shot))
    expected = [code_text(job(), sheet) for sheet in batch_sheets(job())]
    assert expected[1] == "Ebb 釉 Test\nstorm\nrevision a1b2c3d, changed since"
    assert read == sorted(expected * 2)
    assert screen.complaints() == []


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
def test_five_tests_a_page(screen: Screen, tmp_path: Path, paper: tuple[float, float]) -> None:
    target = tmp_path / "labels.html"
    series = 'series "steps":\n    tin oxide   1, 2, 3, 4\n'
    plain = re.sub(r"(?s)    red lead.*", "    kaolin   30\n\n", TEXT) + series
    target.write_text(labels.write([job_of(recipe_of(plain))]), encoding="utf-8")
    screen.show(target, DESK)
    assert pages(screen.print(tmp_path / "labels.pdf", paper)) == 1
    target.write_text(labels.write(studio_jobs()), encoding="utf-8")
    screen.show(target, DESK)
    count = sum(len(batch_sheets(one)) for one in studio_jobs())
    assert pages(screen.print(tmp_path / "labels.pdf", paper)) <= count / 4


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
def test_nothing_is_cut_off_on_paper(screen: Screen, tmp_path: Path, paper: tuple[float, float]) -> None:
    """Every word of every label stands on the paper whole, and no label is cut by the end of a page."""
    target = tmp_path / "labels.html"
    jobs = studio_jobs()[::3]
    target.write_text(labels.write(jobs), encoding="utf-8")
    screen.show(target, DESK)
    out = screen.js(
        "return [...document.querySelectorAll('article')].filter((it) => {"
        "const room = it.getBoundingClientRect();"
        "return it.scrollWidth > it.clientWidth || it.scrollHeight > it.clientHeight ||"
        "[...it.querySelectorAll('*')].some((one) => { const box = one.getBoundingClientRect();"
        "return box.right > room.right + 0.5 || box.bottom > room.bottom + 0.5; }) })"
        ".map((it) => it.textContent)"
    )
    assert out == []
    whole = [" ".join(text.split()) for text in texts_of(screen.print(tmp_path / "labels.pdf", paper))]
    texts = "".join(whole).replace(" ", "")
    for one in jobs:
        for sheet in batch_sheets(one):
            for line in (*hazard_words(sheet), NOT_FOR_FOOD, ", ".join(listed(sheet.bar)[0].split(", ")[:2])):
                assert line.replace(" ", "") in texts, (sheet.name, line)
    assert all(text.count("Not for food or drink.") % 2 == 0 for text in whole)  # cup and tile on one page
