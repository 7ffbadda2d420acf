"""What holds for every recipe, balance and batch: ways of weighing, premixes, rescues, many tests at one go."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import accumulate

from hypothesis import given, settings
from hypothesis import strategies as st

from glost.weighing.balance import Balance
from glost.weighing.batch import Line, plan
from glost.weighing.overshoot import Rescue, rescue
from glost.weighing.premix import NoPremix, premixes
from glost.weighing.rounding import count_of, exact_sum
from glost.weighing.session import Cup, session
from glost.weighing.ways import Manner, ways
from glost.weighing.weighable import Flaw

D = Decimal
MATERIALS = ("potash feldspar", "silica", "whiting", "kaolin", "talc", "zinc oxide", "tin oxide", "rutile")
BALANCES = (
    Balance("pocket", D(100), D("0.01"), minimum_g=D("0.05")),
    Balance("fine", D(300), D("0.01"), repeatability_g=D("0.02"), cup_g=D(20)),
    Balance("coarse steps", D(2000), D("0.05")),
    Balance("floor", D(6000), D("0.1"), cup_g=D(250)),
    Balance("bench", D(30000), D(5), minimum_g=D(100)),
    Balance("third", D(500), D("0.003")),
)
NEARLY = Fraction(1, 10**20)


@dataclass(frozen=True)
class Case:
    lines: tuple[Line, ...]
    base_total: Decimal
    mass: Decimal
    balances: tuple[Balance, ...]
    tolerance: Decimal


@st.composite
def cases(draw: st.DrawFn) -> Case:
    base = draw(st.integers(1, 5))
    names = draw(st.permutations(MATERIALS))
    amounts = st.one_of(st.decimals("0.1", "80", places=2), st.decimals("0.001", "2", places=3))
    lines = [Line(name, draw(amounts), base=at < base) for at, name in enumerate(names)]
    lines = lines[: draw(st.integers(base, len(lines)))]
    return Case(
        tuple(lines),
        exact_sum(line.parts for line in lines if line.base),
        draw(st.one_of(st.decimals("1", "20000", places=1), st.sampled_from([D(100), D(500), D(1000)]))),
        tuple(draw(st.lists(st.sampled_from(BALANCES), unique=True, max_size=3))),
        draw(st.sampled_from([D("0.001"), D("0.01"), D("0.02"), D("0.05")])),
    )


@settings(max_examples=250, deadline=None)
@given(cases())
def test_every_way_stands_on_divisions_and_adds_up(case: Case) -> None:
    every = ways(case.lines, case.base_total, case.mass, case.balances, case.tolerance)
    assert [way.manner for way in every] == list(Manner)
    for way in every:
        targets = [line.target_g for line in way.lines]
        assert all(count_of(line.target_g, line.division_g) is not None for line in way.lines)
        assert exact_sum(targets) == way.total_target_g
        assert exact_sum(line.target_g for line in way.lines if line.base) == way.base_target_g
        chained = [line for line in way.lines if not line.tared]
        for vessel in way.vessels:
            inside = [one for line in way.lines for one in line.fills if one.vessel == vessel.number]
            totals = list(accumulate((one.target_g for one in inside), lambda a, b: exact_sum((a, b))))
            assert [one.running_g for one in inside] == totals
            assert totals[-1] == vessel.total_g
        for line in way.lines if way.carried else ():
            assert exact_sum(one.target_g for one in line.fills) == line.target_g
            assert line.display_g == line.display_of(line.fills[-1])
            assert line.tared == (line.apart or way.manner is Manner.TARED)
        exact = sum(line.exact_g for line in way.lines)
        assert abs(Fraction(way.total_target_g) - exact - Fraction(way.total_off_g)) < NEARLY
        assert {line.balance for line in chained} <= {way.main}
        if way.manner is Manner.RUNNING:
            assert way.apart == ()
        for line in way.lines:
            asked = line.exact_g * (1 + Fraction(line.rounding))
            assert abs(asked - Fraction(line.target_g)) < NEARLY
            assert line.standard_g > 0
        if way.base_target_g:
            parts = sum(Fraction(line.weighed_parts) for line in way.lines if line.base)
            assert abs(parts - Fraction(case.base_total)) < NEARLY


@settings(max_examples=250, deadline=None)
@given(cases(), st.sets(st.sampled_from(MATERIALS), max_size=3))
def test_premixes_give_back_the_recipe(case: Case, unfit: set[str]) -> None:
    planned = plan(case.lines, case.base_total, case.mass, case.balances, case.tolerance)
    found = premixes(planned, case.balances, case.tolerance, unfit)
    assert [mix.at for mix in found] == [
        at for at, line in enumerate(planned.lines) if line.flaw not in (None, Flaw.CARRIED)
    ]
    brought = {at: Fraction(0) for at in range(len(planned.lines))}
    weighed = {at: line.target_g for at, line in enumerate(planned.lines)}
    for mix in found:
        weighed.pop(mix.at)
        if isinstance(mix, NoPremix):
            assert mix.material in mix.why
            continue
        for mass in (mix.small_g, mix.with_g, mix.mix_g, mix.take_g):
            assert count_of(mass, mix.division_g)
        assert count_of(mix.carrier_target_g, mix.carrier_division_g) is not None
        assert exact_sum((mix.small_g, mix.with_g)) == mix.mix_g >= mix.take_g
        strength = Fraction(mix.small_g) / Fraction(mix.mix_g)
        brought[mix.at] += Fraction(mix.take_g) * strength
        brought[mix.carrier_at] += Fraction(mix.take_g) * (1 - strength)
        weighed[mix.carrier_at] = mix.carrier_target_g
        assert mix.carrier not in unfit
        assert planned.lines[mix.carrier_at].base
        less = Fraction(planned.lines[mix.carrier_at].target_g) - Fraction(mix.carrier_target_g)
        assert abs(less - Fraction(mix.carrier_less_g)) < NEARLY
        if mix.balance is not None:
            assert mix.balance.carries(mix.mix_g)
            assert min(mix.small_g, mix.with_g, mix.take_g) >= (mix.balance.minimum_g or 0)
    for mix in found:
        if isinstance(mix, NoPremix):
            continue
        for at, error in ((mix.at, mix.error), (mix.carrier_at, mix.carrier_error)):
            exact = planned.lines[at].exact_g
            off = abs(brought[at] + Fraction(weighed.get(at, D(0))) - exact) / exact
            assert abs(off - Fraction(error)) < NEARLY
            assert off <= Fraction(case.tolerance)


def _as_weighed(case: Case, excess: Fraction, lines_in: int) -> tuple[dict[str, Decimal], Rescue]:
    """The first lines in the cup, the last of them with an excess, and what to do."""
    planned = plan(case.lines, case.base_total, case.mass, case.balances, case.tolerance)
    inside = {line.material: line.target_g for line in planned.lines[:lines_in]}
    last = planned.lines[min(lines_in, len(planned.lines)) - 1]
    steps = max(1, round(last.exact_g * excess / Fraction(last.division_g)))
    inside[last.material] = exact_sum((last.target_g, last.division_g * steps))
    return inside, rescue(planned, inside, case.tolerance)


excesses = st.fractions(Fraction(1, 1000), Fraction(1), max_denominator=1000)


@settings(max_examples=250, deadline=None)
@given(cases(), excesses, st.integers(1, 8))
def test_a_rescue_takes_nothing_out_and_keeps_the_ratios(case: Case, excess: Fraction, lines_in: int) -> None:
    planned = plan(case.lines, case.base_total, case.mass, case.balances, case.tolerance)
    inside, found = _as_weighed(case, excess, lines_in)
    hopeless = {line.material for line in planned.lines if not line.rounds_well}
    held = exact_sum(inside.values())
    for step, line in zip(found.steps, planned.lines, strict=True):
        assert step.material == line.material
        assert step.add_g >= 0
        assert count_of(step.add_g, step.division_g) is not None
        assert step.in_g == inside.get(step.material, D(0))
        assert exact_sum((step.in_g, step.add_g)) == step.final_g
        held = exact_sum((held, step.add_g))
        assert step.running_total_g == held
        share = Fraction(line.exact_g) / Fraction(case.mass)
        assert abs(step.exact_g - share * Fraction(found.base_mass_g)) < NEARLY * 10**8
        off = abs(Fraction(step.final_g) - step.exact_g) / step.exact_g
        assert abs(off - Fraction(step.error)) < NEARLY
        if step.material not in hopeless:
            assert step.within
        if step.within:
            assert off <= Fraction(case.tolerance)
    assert found.total_g == held
    assert found.over
    if found.leave:
        assert found.base_mass_g == case.mass
    else:
        assert found.base_mass_g > case.mass


@settings(max_examples=100, deadline=None)
@given(cases(), excesses, st.integers(1, 8), st.fractions(0, 1, max_denominator=50))
def test_no_smaller_batch_would_do(case: Case, excess: Fraction, lines_in: int, part: Fraction) -> None:
    planned = plan(case.lines, case.base_total, case.mass, case.balances, case.tolerance)
    inside, found = _as_weighed(case, excess, lines_in)
    if found.leave:
        return
    least = max(
        Fraction(inside[line.material]) / line.exact_g * Fraction(case.mass)
        for line in planned.lines
        if line.material in found.over
    )
    last = found.steps[-1].exact_g / planned.lines[-1].exact_g * Fraction(case.mass)
    between = least + (last - least) * part
    if between >= last:
        return
    # At any mass between, some line cannot come within tolerance without taking something out.
    tolerance = Fraction(case.tolerance)

    def fits(at: int) -> bool:
        line = planned.lines[at]
        exact = line.exact_g * between / Fraction(case.mass)
        before = Fraction(inside.get(line.material, D(0)))
        division = Fraction(line.division_g)
        minimum = Fraction(line.balance.minimum_g or 0) if line.balance else Fraction(0)
        near = (exact - before) // division
        least_count = max(1, -(-minimum // division))
        counts = {max(0, near), max(0, near + 1), 0, least_count}
        return any(
            abs(before + count * division - exact) <= tolerance * exact
            for count in counts
            if (count >= least_count or (count == 0 and before))
        )

    needed = [at for at, line in enumerate(planned.lines) if line.rounds_well or line.material in found.over]
    assert not all(fits(at) for at in needed)


@settings(max_examples=100, deadline=None)
@given(st.lists(cases(), min_size=1, max_size=6), st.sets(st.sampled_from(MATERIALS)))
def test_fetching_for_many_tests(made: list[Case], toxic: set[str]) -> None:
    cups = [Cup(f"tile {at}", case.lines, case.mass) for at, case in enumerate(made, 1)]
    found = session(cups, made[0].balances, made[0].tolerance, toxic)
    sheets = [
        plan(case.lines, case.base_total, case.mass, made[0].balances, made[0].tolerance) for case in made
    ]
    opened = [opening.material for opening in found.by_material]
    assert len(opened) == len(set(opened))
    flags = [opening.toxic for opening in found.by_material]
    assert flags == sorted(flags)
    assert exact_sum(pull.total_g for pull in found.pull) == exact_sum(
        sheet.total_target_g for sheet in sheets
    )
    for pull in found.pull:
        assert pull.total_g == exact_sum(
            line.target_g for sheet in sheets for line in sheet.lines if line.material == pull.material
        )
        assert pull.with_margin_g >= pull.total_g
