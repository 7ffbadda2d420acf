"""The expressions of the grammar and of its readers: no line makes them slow.

Two proofs. By measuring: on lines made to be tried in many ways, twice the length takes at most about twice the time
(what grew with the square would take four times). By their shape: no expression can go round a repeat in two ways on
the same text, so none grows beyond all bounds.
"""

from __future__ import annotations

import gc
import itertools
import re
import time
from collections.abc import Callable, Iterator

import pytest

from glost.language import parse as readers
from glost.language.accidents.heads import _LONGEST
from glost.language.parse import parse
from glost.language.source import LARGEST_FILE, Source
from glost.language.tables import tables
from tests.hostile.expression_shape import two_ways_round

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
FLOOR_S = 0.02
"""What takes less is not measured: chance would decide."""


def seconds(run: Callable[[], object], times: int = 3) -> float:
    def once() -> float:
        # Neither the work of others on the machine counts, nor the collector's, which grows with all that the
        # tests before this one have left in memory.
        gc.disable()
        try:
            began = time.process_time()
            run()
            return time.process_time() - began
        finally:
            gc.enable()

    return min(once() for _ in range(times))


def grows_no_faster_than_its_length(run: Callable[[str], object], start: str, unit: str, end: str) -> bool:
    def line(length: int) -> str:
        return start + (unit * length)[:length] + end

    def took(length: int, times: int = 3) -> float:
        text = line(length)
        return seconds(lambda: run(text), times)

    length = 10_000
    while took(length, 1) < FLOOR_S:
        length *= 2
        if length > LARGEST_FILE // 2:
            return True  # as long as a file may be, and still not to be measured
    # Several times, since the memory of a busy machine makes one measurement worth little.
    return any(took(2 * length) <= 3 * took(length) for _ in range(8))


def lines() -> Iterator[tuple[str, str, str]]:
    yield from itertools.product(STARTS, UNITS, ENDS)


@pytest.mark.parametrize("name", sorted(PATTERNS))
def test_grammar_by_measuring(name: str) -> None:
    match = re.compile(PATTERNS[name]).match
    # A short look first: what is quick on 20,000 characters is not looked at for longer.
    for start, unit, end in lines():
        line = start + (unit * 20_000)[:20_000] + end
        if seconds(lambda line=line: match(line), 1) > 0.005:  # type: ignore[misc]
            assert grows_no_faster_than_its_length(match, start, unit, end), (start, unit, end)


@pytest.mark.parametrize(
    "head",
    ["", "base:\n", "handling:\n", "notes:\n", 'series "x":\n', "origin:\n"],
    ids=lambda head: head.strip(),
)
def test_whole_pages_by_measuring(head: str) -> None:
    """The readers of accepted lines, and the search for what is wrong with the others."""

    def read(line: str) -> object:
        return parse(Source("a", f'glaze "A"\n{head}{line}'))

    for start, unit, end in itertools.product(STARTS[::2], UNITS, ENDS[::4]):
        line = start + (unit * 20_000)[:20_000] + end
        if seconds(lambda line=line: read(line), 1) > 0.1:  # type: ignore[misc]
            assert grows_no_faster_than_its_length(read, start, unit, end), (start, unit, end)


@pytest.mark.parametrize("role", ["", "base:\n", "handling:\n", 'series "x":\n'])
def test_the_longest_line_that_is_searched_for_what_is_wrong(role: str) -> None:
    """A longer one is told as such. So these searches may be slower than linear, and are bounded all the same."""
    assert _LONGEST == 200
    for start, unit, end in lines():
        line = (start + (unit * 200)[:200])[: 199 - len(end)] + end
        assert seconds(lambda line=line: parse(Source("a", f'glaze "A"\n{role}{line}')), 1) < 0.5  # type: ignore[misc]


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
