"""Finding recipes by what they mean: every question of the page, and those of the chemistry."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest

from tests.conftest import STUDIO, Run

PAGES = {
    "calm.glost": (
        'glaze "Calm"\ncone: 6\natmosphere: oxidation\nsurface: Satin\ntags: liner, blue\n\nbase:\n'
        "    flint  30\n    whiting  20\n    calcium borate frit  20\n    kaolin  30\n\n"
        "additions:\n    cobalt carbonate  1\n\n"
        'variation "plain":\n    cobalt carbonate  0\n'
    ),
    "storm.glost": (
        'glaze "Storm"\ncone: 9-10\n\nbase:\n    silica  60\n    whiting  40\n\n'
        "additions:\n    cobalt oxide  2\n"
    ),
    "odd.glost": 'glaze "Odd"\ncone: 6\n\nbase:\n    silica  60\n    moon dust  40\n',
    "torn.glost": 'glaze "Torn"\ncone: 6\n\nbase:\n    silica  6O\n    whiting  40\n',
}


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    place = tmp_path / "pages"
    place.mkdir()
    for name, text in PAGES.items():
        (place / name).write_text(text, "utf-8")
    return place


def rows(text: str) -> set[str]:
    return {f"{row['recipe']}/{row['test']}".rstrip("/") for row in map(json.loads, text.splitlines())}


EVERY = {"Calm", "Calm/plain", "Storm", "Odd", "Torn"}


@pytest.mark.parametrize(
    ("asked", "found", "left_out"),
    [
        ((), EVERY, 0),
        (("--with", "silica"), {"Calm", "Calm/plain", "Storm", "Odd"}, 0),  # the page says flint
        (("--with", "cobalt"), {"Calm", "Storm"}, 0),
        (("--with", "COBALT carbonate"), {"Calm"}, 0),
        (("--with", "moon dust"), {"Odd"}, 0),
        (("--with", "silica", "--with", "kaolin"), {"Calm", "Calm/plain"}, 0),
        (("--without", "cobalt"), {"Calm/plain", "Odd"}, 1),  # what stands on the torn line is not known
        (("--cone", "6"), {"Calm", "Calm/plain", "Odd", "Torn"}, 0),
        (("--cone", "7-9"), {"Storm"}, 0),
        (("--atmosphere", "oxidation"), {"Calm", "Calm/plain"}, 0),
        (("--surface", "satin"), {"Calm"}, 0),  # what was seen on its tile is not said of "plain"
        (("--tag", "Blue"), {"Calm", "Calm/plain"}, 0),
        (("--word", "storm"), {"Storm"}, 0),
        (("--word", "calm frit"), {"Calm", "Calm/plain"}, 0),
        (("--kind", "wash"), set(), 0),
        (("--findings", "unread"), {"Torn"}, 0),
        (("--free-of", "sensitising"), {"Calm/plain"}, 2),
        (("--hazard", "sensitising"), {"Calm", "Storm"}, 0),
        (("--oxide", "B2O3 > 0.01"), {"Calm", "Calm/plain"}, 2),
        (("--oxide", "b2o3 = 0"), {"Storm"}, 2),
        (("--oxide", "SiO2 >= 0.1", "--oxide", "Al2O3 > 100"), set(), 2),
        (("--oxide", "B₂O₃ ≤ .001"), {"Storm"}, 2),
        (("--expansion", "> 1"), {"Calm", "Calm/plain", "Storm"}, 2),
        (("--expansion", "< 1"), set(), 2),
    ],
)
def test_what_is_asked_must_hold_and_what_is_unknown_is_counted(
    run: Run, folder: Path, asked: tuple[str, ...], found: set[str], left_out: int
) -> None:
    done = run("find", *asked, "--output", "jsonl", cwd=folder)
    assert done.returncode == 0, done.stderr
    assert rows(done.stdout) == found
    said = f"{left_out} test{'s' if left_out > 1 else ''} left out"
    assert (said in done.stderr) == bool(left_out)


def test_paths_come_once_and_end_as_asked(run: Run, folder: Path) -> None:
    assert run("find", "--with", "kaolin", cwd=folder).stdout == "calm.glost\n"
    assert (
        run("find", "--with", "whiting", "-0", cwd=folder).stdout == "calm.glost\0storm.glost\0torn.glost\0"
    )
    table = run("find", "--with", "kaolin", "--output", "table", cwd=folder).stdout.splitlines()
    assert [line.split()[:2] for line in table] == [
        ["file", "test"],
        ["calm.glost", "Calm"],
        ["calm.glost", "plain"],
    ]


def test_paths_can_be_handed_to_another_command(run: Run, folder: Path) -> None:
    (folder / "two\nlines.glost").write_text(PAGES["storm.glost"], "utf-8")
    names = run("find", "--with", "cobalt oxide", "-0", cwd=folder).stdout.split("\0")[:-1]
    assert sorted(names) == ["storm.glost", "two\nlines.glost"]
    assert run("convert", *names, "--to", "csv", cwd=folder).returncode == 0


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (("--with", "cobbalt carbonate"), "Did you mean 'cobalt carbonate'"),
        (("--without", ""), "no material is called ''"),
        (("--oxide", "B3O3 > 1"), "no oxide is called 'B3O3'"),
        (("--oxide", "B2O3"), "is no bound"),
        (("--oxide", "B2O3 > 0,2"), "is no bound"),
        (("--oxide", "> 2"), "is no bound of an oxide"),
        (("--oxide", "FeO > 0.1"), "counted as Fe2O3; write Fe2O3"),
        (("--oxide", "MnO2 > 0.1"), "counted as MnO; write MnO"),
        (("--oxide", "O2 > 1"), "no oxide is called 'O2'"),
        (("--typical", "--with", "silica"), "--typical goes with --oxide or --expansion"),
        (("--expansion", "sixty"), "'sixty' is no bound"),
        (("--cone", "blue"), "not a cone"),
        (("--findings", "some"), "some"),
        (("-0", "--output", "table"), "-0 is for paths"),
        (("nowhere",), "nowhere"),
    ],
)
def test_what_cannot_be_asked_is_said(run: Run, folder: Path, asked: tuple[str, ...], words: str) -> None:
    done = run("find", *asked, cwd=folder)
    assert done.returncode == 2
    assert words in done.stderr
    assert done.stdout == ""


def test_only_what_has_changed(run: Run, folder: Path) -> None:
    git = ["git", "-c", "user.name=a", "-c", "user.email=a@example.org", "-C", str(folder)]
    for words in (["init", "-q"], ["add", "."], ["commit", "-q", "-m", "one"]):
        subprocess.run([*git, *words], check=True)
    page = folder / "storm.glost"
    page.write_text(page.read_text("utf-8").replace("cobalt oxide  2", "cobalt oxide  3"), "utf-8")
    assert run("find", "--changed", cwd=folder).stdout == "storm.glost\n"
    assert run("find", "--changed", "--with", "kaolin", cwd=folder).stdout == ""


# ---- what materials may be --------------------------------------------------------------------------

OPEN = (
    'glaze "Open"\ncone: 6\n\nbase:\n    potash feldspar  40\n    whiting  20\n    kaolin  15\n    silica  25\n\n'
    "additions:\n    moon dust  {dust}\n"
)


@pytest.fixture
def ends(run: Run, tmp_path: Path) -> dict[str, tuple[float, float]]:
    """What the ranges of that page are, as `glost formula` prints them."""
    (tmp_path / "open.glost").write_text(OPEN.format(dust=1), "utf-8")
    (test,) = json.loads(run("formula", "open.glost", "--output", "json", cwd=tmp_path).stdout)["tests"]
    told = {oxide: (span[0], span[1]) for oxide, span in test["ranges"]["unity"].items()}
    moved = test["ranges"]["expansion"]
    return {**told, "expansion": (moved[0], moved[1])}


@pytest.mark.parametrize("figure", ["K2O", "SiO2", "CaO", "expansion"])
def test_a_range_is_wholly_on_one_side_or_not_known(
    run: Run, tmp_path: Path, ends: dict[str, tuple[float, float]], figure: str
) -> None:
    low, high = ends[figure]
    ask, name = ("--expansion", "") if figure == "expansion" else ("--oxide", figure)

    def asked(sign: str, value: float, *more: str) -> str:
        done = run("find", ask, f"{name} {sign} {value:.4f}", *more, cwd=tmp_path)
        assert done.returncode == 0, done.stderr
        if done.stdout:
            assert done.stderr == ""
            return "yes"
        return "left out" if "1 test left out" in done.stderr else "no"

    assert low + 0.01 < high
    assert [asked(">", value) for value in (low - 0.001, (low + high) / 2, high + 0.001)] == [
        "yes",
        "left out",
        "no",
    ]
    assert [asked("<=", value) for value in (low - 0.001, (low + high) / 2, high + 0.001)] == [
        "no",
        "left out",
        "yes",
    ]


def test_typical_leaves_open_only_what_is_unknown(run: Run, tmp_path: Path) -> None:
    page = tmp_path / "open.glost"
    page.write_text(OPEN.format(dust=1), "utf-8")
    done = run("find", "--oxide", "K2O > 0.2", cwd=tmp_path)
    assert (done.stdout, "1 of it: what the materials may be" in done.stderr) == ("", True)
    assert "--typical takes each as its typical analysis" in done.stderr
    assert run("find", "--oxide", "K2O > 0.2", "--typical", cwd=tmp_path).stdout == "open.glost\n"
    # 1 % that may be anything moves what is there by little, and may bring what is not
    for bound in ("Na2O = 0", "V2O5 = 0", "PbO < 0.001"):
        done = run("find", "--oxide", bound, "--typical", cwd=tmp_path)
        assert (done.stdout, "1 test left out" in done.stderr) == ("", True), bound
    # a third that is unknown is still no lead glaze with ten times its silica
    page.write_text(OPEN.format(dust=50), "utf-8")
    done = run("find", "--oxide", "K2O > 0.2", "--typical", cwd=tmp_path)
    assert (done.stdout, "1 test left out" in done.stderr) == ("", True)
    assert run("find", "--oxide", "SiO2 > 1000", cwd=tmp_path).stderr == ""


def test_a_made_up_frit_is_no_typical_one(run: Run, folder: Path) -> None:
    for more in ((), ("--typical",)):
        done = run("find", "calm.glost", "--oxide", "B2O3 > 0.2", *more, cwd=folder)
        assert (done.stdout, "2 tests left out" in done.stderr) == ("", True), more


# ---- the page asks the same ----------------------------------------------------------------------------

_ASK = """
const fs = require("fs");
const { script, held, questions } = JSON.parse(fs.readFileSync(0, "utf-8"));
const Rows = new Function(script + "; return Rows;")();
const table = Rows.open(held);
const answers = questions.map((asked) => {
  const { found, leftOut } = Rows.select(table, table.rows, { ...Rows.NOTHING, ...asked });
  return [found.map((row) => row.place), leftOut];
});
process.stdout.write(JSON.stringify(answers));
"""


def _questions() -> Iterator[tuple[dict[str, object], dict[str, object]]]:
    """What the page is asked, and the same for filters.py."""
    yield {}, {}
    for word in ("mist", "tin", "satin mist", "COBALT", "chalk"):
        yield {"q": word}, {"words": tuple(word.split())}
    for name in ("cobalt carbonate", "silica", "zinc oxide"):
        yield {"with": [name]}, {"having": (frozenset({name}),)}
        yield {"without": [name]}, {"lacking": frozenset({name})}
    for low, high in ((6, 6), (-4, 1), (9, 10)):
        yield {"from": str(low), "to": str(high)}, {"cones": (Decimal(low), Decimal(high))}
    for key, value in (("kind", "slip"), ("atmosphere", "reduction"), ("use", "test"), ("surface", "gloss")):
        yield {key: value}, {key: value}
    for least in ("error", "warning", "hint", "none", "unread"):
        yield {"findings": least}, {"findings": least}
    for group in ("carcinogenic", "water", "chronic", "physical"):
        yield {"free": [group]}, {"free_of": (group,)}


@pytest.mark.process
@pytest.mark.skipif(shutil.which("node") is None, reason="node, which runs the page's script, is not here")
def test_the_page_and_the_terminal_answer_alike() -> None:
    from glost.output.catalog.filters import Wanted, judge
    from glost.output.catalog.page.held import held
    from glost.workspace.collection import Collections, find
    from glost.workspace.runs.catalog import gather, see_all

    met = Collections()
    chosen = find([str(STUDIO), str(STUDIO / "needs-work")], met)
    gathered = gather(list(see_all(chosen, met, 1)), met)
    script = Path(held.__code__.co_filename).with_name("filter.js").read_text("utf-8")
    pairs = list(_questions())
    given = {
        "script": script.replace('"use strict";', ""),
        "held": held(gathered.rows, gathered.aliases, gathered.tones, {}),
        "questions": [asked for asked, _ in pairs],
    }
    done = subprocess.run(
        ["node", "-e", _ASK], input=json.dumps(given), capture_output=True, text=True, check=True
    )
    for (asked, same), (found, left_out) in zip(pairs, json.loads(done.stdout), strict=True):
        answers = [judge(row, Wanted(**same)) for row in gathered.rows]  # type: ignore[arg-type]
        assert [at for at, answer in enumerate(answers) if answer == "yes"] == found, asked
        assert answers.count("not known") == left_out, asked
