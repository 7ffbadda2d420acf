"""The measure itself: it tells growth with the length from growth with its square."""

from __future__ import annotations

import re

import pytest

from tests.work import count_steps, steps_grow_in_proportion, time_grows_in_proportion


def linear(size: int) -> int:
    return sum(number for number in range(size))


def square(size: int) -> int:
    return sum(other for number in range(size) for other in range(number))


def square_in_c_calls(size: int) -> int:
    return sum(map(len, (str(other) for number in range(size) for other in range(number))))


def test_a_count_is_the_same_every_time() -> None:
    assert count_steps(lambda: square(100)) == count_steps(lambda: square(100)) > 4_950


def test_what_traced_before_traces_again() -> None:
    import sys

    before = sys.gettrace(), sys.getprofile()
    count_steps(lambda: linear(3))
    assert (sys.gettrace(), sys.getprofile()) == before


def test_steps_of_what_grows_with_its_length() -> None:
    assert steps_grow_in_proportion(linear, 1_000)


@pytest.mark.parametrize("run", [square, square_in_c_calls])
def test_steps_of_what_grows_with_the_square(run: object) -> None:
    assert not steps_grow_in_proportion(run, 100)  # type: ignore[arg-type]


def test_time_of_an_expression() -> None:
    slow = re.compile("(?:a*b|a*c)")  # at every place it looks to the end of the text
    assert time_grows_in_proportion(lambda size: re.compile("a+$").match("a" * size), 1_000_000)
    assert not time_grows_in_proportion(lambda size: slow.search("a" * size), 4_000)
