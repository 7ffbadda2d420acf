"""glost match as a process."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path

import jsonschema
import pytest

from tests.conftest import STUDIO, TOP, Run

SCHEMA = json.loads((TOP / "schema" / "match.schema.json").read_text("utf-8"))
EBB = str(STUDIO / "stoneware" / "clear-ebb.glost")
CLOUD = str(STUDIO / "stoneware" / "low-cloud.glost")
ASH = str(STUDIO / "reduction" / "reed-celadon.glost")

RECIPE = """\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
surface: satin
use: food
origin: own test 14-C
batch: 1 kg

base:
    nepheline syenite      40
    whiting                20
    silica                 40

additions:
    cobalt carbonate        1  (sift in last)

handling:
    nepheline syenite, cobalt carbonate: P100 respirator and gloves; wet-clean spills.
    silica: P100 respirator.
    whiting: no more than dust.

variation "storm":
    cobalt carbonate        2
"""


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def test_report_says_what_to_weigh_and_what_differs(run: Run) -> None:
    done = run("match", EBB, "--without", "kaolin", cwd=TOP)
    assert done.returncode == 0, done.stderr
    assert "Clear Ebb, matched, without kaolin" in done.stdout
    assert "Every oxide lies within 0.01 mol" in done.stdout
    assert "raw clay: 13 parts before" in done.stdout


def test_what_cannot_be_reached_is_said_and_the_status_is_1(run: Run) -> None:
    names = "nepheline syenite, silica, kaolin, wollastonite, talc, zinc oxide"
    done = run("match", CLOUD, "--using-materials", names, "--without", "lithium carbonate", cwd=TOP)
    assert done.returncode == 1
    assert "Li2O: 0.193 mol short; no material at hand brings Li2O" in done.stdout
    assert "no amounts of the materials at hand" in " ".join(done.stdout.split())


@pytest.mark.parametrize(
    "arguments", [(EBB, "--without", "kaolin"), (CLOUD, "--using-materials", "silica, whiting")]
)
def test_json_keeps_the_schema(run: Run, arguments: tuple[str, ...]) -> None:
    done = run("match", *arguments, "--output", "json", cwd=TOP)
    document = json.loads(done.stdout, parse_float=Decimal)
    jsonschema.validate(json.loads(done.stdout), SCHEMA)
    assert sum(line["parts"] for line in document["base"]) == 100
    for one in document["oxides"]:
        assert abs(one["reached"] - one["wanted"] - one["difference"]) <= Decimal("0.000001")
        assert one["within"] == (abs(one["difference"]) <= Decimal("0.01"))
    assert document["reached"] == (done.returncode == 0)


def test_it_gives_the_same_answer_twice(run_process: Run) -> None:
    first, second = (
        run_process(
            "match", CLOUD, "--without", "spodumene", "--output", "json", cwd=TOP, PYTHONHASHSEED=seed
        ).stdout
        for seed in ("1", "2")
    )
    assert first == second != ""


def test_written_recipe_lints_and_says_where_it_comes_from(run: Run, tmp_path: Path) -> None:
    (tmp_path / "harbour-mist.glost").write_text(RECIPE)
    done = run(
        "match", "harbour-mist.glost", "--without", "nepheline syenite", "--out", "harbour-mist-matched.glost"
    )
    assert done.returncode == 0, done.stderr
    text = (tmp_path / "harbour-mist-matched.glost").read_text("utf-8")
    lines = text.splitlines()
    assert lines[0] == 'glaze "Harbour Mist, matched"'
    assert (
        "origin: matched without nepheline syenite to the fired oxides of Harbour Mist (harbour-mist.glost); "
        "not fired yet" in lines
    )
    assert "use: test" in lines
    assert "surface" not in text
    # The note for what is gone goes, the others stay.
    assert "    cobalt carbonate: P100 respirator and gloves; wet-clean spills." in lines
    assert "    silica: P100 respirator." in lines
    linted = run("lint", "harbour-mist-matched.glost", "--strict")
    assert linted.returncode == 0, linted.stdout + linted.stderr
    assert run("format", "--check", "harbour-mist-matched.glost").returncode == 0
    # Its formula is that of the recipe it was matched to.
    a, b = (
        json.loads(run("formula", name, "--test", test, "--output", "json").stdout)["tests"][0]["unity"]
        for name, test in (
            ("harbour-mist.glost", "Harbour Mist"),
            ("harbour-mist-matched.glost", "Harbour Mist, matched"),
        )
    )
    for oxide in {*a, *b}:
        assert abs(a.get(oxide, 0) - b.get(oxide, 0)) <= 0.01


def test_new_material_that_asks_for_a_handling_note_gets_one(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(RECIPE)
    names = "nepheline syenite, whiting, cristobalite"
    assert run("match", "a.glost", "--using-materials", names, "--out", "b.glost").returncode == 0
    text = (tmp_path / "b.glost").read_text("utf-8")
    assert "    cristobalite: fitted P100 respirator" in text.partition("handling:")[2]
    assert "silica:" not in text
    assert "safety data sheet comes first" in text
    assert run("lint", "b.glost").returncode == 0


def test_matches_of_the_studio_lint(run: Run, tmp_path: Path) -> None:
    """In their own collection, where the house has notes for what it uses."""
    import shutil

    shutil.copytree(STUDIO, tmp_path / "studio", ignore=shutil.ignore_patterns("needs-work"))
    made = []
    for at, path in enumerate(sorted((tmp_path / "studio" / "stoneware").glob("*.glost"))[:8]):
        base = [
            line
            for line in path.read_text("utf-8").partition("base:\n")[2].splitlines()
            if line.startswith("    ")
        ]
        gone = base[at % 3].strip().partition("  ")[0].strip('"')
        out = path.with_name(f"{path.stem}-two.glost")
        run("match", str(path), "--without", gone, "--out", str(out))
        made.append(str(out))
    linted = run("lint", *made)
    assert linted.returncode == 0, linted.stdout
    assert "8 recipes checked" in linted.stderr


def test_a_file_is_never_written_over(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(RECIPE)
    (tmp_path / "b.glost").write_text("mine")
    done = run("match", "a.glost", "--out", "b.glost")
    assert done.returncode == 2
    assert "there is a file 'b.glost' already" in done.stderr
    assert (tmp_path / "b.glost").read_text() == "mine"
    (tmp_path / "link.glost").symlink_to("nowhere.glost")
    assert run("match", "a.glost", "--out", "link.glost").returncode == 2
    assert not (tmp_path / "nowhere.glost").exists()
    assert run("match", "a.glost", "--out", "a.txt").returncode == 2


def test_an_analysis_that_changed_is_met(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(RECIPE)
    (tmp_path / "new.yaml").write_text(
        "materials:\n  - name: silica\n  - name: whiting\n  - name: kaolin\n  - name: nepheline syenite\n"
        "    source: sheet of the new load (invented)\n"
        "    analysis: {SiO2: 60.6, Al2O3: 23.0, Na2O: 10.1, K2O: 4.7, CaO: 0.6, Fe2O3: 0.1}\n    loss: 0.9\n"
    )
    done = run("match", "a.glost", "--using", "new.yaml", "--output", "json")
    document = json.loads(done.stdout)
    assert done.returncode == 0
    assert {line["material"] for line in document["base"]} <= {
        "silica",
        "whiting",
        "kaolin",
        "nepheline syenite",
    }
    assert next(line for line in document["base"] if line["material"] == "nepheline syenite")["parts"] != 40


def test_a_variation_is_matched_by_its_name(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(RECIPE)
    document = json.loads(run("match", "a.glost", "--test", "Storm", "--output", "json").stdout)
    assert document["test"] == "storm"
    assert document["additions"][0]["parts"] == 2
    done = run("match", "a.glost", "--test", "calm")
    assert done.returncode == 2
    assert "There are: Harbour Mist, storm." in done.stderr


def test_what_is_unknown_is_refused_with_what_to_do(run: Run) -> None:
    done = run("match", ASH, "--without", "silica", cwd=TOP)
    assert done.returncode == 2
    assert done.stdout == ""
    assert "what washed wood ash brings is not known" in done.stderr
    assert '--keep "washed wood ash"' in done.stderr
    kept = run("match", ASH, "--without", "silica", "--keep", "washed wood ash", cwd=TOP)
    assert kept.returncode == 0
    assert "washed wood ash is taken over as it is" in kept.stdout


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--without", "kaolim"), "Did you mean 'kaolin'?"),
        (("--using-materials", "kaolin, moonstone"), "'moonstone' is no material"),
        (("--using-materials", " , "), "no material is named"),
        (("--without", "frit"), "'frit' does not say which material it is. Which is meant: "),
        (("--keep", "kaolin", "--without", "kaolin"), "is to be kept, and is not at hand"),
        (("--keep", "zinc oxide"), "is not in the base"),
        (("--using", "nowhere.yaml"), "there is no such file"),
    ],
)
def test_wrong_usage_is_answered(run: Run, arguments: tuple[str, ...], said: str) -> None:
    done = run("match", EBB, *arguments, cwd=TOP)
    assert done.returncode == 2
    assert said in done.stderr
    assert done.stdout == ""


def test_one_recipe_is_meant(run: Run) -> None:
    done = run("match", str(STUDIO / "raku"), cwd=TOP)
    assert done.returncode == 2
    assert "3 recipes; name one" in done.stderr


def test_standard_input_is_read(run: Run) -> None:
    done = run("match", "-", "--without", "whiting", stdin=RECIPE)
    assert done.returncode == 0
    assert "Harbour Mist, matched" in done.stdout
