"""glost for programs: the page of docs runs whole, and each function says what the command of its name says."""

from __future__ import annotations

import doctest
import json
import pickle
import shutil
import subprocess
import sys
from collections.abc import Callable
from decimal import Decimal
from html.parser import HTMLParser
from pathlib import Path

import pytest

import glost
from glost import api
from tests.conftest import STUDIO, TOP

MIST = STUDIO / "stoneware" / "harbour-mist.glost"
PAGES = sorted(path for path in STUDIO.rglob("*.glost") if "needs-work" not in path.parts)


def command(*arguments: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "glost", *arguments], capture_output=True, check=False, cwd=TOP
    )
    return done.stdout.decode("utf-8")


def test_the_page_of_docs_runs_as_it_stands(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(TOP)
    failed, tried = doctest.testfile(str(TOP / "docs" / "python.md"), module_relative=False)
    assert tried > 20
    assert not failed


def test_every_public_name_is_there_and_has_a_word_on_itself() -> None:
    for name in glost.__all__:
        assert getattr(glost, name).__doc__, name
    assert set(glost.__all__) <= set(dir(glost))
    assert glost.__all__ == api.__all__
    with pytest.raises(AttributeError, match="no attribute 'reed'"):
        glost.reed  # noqa: B018


def test_the_bare_import_brings_nothing_with_it() -> None:
    code = "import sys; before = set(sys.modules); import glost; print(sorted(set(sys.modules) - before))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    # typing is the one module of the standard library that a start of Python may not have met yet.
    assert [name for name in json.loads(done.stdout.replace("'", '"')) if name.startswith("glost")] == [
        "glost"
    ]
    assert "decimal" not in done.stdout
    assert "pathlib" not in done.stdout


def test_plan_and_formula_hold_what_the_commands_print() -> None:
    for page in PAGES:
        recipe = glost.read(page)
        plans = [glost.plan(one, batch="250 g") for one in recipe.tests]
        for plan, test in zip(plans, recipe.tests, strict=True):
            assert plan.data["label"] == test.label
            assert sum(line.target_g for line in plan.lines) == plan.total_target_g
            assert plan.base_g == 250
        for formula in (glost.formula(one) for one in recipe.tests):
            assert formula.weight_percent == formula.data["fired_weight_percent"]


@pytest.mark.parametrize("given", [["batch", "--batch", "250 g"], ["formula"]])
def test_data_and_text_are_those_of_the_command(given: list[str]) -> None:
    file = "corpus/studio/stoneware/harbour-mist.glost"
    printed = json.loads(command(*given, file, "--output", "json"), parse_float=Decimal)
    recipe = glost.read(file)
    make: Callable[[glost.Test], glost.Plan | glost.Formula] = (
        (lambda test: glost.plan(test, batch="250 g")) if given[0] == "batch" else glost.formula
    )
    made = [make(test) for test in recipe.tests]
    rows = printed["tests"]
    for row in rows:
        if "revision" in row:
            assert row.pop("revision")["name"]
            row["revision"] = None  # the Python interface asks no git
    assert json.loads(json.dumps([one.data for one in made], default=float)) == json.loads(
        json.dumps(rows, default=float)
    )
    whole = command(*given, file)
    assert all(one.text.strip() in whole for one in made)


def test_lint_finds_what_the_command_finds() -> None:
    printed = json.loads(command("lint", "corpus/studio/needs-work", "--output", "json"))["findings"]
    found = glost.lint("corpus/studio/needs-work")
    assert [(one.file, one.line, one.column, one.rule, one.message, one.hint) for one in found] == [
        tuple(one[key] for key in ("file", "line", "column", "rule", "message", "hint")) for one in printed
    ]
    assert glost.lint([MIST, STUDIO / "raku"]) == []


def test_write_writes_what_the_command_writes(tmp_path: Path) -> None:
    shutil.copytree(STUDIO, tmp_path / "studio")  # no git is asked for a revision there
    file = str(tmp_path / "studio" / "stoneware" / "harbour-mist.glost")
    for name in ("csv", "json", "jsonl"):
        assert glost.write(glost.read(file), name) == command("convert", file, "--to", name)


def test_comparing_tells_what_the_command_tells(tmp_path: Path) -> None:
    old, new = tmp_path / "old.glost", tmp_path / "new.glost"
    text = MIST.read_text("utf-8")
    old.write_text(text, "utf-8")
    new.write_text(text.replace("38", "40").replace("22", "20"), "utf-8")
    change = glost.compare(glost.read(old), glost.read(new))
    printed = json.loads(command("compare", str(old), str(new), "--output", "json"))["recipes"][0]
    assert change.changes == printed["changes"]
    assert (change.same, change.state) == (False, "changed")
    assert glost.compare(glost.read(old), glost.parse(text)).same


def test_the_text_forms_fix_and_lay_out() -> None:
    text = 'glaze  "Lee Shore"\nbase:\n  whiting 20\n  Silica  80\n'
    assert (
        glost.format(text)
        == 'glaze "Lee Shore"\n\nbase:\n    whiting                20\n    Silica                 80\n'
    )
    assert "missing-cone" in {one.rule for one in glost.lint_text(text)}
    assert glost.parse(glost.fix(text)).base[1].parts == 80
    with pytest.raises(glost.RecipeError):
        glost.format('glaze "Lee Shore\n')


BASE = 'glaze "Lee Shore"\nbase:\n    whiting  20\n    silica  80\n'


@pytest.mark.parametrize(
    ("make", "kind", "words"),
    [
        (lambda: glost.read("no-such.glost"), glost.NotFoundError, "there is no file 'no-such.glost'"),
        (lambda: glost.collection("no-such"), glost.NotFoundError, "no-such"),
        (lambda: glost.parse(""), glost.RecipeError, "this file is empty"),
        (lambda: glost.parse(BASE + "extras:\n    tin oxide 4\n"), glost.RecipeError, "text:5:1"),
        (lambda: glost.parse(BASE).test("calm"), glost.NotFoundError, "has no test 'calm'"),
        (lambda: glost.plan(glost.parse(BASE), batch="0 g"), glost.ValueRefusedError, ""),
        (lambda: glost.plan(glost.parse(BASE), batch="9 stone"), glost.ValueRefusedError, "stone"),
        (lambda: glost.plan(glost.parse(BASE), batch=0.5), glost.ValueRefusedError, "0.5 is not a mass"),  # type: ignore[arg-type]
        (lambda: glost.plan(glost.parse(BASE), batch=True), glost.ValueRefusedError, "True is not a mass"),
        (
            lambda: glost.plan(glost.parse(BASE), batch="1 g", total="2 g"),
            glost.ValueRefusedError,
            "keep one",
        ),
        (lambda: glost.plan(glost.parse(BASE), balance="big"), glost.GlostError, "big"),
        (lambda: glost.formula(glost.parse(BASE), on="silica"), glost.ValueRefusedError, "'silica'"),
        (
            lambda: glost.formula(glost.parse(BASE), expansion="none"),
            glost.ValueRefusedError,
            "the models are",
        ),
        (lambda: glost.write(glost.parse(BASE), "sheets"), glost.ValueRefusedError, "did you mean 'sheet'"),
        (lambda: glost.material("whitting"), glost.NotFoundError, "did you mean 'whiting'"),
    ],
)
def test_bad_input_is_told_in_one_family(
    make: Callable[[], object], kind: type[glost.GlostError], words: str
) -> None:
    with pytest.raises(kind) as caught:
        make()
    assert words in str(caught.value)
    assert isinstance(caught.value, glost.GlostError)
    again = pickle.loads(
        pickle.dumps(caught.value)
    )  # an error reaches the caller from another process as well
    assert str(again) == str(caught.value)


def test_settings_that_cannot_be_taken_are_told(tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("batch: many\n", "utf-8")
    (tmp_path / "a.glost").write_text(BASE, "utf-8")
    with pytest.raises(glost.ConfigError):
        glost.read(tmp_path / "a.glost")
    assert glost.parse(BASE).name == "Lee Shore"


def test_a_collection_keeps_apart_what_cannot_be_read(tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(BASE, "utf-8")
    (tmp_path / "b.glost").write_text(BASE.replace("base:", "bases:"), "utf-8")
    found = glost.collection(tmp_path)
    assert [one.name for one in found] == ["Lee Shore"]
    assert len(found) == 1
    assert [Path(file).name for file in found.withheld] == ["b.glost"]
    assert found["lee  SHORE"].kind == "glaze"
    with pytest.raises(LookupError, match="did you mean 'Lee Shore'"):
        found["Lea Shore"]


class _Open(HTMLParser):
    """The elements that a text opens."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)


def test_a_notebook_shows_markup_of_ours_only() -> None:
    recipe = glost.parse(
        BASE.replace("Lee Shore", "<script>x</script>").replace("silica  80", '"<img/src=x>"  80')
    )
    for shown in (recipe, recipe.tests[0], glost.plan(recipe), glost.formula(recipe)):
        reader = _Open()
        reader.feed(shown._repr_html_())
        assert not {"script", "img"} & reader.tags
        assert "table" in reader.tags or shown is recipe
