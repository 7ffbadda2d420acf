"""Statements as they are printed: none of the law's blanks is left for the reader to fill in."""

from __future__ import annotations

import json
import re
from decimal import Decimal
from pathlib import Path

import pytest
from tests.conftest import Run

import glost.recipe.safety.statements
from glost.output.format import Format, Job
from glost.output.formats import html, labels, markdown, sheet
from glost.output.model.html import as_html
from glost.output.model.markdown import as_markdown
from glost.output.model.text import as_text
from glost.output.session.content import content
from glost.output.session.data import as_json
from glost.output.session.session import bench_session
from glost.recipe.fields import Quantity
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.recipe import Ingredient, Recipe
from glost.recipe.recipe import tests as every_test
from glost.recipe.safety.statements import NOTHING_KNOWN, batch_text, plain_text, statement_text
from glost.recipe.settings import Settings

SHIPPED = json.loads(
    (Path(glost.recipe.safety.statements.__file__).parent / "data" / "statements.json").read_text("utf-8")
)["statements"]
LUNGS = (("lungs",), "by inhalation")
# A blank of the law, as it stands, or as Markdown or HTML writes its brackets.
BLANK = re.compile(r"(?:<|&lt;)\s*(?:or state|state|name of)|if known|conclusively proven", re.IGNORECASE)


@pytest.mark.parametrize("code", sorted(SHIPPED))
@pytest.mark.parametrize("detail", [NOTHING_KNOWN, LUNGS])
def test_no_text_has_a_blank(code: str, detail: tuple[tuple[str, ...], str]) -> None:
    text = plain_text(code, detail)
    assert text is not None
    assert not re.search(r"[<>…]|\.\.\.|  | \.", text), text
    assert text.endswith((".", "!")) == SHIPPED[code].endswith((".", "!"))
    # Nothing but the blanks is touched.
    if "<" not in SHIPPED[code]:
        assert text == statement_text(code) == SHIPPED[code]


# Source: Regulation (EC) No 1272/2008, annex III, part 1, tables 1.2 (H350, H372): the organ takes the place of
# "organs", the route stands at the end.
@pytest.mark.parametrize(
    ("code", "detail", "text"),
    [
        ("H372", NOTHING_KNOWN, "Causes damage to organs through prolonged or repeated exposure."),
        ("H372", LUNGS, "Causes damage to the lungs through prolonged or repeated exposure by inhalation."),
        (
            "H373",
            (("kidneys", "bones", "respiratory system"), ""),
            "May cause damage to the kidneys, bones and respiratory system through prolonged or repeated exposure.",
        ),
        ("H350", NOTHING_KNOWN, "May cause cancer."),
        ("H350", ((), "by inhalation"), "May cause cancer by inhalation."),
        ("H341", NOTHING_KNOWN, "Suspected of causing genetic defects."),
        ("H360", NOTHING_KNOWN, "May damage fertility or the unborn child."),
        ("H370", NOTHING_KNOWN, "Causes damage to organs."),
        ("H302", LUNGS, "Harmful if swallowed."),
        ("EUH208", NOTHING_KNOWN, "Contains a sensitising substance. May produce an allergic reaction."),
    ],
)
def test_clean_sentences(code: str, detail: tuple[tuple[str, ...], str], text: str) -> None:
    assert plain_text(code, detail) == text


def test_a_batch_says_of_which_material() -> None:
    said = "Causes damage to the lungs through prolonged or repeated exposure by inhalation."
    assert batch_text("H372", {"silica": LUNGS, "ball clay": LUNGS}) == said
    assert batch_text("H372", {"silica": LUNGS, "nickel oxide": NOTHING_KNOWN}) == (
        "Causes damage to organs through prolonged or repeated exposure (silica: lungs, by inhalation)."
    )
    assert batch_text("H372", {}) == "Causes damage to organs through prolonged or repeated exposure."
    assert batch_text("H999", {"silica": LUNGS}) is None


def test_silica_harms_the_lungs(run: Run) -> None:
    assert "damage to the lungs" in " ".join(run("materials", "silica").stdout.split())


@pytest.mark.parametrize("form", [sheet.FORMAT, markdown.FORMAT, html.FORMAT, labels.FORMAT])
def test_no_blank_on_any_sheet_of_the_whole_catalogue(form: Format) -> None:
    every = tuple(
        Ingredient(material.name, material.name, Quantity(Decimal(1), "")) for material in shipped_catalogue()
    )
    recipe = Recipe("glaze", "All Of It", base=every)
    job = Job("all.glost", recipe, Settings(), shipped_catalogue())
    text = form.write([job])
    assert isinstance(text, str)
    assert "H372" in text or form is labels.FORMAT
    assert not BLANK.search(text)


def test_no_blank_in_any_session_of_the_whole_catalogue() -> None:
    every = tuple(
        Ingredient(material.name, material.name, Quantity(Decimal(1), "")) for material in shipped_catalogue()
    )
    job = Job("all.glost", Recipe("glaze", "All Of It", base=every), Settings(), shipped_catalogue())
    made = bench_session([(job, next(every_test(job.recipe)))])
    nodes = list(content(made))
    for text in (as_text(nodes), as_markdown(nodes), "".join(as_html(nodes)), as_json(made)):
        assert "H372" in text
        assert not BLANK.search(text)


def test_no_blank_in_what_is_told_of_any_material(run: Run, tmp_path: Path) -> None:
    names = [material.name for material in shipped_catalogue() if material.statements]
    assert len(names) > 40
    told = run("materials", "--output", "json", cwd=tmp_path)
    assert told.returncode == 0, told.stderr
    assert not BLANK.search(told.stdout)
    page = "\n".join(f"    {name}  1" for name in names)
    (tmp_path / "all.glost").write_text(f'glaze "All"\nbase:\n{page}\n', encoding="utf-8")
    for arguments in (["lint"], ["catalog", "--to", "jsonl"], ["catalog", "--to", "html"]):
        shown = run(*arguments, cwd=tmp_path)
        assert "H372" in shown.stdout
        assert not BLANK.search(shown.stdout)
