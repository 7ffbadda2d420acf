"""Fixes converge, add no diagnostic, and touch nothing but what they fix: no amount ever."""

from __future__ import annotations

import random
import re
import unicodedata
from collections import Counter
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from glost.language import tree
from glost.language.parse import parse
from glost.language.source import DecodeError, Edit, OverlapError, Source, Span, apply, decode
from glost.linter.engine import LintContext, check, examine
from glost.linter.finding import SYNTAX
from glost.linter.fixing import fix, only_what_is_fixed
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.settings import Settings
from glost.workspace.collection import Collections, find
from tests.conftest import STUDIO, TOP

BENCH = LintContext(shipped_catalogue(), Settings(handling={"all": "P100 respirator and gloves"}))
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
def test_fixing_broken_recipes_converges_and_adds_no_syntax_finding(
    path: Path, seed: int, slips: int
) -> None:
    chance = random.Random(seed)
    lines = path.read_text("utf-8").split("\n")
    for _ in range(slips):
        at = chance.randrange(len(lines))
        lines[at] = chance.choice(ACCIDENTS)(lines[at])
    source = Source("a.glost", "\n".join(lines))
    once = fix(source, BENCH)
    assert syntax(Source("a.glost", once.text)) <= syntax(source)
    again = fix(Source("a.glost", once.text), BENCH)
    assert (again.text, again.fixes) == (once.text, ())
    # What is still offered was not taken because the page would be worse to read with it.
    left = [finding for finding in once.left.findings if finding.rule == SYNTAX and finding.edits]
    if left:
        taken = apply(once.text, {edit for finding in left for edit in finding.edits})
        assert syntax(Source("a.glost", taken)) > syntax(Source("a.glost", once.text))


def test_only_the_edited_characters_change() -> None:
    text = 'glaze "A"   # odd  spacing\nbase:\n  silica   49,5 #x\n  kaolin\t50\n'
    fixed = fix(Source("a.glost", text), BENCH).text
    assert fixed == 'glaze "A"   # odd  spacing\nbase:\n  silica   49.5 #x\n  kaolin    50\n'


# ---- no amount changes ----------------------------------------------------------------------------------

_VULGAR = dict(zip("\u00bc\u00bd\u00be\u215b", ("1/4", "1/2", "3/4", "1/8"), strict=True))
_FIGURE = re.compile(r"(?:(\d+) +)?(\d+)/(\d+)|\d[\d_']*(?:[.,]\d+)*\.?|\.\d+")


def numbers(text: str) -> Counter[Fraction]:
    """Every number of a text, as exact as it is meant, read by nothing of glost: decimal commas and points, thousands,
    figures of other scripts, fractions."""
    for sign, written in _VULGAR.items():
        text = re.sub(rf"(?<=\d){sign}", f" {written}", text).replace(sign, written)
    text = "".join(
        str(unicodedata.decimal(c)) if unicodedata.decimal(c, None) is not None else c for c in text
    )
    text = text.replace("\uff0e", ".").replace("\uff0c", ",").replace("\u066b", ".").replace("\u066c", ",")
    found: Counter[Fraction] = Counter()
    for match in _FIGURE.finditer(text):
        if match[3]:
            whole, above, below = int(match[1] or 0), int(match[2]), int(match[3])
            found[whole + Fraction(above, below) if below else Fraction(-1)] += 1
        else:
            found.update(_figures(re.sub("[_']", "", match[0]).rstrip(".,")))
    return found


def _figures(written: str) -> list[Fraction]:
    """The numbers in figures with points and commas: mostly one."""
    *first, last = re.split("[.,]", written)
    thousands = re.fullmatch(r"\d{1,3}(?:,\d{3})+\.\d+|\d{1,3}(?:\.\d{3})+,\d+", written)
    if thousands or len(first) == 1:
        return [Fraction(f"{''.join(first) or '0'}.{last}")]
    return [Fraction(part) for part in (*first, last) if part]


def amounts(text: str) -> Counter[tuple[str, Decimal, str]]:
    """Every amount of a page that reads whole, by the block that it stands in; glost lays no hand on a number to know
    them."""
    page = parse(Source("a.glost", text))
    return Counter(
        (block.role, amount.value.normalize(), amount.unit)
        for block in page.blocks
        for line in block.lines
        if isinstance(line, tree.Item)
        for amount in line.amounts
    )


def holds_every_amount(text: str) -> None:
    """Fixes a page twice: how it is written alone, then all that the rules fix; no number is another then."""
    written = fix(Source("a.glost", text), BENCH._replace(rules=())).text
    assert numbers(written) == numbers(text)
    fixed = fix(Source("a.glost", written), BENCH).text
    assert amounts(fixed) == amounts(written)
    assert fix(Source("a.glost", text), BENCH).text == fixed


EVERY_PAGE = sorted((TOP / "corpus").rglob("*.glost"))


@pytest.mark.parametrize("path", EVERY_PAGE, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_fixing_a_page_of_the_corpus_changes_no_amount(path: Path) -> None:
    try:
        text = decode(path.read_bytes())
    except DecodeError:
        return
    holds_every_amount(text)


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(FILES), st.integers(0, 10_000), st.integers(0, 4))
def test_fixing_a_mutated_page_changes_no_amount(path: Path, seed: int, slips: int) -> None:
    chance = random.Random(seed)
    lines = path.read_text("utf-8").split("\n")
    for _ in range(slips):
        at = chance.randrange(len(lines))
        lines[at] = chance.choice(ACCIDENTS)(lines[at])
    holds_every_amount("\n".join(lines))


