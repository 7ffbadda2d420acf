"""glost formula as a process."""

from __future__ import annotations

import csv
import io
import json
import re
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from syrupy.assertion import SnapshotAssertion

from glost.chemistry.expansion import DROPPED, MODELS
from tests.conftest import STUDIO, TOP, Run

SCHEMA = Draft202012Validator(json.loads((TOP / "schema" / "formula.schema.json").read_text("utf-8")))
RECIPE = """\
glaze "Plain Porcelain"
cone: 10

base:
    potash feldspar       167
    whiting                70
    kaolin                 52
    silica                108

variation "blue":
    cobalt carbonate        2

series "tin steps":
    tin oxide               1, 2
"""
UNKNOWN = {"Reed Celadon"}
"""Recipes of the studio that use an ash without an analysis, on purpose."""


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def told(run: Run, *arguments: str, stdin: str | None = None) -> list[dict[str, Any]]:
    done = run("formula", *arguments, "--output", "json", stdin=stdin)
    assert (done.returncode, done.stderr) == (0, "")
    document = json.loads(done.stdout)
    SCHEMA.validate(document)
    found: list[dict[str, Any]] = document["tests"]
    return found


def test_whole_studio_is_complete_or_says_what_is_unknown(run: Run) -> None:
    found = told(run, str(STUDIO))
    assert len({test["file"] for test in found}) >= 60
    partial = {test["name"].partition(",")[0] for test in found if test["partial"]}
    assert partial == UNKNOWN
    for test in found:
        assert test["partial"] == bool(test["unknown"]) == (test["unknown_percent"] > 0)
        assert (test["unity"] is None) == any("no unity formula" in problem for problem in test["problems"])
        assert sum(test["fired_weight_percent"].values()) == pytest.approx(100, abs=0.01)
        assert sum(test["mol_percent"].values()) == pytest.approx(100, abs=0.01)
        # Analyses may be two percent short of 100 or over it.
        batch = sum(test["batch_weight_percent"].values())
        assert batch + test["loss_on_ignition"] + test["unknown_percent"] == pytest.approx(100, abs=2)
        for oxide, percent in test["batch_weight_percent"].items():
            brought = sum(line["oxides"].get(oxide, 0) for line in test["lines"])
            assert brought == pytest.approx(percent, abs=0.002)
        if test["partial"]:
            assert test["expansion"] is test["softening"] is None
            assert any("part of the batch is unknown" in remark for remark in test["remarks"])


def test_json_of_one_test(run: Run) -> None:
    plain, blue, *_ = told(run, "-", stdin=RECIPE)
    assert plain["name"] == "Plain Porcelain"
    assert (blue["name"], blue["label"]) == ("Plain Porcelain, blue", "blue")
    assert plain["unity"] == pytest.approx({"K2O": 0.3, "CaO": 0.7, "Al2O3": 0.5, "SiO2": 4.0}, abs=0.01)
    assert plain["groups"]["RO"] == {oxide: plain["unity"][oxide] for oxide in ("K2O", "CaO")}
    assert plain["convention"]["counted"] == ["K2O", "CaO"]
    assert blue["convention"]["not_counted"] == ["CoO"]
    assert plain["loss_on_ignition"] == pytest.approx(9.58, abs=0.005)
    assert plain["expansion"]["low"] < plain["expansion"]["value"] < plain["expansion"]["high"]
    assert plain["softening"]["unit"] == "°C"


def test_colourants_count_when_asked(run: Run) -> None:
    (blue,) = told(run, "-", "--test", "blue", "--counting-colourants", stdin=RECIPE)
    assert "CoO" in blue["convention"]["counted"]
    assert sum(blue["groups"]["RO"].values()) == pytest.approx(1)


def test_on_alumina(run: Run) -> None:
    found = told(run, "-", "--on", "alumina", stdin=RECIPE)
    assert all(test["unity"]["Al2O3"] == 1 for test in found)


@pytest.mark.parametrize("model", MODELS)
def test_each_model_of_expansion_gives_its_own_figure(run: Run, model: str) -> None:
    found = told(run, "-", "--expansion", model, stdin=RECIPE)
    assert {test["expansion"]["model"] for test in found} == {model}


@pytest.mark.parametrize("model", DROPPED)
def test_a_model_that_is_no_longer_offered_says_which_to_take(run: Run, model: str) -> None:
    done = run("formula", "-", "--expansion", model, stdin=RECIPE)
    assert (done.returncode, done.stdout) == (2, "")
    assert f"'{model}' ({DROPPED[model]}) are no longer offered" in done.stderr
    assert "take 'glost' in their place" in done.stderr


