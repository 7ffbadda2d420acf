"""The page that the log keeps of a record: read back exactly, and refused where somebody made it contradict itself."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from glost.language.source import DecodeError
from glost.records.record import Record
from glost.records.text import KEYS, TITLES, keys_of, record_of, text_of
from tests.conftest import STUDIO
from tests.records.bench import BLENDED, GROWN, MIST, records, steers

PAGE = """\
glost batch record 1

recorded: 2026-03-14T10:22:05+01:00
weighed by: R. T.
checked by: M. O.
project: spring tiles
recipe: Harbour Mist
test: storm
file: stoneware/harbour-mist.glost
revision: 5c1e0aa
changed since: yes
base: 200 g
water: 156 g
sieve: 100 mesh
remarks:
    Sieved twice.
    A little thin.

| material         | as written | part     | target g | weighed g | balance | lot    |
| ---------------- | ---------- | -------- | -------: | --------: | ------- | ------ |
| silica           | flint      | base     |    120.0 |     120.1 | floor   | S-94a  |
| whiting          |            | base     |     80.0 |      79.9 | floor   |        |
| cobalt carbonate |            | addition |     2.00 |      2.01 | fine    | CC-70a |

target: 202.00 g
weighed: 202.01 g, 100.00 % of the target
"""


def test_page() -> None:
    assert text_of(MIST) == PAGE
    assert record_of(PAGE) == MIST


@given(records)
def test_every_record_is_read_back(record: Record) -> None:
    text = text_of(record)
    again = record_of(text)
    assert again == record
    assert text_of(again) == text
    assert not [line for line in text.split("\n") if line != line.rstrip(" ")]
    assert not steers(text)


@given(records)
def test_ends_of_lines_may_be_those_of_another_system(record: Record) -> None:
    assert record_of(text_of(record).replace("\n", "\r\n")) == record


@given(st.data(), records)
def test_a_changed_page_is_read_or_refused(data: st.DataObject, record: Record) -> None:
    text = text_of(record)
    start = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(start, min(len(text), start + 20)))
    changed = text[:start] + data.draw(st.text(max_size=5)) + text[end:]
    try:
        again = record_of(changed)
    except DecodeError:
        return
    assert record_of(text_of(again)) == again


def test_keys_and_blanks_may_be_moved_by_hand() -> None:
    lines = PAGE.splitlines()
    moved = [lines[0], *lines[-2:], *lines[18:23], *lines[2:18]]
    assert record_of("\n".join(moved)) == MIST
    assert record_of(PAGE.replace("  ", " ").replace("\n Sieved", "\n  Sieved")) == MIST


@pytest.mark.parametrize(
    ("was", "now", "line", "message"),
    [
        (TITLES[1], "glost batch record 4", 1, "this is no batch record that is known here"),
        ("test: storm\n", "", 1, "'test' is missing"),
        ("test: storm", "tset: storm", 8, "'tset' is no key of a batch record"),
        ("test: storm", "<<<<<<< ours", 8, "'<<<<<<< ours' is no key of a batch record"),
        ("test: storm", "sieve: storm", 14, "'sieve' stands here a second time"),
        ("test: storm", "test: storm\n    twice", 9, "an indented line stands here"),
        ("10:22:05+01:00", "10:22", 3, "'2026-03-14T10:22' is no date and time with its offset"),
        ("changed since: yes", "changed since: maybe", 11, "'changed since' does not go with 'revision'"),
        ("changed since: yes", "changed since:", 11, "'changed since' does not go with 'revision'"),
        ("base: 200 g", "base: 0.2 kg", 12, "'0.2 k' is no mass"),
        ("project: spring", 'project: "spring', 6, "a text begins with a double quotation mark"),
        ("  79.9 |", "  79,9 |", 22, "'79,9' is no mass"),
        ("|      79.9 |", "|      78.9 |", 26, "what was weighed does not fit the lines, which make it 201.01"),
        ("|      79.9 |", "|         - |", 26, "what was weighed does not fit the lines, which make it nothing, since"),
        ("100.00 %", "99.00 %", 26, "what was weighed does not fit the lines"),
        ("target: 202.00 g", "target: 203 g", 25, "the target is given as 203 g, and those of the lines add up to"),
        ("| addition |", "| dition |", 23, "'dition' is no part of a batch"),
        ("| whiting  ", "|          ", 22, "this line names no material"),
        ("| floor   |        |", "| floor   |", 22, "6 cells stand on this line of the table and 7 in its head"),
        ("| CC-70a |", "| CC-70a", 23, "a cell of this line is not closed"),
        ("| as written |", "| written |", 19, "the head of the table is not that of a batch record"),
        ("| ---------------- | ---------- |", "| silica | ---------- |", 20, "the second line of the table is no"),
        ("floor   |        |\n", "floor   |        |\n\n", 24, "the table falls into two"),
    ],
)  # fmt: skip
def test_what_is_refused(was: str, now: str, line: int, message: str) -> None:
    assert was in PAGE
    page = PAGE.replace(was, now, 1)
    with pytest.raises(DecodeError) as caught:
        record_of(page)
    assert caught.value.message.startswith(message)
    assert caught.value.position.line == line
    assert caught.value.hint


def test_a_page_without_a_table_is_refused() -> None:
    page = "\n".join(line for line in PAGE.splitlines() if not line.startswith("|"))
    with pytest.raises(DecodeError, match="table of what was weighed is missing"):
        record_of(page)


def test_a_batch_of_nothing_has_no_percentage() -> None:
    nothing = replace(MIST, lines=(replace(MIST.lines[0], target_g=Decimal(0), actual_g=Decimal(0)),))
    assert text_of(nothing).endswith("target: 0 g\nweighed: 0 g\n")
    assert record_of(text_of(nothing)) == nothing


def test_the_pages_of_the_demo_are_as_they_would_be_written() -> None:
    pages = sorted((STUDIO / "log").rglob("*.batch"))
    assert len(pages) == 6
    for page in pages:
        text = page.read_text("utf-8")
        assert text_of(record_of(text)) == text


def test_every_key_is_written() -> None:
    assert all(f"\n{key}:" in PAGE for key in keys_of(1))
    assert all(f"\n{key}:" in text_of(GROWN) for key in keys_of(2))
    assert all(f"\n{key}:" in text_of(BLENDED) for key in KEYS)


GROWN_PAGE = """\
glost batch record 2

