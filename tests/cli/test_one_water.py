"""A test is mixed with one water, whichever document is asked: by its gravity where one is said, else by the water."""

from __future__ import annotations

import json
import re
from decimal import Decimal
from pathlib import Path

import pytest

from tests.conftest import Run

MATERIALS = (
    "materials:\n    - name: shore powder\n      role: clay\n      source: invented\n      price: 4 EUR/kg\n"
)
SETTINGS = "name: a shelf\nmaterials: materials.yaml\nwater: 75 %\n"
PAGE = 'glaze "Shore"\ncone: 6\n{said}\nbase:\n    shore powder  100\n'


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def shelf(folder: Path, said: str) -> None:
    (folder / "glost.yaml").write_text(SETTINGS)
    (folder / "materials.yaml").write_text(MATERIALS)
    (folder / "shore.glost").write_text(PAGE.format(said=said))


def out(run: Run, folder: Path, *words: str) -> str:
    done = run(*words, cwd=folder)
    assert done.returncode == 0, done.stderr
    return done.stdout


def page_data(html: str) -> dict[str, object]:
    found = re.search(r'<script type="application/json" id="held">(.*?)</script>', html, re.DOTALL)
    assert found is not None
    sheet = json.loads(found.group(1))[0]
    assert isinstance(sheet, dict)
    return sheet


# W = (P - 1000) * S / (S - 1): 731.25 g of dry material of 2.6 in a litre of 1450 g, so that 718.75 g are water.
PERCENT = Decimal("718.75") / Decimal("731.25") * 100


@pytest.mark.parametrize(
    "said", ["gravity: 1.45", "gravity: 1.45\nwater: 60 %", "water: 60 %\ngravity: 1.45"]
)
def test_every_document_goes_by_the_gravity(run: Run, tmp_path: Path, said: str) -> None:
    shelf(tmp_path, said)
    sheet = out(run, tmp_path, "convert", "shore.glost", "--to", "sheet", "--batch", "2000 g")
    assert re.search(r"^  water +1966 g \(98\.3 % of 2000\.0 g dry\)$", sheet, re.MULTILINE), sheet
    assert "calculated from the gravity 1.45" in sheet
    assert "2.6 is assumed (common practice)" in " ".join(sheet.split())
    assert "1.45 asked for" in sheet
    notes = out(run, tmp_path, "convert", "shore.glost", "--to", "markdown", "--batch", "2000 g")
    assert "**water**: 1966 g (98.3 % of 2000.0 g dry)" in notes
    of_page = page_data(out(run, tmp_path, "convert", "shore.glost", "--to", "html", "--batch", "2000 g"))
    assert abs(Decimal(str(of_page["water"])) - PERCENT) < Decimal("1e-12")
    assert (of_page["water_said"], of_page["water_by"]) == ("98.3 %", "by the gravity 1.45")
    session = json.loads(
        out(run, tmp_path, "session", "shore.glost", "--batch", "2000 g", "--output", "json"),
        parse_float=Decimal,
    )
    assert abs(Decimal(session["cups"][0]["water_g"]) - PERCENT * 20) < Decimal("1e-9")
    slip = json.loads(out(run, tmp_path, "batch", "shore.glost", "--slip", "1 l", "--output", "json"))
    assert round(slip["tests"][0]["slip"]["water_percent"], 6) == round(float(PERCENT), 6)
    cost = json.loads(out(run, tmp_path, "cost", "shore.glost", "--output", "json"))
    assert cost["tests"][0]["litre"]["dry_g"] == 731.25


def test_a_water_beside_the_gravity_is_told_where_it_makes_another(run: Run, tmp_path: Path) -> None:
    """60 % of water make 1.6 / (1 / 2.6 + 0.6) = 1.625; 98.3 % make 1.45."""
    said = "gravity: 1.45\nwater: {} %"
    shelf(tmp_path, said.format(60))
    words = " ".join(out(run, tmp_path, "convert", "shore.glost", "--to", "sheet").split())
    assert "the page says water 60 % as well, which would make 1.62: correct one of them" in words
    shelf(tmp_path, said.format("98.3"))
    words = " ".join(out(run, tmp_path, "convert", "shore.glost", "--to", "sheet").split())
    assert "as well" not in words
    assert "calculated from the gravity 1.45" in words


@pytest.mark.parametrize(
    ("gravity", "why"),
    [
        ("1", "a slurry of specific gravity 1 is plain water"),
        ("2.9", "a slurry of specific gravity 2.9 cannot be"),
    ],
)
def test_water_that_no_gravity_can_tell_is_left_open(
    run: Run, tmp_path: Path, gravity: str, why: str
) -> None:
    """Not filled in from the collection, whose water the page has gone against."""
    shelf(tmp_path, f"gravity: {gravity}")
    words = " ".join(out(run, tmp_path, "convert", "shore.glost", "--to", "sheet").split())
    assert f"left open: {why}" in words
    assert "75 %" not in words
    assert page_data(out(run, tmp_path, "convert", "shore.glost", "--to", "html"))["water"] is None
    session = json.loads(out(run, tmp_path, "session", "shore.glost", "--output", "json"))
    assert session["cups"][0]["water_g"] is None


def test_without_a_gravity_the_water_holds(run: Run, tmp_path: Path) -> None:
    shelf(tmp_path, "water: 62.5 %")
    assert "62.5 g (62.5 % of 100.0 g dry)" in out(run, tmp_path, "convert", "shore.glost", "--to", "sheet")
    shelf(tmp_path, "")
    assert "75.0 g (75 % of 100.0 g dry)" in out(run, tmp_path, "convert", "shore.glost", "--to", "sheet")


def test_a_corner_that_is_a_recipe_has_the_water_of_its_page(run: Run, tmp_path: Path) -> None:
    shelf(tmp_path, "gravity: 1.45")
    (tmp_path / "other.glost").write_text('glaze "Other"\nwater: 60 %\nbase:\n    shore powder  100\n')
    (tmp_path / "both.glost").write_text(
        'glaze "Both"\ncone: 6\nwater: 80 %\nbase blend "two" by 50 %:\n'
        '    glaze "Shore"  100, 0\n    glaze "Other"  0, 100\n'
    )
    sheet = out(run, tmp_path, "convert", "both.glost", "--to", "sheet")
    assert re.findall(r"water +(\S+ g \(.* %) of", sheet) == [
        "98.3 g (98.3 %",
        "80.0 g (80 %",
        "60.0 g (60 %",
    ]
    assert 'calculated from the gravity 1.45 of "Shore"' in sheet
    pour = json.loads(
        out(run, tmp_path, "blend", "both.glost", "--wet", "60 ml", "--output", "json"), parse_float=Decimal
    )
    shares = [one["water_g"] / one["dry_g"] * 100 for one in pour["slips"]]
    assert [round(share, 1) for share in shares] == [Decimal("98.3"), Decimal("60.0")]
