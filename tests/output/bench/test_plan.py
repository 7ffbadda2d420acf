"""The plan of one test at the bench."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from syrupy.assertion import SnapshotAssertion

from glost.language.width import width
from glost.output.batch.amount import BaseMass, SlipMass, SlipVolume, TotalMass, amount_of, read_slip
from glost.output.batch.data import as_csv, as_json
from glost.output.batch.plan import BenchPlan, bench_plan, remarks
from glost.output.batch.text import text
from glost.output.batch_sheet import batch_sheet
from glost.recipe.settings import Settings
from glost.weighing.balance import Balance
from glost.weighing.premix import NoPremix, Premix
from glost.weighing.rounding import exact_sum
from glost.weighing.ways import Manner
from tests.conftest import TOP
from tests.output.bench.kitchen import HOUSE, MIST, D, job, only_test, studio_work

SCHEMA = Draft202012Validator(json.loads((TOP / "schema" / "batch.schema.json").read_text("utf-8")))


def planned(asked: object = None, label: str = "", **more: object) -> BenchPlan:
    made = job()
    return bench_plan(made, only_test(made, label), asked, **more)  # type: ignore[arg-type]


def test_the_figures_are_those_of_the_batch_sheet() -> None:
    for one, test in studio_work():
        made = bench_plan(one, test, BaseMass(D(100)), Manner.TARED)
        sheet = batch_sheet(replace(one, batch_g=D(100)), test)
        assert made.way.total_target_g == sheet.total
        shown = [(line.grams, line.running, line.balance) for line in (*sheet.base, *sheet.additions)]
        assert shown == [
            (line.way.target_g, line.way.running_total_g, line.way.balance.name if line.way.balance else "")
            for line in made.lines
        ]


def test_lines_that_another_balance_is_surer_of_go_apart() -> None:
    made = planned(BaseMass(D(2000)))
    assert made.way.manner is Manner.APART
    assert [line.part.name for line in made.lines if line.way.apart] == [
        "whiting",
        "zinc oxide",
        "tin oxide",
        "cobalt carbonate",
    ]
    assert made.way.within


def test_cobalt_goes_on_the_fine_balance_whatever_it_weighs() -> None:
    """Where a coarse balance reads the line without any rounding, the finer one is still surer of it."""
    coarse, fine = Balance("coarse", D(3000), D(1)), Balance("fine", D(200), D("0.01"))
    made = job(settings=replace(HOUSE, balances=(coarse, fine)))
    for mass in (500, 1000, 1001, 2000, 5000):
        plan = bench_plan(made, only_test(made), BaseMass(D(mass)))
        cobalt = plan.lines[-1].way
        assert (cobalt.balance, plan.way.carried) == (fine, True)
        assert cobalt.relative < D("0.003")
        assert plan.sheet.additions[-1].balance == "fine"


def test_vessels_are_those_of_the_sheet() -> None:
    made = planned(BaseMass(D(7000)))
    assert [(one.number, f"{one.total_g}") for one in made.way.vessels] == [(1, "5180.0"), (2, "1820.0")]
    assert made.sheet.plan is not None
    assert made.sheet.plan.vessels == made.way.vessels
    rows = [one for line in made.lines for one in line.way.fills]
    lines = (*made.sheet.base, *made.sheet.additions)
    assert [(one.vessel, one.target_g) for one in rows] == [(line.vessel, line.grams) for line in lines]
    assert [line.running for line in lines] == [one.running_g if one.vessel else None for one in rows]
    shown = text([made])
    assert (
        "weigh into 2 vessels of 5180.0 g, 1820.0 g; the fullest, cup and all, comes to 5260 g"
        in " ".join(shown.split())
    )


def test_a_batch_that_nothing_carries_is_said() -> None:
    made = planned(BaseMass(D(400000)))
    assert not made.way.carried
    assert not any(line.way.within for line in made.lines)
    words = " ".join(text([made]).split())
    assert "This batch cannot be weighed: 'floor' has room for 5920 g at a time" in words
    assert "Weigh with" not in words


def test_one_running_total_where_one_balance_does_for_all() -> None:
    made = planned(BaseMass(D(100)))
    assert made.way.manner is Manner.RUNNING
    assert not made.outside


@pytest.mark.parametrize("manner", list(Manner))
def test_the_way_that_is_asked_for_is_taken(manner: Manner) -> None:
    assert planned(BaseMass(D(500)), manner=manner).way.manner is manner


def test_one_running_total_helps_itself_with_the_one_balance_alone() -> None:
    made = planned(BaseMass(D(500)), label="storm", manner=Manner.RUNNING)
    assert not made.outside  # 5 g on 0.1 g
    made = planned(BaseMass(D(310)), manner=Manner.RUNNING)
    (line,) = made.outside
    assert line.part.name == "cobalt carbonate"
    assert line.help is not None
    assert line.help.finer is not None
    assert line.help.finer.there is not None
    assert line.help.finer.there.name == "fine"
    assert isinstance(line.help.premix, Premix)
    assert line.help.premix.balance == made.way.main


def test_every_line_out_of_tolerance_has_its_three_ways_out() -> None:
    made = planned(BaseMass(D(3)))
    *_, line = made.outside
    assert line.help is not None
    batch, finer, mix = line.help.smallest_batch_g, line.help.finer, line.help.premix
    assert batch is not None
    assert not planned(BaseMass(batch)).outside
    assert finer is not None
    assert (finer.division_g, finer.there) == (D("0.0005"), None)
    better = replace(HOUSE, balances=(Balance("finest", D(300), finer.division_g),))
    made_better = job(settings=better)
    assert not bench_plan(made_better, only_test(made_better), BaseMass(D(3))).outside
    assert isinstance(mix, Premix)
    assert mix.carrier == "nepheline syenite"
    assert mix.error <= made.tolerance
    assert exact_sum((mix.small_g, mix.with_g)) == mix.mix_g


def test_nothing_harmful_soluble_or_unknown_carries_a_mix() -> None:
    text_of = """\