MATERIALS = (
    "silica",
    "whiting",
    "calcium carbonate",
    "Kaolin",
    "tin oxide",
    "zinc oxide",
    "grey dust",
    "talc",
)
SPELLED = st.one_of(
    st.decimals("0.01", "999", places=2).map(lambda n: f"{n:f}"),
    st.integers(0, 99).map(str),
    st.tuples(st.integers(0, 99), st.integers(0, 99)).map(lambda n: f"{n[0]},{n[1]:02}"),
    st.sampled_from(
        ("1/2", "3/4", "2/4", "\u00bd", "12\u00bd", "7.", "+3", "\uff14", "1,500.5", "1 1/4", "0,125")
    ),
)
UNITS = st.sampled_from(("", "", "", " %", " g", " gr", " parts", " part", " grams"))


def line_of(between: str) -> st.SearchStrategy[str]:
    amount = st.tuples(SPELLED, UNITS).map("".join)
    listed = st.lists(amount, min_size=1, max_size=4 if between else 1).map(between.join)
    return st.tuples(st.sampled_from(MATERIALS), st.sampled_from(("  ", ": ", "\t", " = ")), listed).map(
        "".join
    )


def block_of(heads: tuple[str, ...], between: str = "") -> st.SearchStrategy[str]:
    lines = st.lists(line_of(between), min_size=1, max_size=6)
    return st.tuples(st.sampled_from(heads), lines).map(
        lambda block: block[0] + "".join(f"\n    {line}" for line in block[1]) + "\n"
    )


@settings(max_examples=300, deadline=None)
@given(
    st.tuples(
        st.sampled_from(('glaze "A"\n', "glaze A\n", 'Glaze "A":\n')),
        block_of(("base:", "base", "Base :")),
        st.one_of(st.just(""), block_of(("additions:", "Additions"))),
        st.one_of(st.just(""), block_of(('variation "v":', "variation v"))),
        st.one_of(st.just(""), block_of(('series "s":', "series s:"), ", ")),
    ).map("".join)
)
def test_fixing_a_made_up_page_changes_no_amount(text: str) -> None:
    holds_every_amount(text)


def test_total_that_is_off_is_found_and_left(tmp_path: Path) -> None:
    text = (
        'glaze "A"\nbase:\n    silica  49,5\n    calcium carbonate  50\nseries "s":\n    tin oxide  1, 2, 4\n'
    )
    fixed = fix(Source("a.glost", text), BENCH)
    assert fixed.text == text.replace("49,5", "49.5").replace("calcium carbonate", "whiting")
    assert "base-total" in {finding.rule for finding in fixed.left.findings}


# ---- each fix is told -----------------------------------------------------------------------------------


def told(text: str) -> list[tuple[int, str, str, int]]:
    fixes = fix(Source("a.glost", text), BENCH).fixes
    return [(one.line, one.before, one.after, one.more) for one in fixes]


def test_every_fix_says_its_line_before_and_after() -> None:
    assert told('glaze "A"\r\ncone 6\r\nbase:\r\n    calcium carbonate  99,5\r\n') == [
        (1, 'glaze "A"\r', 'glaze "A"', 3),
        (2, "cone 6\r", "cone: 6\r", 0),
        (4, "    calcium carbonate  99,5\r", "    calcium carbonate  99.5\r", 0),
        (4, "    calcium carbonate  99.5", "    whiting  99.5", 0),
    ]


def test_fix_on_an_endless_line_is_told_by_what_stands_around_it() -> None:
    text = 'glaze "A"\nbase:\n    silica  100\nnotes:\n    ' + "a" * 5_000 + "\t" + "b" * 5_000 + "\n"
    [(line, before, after, _)] = told(text)
    assert line == 5
    assert before == "a" * 60 + "\t" + "b" * 60
    assert after == "a" * 60 + "    " + "b" * 60


def test_only_what_would_be_fixed_now_keeps_its_edits() -> None:
    waiting = Source("a.glost", 'glaze "A"\nbase:\n    calcium carbonate  60\n    silica\n')
    report = examine(waiting, BENCH)
    assert any(finding.edits for finding in report.findings)
    assert not any(finding.edits for finding in only_what_is_fixed(waiting, BENCH, report).findings)
    ready = Source("a.glost", 'glaze "A"\nbase:\n    calcium carbonate  60\n    silica: 40\n')
    report = only_what_is_fixed(ready, BENCH, examine(ready, BENCH))
    assert [finding.line for finding in report.findings if finding.edits] == [3, 4]


@pytest.mark.parametrize(
    ("edits", "error"),
    [
        ([Edit(Span(0, 2), "a"), Edit(Span(1, 3), "b")], OverlapError),
        ([Edit(Span(0, 99), "a")], ValueError),
    ],
)
def test_edits_that_meet_or_lie_outside_are_refused(edits: list[Edit], error: type[Exception]) -> None:
    with pytest.raises(error):
        apply("text", edits)


def test_equal_edits_are_made_once() -> None:
    assert apply("text", [Edit(Span(0, 1), "T"), Edit(Span(0, 1), "T"), Edit(Span(4, 4), ".")]) == "Text."
