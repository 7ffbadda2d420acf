"""The stock against a ledger of another hand, in any order and with merges of branches; and what is not known."""

from __future__ import annotations

import json
import random
from collections import defaultdict
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from glost.language.source import Source
from glost.output.stock import data
from glost.output.stock.report import report
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.records.prices import Prices
from glost.records.record import Line, Record
from glost.records.stock import Stock, stock
from glost.records.stock_entry import Kind, StockEntry, StockLine, entry_of, text_of
from tests.conftest import TOP
from tests.records.bench import at

D = Decimal
SCHEMA = Draft202012Validator(json.loads((TOP / "schema" / "stock.schema.json").read_text("utf-8")))
NAMES = {"silica": "silica", "flint": "silica", "whiting": "whiting", "moon dust": "moon dust"}
"""Spellings with what each means; the last is in no catalogue."""
MARCH = date(2026, 3, 1)


def entry(kind: Kind, day: int, *lines: tuple[str, str]) -> StockEntry:
    made = (StockLine(name, f"{mass} g", D(mass)) for name, mass in lines)
    return StockEntry(kind, MARCH + timedelta(day), "", "", tuple(made))


def weighed(day: int, *lines: tuple[str, str, str | None]) -> Record:
    return at(
        f"{MARCH + timedelta(day)}T10:00:00+01:00",
        lines=tuple(
            Line(name, name, True, D(target), None if actual is None else D(actual), "", "")
            for name, target, actual in lines
        ),
    )


def held(*those: StockEntry | Record, on: int | None = None) -> Stock:
    found = stock(
        [one for one in those if isinstance(one, Record)],
        [one for one in those if isinstance(one, StockEntry)],
        shipped_catalogue(),
        None if on is None else MARCH + timedelta(on),
    )
    assert found is not None
    return found


def on_hand(*those: StockEntry | Record, on: int | None = None, of: str = "silica") -> Decimal | None:
    found = held(*those, on=on).of(of)
    return found.on_hand_g if found else None


# ---- a ledger of another hand ----------------------------------------------------------------------------

masses = st.decimals(min_value=0, max_value=10**5, places=3).map(lambda mass: f"{mass:f}")
some = st.decimals(min_value=D("0.001"), max_value=10**5, places=3).map(lambda mass: f"{mass:f}")
days = st.integers(0, 40)
spelled = st.sampled_from(list(NAMES))
known = st.sampled_from([name for name in NAMES if name != "moon dust"])
events = st.one_of(
    st.builds(
        lambda day, lines: entry("delivery", day, *lines), days, st.lists(st.tuples(known, some), min_size=1)
    ),
    st.builds(lambda day, name, mass: entry("count", day, (name, mass)), days, known, masses),
    st.builds(
        lambda day, lines: weighed(day, *lines),
        days,
        st.lists(st.tuples(spelled, masses, st.none() | masses), min_size=1, max_size=4),
    ),
)


def ledger(those: list[StockEntry | Record], last: date) -> dict[str, Fraction | str | None]:
    """Day after day with a balance for each material, as a bookkeeper would: in at the morning, out at noon, and in the
    evening the shelf is counted, which sets the balance."""
    balance: dict[str, Fraction | str | None] = {}
    day = MARCH
    while day <= last:
        for one in those:
            if isinstance(one, StockEntry) and one.kind == "delivery" and one.day == day:
                for line in one.lines:
                    name = NAMES[line.material]
                    if isinstance(before := balance.setdefault(name, None), Fraction):
                        balance[name] = before + Fraction(line.mass_g)
        for one in those:
            if isinstance(one, Record) and one.day == day:
                for part in one.lines:
                    mass = part.target_g if part.actual_g is None else part.actual_g
                    name = NAMES[part.material]
                    if mass and isinstance(before := balance.setdefault(name, None), Fraction):
                        balance[name] = before - Fraction(mass)
        counted: dict[str, set[Fraction]] = defaultdict(set)
        for one in those:
            if isinstance(one, StockEntry) and one.kind == "count" and one.day == day:
                counted[NAMES[one.lines[0].material]].add(Fraction(one.lines[0].mass_g))
        for name, found in counted.items():
            balance[name] = found.pop() if len(found) == 1 else "they do not agree"
        day += timedelta(1)
    return balance


@given(st.lists(events, min_size=1, max_size=14), st.integers(0, 45), st.integers(0, 10**6))
def test_the_figures_are_those_of_a_ledger_in_any_order(
    those: list[StockEntry | Record], last: int, seed: int
) -> None:
    found = held(*those, on=last)
    expected = ledger(those, MARCH + timedelta(last))
    assert {one.material for one in found.held} == set(expected)
    for one in found.held:
        balance = expected[one.material]
        if isinstance(balance, Fraction):
            assert one.on_hand_g is not None
            assert Fraction(one.on_hand_g) == balance
        else:
            assert one.on_hand_g is None
            assert (one.disagreement is not None) == isinstance(balance, str)
            assert one.order_g is None
            assert one.runs_out is None
    # Two branches, each with a part of the records and the older ones on both, merged: files are a set.
    mixed = random.Random(seed)
    mine = [one for one in those if mixed.random() < 0.6]
    theirs = [one for one in those if one not in mine or mixed.random() < 0.3]
    merged = {(text_of(one) if isinstance(one, StockEntry) else repr(one)): one for one in [*theirs, *mine]}
    alone = {(text_of(one) if isinstance(one, StockEntry) else repr(one)): one for one in those}
    shuffled = list(merged.values())
    mixed.shuffle(shuffled)
    assert held(*shuffled, on=last) == held(*alone.values(), on=last)
    # What programs get is what the schema says.
    made = report(found, Prices(shipped_catalogue(), []))
    assert list(SCHEMA.iter_errors(json.loads(data.as_json(made), parse_float=D))) == []


