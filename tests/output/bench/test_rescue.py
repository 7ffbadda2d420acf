"""Too much went in."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from syrupy.assertion import SnapshotAssertion

from glost.output.batch.amount import BaseMass
from glost.output.rescue.forms import as_json, as_text
from glost.output.rescue.rescue import BenchRescue, InCup, bench_rescue, read_weighed
from tests.conftest import TOP
from tests.output.bench.kitchen import MIST, D, job, only_test

SCHEMA = Draft202012Validator(json.loads((TOP / "schema" / "rescue.schema.json").read_text("utf-8")))


def rescued(weighed: str, grams: int = 100, label: str = "", text: str = MIST) -> BenchRescue:
    made = job(text)
    return bench_rescue(made, only_test(made, label), BaseMass(D(grams)), read_weighed(weighed))


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("silica=24.6", [InCup("silica", D("24.6"))]),
        ("silica = 24.6 g , kaolin=.5", [InCup("silica", D("24.6")), InCup("kaolin", D("0.5"))]),
        ("silica=0.1 kg,", [InCup("silica", D(100))]),
        ("silica=0", [InCup("silica", D(0))]),
        ('"frit, fine"=10, "a=b"=2', [InCup("frit, fine", D(10)), InCup("a=b", D(2))]),
    ],
)
def test_what_is_in_the_cup_is_read(written: str, read: list[InCup]) -> None:
    assert read_weighed(written) == read


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("", "nothing is in the cup"),
        ("silica", "has no ="),
        ("silica=24,6", "write decimals with a point"),
        ("=24", "names no material"),
        ("silica=", "silica: "),
        ("silica=-2", "has a sign"),
        ("silica=2 cups", "not a unit"),
        ('"silica=2', "not closed"),
        ("silica=1e9999999", "silica: "),
    ],
)
def test_what_cannot_be_read_is_refused(written: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        read_weighed(written)


@pytest.mark.parametrize(
    "name", ["silica", "flint", "Quartz", "SILICA", "silica 325 mesh", "SiO2", "quartz-flour"]
)
def test_any_name_of_a_material_will_do(name: str) -> None:
    assert rescued(f"{name}=24.6").found.over == ("silica",)


@pytest.mark.parametrize("name", ["cobalt", "cobalt carb", "CoCO3", "carbonate of cobalt"])
def test_a_short_word_will_do_where_one_material_of_the_test_can_be_meant(name: str) -> None:
    assert (
        rescued(f"{name}=2").found.over == rescued("cobalt carbonate=2").found.over == ("cobalt carbonate",)
    )


@pytest.mark.parametrize(
    ("name", "meant"),
    [
        ("cobalt", "cobalt carbonate"),
        ("Syenite", "nepheline syenite"),
        ("tin", "tin oxide"),
    ],
)
def test_a_short_name_is_taken_where_one_material_fits(name: str, meant: str) -> None:
    found = rescued(f"{name}=90")
    assert found.found.over == (meant,)
    told = f"'{name}' is taken for {meant}, the only such material of this test"
    assert told in " ".join(as_text(found).split())
    assert json.loads(as_json(found))["taken"] == [told]
    assert rescued(f"{meant}=90").taken == ()


def test_a_short_name_and_the_whole_one_are_one_material() -> None:
    with pytest.raises(ValueError, match="'cobalt carbonate' is named twice"):
        rescued("cobalt=1, cobalt carbonate=2")


@pytest.mark.parametrize(
    ("weighed", "said"),
    [
        ("silca=24.6", r"Did you mean 'silica'\?|Did you mean 'flint'\?|not in this test"),
        ("kaolln=24.6", "did you mean 'kaolin'"),
        ("oxide=3", "'zinc oxide' or 'tin oxide' here; write which"),
        # The name of another material is not taken for a part of this one's.
        ("nepheline=3", "is nepheline, which this test does not hold"),
        ("carb=3", "did you mean 'cobalt carbonate'"),
        ("talc=3", "is talc, which this test does not hold"),
        ("flint=3, silica=4", "'silica' is named twice"),
    ],
)
def test_a_name_that_means_none_or_several_is_refused(weighed: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        rescued(weighed)


def test_verdicts() -> None:
    assert "Leave it" in as_text(rescued("silica=22.3"))
    assert "Go on as a batch of" in as_text(rescued("silica=24.6"))
    assert "go on as planned" in as_text(rescued("silica=22"))
    assert "beginning anew" in as_text(rescued("cobalt carbonate=2"))


@given(st.lists(st.decimals(0, 80, places=2), min_size=7, max_size=7), st.sampled_from(["", "storm"]))
def test_nothing_is_ever_taken_out(masses: list[Decimal], label: str) -> None:
    made = job()
    test = only_test(made, label)
    parts = [*test.base, *test.additions]
    inside = [InCup(part.called, mass) for part, mass in zip(parts, masses, strict=True)]
    found = bench_rescue(made, test, BaseMass(D(100)), inside)
    data: dict[str, Any] = json.loads(as_json(found), parse_float=Decimal)
    for step, one in zip(data["steps"], inside, strict=True):
        assert step["add_g"] >= 0
        assert step["final_g"] >= one.grams == step["in_g"]
    assert data["base_mass_g"] >= 100
    assert data["total_g"] == data["steps"][-1]["running_total_g"]
    assert data["total_g"] == sum(step["final_g"] for step in data["steps"])
    assert [error.message for error in SCHEMA.iter_errors(json.loads(as_json(found)))] == []


@pytest.mark.parametrize(
    "weighed",
    [
        "nepheline syenite=38, silica=24.6",
        "nepheline syenite=38, silica=22.3",
        "nepheline syenite=38, silica=22",
        "nepheline syenite=38, silica=22, whiting=14, kaolin=16, zinc oxide=10, tin oxide=4, cobalt carbonate=2",
    ],
)
def test_text_as_it_is_read(snapshot: SnapshotAssertion, weighed: str) -> None:
    assert as_text(rescued(weighed)) == snapshot
