"""The expressions of the grammar and of its readers: no line makes them slow.

Two proofs. By measuring: on lines made to be tried in many ways, twice the length takes at most about twice the time
(what grew with the square would take four times). By their shape: no expression can go round a repeat in two ways on
the same text, so none grows beyond all bounds.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Iterator

import pytest

from glost.language import parse as readers
from glost.language.errors.heads import _LONGEST
from glost.language.parse import parse
from glost.language.source import Source
from glost.language.tables import tables
from tests.hostile.expression_shape import two_ways_round
from tests.work import count_steps, processor_seconds, steps_grow_in_proportion, time_grows_in_proportion

PATTERNS = tables().patterns
READERS = {name: value for name, value in vars(readers).items() if isinstance(value, re.Pattern)}
STARTS = (
    *(
        "",
        "a: ",
        "a: a #",
        "  ",
        " a 1 (",
        " a 1 #",
        "  a: ",
        '  "',
        'glaze "',
        'variation "',
        'series "a":',
        "#",
    ),
    *("  a 1, ", "  1 ", "base: #", "base:", "  a #"),
)
UNITS = (
    *(
        " ",
        "#",
        "a",
        "a ",
        " #",
        " #a",
        " # ",
        '"',
        '" ',
        '"a" ',
        "(",
        "( ",
        "()",
        "1",
        "1 ",
        "1, ",
        ", 1",
        ".",
        ".1",
    ),
    *(
        ".1 ",
        "%",
        "1 g ",
        "1 kg ",
        "a,",
        "a, ",
        "a: ",
        ":",
        "\u00e9 ",
        "a-",
        "-",
        "\r",
        " a 1 (",
        "a 1 ",
        "\t",
    ),
)
ENDS = ("\t\n", "\n", '"\n', "(\n", ":\n", "\x00\n", " 1\n", " 1 (\n", " #\n")
LENGTH = 4_000
"""Characters of the shorter line; the longer one holds four times as many."""

Line = tuple[str, str, str]


def text_of(line: Line, length: int) -> str:
    start, unit, end = line
    return start + (unit * length)[:length] + end


def grows_in_proportion(read: Callable[[str], object], line: Line) -> bool:
    def run(length: int) -> object:
        return read(text_of(line, length))

    # A short look first: what went over the longer line again and again would need a hundred times this.
    if processor_seconds(lambda: run(4 * LENGTH)) < 0.005:
        return True
    return time_grows_in_proportion(run, LENGTH)


def lines() -> Iterator[Line]:
    yield from itertools.product(STARTS, UNITS, ENDS)


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(PATTERNS))
def test_grammar_by_measuring(name: str) -> None:
    match = re.compile(PATTERNS[name]).match
    for line in lines():
        assert grows_in_proportion(match, line), line


HEADS = ("", "base:\n", "handling:\n", "notes:\n", 'series "x":\n', "origin:\n")


def reader_below(head: str) -> Callable[[str], object]:
    """The readers of accepted lines, and the search for what is wrong with the others."""
    return lambda line: parse(Source("a", f'glaze "A"\n{head}{line}'))


@pytest.mark.slow
@pytest.mark.parametrize("head", HEADS, ids=str.strip)
def test_whole_pages_by_measuring(head: str) -> None:
    for line in itertools.product(STARTS[::3], UNITS, ENDS[::4]):
        assert grows_in_proportion(reader_below(head), line), line


@pytest.mark.parametrize("head", HEADS, ids=str.strip)
def test_whole_pages_by_counting(head: str) -> None:
    read = reader_below(head)
    for line in itertools.product(STARTS[1::4], UNITS, ENDS[::4]):
        assert steps_grow_in_proportion(lambda length, line=line: read(text_of(line, length)), 250), line  # type: ignore[misc]


@pytest.mark.parametrize("role", ["", "base:\n", "handling:\n", 'series "x":\n'])
def test_the_longest_line_that_is_searched_for_what_is_wrong(role: str) -> None:
    """A longer one is told as such. So these searches may be slower than linear, and are bounded all the same."""
    assert _LONGEST == 200
    read = reader_below(role)
    read("glossy\n")  # what is read once and kept is not counted
    for start, unit, end in lines():
        line = (start + (unit * 200)[:200])[: 199 - len(end)] + end
        assert count_steps(lambda line=line: read(line)) < 50_000, line  # type: ignore[misc]


@pytest.mark.parametrize("name", sorted(PATTERNS))
def test_grammar_by_its_shape(name: str) -> None:
    assert two_ways_round(PATTERNS[name]) is None


@pytest.mark.parametrize("name", sorted(READERS))
def test_readers_by_their_shape(name: str) -> None:
    assert two_ways_round(READERS[name].pattern) is None


@pytest.mark.parametrize(
    ("pattern", "bad"),
    [
        ("(?:a+)+b", True),
        ("(?:a|aa)*b", True),
        ("(?:a*)*b", True),
        ("(?:a|ab)*c", False),
        ("(?:a|ab|b)*c", True),
        (r"(?:\w+ *)+$", True),
        (r"(?:\w+ +)+$", False),
        ("(?:[0-9]+,?)*x", True),
        ("(?i:(?:a|Ab|b)*)c", True),
        ("(?:a|Ab|b)*c", False),
        ("(?:(?=x)[^y] *)*b", False),
        ("(?:a{2,4})*b", True),
        ("(?:ab{0,3})*c", False),
    ],
)
def test_the_proof_by_shape_tells_good_from_bad(pattern: str, bad: bool) -> None:
    assert (two_ways_round(pattern) is not None) == bad