@given(st.lists(events, min_size=1, max_size=8), st.integers(0, 45))
def test_days_to_come_change_nothing(those: list[StockEntry | Record], last: int) -> None:
    day = MARCH + timedelta(last)
    upto = [one for one in those if one.day <= day]
    found = held(*those, on=last)
    assert found.left_out == len(those) - len(upto)
    if upto:
        assert found.held == held(*upto, on=last).held
    else:
        assert found.held == ()


@given(st.lists(st.tuples(days, some), min_size=1, max_size=10), st.integers(40, 200))
def test_a_months_use_and_the_day_it_runs_out(used: list[tuple[int, str]], last: int) -> None:
    """The definition again, with days counted one by one."""
    those = [weighed(day, ("silica", mass, mass)) for day, mass in used]
    found = held(entry("count", last, ("silica", "100000")), *those, on=last)
    first = max(min(day for day, _ in used), last - 89)
    length = sum(1 for _ in range(first, last + 1))
    recent = sum((Fraction(mass) for day, mass in used if first <= day <= last), Fraction(0))
    silica = found.of("silica")
    assert silica is not None
    assert found.days == length
    assert silica.month_g == recent / length * 30
    if silica.runs_out is not None:
        lasts = (silica.runs_out - found.day).days
        assert recent / length * lasts <= 100_000 < recent / length * (lasts + 1)
    assert silica.order_g is not None
    missing = 2 * silica.month_g - 100_000
    assert silica.order_g == (0 if missing <= 0 else -(-missing // 1))


# ---- single facts ----------------------------------------------------------------------------------------


def test_a_count_holds_at_the_end_of_its_day() -> None:
    shelf = entry("count", 5, ("silica", "1000"))
    same: list[StockEntry | Record] = [
        entry("delivery", 5, ("silica", "500")),
        weighed(5, ("silica", "30", "31")),
    ]
    assert on_hand(shelf, *same) == 1000
    later: list[StockEntry | Record] = [
        entry("delivery", 6, ("silica", "500")),
        weighed(6, ("silica", "30", "31")),
    ]
    assert on_hand(shelf, *same, *later) == 1469
    assert on_hand(shelf, *same, *later, on=5) == 1000


def test_what_was_never_counted_has_no_figure() -> None:
    found = held(entry("delivery", 1, ("silica", "500")), weighed(2, ("silica", "30", None))).of("silica")
    assert found is not None
    assert (found.on_hand_g, found.order_g, found.runs_out) == (None, None, None)
    assert (found.delivered_g, found.used_g, found.planned_g) == (D(500), D(30), D(30))


def test_nothing_left_is_a_figure() -> None:
    found = held(entry("count", 1, ("silica", "0")), weighed(0, ("silica", "30", "30"))).of("silica")
    assert found is not None
    assert (found.on_hand_g, found.runs_out, found.order_g) == (D(0), MARCH + timedelta(1), D(900))


def test_counts_of_a_day_that_agree_are_one_and_others_are_none() -> None:
    one = entry("count", 3, ("silica", "10"))
    assert on_hand(one, replace(one, by="M. O.")) == 10
    other = held(one, entry("count", 3, ("flint", "11"))).of("silica")
    assert other is not None
    assert other.on_hand_g is None
    assert other.disagreement is not None
    assert other.disagreement.masses_g == (D(10), D(11))
    # A later count settles it.
    assert on_hand(one, entry("count", 3, ("flint", "11")), entry("count", 4, ("silica", "9"))) == 9


def test_a_count_says_by_how_much_the_log_was_off() -> None:
    found = held(
        entry("count", 1, ("silica", "1000")),
        entry("delivery", 2, ("silica", "200")),
        weighed(3, ("silica", "50", "50")),
        entry("count", 4, ("silica", "1120")),
    ).of("silica")
    assert found is not None
    assert found.count is not None
    assert found.count.differs_g == -30


def test_lots_of_a_count_are_together() -> None:
    lines = (StockLine("silica", "1 kg", D(1000), None, "a"), StockLine("flint", "2 kg", D(2000), None, "b"))
    assert on_hand(StockEntry("count", MARCH, "", "", lines)) == 3000


@pytest.mark.parametrize("day", ["0001-01-01", "0001-01-02", "9999-12-31"])
def test_the_first_and_the_last_day_that_there_are(day: str) -> None:
    lines = (Line("silica", "silica", True, D(3), D(3), "", ""),)
    shelf = StockEntry("count", date.fromisoformat(day), "", "", (StockLine("silica", "9 g", D(9)),))
    found = held(shelf, at(f"{day}T10:00:00Z", lines=lines)).of("silica")
    assert found is not None
    assert (found.on_hand_g, found.month_g) == (D(9), Fraction(90))


def test_an_empty_log_has_no_stock() -> None:
    assert stock([], [], shipped_catalogue()) is None


# ---- the form of the files -------------------------------------------------------------------------------


@given(events.filter(lambda one: isinstance(one, StockEntry)))
def test_what_is_written_is_read_back(one: StockEntry) -> None:
    assert entry_of(Source("a.stock.yaml", text_of(one))) == one


@pytest.mark.parametrize(
    "lot",
    ["04", "yes", "1e3", "a: b", "#1", "'x'", '"x"', "{a}", "5 kg", "null", "-", "~", "é 😀", "2026-03-14"],
)
def test_any_lot_is_read_back(lot: str) -> None:
    one = StockEntry("count", MARCH, lot, lot, (StockLine("silica", "1 kg", D(1000), None, lot),))
    assert entry_of(Source("a.stock.yaml", text_of(one))) == one
