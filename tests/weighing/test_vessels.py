"""A batch over several vessels, and the balance of each line: examples, and what holds for every plan."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from glost.weighing.balance import Balance
from glost.weighing.batch import Line, Plan, plan
from glost.weighing.rounding import count_of, exact_sum
from glost.weighing.session import Cup, session
from glost.weighing.ways import ways
from glost.weighing.weighable import MOST_PORTIONS, Flaw

D = Decimal
TWO_PERCENT = D("0.02")
BENCH = Balance("bench", D(3000), D(1), cup_g=D(200))
FINE = Balance("fine", D(200), D("0.01"))


def base(*parts: str) -> list[Line]:
    return [Line(f"material {at}", D(part), base=True) for at, part in enumerate(parts, 1)]


def shown(made: Plan) -> list[list[tuple[int, str, str]]]:
    return [
        [(one.vessel, f"{one.target_g}", f"{one.running_g}") for one in line.fills] for line in made.lines
    ]


def test_lines_stay_whole_and_vessels_follow_the_page() -> None:
    made = plan(base("40", "30", "15", "15"), D(100), D(5000), [BENCH], TWO_PERCENT)
    assert shown(made) == [
        [(1, "2000", "2000")],
        [(2, "1500", "1500")],
        [(2, "750", "2250")],
        [(3, "750", "750")],
    ]
    assert [(one.number, f"{one.total_g}") for one in made.vessels] == [(1, "2000"), (2, "2250"), (3, "750")]
    assert made.carried
    assert not made.one_cup


def test_a_line_above_the_capacity_is_parted_evenly() -> None:
    made = plan(base("9", "80", "11"), D(100), D("7501"), [BENCH], TWO_PERCENT)
    # 2800 g go into a vessel; 6001 g are three portions that differ by a division at the most.
    assert shown(made) == [
        [(1, "675", "675")],
        [(1, "2001", "2676"), (2, "2000", "2000"), (3, "2000", "2000")],
        [(4, "825", "825")],
    ]


def test_what_goes_apart_stands_in_no_vessel() -> None:
    lines = [*base("60", "40"), Line("cobalt carbonate", D("0.5"), base=False)]
    made = plan(lines, D(100), D(5000), [BENCH, FINE], TWO_PERCENT)
    assert shown(made)[-1] == [(0, "25.00", "25.00")]
    assert made.lines[-1].apart
    assert [f"{one.total_g}" for one in made.vessels] == ["1500", "1500", "2000"]


def test_vessels_on_the_surer_balance_where_it_carries_every_line() -> None:
    floor = Balance("floor", D(6000), D("0.1"))
    made = plan(base("40", "30", "20", "10"), D(100), D(300), [floor, FINE], TWO_PERCENT)
    assert made.main is FINE
    assert shown(made) == [
        [(1, "120.00", "120.00")],
        [(2, "90.00", "90.00")],
        [(2, "60.00", "150.00")],
        [(2, "30.00", "180.00")],
    ]


def test_what_nothing_carries_is_said() -> None:
    full = Balance("full", D(100), D(1), cup_g=D("99.5"))
    for balance, mass in ((full, "50"), (FINE, "1000000")):
        made = plan(base("60", "40"), D(100), D(mass), [balance], TWO_PERCENT)
        assert not made.carried
        assert {line.flaw for line in made.lines} == {Flaw.CARRIED}
        assert {line.running_total_g for line in made.lines} == {None}
        assert made.vessels == ()
        for way in ways(base("60", "40"), D(100), D(mass), [balance], TWO_PERCENT):
            assert not way.carried
            assert {line.display_g for line in way.lines} == {None}
    # Every line goes into one vessel, but there would be 50 of them.
    made = plan(base(*["1"] * 50), D(50), D(7500), [FINE], TWO_PERCENT)
    assert made.vessels == ()
    assert not made.carried


# ---- what holds for every plan ---------------------------------------------------------------------------

MATERIALS = ("potash feldspar", "silica", "whiting", "kaolin", "talc", "zinc oxide", "tin oxide", "rutile")


@st.composite
def balances(draw: st.DrawFn) -> list[Balance]:
    found = []
    for at in range(draw(st.integers(1, 4))):
        division = draw(st.sampled_from([D("0.001"), D("0.01"), D("0.02"), D("0.1"), D("0.5"), D(1), D(5)]))
        capacity = division * draw(st.sampled_from([500, 2000, 3000, 20000, 31000]))
        found.append(
            Balance(
                f"balance {at}",
                capacity,
                division,
                repeatability_g=draw(st.one_of(st.none(), st.sampled_from([division / 2, division * 3]))),
                minimum_g=draw(st.one_of(st.none(), st.just(division * 50))),
                cup_g=draw(st.one_of(st.none(), st.just(capacity / 4))),
            )
        )
    return found


@st.composite
def batches(draw: st.DrawFn) -> tuple[list[Line], Decimal, Decimal]:
    names = draw(st.permutations(MATERIALS))
    count = draw(st.integers(1, len(names)))
    base_count = draw(st.integers(1, count))
    amounts = st.one_of(st.decimals("0.1", "90", places=2), st.decimals("0.001", "2", places=3))
    lines = [Line(name, draw(amounts), base=at < base_count) for at, name in enumerate(names[:count])]
    total = exact_sum(line.parts for line in lines if line.base)
    mass = draw(st.one_of(st.decimals("1", "60000", places=1), st.sampled_from([D(2), D(100), D(5000)])))
    return lines, total, mass


def variance(balance: Balance) -> Fraction:
    """Of one mass in the cup, worked out anew: s^2, never below (0.41 d)^2, and two roundings, d^2 / 6."""
    d = Fraction(balance.readability_g)
    s = max(Fraction(balance.repeatability_g or 0), Fraction(41, 100) * d)
    return s**2 + d**2 / 6


@settings(max_examples=600, deadline=None)
@given(batches(), balances(), st.sampled_from([D("0.001"), D("0.02"), D("0.1")]))
def test_no_balance_is_surer_of_a_line(
    batch: tuple[list[Line], Decimal, Decimal], studio: list[Balance], tolerance: Decimal
) -> None:
    lines, total, mass = batch
    made = plan(lines, total, mass, studio, tolerance)
    for line in made.lines:
        carrying = [
            one for one in studio if line.exact_g + Fraction(one.cup_g or 0) <= Fraction(one.capacity_g)
        ]
        used = line.balance
        assert used is not None
        if not carrying:
            room = max(one.capacity_g - (one.cup_g or 0) for one in studio)
            assert used.capacity_g - (used.cup_g or 0) == room
            continue
        steps = {one: round(line.exact_g / Fraction(one.readability_g)) for one in carrying}
        usable = [one for one in carrying if steps[one] * one.readability_g >= (one.minimum_g or 0)]
        assert used in (usable or carrying)
        assert variance(used) == min(map(variance, usable or carrying))
        # And it is called weighable just where the whole of its uncertainty, and its rounding, are within tolerance.
        allowed = Fraction(tolerance) * line.exact_g
        sure = variance(used) <= allowed**2
        near = abs(Fraction(line.target_g) - line.exact_g) <= allowed
        weighable = sure and near and bool(usable) and line.target_g > 0
        assert line.within == (weighable and made.carried)


@settings(max_examples=600, deadline=None)
@given(batches(), balances(), st.sampled_from([D("0.001"), D("0.02"), D("0.1")]))
def test_no_display_shows_more_than_it_can(
    batch: tuple[list[Line], Decimal, Decimal], studio: list[Balance], tolerance: Decimal
) -> None:
    lines, total, mass = batch
    made = plan(lines, total, mass, studio, tolerance)
    three = ways(lines, total, mass, studio, tolerance)
    for way in three:
        for line in way.lines:
            for one in line.fills:
                display = line.display_of(one)
                if display is None:
                    assert not way.carried
                    continue
                assert line.balance is not None
                assert display + (line.balance.cup_g or 0) <= line.balance.capacity_g
                assert count_of(display, line.division_g) is not None
                # What the vessel holds counts too where every line is tared.
                assert one.running_g is not None
                assert one.running_g + (line.balance.cup_g or 0) <= line.balance.capacity_g
        if not way.carried:
            continue
        apart = exact_sum(one.target_g for line in way.lines for one in line.fills if not one.vessel)
        assert exact_sum([apart, *(vessel.total_g for vessel in way.vessels)]) == way.total_target_g
        assert len(way.vessels) <= MOST_PORTIONS
        for line in way.lines:
            portions = [one.target_g for one in line.fills]
            assert exact_sum(portions) == line.target_g
            assert max(portions) - min(portions) <= line.division_g
            if len(portions) > 1:
                assert line.balance is not None
                assert not line.balance.carries(line.target_g)
    assert [line.fills for line in three[0].lines] == [line.fills for line in made.lines]


@settings(max_examples=300, deadline=None)
@given(st.lists(batches(), min_size=1, max_size=4), balances())
def test_jar_by_jar_no_vessel_overflows(
    every: list[tuple[list[Line], Decimal, Decimal]], studio: list[Balance]
) -> None:
    cups = [Cup(f"tile {at}", tuple(lines), mass) for at, (lines, _, mass) in enumerate(every, 1)]
    found = session(cups, studio, TWO_PERCENT, {"rutile"}, {"tin oxide"})
    held: dict[tuple[str, int], Decimal] = {}
    for opening in found.by_material:
        for pour in opening.pours:
            if not pour.vessel:
                assert pour.running_total_g is None
                continue
            assert pour.balance is not None
            assert pour.running_total_g is not None
            assert pour.running_total_g + (pour.balance.cup_g or 0) <= pour.balance.capacity_g
            held[pour.label, pour.vessel] = pour.running_total_g
    planned = {
        (one.cup.label, vessel.number): vessel.total_g for one in found.by_cup for vessel in one.plan.vessels
    }
    assert {key: total for key, total in planned.items() if total} == {
        key: held[key] for key in held if held[key]
    }
    for base_once in found.shared:
        for portion in base_once.portions:
            assert portion.mass_g > 0
            assert portion.balance is not None
            assert portion.balance.carries(portion.mass_g)


def test_many_tiny_cups_make_a_plan_that_says_what_cannot_be_weighed() -> None:
    coarse = Balance("coarse", D(30000), D(5))
    cups = [Cup(label, tuple(base("60", "40")), D(2)) for label in ("one", "two", "three")]
    found = session(cups, [coarse], TWO_PERCENT)
    assert found.shared == ()
    assert {line.flaw for one in found.by_cup for line in one.plan.lines} == {Flaw.NOTHING}
