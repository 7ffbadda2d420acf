"""The table against its standard, and against a reader that is not this project's own."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given, settings
from tests.output.convert.bench import job_of, several, studio_jobs

from glost.language.csv_cells import exact_record_of
from glost.output.formats.csv import COLUMNS, _records, read_csv, write
from glost.recipe.recipe import Recipe

# Source: RFC 4180, section 2, items 1 to 7: the examples of the text (from memory).
RFC_4180 = [
    ("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ("aaa,bbb,ccc\r\nzzz,yyy,xxx", [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    (
        "field_name,field_name,field_name\r\naaa,bbb,ccc\r\nzzz,yyy,xxx\r\n",
        [["field_name"] * 3, ["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]],
    ),
    ("aaa,bbb,ccc", [["aaa", "bbb", "ccc"]]),
    ('"aaa","bbb","ccc"\r\nzzz,yyy,xxx', [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ('"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx', [["aaa", "b\r\nbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ('"aaa","b""bb","ccc"', [["aaa", 'b"bb', "ccc"]]),
]


@pytest.mark.parametrize(("text", "rows"), RFC_4180)
def test_examples_of_the_standard(text: str, rows: list[list[str]]) -> None:
    assert list(_records(text)) == rows
    assert list(_records("".join(map(exact_record_of, rows)))) == rows


# Source: RFC 4180, section 2, item 4: spaces are part of a field; each line holds the same number of fields.
def test_spaces_and_empty_cells_are_kept() -> None:
    assert list(_records(" a , b,\r\n,,\r\n")) == [[" a ", " b", ""], ["", "", ""]]


# The independent reader is the csv module of Python's standard library, in its strict mode.
@given(recipes=several)
@settings(max_examples=100, deadline=None)
def test_another_reader_finds_the_same_cells(recipes: list[Recipe]) -> None:
    text = write([job_of(recipe) for recipe in recipes])
    found = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert found == list(_records(text))
    assert {len(row) for row in found} == {len(COLUMNS)}


# The independent writer: a table that has been through it, every cell in quotes, is still the same recipes.
def test_a_table_that_another_program_has_saved() -> None:
    recipes = [job.recipe for job in studio_jobs()]
    rows = csv.reader(io.StringIO(write(studio_jobs()), newline=""), strict=True)
    saved = io.StringIO(newline="")
    csv.writer(saved, quoting=csv.QUOTE_ALL, lineterminator="\n").writerows(rows)
    assert read_csv(saved.getvalue()) == recipes