# Source: SciGlass, PbO 33.3 SiO2 66.7 mol %: 848 °C at 1000 Pa s; with alumina it flows a little later.
def test_a_lead_glaze_of_cone_05_is_no_stoneware(run: Run) -> None:
    text = 'glaze "x"\ncone: 05\nbase:\n    lead sesquisilicate frit  85\n    kaolin  15\n'
    (test,) = told(run, "-", stdin=text)
    assert test["softening"]["low"] < 900 < test["softening"]["value"] + 100
    assert test["softening"]["high"] < 1050
    # What its interval is worth stands beside it, in both forms.
    assert test["softening"]["held"] < 88
    assert "held only" in test["softening"]["note"]
    shown = " ".join(run("formula", "-", stdin=text).stdout.split())
    assert f"({test['softening']['held']:.0f} of 100 like it:" in shown
    assert "held only" in shown


@pytest.mark.parametrize("kind", ["wash", "slip", "engobe", "body"])
def test_what_is_no_glass_has_no_figure(run: Run, kind: str) -> None:
    text = f'{kind} "x"\nbase:\n    red iron oxide  60\n    potash feldspar  40\n'
    (test,) = told(run, "-", stdin=text)
    assert test["expansion"] is test["softening"] is test["body_fit"] is None
    assert any("they hold for a glass" in remark for remark in test["remarks"])
    assert "nine of ten" not in run("formula", "-", stdin=text).stdout


def test_a_glaze_with_much_that_has_no_factor_has_no_figure_and_is_told_why(run: Run) -> None:
    text = 'glaze "x"\nbase:\n    potash feldspar  60\n    whiting  10\n    tin oxide  30\n'
    (test,) = told(run, "-", stdin=text)
    assert test["expansion"] is test["softening"] is None
    for what in ("expansion", "fusibility"):
        assert any(
            remark.startswith(f"no figure for the {what}: the model has no factor for SnO2")
            for remark in test["remarks"]
        )
    (row,) = csv.DictReader(io.StringIO(run("formula", "-", "--output", "csv", stdin=text).stdout))
    assert row["softening value"] == row["softening low"] == row["expansion value"] == ""


BODIES = """\
bodies:
  house stoneware: {expansion: 64e-7/K, plus or minus: 3e-7/K, range: 20-300 C, source: own test}
  red: {expansion: 9e-6/K, range: 20-600 C, source: a sheet}
  low: {expansion: 30e-7/K, plus or minus: 1e-7/K, range: 20-400 C, source: own test}
"""


def on_body(run: Run, tmp_path: Any, field: str, bodies: str = BODIES) -> dict[str, Any]:
    (tmp_path / "glost.yaml").write_text(bodies, "utf-8")
    (tmp_path / "a.glost").write_text(RECIPE.replace("cone: 10\n", f"cone: 10\n{field}"), "utf-8")
    return told(run, "a.glost", "--test", "Plain Porcelain")[0]


def test_a_body_gives_the_difference_with_its_uncertainty(run: Run, tmp_path: Any) -> None:
    test = on_body(run, tmp_path, "body: House  Stoneware, bisqued\n")
    fit, glaze = test["body_fit"], test["expansion"]
    assert fit["body"] == "house stoneware"
    assert fit["difference"] == pytest.approx(64 - glaze["value"], abs=0.06)
    # By hand: the uncertainties of model, body and materials, which know nothing of each other, as the root of squares.
    model, (least, most) = glaze["high"] - glaze["value"], test["ranges"]["expansion"]
    assert most - least > 3
    above = (model**2 + 3**2 + (glaze["value"] - least) ** 2) ** 0.5
    below = (model**2 + 3**2 + (most - glaze["value"]) ** 2) ** 0.5
    assert fit["high"] - fit["difference"] == pytest.approx(above, abs=0.2)
    assert fit["difference"] - fit["low"] == pytest.approx(below, abs=0.2)
    assert fit["glaze_range"] == fit["body_range"] == "20-300 °C"
    assert fit["note"].endswith("before anybody relies on it.")
    assert test["remarks"] == []
    shown = " ".join(run("formula", "a.glost", "--test", "Plain Porcelain").stdout.split())
    assert f"house stoneware: {fit['difference']:+.1f} 1e-7/K" in shown
    assert "Calculated, and no test" in shown
    assert "The body has 64 ± 3, 20-300 °C (own test)" in shown
    (row,) = csv.DictReader(
        io.StringIO(run("formula", "a.glost", "--test", "Plain Porcelain", "--output", "csv").stdout)
    )
    assert float(row["on the body difference"]) == fit["difference"]
    assert row["on the body leaning"] == fit["leaning"]


