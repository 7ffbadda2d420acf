"""Mends converge, add no fault, and touch nothing but what they mend."""

from __future__ import annotations

import random
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from glost.collection import Collections, find
from glost.language.parse import parse
from glost.language.source import Edit, Overlap, Source, Span, apply
from glost.lint.engine import MOST_ROUNDS, Bench, check, mend
from glost.lint.finding import SYNTAX
from glost.materials.catalogue import shipped_catalogue
from glost.recipe.resolve import resolve
from glost.settings import Settings
from tests.conftest import STUDIO

BENCH = Bench(shipped_catalogue(), Settings(handling={"all": "P100 respirator and gloves"}))
FILES = [*find([str(STUDIO)], Collections()), *sorted((STUDIO / "needs-work").glob("*.glost"))]

ACCIDENTS: list[Callable[[str], str]] = [
    lambda line: line.replace("    ", "\t", 1),
    lambda line: line.replace(" ", "\xa0", 2),
    lambda line: line.replace(".", ",", 1),
    lambda line: line.replace("1", "\uff11"),
    lambda line: line.replace('"', "\u201c", 1).replace('"', "\u201d", 1),
    lambda line: line.replace("  ", ": ", 1) if line.startswith("    ") else line,
    lambda line: line + " g",
    lambda line: line.lstrip(" "),
    lambda line: line.upper(),
    lambda line: line[: len(line) // 2],
    lambda line: "",
    lambda line: line + "\r",
    lambda line: line.replace("9", "9.").replace("4", "4 parts"),
]


def syntax(source: Source) -> int:
    return sum(finding.rule == SYNTAX for finding in check(source, BENCH))


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(FILES), st.integers(0, 10_000), st.integers(1, 4))
def test_mending_broken_recipes_converges_and_adds_no_syntax_finding(
    path: Path, seed: int, slips: int
) -> None:
    chance = random.Random(seed)
    lines = path.read_text("utf-8").split("\n")
    for _ in range(slips):
        at = chance.randrange(len(lines))
        lines[at] = chance.choice(ACCIDENTS)(lines[at])
    source = Source("a.glost", "\n".join(lines))
    once = mend(source, BENCH)
    assert syntax(Source("a.glost", once.text)) <= syntax(source)
    again = mend(Source("a.glost", once.text), BENCH)
    assert (again.text, again.count) == (once.text, 0)
    # What is still offered was not taken because the page would be worse to read with it.
    left = [finding for finding in once.left.findings if finding.rule == SYNTAX and finding.edits]
    if left:
        taken = apply(once.text, {edit for finding in left for edit in finding.edits})
        assert syntax(Source("a.glost", taken)) > syntax(Source("a.glost", once.text))


@settings(max_examples=200, deadline=None)
@given(st.lists(st.decimals("0.01", "90", places=2), min_size=2, max_size=12), st.integers(0, 3))
def test_rescaled_base_prints_parts_that_add_up_to_100(amounts: list[Decimal], places: int) -> None:
    lines = [f"    material {chr(97 + at)}  {amount:f}\n" for at, amount in enumerate(amounts)]
    text = 'glaze "A"\ncone: 6\nbase:\n' + "".join(lines) + "additions:\n    tin oxide  4\n"
    mended = mend(Source("a.glost", text), BENCH)
    recipe = resolve(parse(Source("a.glost", mended.text)), BENCH.catalogue).recipe
    before = resolve(parse(Source("a.glost", text)), BENCH.catalogue).recipe
    if abs(before.base_total - 100) > BENCH.settings.base_tolerance:
        assert recipe.base_total == 100
    else:
        assert mended.text == text
    assert MOST_ROUNDS <= 10


def test_only_the_edited_characters_change() -> None:
    text = 'glaze "A"   # odd  spacing\nbase:\n  silica   49 #x\n  kaolin\t50\n'
    mended = mend(Source("a.glost", text), BENCH).text
    assert mended == 'glaze "A"   # odd  spacing\nbase:\n  silica   49.49 #x\n  kaolin    50.51\n'


@pytest.mark.parametrize(
    ("edits", "error"),
    [
        ([Edit(Span(0, 2), "a"), Edit(Span(1, 3), "b")], Overlap),
        ([Edit(Span(0, 99), "a")], ValueError),
    ],
)
def test_edits_that_meet_or_lie_outside_are_refused(edits: list[Edit], error: type[Exception]) -> None:
    with pytest.raises(error):
        apply("text", edits)


def test_equal_edits_are_made_once() -> None:
    assert apply("text", [Edit(Span(0, 1), "T"), Edit(Span(0, 1), "T"), Edit(Span(4, 4), ".")]) == "Text."
