"""The plan of a batch."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.work import steps_grow_in_proportion

from glost.weighing.balance import Balance
from glost.weighing.batch import Line, Plan, Weighing, plan, smallest_batch
from glost.weighing.rounding import count_of, exact_sum, round_to
from glost.weighing.weighable import Flaw

D = Decimal
TWO_PERCENT = D("0.02")
FINE = Balance("fine", D(300), D("0.01"))
FLOOR = Balance("floor", D(6000), D("0.1"))
BENCH = Balance("bench", D(30000), D(5))


def base(*parts: str) -> list[Line]:
    return [Line(f"material {at}", D(part), base=True) for at, part in enumerate(parts, 1)]


def added(*parts: str) -> list[Line]:
    return [Line(f"addition {at}", D(part), base=False) for at, part in enumerate(parts, 1)]


def targets(planned: Plan) -> list[str]:
    return [str(line.target_g) for line in planned.lines]


def test_a_test_batch_on_a_fine_balance() -> None:
    lines = [*base("38", "22", "14", "16", "10"), *added("4", "0.5")]
    planned = plan(lines, D(100), D(100), [FLOOR, FINE], TWO_PERCENT)
    assert targets(planned) == ["38.00", "22.00", "14.00", "16.00", "10.00", "4.00", "0.50"]
    assert [str(line.running_total_g) for line in planned.lines][-3:] == ["100.00", "104.00", "104.50"]
    assert planned.total_mass_g == planned.total_target_g == D("104.5")
    assert planned.base_mass_g == planned.base_target_g == 100
    assert planned.main is FINE
    assert planned.one_cup
    assert all(line.within and line.error == 0 and line.balance is FINE for line in planned.lines)


def test_a_small_line_goes_to_the_fine_balance() -> None:
    lines = [*base("60", "40"), *added("0.125")]
    planned = plan(lines, D(100), D(1000), [FINE, FLOOR], TWO_PERCENT)
    assert planned.main is FLOOR
    assert [line.balance for line in planned.lines] == [FLOOR, FLOOR, FINE]
    assert [line.apart for line in planned.lines] == [False, False, True]
    assert targets(planned) == ["600.0", "400.0", "1.25"]
    assert planned.lines[-1].division_g == D("0.01")
    assert planned.lines[-1].within
    assert str(planned.total_target_g) == "1001.25"
    # What is weighed apart stands in no running total.
    assert [str(line.running_total_g) for line in planned.lines] == ["600.0", "1000.0", "1.25"]


def test_a_line_goes_to_the_surer_balance_even_where_the_other_reads_it_exactly() -> None:
    coarse = Balance("coarse", D(3000), D(1))
    for percent, balance in (("0.5", FINE), ("0.25", FINE), ("31", coarse)):
        planned = plan([*base("60", "40"), *added(percent)], D(100), D(1000), [coarse, FINE], TWO_PERCENT)
        assert [line.balance for line in planned.lines] == [coarse, coarse, balance]
        assert planned.lines[-1].within


def test_a_stated_repeatability_decides_between_balances() -> None:
    draughty = Balance("draughty", D(300), D("0.01"), repeatability_g=D("0.2"))
    assert plan(base("1"), D(1), D(100), [draughty, FLOOR], TWO_PERCENT).main is FLOOR


def test_the_cup_counts_for_the_main_balance() -> None:
    cupped = Balance("fine", D(300), D("0.01"), cup_g=D(50))
    assert plan(base("1"), D(1), D(250), [cupped, FLOOR], TWO_PERCENT).main is cupped
    assert plan(base("1"), D(1), D(251), [cupped, FLOOR], TWO_PERCENT).main is FLOOR
    # Additions weigh too: 250 g of base and 1 part in 250 on top are two vessels.
    added_to = plan([*base("250"), *added("1")], D(250), D(250), [cupped, FLOOR], TWO_PERCENT)
    assert (added_to.main, added_to.one_cup, len(added_to.vessels)) == (cupped, False, 2)


def test_the_base_adds_up_by_largest_remainder() -> None:
    planned = plan(base("1", "1", "1"), D(3), D(100), [FINE], TWO_PERCENT)
    assert targets(planned) == ["33.34", "33.33", "33.33"]
    assert planned.base_target_g == 100
    assert planned.lines[0].exact_g == Fraction(100, 3)


def test_a_base_total_other_than_100_is_scaled() -> None:
    planned = plan([*base("49", "49"), *added("1.96")], D(98), D(100), [FINE], TWO_PERCENT)
    assert targets(planned) == ["50.00", "50.00", "2.00"]


def test_a_mass_off_the_divisions_is_rounded_line_by_line_and_says_so() -> None:
    planned = plan(base("1", "1", "1"), D(3), D("100.05"), [FLOOR], TWO_PERCENT)
    assert targets(planned) == ["33.4", "33.4", "33.4"]
    assert planned.base_mass_g == D("100.05")
    assert planned.base_target_g == D("100.2")


def test_a_base_line_on_the_fine_balance_leaves_the_rest_to_the_main_one() -> None:
    planned = plan(base("598", "400", "2"), D(1000), D(1100), [FINE, FLOOR], TWO_PERCENT)
    assert targets(planned) == ["657.8", "440.0", "2.20"]  # 0.1 g would read it, but is not as sure of it
    planned = plan(base("598", "399.95", "2.05"), D(1000), D(1000), [FINE, FLOOR], TWO_PERCENT)
    assert [line.balance for line in planned.lines] == [FLOOR, FLOOR, FINE]
    # 1000 - 2.05 is no whole number of 0.1 g.
    assert targets(planned) == ["598.0", "400.0", "2.05"]
    assert planned.base_target_g == D("1000.05")


def test_sharing_out_does_not_push_a_line_out_of_tolerance() -> None:
    # Shared out alone, the remainders would go to the first lines: 2.6 g would become 2.5 or 2.7 g, 4 % off.
    parts = ["2.56"] * 5 + ["87.2"]
    planned = plan(base(*parts), D(100), D(100), [FLOOR], D("0.023"))
    assert targets(planned) == ["2.6"] * 5 + ["87.0"]
    assert planned.base_target_g == 100
    assert all(line.within for line in planned.lines)
    # Nor a line that is not sure to the tolerance anyhow: rounding need not make it worse.
    planned = plan(base(*parts), D(100), D(100), [FLOOR], TWO_PERCENT)
    assert targets(planned) == ["2.6"] * 5 + ["87.0"]
    assert [line.flaw for line in planned.lines] == [Flaw.UNSURE] * 5 + [None]


def test_lines_out_of_tolerance_anyhow_still_share_the_total() -> None:
    planned = plan(base("1", "1", "1"), D(3), D(100), [FLOOR], D("0.0005"))
    assert targets(planned) == ["33.4", "33.3", "33.3"]
    assert planned.base_target_g == 100
    assert not any(line.within for line in planned.lines)


def test_a_line_too_small_for_the_fine_balance_is_still_rounded_there() -> None:
    planned = plan(base("999.983", "0.017"), D(1000), D(1000), [FINE, FLOOR], TWO_PERCENT)
    assert planned.lines[1].balance is FINE
    assert targets(planned) == ["1000.0", "0.02"]
    assert not planned.lines[1].within


def test_nothing_rounds_to_0_in_silence() -> None:
    (line, tiny) = plan([*base("100"), *added("0.004")], D(100), D(100), [FINE], D("0.9")).lines
    assert line.within
    assert tiny.target_g == 0
    assert tiny.error == 1
    assert not tiny.within
    assert tiny.smallest_batch_g == 250  # 0.01 g at 0.004 %


def test_a_line_of_0_parts_weighs_0_and_is_within() -> None:
    planned = plan([*base("100", "0"), *added("0")], D(100), D(100), [FINE], TWO_PERCENT)
    assert targets(planned) == ["100.00", "0.00", "0.00"]
    assert all(line.within and line.error == 0 and line.smallest_batch_g is None for line in planned.lines)


def test_the_smallest_batch_that_will_do() -> None:
    planned = plan([*base("100"), *added("0.06")], D(100), D(100), [FLOOR, FINE], TWO_PERCENT)
    assert planned.lines[1].flaw is Flaw.UNSURE  # 0.06 g stands on a division, and may be 0.054 or 0.066 g
    planned = plan([*base("100"), *added("0.065")], D(100), D(100), [FLOOR, FINE], TWO_PERCENT)
    assert not planned.lines[1].within
    assert planned.lines[1].smallest_batch_g == 450  # 0.29 g / 0.065 % = 446.2 g
    assert plan([*base("100"), *added("0.065")], D(100), D(450), [FLOOR, FINE], TWO_PERCENT).lines[1].within
    (_, line) = plan([*base("100"), *added("1.3")], D(100), D("1.5"), [FINE], TWO_PERCENT).lines
    assert line.smallest_batch_g == 23  # 0.29 g / 1.3 % = 22.3 g, to whole grams


def test_the_smallest_batch_is_never_a_smaller_one() -> None:
    pocket, coarse = Balance("pocket", D(10), D("0.001")), Balance("coarse", D(1000), D(1))
    (line, _) = plan(base("12.4", "87.6"), D(100), D(100), [pocket, coarse], TWO_PERCENT).lines
    assert not line.within
    assert line.smallest_batch_g == 240  # 29 g / 12.4 % = 233.9 g; 1 g would do on the other balance


def test_a_minimum_of_the_balance_is_kept() -> None:
    careful = Balance("careful", D(300), D("0.01"), minimum_g=D(1))
    (_, line) = plan([*base("100"), *added("0.4")], D(100), D(100), [careful], TWO_PERCENT).lines
    assert line.target_g == D("0.40")
    assert line.error == 0
    assert not line.within
    assert line.smallest_batch_g == 250  # 1 g at 0.4 %
    # A finer one whose minimum rules the line out is passed over for one that will do.
    finest = Balance("finest", D(100), D("0.001"), minimum_g=D(5))
    (_, line) = plan(
        [*base("100"), *added("0.043")], D(100), D(1000), [finest, FINE, FLOOR], TWO_PERCENT
    ).lines
    assert line.balance is FINE
    assert line.within


def test_no_batch_will_do() -> None:
    coarse = Balance("coarse", D(20), D(5))
    (line,) = plan(base("1"), D(1), D(7), [coarse], TWO_PERCENT).lines
    assert line.target_g == 5
    assert not line.within
    assert line.smallest_batch_g is None


def test_without_balances_to_a_hundredth_of_a_gram() -> None:
    planned = plan([*base("1", "2"), *added("0.001")], D(3), D(100), [], TWO_PERCENT)
    assert targets(planned) == ["33.33", "66.67", "0.03"]
    assert all(line.balance is None and line.division_g == D("0.01") for line in planned.lines)
    assert planned.main is None
    assert planned.lines[2].smallest_batch_g == 870  # 0.29 g * 3000


def test_more_than_any_balance_carries_is_weighed_in_portions() -> None:
    planned = plan(base("99", "1"), D(100), D(20000), [FLOOR, FINE], TWO_PERCENT)
    assert planned.main is FLOOR
    assert not planned.one_cup
    assert [line.portions for line in planned.lines] == [4, 1]  # 19800 g, 6000 g at a time
    assert planned.base_target_g == 20000


def test_base_comes_before_additions_and_notes_stay() -> None:
    lines = [Line("cobalt carbonate", D(1), base=False, note="sift in last"), *base("100")]
    planned = plan(lines, D(100), D(100), [FINE], TWO_PERCENT)
    assert [line.base for line in planned.lines] == [True, False]
    assert planned.lines[1].note == "sift in last"
    assert planned.lines[1].running_total_g == 101


@pytest.mark.parametrize(
    ("base_total", "mass", "tolerance", "says"),
    [
        ("0", "100", "0.02", "adds up to 0 parts"),
        ("NaN", "100", "0.02", "adds up to NaN parts"),
        ("100", "0", "0.02", "mass must be above 0"),
        ("100", "Infinity", "0.02", "mass must be above 0"),
        ("100", "100", "2", "between 0 and 1"),
    ],
)
def test_refuses_what_cannot_be_planned(base_total: str, mass: str, tolerance: str, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        plan(base("100"), D(base_total), D(mass), [FINE], D(tolerance))


def test_refuses_parts_and_shares_that_cannot_be() -> None:
    for parts in ("-1", "NaN"):
        with pytest.raises(ValueError, match="parts are 0 or more"):
            Line("whiting", D(parts), base=True)
    with pytest.raises(ValueError, match="no smallest batch"):
        smallest_batch(Fraction(0), D(100), [FINE], TWO_PERCENT)


PARTS = st.decimals(min_value=0, max_value=100, places=3)
STUDIOS: Sequence[list[Balance]] = (
    [],
    [FINE],
    [FLOOR],
    [FINE, FLOOR],
    [BENCH, FLOOR, FINE],
    [Balance("odd", D(500), D("0.02"), cup_g=D(33), minimum_g=D("0.5")), BENCH],
    [Balance("finest", D(50), D("0.001"), minimum_g=D(2)), FLOOR, FINE],
)


def _nearest_is_within(line: Weighing, tolerance: Decimal) -> bool:
    target = round_to(line.exact_g, line.division_g)
    if line.balance is not None and target < (line.balance.minimum_g or 0):
        return line.exact_g == 0
    if target == 0:
        return line.exact_g == 0
    return abs(Fraction(target) - line.exact_g) <= Fraction(tolerance) * line.exact_g


@settings(deadline=None, max_examples=300)
@given(
    st.lists(PARTS, min_size=1, max_size=9),
    st.lists(PARTS, max_size=4),
    st.decimals(min_value="0.5", max_value=50000, places=2),
    st.sampled_from(STUDIOS),
    st.sampled_from([D("0.001"), D("0.02"), D("0.05"), D("0.3")]),
)
def test_what_holds_for_any_plan(
    base_parts: list[Decimal],
    added_parts: list[Decimal],
    mass: Decimal,
    balances: list[Balance],
    tolerance: Decimal,
) -> None:
    base_total = exact_sum(base_parts)
    if base_total == 0:
        return
    lines = [Line(f"b{at}", part, base=True) for at, part in enumerate(base_parts)]
    lines += [Line(f"a{at}", part, base=False) for at, part in enumerate(added_parts)]
    planned = plan(lines, base_total, mass, balances, tolerance)
    assert [line.material for line in planned.lines] == [line.material for line in lines]

    running = Fraction(0)
    for line in planned.lines:
        running += Fraction(line.target_g)
        assert line.exact_g == Fraction(line.parts) / Fraction(base_total) * Fraction(mass)
        assert line.target_g >= 0
        assert count_of(line.target_g, line.division_g) is not None
        assert line.division_g == (line.balance.readability_g if line.balance else D("0.01"))
        assert line.within == (line.smallest_batch_g is None) or line.smallest_batch_g is None
        if line.within:
            assert abs(Fraction(line.target_g) - line.exact_g) <= Fraction(tolerance) * line.exact_g
            assert (line.target_g == 0) == (line.parts == 0)
        # A line that its own nearest division keeps within tolerance is never pushed out of it.
        assert line.flaw in (None, Flaw.UNSURE, Flaw.CARRIED) or not _nearest_is_within(line, tolerance)
        assert line.apart == (line.balance != planned.main)
    assert Fraction(planned.total_target_g) == running
    base_lines = [line for line in planned.lines if line.base]
    assert planned.base_target_g == exact_sum(line.target_g for line in base_lines)
    # On one balance, with every base line well clear of its tolerance, the base adds up whenever it can.
    main_division = planned.main.readability_g if planned.main else D("0.01")
    alone = all(line.balance == planned.main for line in base_lines)
    easy = all(
        line.parts == 0 or line.exact_g * Fraction(tolerance) > Fraction(main_division) for line in base_lines
    )
    if (
        alone
        and easy
        and count_of(mass, main_division) is not None
        and not any(b.minimum_g for b in balances)
    ):
        assert planned.base_target_g == mass


@settings(deadline=None, max_examples=200)
@given(
    PARTS.filter(bool),
    st.decimals(min_value=1, max_value=2000, places=1),
    st.sampled_from(STUDIOS),
    st.booleans(),
)
def test_the_smallest_batch_does_it(
    part: Decimal, mass: Decimal, balances: list[Balance], is_base: bool
) -> None:
    lines = [Line("bulk", D(100), base=True), Line("line", part, base=is_base)]
    total = D(100) + (part if is_base else 0)
    line = plan(lines, total, mass, balances, TWO_PERCENT).lines[1]
    if line.smallest_batch_g is None:
        return
    assert not line.within
    assert line.smallest_batch_g > mass
    assert plan(lines, total, line.smallest_batch_g, balances, TWO_PERCENT).lines[1].within


def test_work_of_a_plan_grows_with_its_lines() -> None:
    def plan_of(count: int) -> None:
        lines = [*base(*["7.1"] * count), *added("0.3", "2", "1.25")]
        plan(lines, D("7.1") * count, D(1000), [FINE, FLOOR], TWO_PERCENT)

    assert steps_grow_in_proportion(plan_of, 10)
