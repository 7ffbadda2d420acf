"""Places in a text, edits to it, what is taken as text at all, and how wide it stands in a terminal."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from glost.errors import FIRST, Position, ValueRefusedError
from glost.language.source import (
    LARGEST_FILE,
    MOST_LINES,
    DecodeError,
    Edit,
    OverlapError,
    Source,
    Span,
    apply,
    decode,
)
from glost.language.width import padded, width

# ---- places ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("offset", "position"),
    [
        (0, (1, 1)),
        (1, (1, 2)),
        (2, (1, 3)),  # the line break belongs to the line that it ends
        (3, (2, 1)),
        (4, (3, 1)),
        (5, (3, 2)),
        (7, (4, 1)),  # behind the last line break a line begins, empty as it is
    ],
)
def test_position_counts_lines_and_columns_from_one(offset: int, position: tuple[int, int]) -> None:
    assert Source("a.glost", "ab\n\ncd\n").position(offset) == position


def test_line_is_given_without_its_break_and_is_empty_outside_the_text() -> None:
    source = Source("a.glost", "ab\n\ncd\r\nef")
    assert [source.line(number) for number in range(-1, 6)] == ["", "", "ab", "", "cd", "ef", ""]


def test_line_span_is_the_place_of_the_line_without_its_break() -> None:
    source = Source("a.glost", "ab\n\ncd\r\nef")
    assert [source.line_span(number) for number in range(1, 5)] == [(0, 2), (3, 3), (4, 6), (8, 10)]


@given(st.text(st.sampled_from("a ä\n\r\u2028\x85"), max_size=30))
def test_every_offset_lies_on_the_line_that_a_count_of_line_feeds_gives(text: str) -> None:
    """A carriage return, a line separator and a next-line sign end no line: lines are those of split."""
    source = Source("a.glost", text)
    for offset in range(len(text) + 1):
        before = text[:offset].split("\n")
        assert source.position(offset) == (len(before), len(before[-1]) + 1)
    for number, line in enumerate(text.split("\n"), start=1):
        assert source.line(number) == line.removesuffix("\r")
        span = source.line_span(number)
        assert text[span.start : span.end] == source.line(number)


# ---- edits ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("edits", "after"),
    [
        ([], "text"),
        ([Edit(Span(4, 4), ".")], "text."),
        ([Edit(Span(0, 0), "a "), Edit(Span(0, 4), "word")], "a word"),
        ([Edit(Span(2, 4), "nt"), Edit(Span(0, 2), "pla")], "plant"),  # side by side, in any order
        ([Edit(Span(1, 3), "")], "tt"),
        ([Edit(Span(0, 4), "")], ""),
    ],
)
def test_edits_change_their_span_and_nothing_else(edits: list[Edit], after: str) -> None:
    assert apply("text", edits) == after


@pytest.mark.parametrize("span", [Span(-1, 2), Span(2, 1), Span(3, 5), Span(5, 5)])
def test_edit_outside_the_text_is_refused_with_its_place(span: Span) -> None:
    says = f"an edit at {span} lies outside a text of 4 characters"
    with pytest.raises(ValueError, match=re.escape(says)) as caught:
        apply("text", [Edit(span, "x")])
    assert caught.type is ValueRefusedError  # an OverlapError would mean that another round may help


def test_two_edits_that_meet_are_refused_with_the_place_of_the_second() -> None:
    with pytest.raises(OverlapError, match=re.escape(f"two edits meet at {Span(2, 4)}")):
        apply("text", [Edit(Span(2, 4), "x"), Edit(Span(0, 3), "y")])


# ---- bytes ----------------------------------------------------------------------------------------------


def refusal(data: bytes, most: int = LARGEST_FILE) -> DecodeError:
    with pytest.raises(DecodeError) as caught:
        decode(data, most)
    assert str(caught.value) == f"{caught.value.message}; {caught.value.hint}"
    assert caught.value.hint
    return caught.value


def test_a_file_of_the_largest_size_is_read_and_one_byte_more_is_not() -> None:
    assert LARGEST_FILE == 262_144
    assert len(decode(b"a" * LARGEST_FILE)) == LARGEST_FILE
    refused = refusal(b"a" * (LARGEST_FILE + 1))
    assert "more than 262,144 bytes" in refused.message
    assert refused.position == FIRST == (1, 1)


def test_the_limit_counts_bytes_and_not_characters() -> None:
    assert decode("ä".encode(), most=2) == "ä"
    assert "more than 2 bytes" in refusal("äb".encode(), most=2).message


def test_a_page_of_the_most_lines_is_read_and_one_line_more_is_not() -> None:
    assert MOST_LINES == 10_000
    assert decode(b"\n" * MOST_LINES).count("\n") == MOST_LINES
    refused = refusal(b"\n" * (MOST_LINES + 1))
    assert "more than 10,000 lines" in refused.message
    assert refused.position == FIRST


def test_lines_are_not_counted_where_another_limit_is_given() -> None:
    """What is no recipe, such as a list of materials or a table, may have more lines than a page."""
    assert decode(b"\n" * (MOST_LINES + 1), most=LARGEST_FILE * 2).count("\n") == MOST_LINES + 1


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_utf_16_is_named_where_its_byte_order_mark_tells_it(encoding: str) -> None:
    refused = refusal("\ufeffglaze".encode(encoding))
    assert "UTF-16" in refused.message
    assert refused.position == FIRST


def test_byte_order_mark_of_utf_8_stays_in_the_text() -> None:
    assert decode(b"\xef\xbb\xbfglaze") == "\ufeffglaze"


@pytest.mark.parametrize(
    ("before", "position"),
    [
        ("", (1, 1)),
        ("a", (1, 2)),
        ("äö", (1, 3)),  # two characters of two bytes each
        ("a\n", (2, 1)),
        ("a\n\näö", (3, 3)),
    ],
)
def test_first_byte_that_cannot_be_text_is_named_with_its_place(
    before: str, position: tuple[int, int]
) -> None:
    zero = refusal(before.encode() + b"\x00b\x00")
    assert "zero byte" in zero.message
    assert zero.position == position
    latin = refusal(before.encode() + b"\xe4b\xff")
    assert "0xe4" in latin.message
    assert latin.position == position


def test_unreadable_is_at_the_first_place_unless_told_otherwise() -> None:
    assert DecodeError("what", "hint").position == Position(1, 1)


# ---- width ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "columns"),
    [
        ("", 0),
        ("kaolin", 6),
        ("Töpfer", 6),
        ("To\u0308pfer", 6),  # the same name with a combining mark
        ("e\u20dd", 1),  # an enclosing mark
        ("\u0e01\u0e31", 1),  # a vowel that stands above, of combining class 0
        ("a\u200db", 2),  # a joiner that is not seen
        ("青磁", 4),
        ("ａｂ", 4),  # full width
        ("ｱ", 1),  # half width
        ("±", 1),  # of either width by its font: counted as narrow
        ("青 kaolin", 9),
    ],
)
def test_width_counts_the_columns_of_a_terminal(text: str, columns: int) -> None:
    assert width(text) == columns


def test_padded_fills_up_to_the_column_and_cuts_nothing() -> None:
    assert padded("青磁", 6) == "青磁  "
    assert padded("clay", 4) == "clay"
    assert padded("kaolin", 4) == "kaolin"
