"""The pages as text: whole, with a policy that fits, and nothing in them that reaches out."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from decimal import Decimal
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings

from glost.output import web
from glost.output.formats import html, labels
from glost.output.web import data, shown
from tests.conftest import STUDIO, Run
from tests.output.convert.bench import job_of, recipes, studio_jobs

WRITERS = [html.write, labels.write]


class Outline(HTMLParser):
    """The elements of a page, their attributes, and whether each is closed where it should be."""

    EMPTY = frozenset({"meta", "br", "path", "input"})

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.open: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs
        if tag not in self.EMPTY:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def outline(text: str) -> Outline:
    found = Outline()
    found.feed(text)
    found.close()
    assert found.open == []
    return found


@pytest.mark.parametrize("write", WRITERS)
def test_one_file_that_reaches_for_nothing(write: object) -> None:
    assert callable(write)
    text = write(studio_jobs())
    found = outline(text)
    assert not {"link", "img", "iframe", "object", "base"} & set(found.tags)
    assert not {"src", "style", "onclick", "action", "srcset"} & {name for name, _ in found.attributes}
    assert all((value or "#").startswith("#") for name, value in found.attributes if name == "href")
    policy = next(value for _, value in found.attributes if value and value.startswith("default-src"))
    assert policy.startswith("default-src 'none'; ")
    assert "connect-src 'none'; form-action 'none'; base-uri 'none'" in policy
    assert "unsafe" not in policy
    inline = re.findall(r"<(style|script)>(.*?)</\1>", text, re.DOTALL)
    for kind, inside in inline:
        digest = base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()
        assert re.search(rf"{kind}-src[^;]*'sha256-{re.escape(digest)}'", policy)
    assert policy.count("sha256-") == len(inline)


def test_the_files_of_the_page_end_no_element() -> None:
    folder = Path(web.__path__[0])
    for name in (
        "common.css",
        "sheet.css",
        "paper.css",
        "labels.css",
        "cups.css",
        "rescue.js",
        "cups.js",
        "sheet.js",
    ):
        text = (folder / name).read_bytes().decode("utf-8")
        assert "</" not in text
        assert "<!--" not in text
        assert "\r" not in text
        assert "innerHTML" not in text


def test_text_becomes_markup_in_one_way() -> None:
    assert shown("a<b>&\"'\u202e\n") == "a&lt;b&gt;&amp;&quot;&#x27;&lt;U+202E&gt;&lt;U+000A&gt;"
    held = data(["</script><!--&\u2028"])
    assert not set("<>&\u2028") & set(held)
    assert json.loads(held) == ["</script><!--&\u2028"]


@given(recipe=recipes)
@settings(max_examples=60, deadline=None)
def test_any_recipe_is_text_on_its_pages(recipe: object) -> None:
    job = job_of(recipe)  # type: ignore[arg-type]
    expected = {
        html.write: {"html", "head", "meta", "title", "style", "body", "nav", "h1", "h2", "h3", "h4", "ul", "li", "a",
                     "b", "span", "main", "article", "header", "p", "dl", "div", "dt", "dd", "table", "thead", "tr",
                     "th", "tbody", "td", "tfoot", "small", "section", "br", "script", "input", "svg", "rect", "figure",
                     "g", "path", "text", "line", "circle", "polyline"},
        labels.write: {"html", "head", "meta", "title", "style", "body", "main", "section", "article", "header",
                       "h1", "h2",
                       "p", "div", "svg", "path", "rect", "ul", "li", "span", "i", "b"},
    }  # fmt: skip
    for write, tags in expected.items():
        text = write([job])
        assert set(outline(text).tags) <= tags
        assert not set("\u202e\u2028\u2066\x1b") & set(text)


def test_what_the_script_holds_is_the_plan() -> None:
    job = studio_jobs()[0]
    text = html.write([job])
    held = json.loads(re.findall(r'id="held">(.*?)</script>', text)[0])
    assert [line["name"] for line in held[0]["lines"]] == [
        part.name for part in (*job.recipe.base, *job.recipe.additions)
    ]
    assert held[0]["tolerance"] == "0.02"


def test_every_sheet_of_the_collection_holds_the_figures_of_the_plan(run_here: Run, tmp_path: Path) -> None:
    assert run_here("convert", "--to", "html", "--out", "all.html", str(STUDIO)).returncode == 0
    told = run_here("batch", str(STUDIO), "--output", "json")
    assert told.returncode == 0, told.stderr
    held = json.loads(re.findall(r'id="held">(.*?)</script>', (tmp_path / "all.html").read_text("utf-8"))[0])
    planned = json.loads(told.stdout, parse_float=Decimal, parse_int=Decimal)["tests"]
    assert len(held) == len(planned) > 150
    for sheet, test in zip(held, planned, strict=True):
        assert (sheet["recipe"], sheet["test"]) == (test["recipe"], test["label"])
        targets: dict[int, Decimal] = {}
        for line in sheet["lines"]:
            targets[line["of"]] = targets.get(line["of"], Decimal(0)) + Decimal(line["target"])
        assert list(targets.values()) == [line["target_g"] for line in test["lines"]]
        assert [sheet["lines"][at]["material"] for at in _firsts(sheet)] == [
            line["material"] for line in test["lines"]
        ]


def _firsts(sheet: dict[str, Any]) -> list[int]:
    return [at for at, line in enumerate(sheet["lines"]) if line["portion"] == 1]
