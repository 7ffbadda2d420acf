"""glost rescue as a process."""

from __future__ import annotations

import json

import pytest
from jsonschema import Draft202012Validator

from tests.conftest import STUDIO, TOP, Run

MIST = str(STUDIO / "stoneware" / "harbour-mist.glost")
SCHEMA = Draft202012Validator(json.loads((TOP / "schema" / "rescue.schema.json").read_text("utf-8")))


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def test_leave_it(run: Run) -> None:
    done = run("rescue", MIST, "--batch", "100 g", "--weighed", "silica=22.3")
    assert done.returncode == 0, done.stderr
    assert "Leave it: 1.4 % too much" in done.stdout


def test_go_on_as_a_larger_batch(run: Run) -> None:
    done = run("rescue", MIST, "--batch", "100 g", "--weighed", "flint=24.6, nepheline syenite=38")
    assert done.returncode == 0, done.stderr
    assert "Go on as a batch of 111.82 g" in done.stdout
    assert "Add no more of: silica." in done.stdout


@pytest.mark.parametrize(
    "weighed", ["silica=24.6", "silica=22.3", "silica=10", "cobalt carbonate=3,kaolin=20"]
)
@pytest.mark.parametrize("label", ["Harbour Mist", "storm", "cobalt steps 1"])
def test_nothing_is_taken_out_and_the_schema_is_kept(run: Run, weighed: str, label: str) -> None:
    done = run("rescue", MIST, "--batch", "100 g", "--weighed", weighed, "--test", label, "--output", "json")
    assert done.returncode == 0, done.stderr
    data = json.loads(done.stdout)
    assert [error.message for error in SCHEMA.iter_errors(data)] == []
    assert all(step["add_g"] >= 0 and step["final_g"] >= step["in_g"] for step in data["steps"])
    assert data["total_g"] >= data["in_g"]


@pytest.mark.parametrize(
    ("weighed", "said"),
    [
        ("silca=24", "did you mean 'silica'?"),
        ("oxide=3", "'zinc oxide' or 'tin oxide'"),
        ("talc=3", "begin anew"),
        ("silica=2,5", "write decimals with a point"),
        ("silica=2, flint=3", "named twice"),
        ("\x1b[2J=3", "not in this test"),
    ],
)
def test_what_is_not_clear_is_refused(run: Run, weighed: str, said: str) -> None:
    done = run("rescue", MIST, "--weighed", weighed)
    assert done.returncode == 2
    assert said in done.stderr
    assert "\x1b" not in done.stderr


def test_one_recipe_at_a_time(run: Run) -> None:
    done = run("rescue", str(STUDIO / "washes"), "--weighed", "silica=2")
    assert done.returncode == 2
    assert "5 recipes; name one" in done.stderr
    assert run("rescue", MIST).returncode == 2


def test_standard_input(run: Run) -> None:
    page = 'glaze "Dry"\nbase:\n    whiting  60\n    kaolin  40\n'
    done = run("rescue", "-", "--weighed", "whiting=66", stdin=page)
    assert done.returncode == 0
    assert "Go on as a batch of 110 g" in done.stdout
    assert run("rescue", "-", "--weighed", "whiting=66", stdin=page + "    silica\n").returncode == 1