recorded: 2026-03-14T10:22:05+01:00
weighed on: 2026-03-13
weighed by: R. T.
checked by: M. O.
project: spring tiles
recipe: Harbour Mist
test: storm
file: stoneware/harbour-mist.glost
revision: 5c1e0aa
changed since: yes
planned base: 190 g
base: 200 g
made larger:
    2026-03-13T23:58:00+01:00, 120.1 g for 114.0 g, base 200 g: silica
water: 156 g
sieve: 100 mesh
remarks:
    Sieved twice.
    A little thin.

| material         | as written | part     | planned g | target g | weighed g | taken  | at                        | balance | lot    |
| ---------------- | ---------- | -------- | --------: | -------: | --------: | ------ | ------------------------- | ------- | ------ |
| silica           | flint      | base     |     114.0 |    120.0 |     120.1 | read   | 2026-03-13T23:57:00+01:00 | floor   | S-94a  |
| whiting          |            | base     |      76.0 |     80.0 |      79.9 | partly | 2026-03-14T00:03:00+01:00 | floor   |        |
| cobalt carbonate |            | addition |      1.90 |     2.00 |      2.01 | ticked | 2026-03-14T00:04:00+01:00 | fine    | CC-70a |

planned: 191.90 g
target: 202.00 g
weighed: 202.01 g, 100.00 % of the target
"""  # noqa: E501


def test_the_page_of_a_batch_that_was_made_larger() -> None:
    assert text_of(GROWN) == GROWN_PAGE
    assert record_of(GROWN_PAGE) == GROWN


@pytest.mark.parametrize(
    ("was", "now", "line", "message"),
    [
        ("weighed on: 2026-03-13", "weighed on: 13.3.2026", 4, "'13.3.2026' is no day"),
        ("weighed on: 2026-03-13", "weighed on: 2026-02-30", 4, "'2026-02-30' is no day"),
        ("planned: 191.90 g", "planned: 200 g", 29, "200 g was planned as this says, and the planned masses"),
        ("120.1 g for 114.0 g", "120.1 for 114.0", 16, "this line does not say how the batch was made larger"),
        ("2026-03-13T23:58:00+01:00,", "yesterday,", 16, "'yesterday' is no date and time with its offset"),
        ("| ticked |", "| guessed |", 27, "'guessed' does not say where a mass comes from"),
        ("2026-03-14T00:04:00+01:00", "00:04", 27, "'00:04' is no date and time with its offset"),
        (TITLES[2], TITLES[1], 4, "'weighed on' is no key of a batch record"),
    ],
)  # fmt: skip
def test_what_is_refused_of_it(was: str, now: str, line: int, message: str) -> None:
    assert was in GROWN_PAGE
    with pytest.raises(DecodeError) as caught:
        record_of(GROWN_PAGE.replace(was, now, 1))
    assert caught.value.message.startswith(message)
    assert caught.value.position.line == line
    assert caught.value.hint


USES = """\
uses:
    glaze "Harbour Mist" at 5c1e0aa: stoneware/harbour-mist.glost
    glaze "Clear Ebb, with a comma" at 9fe13da, changed since: clear-ebb.glost
    slip "Low Cloud":
"""


def test_the_page_of_a_batch_of_other_recipes_keeps_their_revisions() -> None:
    text = text_of(BLENDED)
    assert text.startswith("glost batch record 3\n")
    assert USES in text
    assert record_of(text) == BLENDED
    assert record_of(text.replace(USES, "uses:\n")).uses == ()


@pytest.mark.parametrize(
    ("was", "now", "line", "message"),
    [
        ("uses:\n", "", 13, "an indented line stands here"),
        ("5c1e0aa:", "5c1e0aa", 14, "this line does not say which recipe was used"),
        ("at 5c1e0aa:", "at 5c1e 0aa:", 14, "this line does not say which recipe was used"),
        ('"Low Cloud"', '""', 16, "this line names no recipe"),
        ("at 5c1e0aa", 'at ""', 14, "this line names no revision"),
        ('"Low Cloud"', '"Low\\qCloud"', 16, "a text begins with a double quotation mark"),
    ],
)
def test_what_is_refused_of_the_recipes_it_was_made_of(was: str, now: str, line: int, message: str) -> None:
    text = text_of(BLENDED)
    assert was in text
    with pytest.raises(DecodeError, match=message) as caught:
        record_of(text.replace(was, now, 1))
    assert caught.value.position.line == line


def test_a_page_of_an_earlier_version_names_no_recipes_it_was_made_of() -> None:
    page = text_of(BLENDED).replace("record 3", "record 2", 1)
    with pytest.raises(DecodeError, match="'uses' is no key of a batch record"):
        record_of(page)