@pytest.mark.parametrize(
    ("body", "leaning", "words"),
    [
        ("red", "pressed", ["shiver", "nobody has said", "20-600 °C, the glaze's that of about 20-400 °C"]),
        ("low", "pulled", ["likely to craze"]),
    ],
)
def test_a_side_is_told_where_the_whole_interval_lies_on_it(
    run: Run, tmp_path: Any, body: str, leaning: str, words: list[str]
) -> None:
    fit = on_body(run, tmp_path, f"body: {body}\n")["body_fit"]
    assert fit["leaning"] == leaning
    assert (fit["low"] > 0) == (leaning == "pressed")
    assert (fit["high"] < 0) == (leaning == "pulled")
    assert all(word in fit["note"] for word in words)


def test_no_body_no_word(run: Run, tmp_path: Any) -> None:
    for field, bodies in (("body: house stoneware\n", ""), ("", BODIES)):
        test = on_body(run, tmp_path, field, bodies)
        assert test["body_fit"] is None
        assert test["remarks"] == []
        for arguments in ([], ["--output", "csv"]):
            shown = run("formula", "a.glost", *arguments).stdout
            assert not re.search("craz|shiver|on the body", shown)


def test_the_only_body_holds_where_a_recipe_names_none(run: Run, tmp_path: Any) -> None:
    only = "".join(BODIES.splitlines(keepends=True)[:2])
    assert on_body(run, tmp_path, "", only)["body_fit"]["body"] == "house stoneware"


def test_a_body_that_is_not_there_is_told(run: Run, tmp_path: Any) -> None:
    test = on_body(run, tmp_path, "body: whte stoneware\n")
    assert test["body_fit"] is None
    (remark,) = test["remarks"]
    assert "no body 'whte stoneware'" in remark
    assert "'house stoneware', 'red', 'low'" in remark


def test_a_body_with_a_slip_in_its_power_of_ten_is_refused(run: Run, tmp_path: Any) -> None:
    (tmp_path / "glost.yaml").write_text(BODIES.replace("64e-7", "64e-6"), "utf-8")
    (tmp_path / "a.glost").write_text(RECIPE, "utf-8")
    done = run("formula", "a.glost")
    assert (done.returncode, done.stdout) == (2, "")
    assert "glost.yaml:2:32: error: expansion: 640e-7/K is the expansion of no fired clay" in done.stderr
    assert "check the power of ten" in done.stderr


@pytest.mark.parametrize(
    ("asked", "names"),
    [
        ("blue", ["Plain Porcelain, blue"]),
        ("BLUE", ["Plain Porcelain, blue"]),
        ("tin steps 2", ["Plain Porcelain, tin steps 2"]),
        ("Plain Porcelain", ["Plain Porcelain"]),
        ("Plain Porcelain, blue", ["Plain Porcelain, blue"]),
    ],
)
def test_only_the_test_that_is_asked_for(run: Run, asked: str, names: list[str]) -> None:
    assert [test["name"] for test in told(run, "-", "--test", asked, stdin=RECIPE)] == names


@pytest.mark.parametrize(("asked", "says"), [("blu", "Did you mean 'blue'?"), ("zzz", "tin steps 2")])
def test_a_test_that_is_not_there(run: Run, asked: str, says: str) -> None:
    done = run("formula", "-", "--test", asked, stdin=RECIPE)
    assert done.returncode == 2
    assert says in done.stderr


def test_recipe_that_cannot_be_read_whole_is_not_calculated_and_the_others_are(
    run: Run, tmp_path: Any
) -> None:
    (tmp_path / "a.glost").write_text(RECIPE + "    kaolin\n")
    (tmp_path / "b.glost").write_text(RECIPE)
    done = run("formula", "--output", "json")
    assert done.returncode == 1
    assert "a.glost: not calculated; fix it first" in done.stderr
    assert {test["file"] for test in json.loads(done.stdout)["tests"]} == {"b.glost"}


@pytest.mark.parametrize(
    "arguments", [["nowhere"], ["--on", "silica"], ["--expansion", "mine"], ["--steps", "--output", "json"]]
)
def test_wrong_usage(run: Run, arguments: list[str]) -> None:
    done = run("formula", *arguments)
    assert done.returncode == 2
    assert "Traceback" not in done.stderr


def test_no_recipes_give_an_empty_document(run: Run) -> None:
    done = run("formula", "--output", "json")
    assert (done.returncode, json.loads(done.stdout)["tests"]) == (0, [])
    assert run("formula").stdout == ""