glaze "Bad Carriers"
base:
    barium carbonate       40
    borax                  20
    wood ash               20
    bin seven              20
additions:
    cobalt carbonate        0.1
"""
    made = job(text_of)
    found = bench_plan(made, only_test(made), BaseMass(D(12)))
    assert all(line.help and isinstance(line.help.premix, NoPremix) for line in found.outside)
    assert "cobalt carbonate" in [line.part.name for line in found.outside]


def test_total_counts_the_additions() -> None:
    made = planned(TotalMass(D("104.5")))
    assert made.amount.base_g == 100
    odd = planned(TotalMass(D(100)))
    assert odd.way.total_target_g == 100 or any("whole batch" in said for said in remarks(odd))


def test_rounding_says_what_it_makes_of_a_mass() -> None:
    for grams in range(30, 60):
        asked = D(grams) / 7
        made = planned(BaseMass(asked.quantize(D("0.000001"))))
        said = " ".join(remarks(made))
        assert ("makes the base" in said) == (made.way.base_target_g != made.amount.base_g)
        assert ("makes the whole" in said) == (made.way.total_target_g != made.way.total_g)


def test_slip_of_a_volume_is_that_volume() -> None:
    slip = planned(SlipVolume(D(1000))).amount.slip
    assert slip is not None
    assert abs(slip.volume_ml - 1000) < D("1e-12")
    assert slip.water_percent == 75
    assert abs(slip.mass_g / slip.volume_ml - slip.gravity) < D("1e-12")
    assert "nepheline syenite" in slip.assumed
    assert "silica" not in slip.assumed
    assert not slip.measured


def test_slip_of_a_mass_is_that_mass() -> None:
    made = planned(SlipMass(D(1750)))
    assert made.amount.slip is not None
    assert made.amount.slip.dry_g == 1000
    assert abs(made.way.total_g - 1000) < D("1e-20")


def test_a_gravity_of_the_recipe_goes_before_its_water() -> None:
    made = job(MIST.replace("cone: 6", "gravity: 1.5\nwater: 75 %"))
    slip = amount_of(only_test(made), SlipVolume(D(1000)), made.settings, made.catalogue).slip
    assert slip is not None
    assert slip.measured
    assert slip.gravity == D("1.5")
    assert abs(slip.mass_g - 1500) < D("1e-12")
    assert slip.by_water is not None
    assert slip.by_water < D("1.6")
    # Brongniart: W = (P - 1000) S / (S - 1).
    assert abs(slip.dry_g - 500 * slip.dry_gravity / (slip.dry_gravity - 1)) < D("1e-12")


def test_slip_without_water_or_gravity_is_refused() -> None:
    made = job(settings=replace(HOUSE, water=None))
    with pytest.raises(ValueError, match=r"water: 75 %  or  gravity: 1\.45"):
        bench_plan(made, only_test(made), SlipVolume(D(1000)))


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("2 l", SlipVolume(D(2000))),
        ("3 kg", SlipMass(D(3000))),
        ("1 US pint", SlipVolume(D("473.176473"))),
        ("1 imperial pint", SlipVolume(D("568.26125"))),
        ("10 US fl oz", SlipVolume(D("295.735295625"))),
    ],
)
def test_slip_is_read_as_volume_or_mass(written: str, read: object) -> None:
    assert read_slip(written) == read


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("1 pint", "US pint or 1 imperial pint"),
        ("5 lbs", "write 5 lb"),
        ("2 litres", "write 2 l"),
        ("500", "no unit"),
        ("", "no volume"),
    ],
)
def test_slip_that_is_not_clear_is_refused(written: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        read_slip(written)


def test_a_balance_that_is_not_there_is_named_with_the_nearest() -> None:
    with pytest.raises(ValueError, match=r"did you mean 'floor'\? There are: fine, floor"):
        planned(balance="flor")
    made = job(settings=Settings())
    with pytest.raises(ValueError, match="lists none"):
        bench_plan(made, only_test(made), None, balance="fine")


def test_json_keeps_the_schema_and_the_fixed_names() -> None:
    asked = [None, BaseMass(D(3)), TotalMass(D(100)), SlipVolume(D(473)), SlipMass(D(900))]
    plans = [planned(one, manner=manner) for one in asked for manner in (None, *Manner)]
    data = json.loads(as_json(plans), parse_float=Decimal)
    assert [error.message for error in SCHEMA.iter_errors(json.loads(as_json(plans)))] == []
    assert data["version"] == 1
    first = data["tests"][0]
    assert (first["name"], first["file"]) == ("Harbour Mist", "mist.glost")
    assert (first["base_mass_g"], first["total_mass_g"]) == (100, D("104.5"))
    line = first["lines"][1]
    assert (line["material"], line["as_written"], line["parts"]) == ("silica", "flint", 22)
    assert (line["target_g"], line["running_total_g"], line["balance"]) == (22, 60, "fine")


def test_whole_studio_keeps_the_schema() -> None:
    plans = [bench_plan(one, test, BaseMass(D(7))) for one, test in studio_work()]
    assert [error.message for error in SCHEMA.iter_errors(json.loads(as_json(plans)))] == []


def test_csv_has_a_row_a_line() -> None:
    made = planned(BaseMass(D(3)))
    rows = list(csv.DictReader(io.StringIO(as_csv([made]))))
    assert len(rows) == len(made.lines)
    assert [D(row["target_g"]) for row in rows] == [line.way.target_g for line in made.lines]
    assert rows[-1]["within"] == "no"


def test_no_line_of_text_is_wider_than_a_page() -> None:
    for at, (one, test) in enumerate(studio_work()):
        for manner in Manner:
            for grams in ((3,), (100,), (5000,))[at % 3]:
                shown = text([bench_plan(one, test, BaseMass(D(grams)), manner)])
                assert max(map(width, shown.splitlines())) <= 80
                assert "E+" not in shown


def test_a_cup_that_is_known_is_counted() -> None:
    shown = text([planned(BaseMass(D(5700)))])
    assert "Cup and batch come to 6036.5 g; 'floor' carries 6000 g." in shown
    # The small lines stand on the fine balance, and are tipped in when the vessel is off the other.
    words = " ".join(shown.replace("!", "").split())
    assert (
        "Take the vessel off 'floor' before the rest is tipped in: all together is more than it carries"
        in words
    )
    shown = text([planned(BaseMass(D(1000)))])
    assert "Cup and batch come to 1125 g; 'floor' carries 6000 g." in shown


@pytest.mark.parametrize(
    ("asked", "more"),
    [
        pytest.param(BaseMass(D(100)), {"label": "storm"}, id="one balance does for all"),
        pytest.param(BaseMass(D(2000)), {}, id="small lines apart"),
        pytest.param(BaseMass(D(350)), {}, id="two vessels"),
        pytest.param(BaseMass(D(350)), {"manner": Manner.TARED}, id="each line tared"),
        pytest.param(BaseMass(D(3)), {}, id="too small to weigh"),
        pytest.param(SlipVolume(D(2000)), {}, id="two litres of slip"),
        pytest.param(BaseMass(D(20)), {"balance": "floor"}, id="the wrong balance"),
    ],
)
def test_text_as_it_is_read(
    snapshot: SnapshotAssertion, asked: BaseMass | SlipVolume, more: dict[str, Any]
) -> None:
    assert text([planned(asked, **more)]) == snapshot
