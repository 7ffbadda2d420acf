"""Every invented page gives the recipes that were written down for it, and no number of it is lost."""

from __future__ import annotations

import re
from collections import Counter

import pytest

from glost.language.layout import format_text
from glost.language.parse import parse
from glost.language.source import Source
from tests.importer.bench import NAMES, PAGES, brought, expected, lines, read


def test_there_are_pages_enough() -> None:
    assert len(NAMES) >= 110


@pytest.mark.parametrize("name", NAMES)
def test_page(name: str) -> None:
    done, asked = brought(name), expected(name)
    assert (asked.refused in done.refused) if asked.refused else not done.refused, done.refused
    recipes = [read(page.text) for page in done.pages]
    assert [recipe.name for recipe in recipes] == [one["name"] for one in asked.recipes]
    for recipe, one in zip(recipes, asked.recipes, strict=True):
        assert recipe.kind == one["kind"]
        assert lines(recipe.base) == one["base"]
        assert lines(recipe.additions) == one["added"]
        assert {v.name: lines(v.additions) for v in recipe.variations} == one["variations"]
        fields = {key: str(value) for key, value in recipe.fields.items()}
        if not str(one.get("fields", "")).count("origin"):
            assert fields.pop("origin").startswith(f"{name}, line ")
        assert fields == one.get("fields", {})
        assert str(one.get("notes", "")) in recipe.notes
    told: dict[str, set[int]] = {}
    for remark in done.remarks:
        told.setdefault(remark.kind, set()).add(remark.line)
    for kind in ("left", "wrong", "unknown", "unwritten"):
        assert told.get(kind, set()) == asked.lines.get(kind, set()), kind
    assert asked.lines.get("guessed", set()) <= told.get("guessed", set())


@pytest.mark.parametrize("name", NAMES)
def test_written_page_is_laid_out(name: str) -> None:
    for page in brought(name).pages:
        assert format_text(parse(Source(page.file, page.text))) == page.text


@pytest.mark.parametrize("name", NAMES)
def test_every_number_of_a_page_is_found_again(name: str) -> None:
    """Counted apart from the reader: as often as it stands in the notes, in the recipes and the report together. The
    line of the origin and the numbers of lines do not count. A table says in every row what a page says once."""
    done = brought(name)
    if done.refused:
        return
    kept = [
        re.sub(rf"^origin: {re.escape(name)}, line .*$", "", page.text, flags=re.M) for page in done.pages
    ]
    kept += [remark.text for remark in done.remarks]
    there, here = numbers((PAGES / name).read_text("utf-8")), numbers("\n".join(kept))
    assert there <= here if done.form == "text" else set(there) <= set(here)


@pytest.mark.parametrize("name", [name for name in NAMES if name.endswith(".txt")])
def test_every_word_of_a_text_is_found_again(name: str) -> None:
    """But for those that only say what a line is: they head a section or a field, or have become its value."""
    done = brought(name)
    if done.refused:
        return
    kept = words("\n".join([*(page.text for page in done.pages), *(remark.text for remark in done.remarks)]))
    assert words((PAGES / name).read_text("utf-8")) - kept <= STANDS_FOR_ITSELF


# fmt: off
STANDS_FOR_ITSELF = {
    "add",
    "added",
    "extra",
    "with",
    "opacifier",
    "also",
    "and",
    "plus",
    "additions",
    "colorants",
    "parts",
    "part",
    "of",
    "gr",
    "grams",
    "c",
    "recipe",
    "color",
    "source",
    "march",
    "x",
}
# fmt: on


def words(text: str) -> set[str]:
    return {word.casefold() for word in re.findall(r"[^\W\d_]+", text)}


def numbers(text: str) -> Counter[int]:
    return Counter(int(run) for run in re.findall(r"[0-9]+", text))
