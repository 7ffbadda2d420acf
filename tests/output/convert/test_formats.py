"""Which formats there are."""

from __future__ import annotations

import pytest

from glost.output.format import all_formats, find_format, format_names


def test_every_module_is_a_format() -> None:
    assert {"sheet", "markdown", "csv", "json", "jsonl"} <= format_names()
    assert [format.name for format in all_formats()] == sorted(format_names())
    assert len({format.ending for format in all_formats()}) == len(all_formats())
    assert all(format.ending.startswith(".") and format.summary for format in all_formats())


def test_a_format_that_is_not_there() -> None:
    with pytest.raises(KeyError):
        find_format("papyrus")


@pytest.mark.parametrize("name", sorted(format_names()))
def test_no_recipes(name: str) -> None:
    assert isinstance(find_format(name).write([]), bytes if find_format(name).binary else str)
