"""Cones: how they are written, and which is hotter."""

from __future__ import annotations

import pytest

from glost.errors import ValueRefusedError
from glost.recipe.cone import KNOWN, cone_at, rank_of, read_cone


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("6", "6"),
        ("06", "06"),
        ("42", "42"),
        ("6 1/2", "6 1/2"),
        ("6\u00bd", "6 1/2"),
        ("6 \u00bd", "6 1/2"),
        ("5.5", "5 1/2"),
        ("05 1/2", "05 1/2"),
        ("05\u00bd", "05 1/2"),
        ("5 1/2-6", "5 1/2-6"),
        ("5\u00bd - 6.5", "5 1/2-6 1/2"),
        ("5-5.5", "5-5 1/2"),
        ("06 1/2-05 1/2", "06 1/2-05 1/2"),
        ("05 1/2-05", "05 1/2-05"),
        ("01-1 1/2", "01-1 1/2"),
        ("12 1/2-31", "12 1/2-31"),
    ],
)
def test_what_is_read_and_how_it_is_given_out(written: str, read: str) -> None:
    cone = read_cone(written)
    assert str(cone) == read
    assert cone.known
    assert read_cone(read) == cone, "what is given out is read again as the same"


@pytest.mark.parametrize(
    "written", ["6 1/4", "61/2", "6.25", "6.55", "06.5", "5-06.5", "1/2", "-6", "6-", "5-6-7", ".5", ""]
)
def test_what_is_not_read(written: str) -> None:
    with pytest.raises(ValueRefusedError):
        read_cone(written)


@pytest.mark.parametrize("written", ["6-5 1/2", "05-05 1/2", "6\u00bd-6", "05 1/2-06", "1-01 1/2"])
def test_a_range_runs_from_the_cooler_to_the_hotter(written: str) -> None:
    with pytest.raises(ValueRefusedError, match="from the hotter to the cooler"):
        read_cone(written)


@pytest.mark.parametrize("written", ["43", "0", "00", "023", "022 1/2", "42 1/2", "60"])
def test_what_there_is_not(written: str) -> None:
    cone = read_cone(written)
    assert not cone.known
    assert cone.numbers is None
    assert cone.rank == -1


def test_low_decimal_may_be_meant_either_way() -> None:
    with pytest.raises(ValueRefusedError) as refused:
        read_cone("05.5")
    hint = "write 05 1/2 for the half cone below 05, or 04 1/2 for the one above it"
    assert hint in str(refused.value.hint)


# 05 1/2 between 06 and 05, as 5 1/2 between 5 and 6: from memory.
@pytest.mark.parametrize(
    ("cooler", "half", "hotter"),
    [
        ("06", "05 1/2", "05"),
        ("022", "021 1/2", "021"),
        ("02", "01 1/2", "01"),
        ("1", "1 1/2", "2"),
        ("5", "5 1/2", "6"),
    ],
)
def test_half_cones_lie_between_the_numbers_that_they_stand_between(
    cooler: str, half: str, hotter: str
) -> None:
    assert rank_of(cooler) < rank_of(half) < rank_of(hotter)
    numbers = [read_cone(name).numbers for name in (cooler, half, hotter)]
    assert numbers == sorted(numbers)  # type: ignore[type-var]


def test_order_of_all_there_are() -> None:
    every = [*KNOWN, *(f"{name} 1/2" for name in KNOWN[1:-1]), f"{KNOWN[0]} 1/2", f"{KNOWN[-1]} 1/2"]
    there = [name for name in every if read_cone(name).known]
    assert len(there) == 2 * len(KNOWN) - 2, "between 01 and 1 there is none"
    in_order = sorted(there, key=rank_of)
    assert in_order == sorted(there, key=lambda name: read_cone(name).numbers or ())
    assert [cone_at(rank_of(name)) for name in there] == there
    assert KNOWN[0] == "022"
    assert KNOWN[-1] == "42"
    assert len(KNOWN) == 64