@pytest.mark.parametrize(
    "arguments",
    [
        ["stoneware/harbour-mist.glost", "--test", "storm"],
        ["soda-and-wood/stoke-line.glost", "--test", "Stoke Line"],
        ["bodies/landing-stoneware.glost", "--on", "alumina"],
        ["washes/shelf-wash.glost"],
        ["reduction/reed-celadon.glost", "--steps", "--test", "Reed Celadon"],
    ],
    ids=lambda arguments: arguments[0],
)
def test_what_is_read(run: Run, arguments: list[str], snapshot: SnapshotAssertion) -> None:
    done = run("formula", *arguments, cwd=STUDIO)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == snapshot


def test_text_says_what_the_estimates_are_worth(run: Run) -> None:
    text = " ".join(run("formula", "-", stdin=RECIPE).stdout.split())
    assert "It ranks glazes and does not replace a firing test." in text
    assert "nine of ten like it:" in text
    assert "model glost" in text
    assert "not a cone" in text


def test_partial_is_told_before_any_figure(run: Run) -> None:
    text = run("formula", "-", stdin=RECIPE + "additions:\n    moon dust  40\n").stdout
    first = text.index("PARTIAL")
    assert first < text.index("unity")
    assert "partial unity" in text
    assert "moon dust" in text
    assert "nine of ten" not in text


# Every printed sum, gone through again.
def test_steps_can_be_followed_to_the_last_digit(run: Run) -> None:
    text = run("formula", "-", "--steps", stdin=RECIPE).stdout
    parts = [part for line in text.splitlines() for part in re.split(r" {2,}|; ", line)]
    sums = [part for part in parts if " = " in part]
    assert len(sums) > 100
    for one in sums:
        left, _, right = one.partition(" = ")
        total = Fraction(0)
        for term in left.split(" + "):
            words = re.split(r" ([×/]) ", term.strip())
            value = Fraction(words[0])
            for sign, number in zip(words[1::2], words[2::2], strict=True):
                value = value * Fraction(number) if sign == "×" else value / Fraction(number)
            total += value
        last = Decimal(1).scaleb(-len(right.partition(".")[2]))
        exact = Decimal(total.numerator) / Decimal(total.denominator)
        assert f"{exact.quantize(last, rounding=ROUND_HALF_UP):f}" == right, one


def test_csv_has_a_row_a_test_and_guards_text_only(run: Run) -> None:
    done = run("formula", "-", "--output", "csv", stdin=RECIPE.replace("Plain", "=Plain"))
    rows = list(csv.DictReader(io.StringIO(done.stdout)))
    assert [row["test"] for row in rows] == ["", "blue", "tin steps 1", "tin steps 2"]
    assert {row["recipe"] for row in rows} == {"'=Plain Porcelain"}
    assert float(rows[0]["unity SiO2"]) == pytest.approx(4, abs=0.01)
    assert rows[0]["unity CoO"] == ""
    assert float(rows[1]["fired wt % CoO"]) > 0
    assert rows[0]["expansion model"] == "glost"
    assert all(len(row) == len(rows[0]) for row in rows)


def test_a_material_that_gains_has_a_loss_below_0_and_no_apostrophe(run: Run) -> None:
    text = 'glaze "x"\nbase:\n    silicon carbide  90\n    lime  10\n'
    (row,) = csv.DictReader(io.StringIO(run("formula", "-", "--output", "csv", stdin=text).stdout))
    assert float(row["loss on ignition %"]) < 0


def test_names_cannot_steer_a_terminal(run: Run, tmp_path: Any) -> None:
    (tmp_path / "glost.yaml").write_text("materials: materials.yaml\n")
    (tmp_path / "materials.yaml").write_text(
        'materials:\n  - {name: house clay, role: clay, source: "red\\u202Eclay", analysis: {SiO2: 60, CaO: 40}}\n',
        "utf-8",
    )
    (tmp_path / "a.glost").write_text('glaze "x"\nbase:\n    house clay  100\n')
    done = run("formula", "--steps")
    assert "\u202e" not in done.stdout


# ---- what is taken for granted -------------------------------------------------------------------------------

REDUCED = """\
glaze "Reduced"
base:
    potash feldspar  45
    whiting          20
    silica           25
    kaolin           10
additions:
    red iron oxide  8
    bentonite       0.5
    zirconium iron pink stain  1
"""


def _one(run: Run, tmp_path: Path, text: str, *options: str) -> dict[str, Any]:
    (tmp_path / "one.glost").write_text(text)
    done = run("formula", "one.glost", "--output", "json", *options)
    assert (done.returncode, done.stderr) == (0, "")
    (found,) = json.loads(done.stdout)["tests"]
    assert isinstance(found, dict)
    return found


