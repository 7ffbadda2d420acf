"""A line as it is compared with what it was, held against the formatter: whatever that may change must not count."""

from __future__ import annotations

import random
import re
from collections import Counter

import pytest

from glost.language.layout import FormatError, format_text
from glost.language.parse import parse
from glost.language.source import Source
from glost.linter.line_text import page_marks, same_page, tidy
from tests.conftest import TOP

PAGES = sorted((TOP / "corpus").rglob("*.glost"))


def lines(text: str) -> Counter[str]:
    return Counter(line for line in map(tidy, text.splitlines()) if line)


def pulled_apart(chance: random.Random, text: str) -> str:
    """The page with its blanks and the spelling of its amounts changed, as somebody types it."""
    out = []
    for line in text.split("\n"):
        if line.startswith("    ") and '"' not in line and "#" not in line and ":" not in line:
            line = re.sub(r"  +", lambda _: " " * chance.randint(2, 9), line)
            line = re.sub(r"(?<= )0\.(?=[0-9])", lambda _: chance.choice([".", "0."]), line)
        out.append(line + " " * chance.choice([0, 0, 3]))
    return "\n".join(out)


def test_laying_a_page_out_leaves_its_lines_as_they_are() -> None:
    laid_out = 0
    for path in PAGES:
        try:
            text = path.read_bytes().decode("utf-8")
            laid = format_text(parse(Source("a.glost", text)))
        except (UnicodeDecodeError, FormatError):
            continue
        laid_out += 1
        assert lines(text) == lines(laid), path
        apart = pulled_apart(random.Random(path.name), laid)
        page = parse(Source("a.glost", apart))
        if not page.diagnostics:
            assert lines(apart) == lines(format_text(page)), path
    assert laid_out > 100


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("    silica\t  3.50", "silica 3.5"),
        ("silica .5 %", "  silica     0.50%"),
        ("silica  03", "silica 3"),
        ("silica  5.", "silica 5"),
        ("silica 1 , 2.0,  3", "silica  1, 2, 3"),
        ("black manganese  3.5  (sieve twice)", "black manganese 3.50 (sieve  twice)"),
        ("silica 20# house", "silica   20.0  # house"),
        ("silica, kaolin :  sieve", "silica ,kaolin: sieve"),
        ("batch: 1.50 kg", "batch:1.5 kg"),
        ('glaze   "A  B"  # x', 'glaze "A  B" # x'),
        ('"mix # 3"   4.0', '"mix # 3" 4'),
        ('blend "b" by 012.50 %:', 'blend  "b"  by 12.5%:'),
    ],
)
def test_layout_and_spelling_of_numbers_do_not_count(one: str, other: str) -> None:
    assert tidy(one) == tidy(other)
    assert tidy(tidy(one)) == tidy(one)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("cone: 04", "cone: 4"),
        ("cone: 06-04", "cone: 6-4"),
        ("silica 3.5", "silica 3.05"),
        ("silica 30", "silica 3"),
        ("silica 3", "silica 3 %"),
        ("silica 3 (once)", "silica 3 (twice)"),
        ("silica 3 # once", "silica 3 # twice"),
        ("silica 3 # cone 04", "silica 3 # cone 4"),
        ("mix 3.10  20", "mix 3.1  20"),
        ('glaze "3.50"', 'glaze "3.5"'),
        ('"A  B" 3', '"A B" 3'),
        ("silica 1, 2", "silica 12"),
        ("silica 1, 2", "silica 1"),
    ],
)
def test_what_a_line_says_counts(one: str, other: str) -> None:
    assert tidy(one) != tidy(other)


def test_a_line_of_any_length_is_compared_in_no_time() -> None:
    for sign in (" 1,", "(", '"', " #", "1 ", ": "):
        for line in (sign * 600, "a" + sign * 600 + "b", sign * 1_000_000):
            assert tidy(tidy(line)) == tidy(line)


PAGE = 'glaze "Reed"\ncone: 6\norigin: box\n\nbase:\n    silica  20\n    kaolin  30\n    whiting  50\n'


def test_a_page_is_known_by_what_tells_it_from_others() -> None:
    assert same_page(page_marks(PAGE), page_marks(PAGE.replace("cone: 6", "cone: 9").replace("20", "21")))
    other = PAGE.replace("Reed", "Straw").replace("20", "22").replace("30", "28")
    assert not same_page(page_marks(PAGE), page_marks(other))
    assert not same_page((), ())
