"""The tables that pages are read with are those of the grammar, and read as lark's own parser does."""

from __future__ import annotations

import random
import sys
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from lark import Lark, Token
from tests.conftest import STUDIO, TOP

from glost.language import tables, tree
from glost.language.parse import parse
from glost.language.source import Source
from glost.recipe.fields import FIELDS

GRAMMAR = TOP / "grammar" / tables.GRAMMAR
LARK = Lark(GRAMMAR.read_text("utf-8"), parser="lalr", start="page", lexer="contextual")
PAGES = [path.read_text("utf-8") for path in sorted(STUDIO.rglob("*.glost"))]
PAGES += [
    path.read_bytes().decode("utf-8", "replace").removeprefix("\ufeff")
    for path in sorted((TOP / "corpus" / "conformance").rglob("*.glost"))
]


def test_the_kept_tables_are_those_of_the_grammar() -> None:
    kept = (TOP / "grammar" / tables.TABLES).read_text("utf-8")
    assert kept == tables.as_json(GRAMMAR.read_bytes(), FIELDS), "run: python -m tests.generate tables"
    assert tables.tables() == tables.derive(GRAMMAR.read_text("utf-8"))


def shape_by_lark(text: str) -> list[tuple[str, list[str]]]:
    """What lark's parser makes of a text: for the lead and each block its role and its lines."""
    result: Any = LARK.parse(text if text.endswith("\n") else text + "\n")
    lead = [str(child) for child in result.children if isinstance(child, Token)]
    blocks = [child for child in result.children if not isinstance(child, Token)]
    return [("lead", lead), *((str(block.data), [str(line) for line in block.children]) for block in blocks)]


def shape_by_us(text: str) -> list[tuple[str, list[str]]]:
    page = parse(Source("a.glost", text))
    full = text if text.endswith("\n") else text + "\n"

    def line(node: Any) -> str:
        end = full.index("\n", node.span.start)
        return full[node.span.start : end + 1]

    blocks = [(block.role, [line(block.head), *map(line, block.lines)]) for block in page.blocks]
    return [("lead", list(map(line, page.lead))), *blocks]


def test_every_page_of_the_corpus_has_the_shape_that_lark_gives_it() -> None:
    assert len(PAGES) > 400
    for text in PAGES:
        if text.strip(" \r\n"):
            assert shape_by_us(text) == shape_by_lark(text)


@settings(max_examples=300, deadline=None)
@given(st.integers(0, 100_000))
def test_a_shuffled_and_broken_page_has_the_shape_that_lark_gives_it(seed: int) -> None:
    chance = random.Random(seed)
    lines = [line for text in chance.sample(PAGES, 3) for line in text.split("\n")]
    chance.shuffle(lines)
    for _ in range(5):
        at = chance.randrange(len(lines))
        cut = chance.randrange(len(lines[at]) + 1)
        lines[at] = (
            lines[at][:cut] + chance.choice([" ", "#", '"', ":", "1", "\t", "(", ""]) + lines[at][cut:]
        )
    # A byte order mark that stood inside a page may have come to its begin, where a reader takes it for the file's.
    text = "\n".join(lines[:40]).lstrip("\ufeff")
    if text.strip(" \r\n"):
        assert shape_by_us(text) == shape_by_lark(text)


def test_kinds_of_lines_are_named_alike_in_grammar_and_tree() -> None:
    roles = {role for role, _ in tables.tables().heads.values()}
    assert roles == {
        "title", "field", "field_below", "base", "additions", "variation", "series", "handling", "notes", "bad_block",
            "blend", "base_variation", "base_series", "base_blend",
    }  # fmt: skip
    assert tree.Block.__doc__ is not None
    assert all(role in tree.Block.__doc__ for role in roles)


def test_no_hidden_character_is_taken_for_one_that_steers_nothing() -> None:
    every = [chr(code) for code in range(sys.maxunicode + 1)]
    steering = [one for one in every if tables.steering().search(one)]
    assert "\x7f" in steering
    assert "\u202e" in steering
    assert "\n" not in steering
    assert "\u00a0" not in steering
    assert [one for one in steering if tables.steers_nothing(f"copper {one} blue")] == []
    assert tables.steers_nothing("20 °C, ½, Grün, 釉, é")