def test_half_a_percent_of_bentonite_takes_nothing_away(run: Run, tmp_path: Path) -> None:
    without = _one(run, tmp_path, REDUCED.replace("    bentonite       0.5\n", ""))
    found = _one(run, tmp_path, REDUCED)
    assert found["expansion"] is not None
    assert found["expansion"]["value"] == pytest.approx(without["expansion"]["value"], abs=0.5)
    assert [one["name"] for one in found["unknown"]] == ["zirconium iron pink stain"]
    assert found["taken_for_granted"]["left_out"] == ["zirconium iron pink stain"]
    assert found["taken_for_granted"]["typical_analyses"] == ["bentonite"]
    assert found["taken_for_granted"]["additions_counted"]
    for kind in ("unity", "fired_weight_percent", "mol_percent"):
        for oxide, figure in found[kind].items():
            low, high = found["ranges"][kind][oxide]
            assert low <= figure <= high
    known = _one(run, tmp_path, REDUCED.replace("    zirconium iron pink stain  1\n", ""))
    wider = found["expansion"]["high"] - found["expansion"]["low"]
    assert wider > known["expansion"]["high"] - known["expansion"]["low"]


def test_more_than_a_little_unknown_is_partial_as_ever(run: Run, tmp_path: Path) -> None:
    found = _one(run, tmp_path, REDUCED.replace("stain  1", "stain  8"))
    assert found["partial"]
    assert found["expansion"] is None
    assert "PARTIAL" in run("formula", "one.glost").stdout


def test_iron_is_counted_as_it_is_asked_for(run: Run, tmp_path: Path) -> None:
    """One Fe2O3 is two FeO and two thirds of an Fe3O4."""
    as_it_is = _one(run, tmp_path, REDUCED)["unity"]["Fe2O3"]
    assert _one(run, tmp_path, REDUCED, "--iron", "FeO")["unity"]["FeO"] == pytest.approx(
        2 * as_it_is, rel=1e-4
    )
    half = _one(run, tmp_path, REDUCED, "--iron", "Fe3O4")["unity"]["Fe3O4"]
    assert half == pytest.approx(as_it_is * 2 / 3, rel=1e-4)
    assert "iron as FeO" in " ".join(run("formula", "one.glost", "--iron", "FeO").stdout.split())
    assert "iron as Fe2O3" in " ".join(run("formula", "one.glost").stdout.split())
    # The estimates were made for Fe2O3, and do not depend on how it is written.
    estimates = [
        _one(run, tmp_path, REDUCED, "--iron", iron)["expansion"]["value"]
        for iron in ("Fe2O3", "Fe3O4", "FeO")
    ]
    assert max(estimates) - min(estimates) <= 0.1


def test_a_made_up_frit_is_named_beside_every_result(run: Run, tmp_path: Path) -> None:
    text = 'glaze "Frit"\nbase:\n    calcium borate frit  60\n    silica  40\n'
    found = _one(run, tmp_path, text)
    assert found["taken_for_granted"]["made_up"] == ["calcium borate frit"]
    assert "MADE UP: calcium borate frit" in run("formula", "one.glost").stdout
    assert "MADE UP: calcium borate frit" in run("formula", "one.glost", "--steps").stdout
    (row,) = csv.DictReader(run("formula", "one.glost", "--output", "csv").stdout.splitlines())
    assert row["made up"] == "calcium borate frit"
    assert float(row["unity B2O3 low"]) < float(row["unity B2O3"]) < float(row["unity B2O3 high"])
    (tmp_path / "glost.yaml").write_text("materials: materials.yaml\n")
    (tmp_path / "materials.yaml").write_text(
        "materials:\n  - name: calcium borate frit\n    source: the supplier's sheet\n"
        "    analysis: {SiO2: 20, B2O3: 50, CaO: 30}\n"
    )
    assert "MADE UP" not in run("formula", "one.glost").stdout


def test_spread_shows_every_range_and_its_sources(run: Run, tmp_path: Path) -> None:
    (tmp_path / "one.glost").write_text(REDUCED)
    shown = " ".join(run("formula", "one.glost", "--spread").stdout.split())
    assert "potash feldspar: certified analysis of NIST Standard Reference Material 70a, from memory" in shown
    assert "What is unknown may be any oxide" in shown
    assert run("formula", "one.glost", "--spread", "--output", "csv").returncode == 2
    assert run("formula", "one.glost", "--spread", "--steps").returncode == 2
    (tmp_path / "sure.glost").write_text('glaze "Sure"\nbase:\n    zinc oxide  50\n    silica  50\n')
    assert "Spread: none" in run("formula", "sure.glost", "--spread").stdout
