"""The glossary: every term of it is in use, is said in a sentence or two, and leads somewhere."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from tests.conftest import TOP

GLOSSARY = TOP / "docs" / "glossary.md"
TERM = re.compile(r"^### (?P<term>.+)\n\n(?P<says>(?:.+\n)+)", re.MULTILINE)
LINK = re.compile(r"\[(?P<text>[^\]]+)\]\((?P<to>[^)]+)\)")
TERMS = [
    (found["term"], " ".join(found["says"].split())) for found in TERM.finditer(GLOSSARY.read_text("utf-8"))
]
OF_THE_TRADE = {
    "batch",
    "base",
    "addition",
    "variation",
    "series",
    "blend",
    "cone",
    "unity formula",
    "readability",
    "mesh",
}
OF_GLOST = {"tile", "firing", "allowance", "finding", "fix", "hint", "rule", "test", "page", "collection"}


@cache
def in_use() -> str:
    """All that a person reads: docs, and the text in the sources."""
    pages = [*(TOP / "docs").rglob("*.md"), TOP / "README.md", *(TOP / "src" / "glost").rglob("*.py")]
    return " ".join(" ".join(page.read_text("utf-8").lower() for page in pages if page != GLOSSARY).split())


@cache
def anchors(page: Path) -> frozenset[str]:
    heads = re.findall(r"^#+ (.*)$", page.read_text("utf-8"), re.MULTILINE)
    return frozenset(re.sub(r"[^\w -]", "", head.lower()).replace(" ", "-") for head in heads)


def test_the_words_that_everything_else_is_said_with_are_there() -> None:
    assert {term for term, _ in TERMS} >= OF_THE_TRADE | OF_GLOST


@pytest.mark.parametrize(("term", "says"), TERMS, ids=[term for term, _ in TERMS])
def test_a_term_is_in_use_and_said_in_a_sentence_or_two(term: str, says: str) -> None:
    assert len(re.findall(rf"\b{re.escape(term)}(?:s|es|ed)?\b", in_use())) >= 3
    sentences = re.split(r"(?<=[.:]) (?=[A-Z])", says.partition(" See [")[0])
    assert 1 <= len(sentences) <= 2, sentences
    assert says.endswith(".")


@pytest.mark.parametrize("to", sorted({found["to"] for found in LINK.finditer(GLOSSARY.read_text("utf-8"))}))
def test_a_link_leads_to_a_head_that_is_there(to: str) -> None:
    path, _, anchor = to.partition("#")
    page = GLOSSARY.parent / path if path else GLOSSARY
    assert page.is_file()
    assert not anchor or anchor in anchors(page)


def test_terms_stand_once_and_in_order() -> None:
    assert len({term for term, _ in TERMS}) == len(TERMS)
    for chapter in GLOSSARY.read_text("utf-8").split("\n## ")[1:]:
        terms = re.findall(r"^### (.*)$", chapter, re.MULTILINE)
        assert terms == sorted(terms)


def test_the_readme_leads_to_it() -> None:
    assert "(docs/glossary.md)" in (TOP / "README.md").read_text("utf-8")
