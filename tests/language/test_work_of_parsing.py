"""Which expressions a page makes the reader compile, and that what is passed over changes nothing."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from tests.conftest import STUDIO

from glost.language import parse as parsing
from glost.language.parse import parse
from glost.language.source import Source
from glost.language.tables import tables

PAGES = sorted(STUDIO.rglob("*.glost"))
SHORT = 'glaze "Quiet Cove"\ncone: 6\n\nbase:\n    silica  60\n    whiting  40\n'


@pytest.fixture
def fresh(monkeypatch: pytest.MonkeyPatch) -> dict[bool, parsing._Matchers]:
    """Matchers that have compiled nothing yet."""
    matchers = {hidden: parsing._Matchers(hidden) for hidden in (False, True)}
    monkeypatch.setattr(parsing, "_matchers", lambda hidden=True: matchers[hidden])
    return matchers


def test_a_short_page_compiles_no_head_that_it_does_not_have(fresh: dict[bool, parsing._Matchers]) -> None:
    page = parse(Source("a.glost", SHORT))
    assert page.diagnostics == ()
    assert set(fresh[False]) & set(tables().heads) == {"TITLE", "FIELD", "BASE"}
    assert not fresh[True]


def test_a_page_with_a_hidden_character_is_matched_with_them(fresh: dict[bool, parsing._Matchers]) -> None:
    page = parse(Source("a.glost", SHORT.replace("silica", "sil\u200bica")))
    assert len(page.diagnostics) == 1
    assert not fresh[False]


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.stem)
def test_a_page_without_is_read_the_same_either_way(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    source = Source(path.name, path.read_text("utf-8"))
    quick = parse(source)
    monkeypatch.setattr(parsing, "_hidden_sign", lambda: re.compile(""))
    monkeypatch.setattr(parsing, "_begins", lambda: dict.fromkeys(tables().patterns, ""))
    assert parse(source) == quick
