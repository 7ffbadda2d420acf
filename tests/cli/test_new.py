"""Beginning a recipe or a collection: what is written can be read and weighed, and nothing is written over."""

from __future__ import annotations

import os
import pty
import re
import select
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from glost.language.tables import lexicon
from tests.conftest import Run

HANG_S = 120
PAGE = "tide-pool.glost"


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def test_a_recipe_from_options_is_laid_out_and_clean(run: Run, tmp_path: Path) -> None:
    done = run(
        "new", "Tide Pool", "--cone", "5-6", "--atmosphere", "oxidation",
        "--base", "silica 30", "--base", 'whiting 20  (sieved)', "--base", "kaolin 50", "--addition", "tin oxide 5 %",
        cwd=tmp_path,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    text = (tmp_path / PAGE).read_text("utf-8")
    assert text.startswith('glaze "Tide Pool"\ncone: 5-6\natmosphere: oxidation\n\nbase:\n')
    assert run("format", "--check", PAGE, cwd=tmp_path).returncode == 0
    found = run("lint", PAGE, cwd=tmp_path)
    assert found.stdout.count("(missing-origin)") == 1
    assert "error" not in found.stdout


@pytest.mark.parametrize("kind", lexicon().kinds)
def test_a_page_to_fill_in_says_where_to_write(run: Run, tmp_path: Path, kind: str) -> None:
    done = run("new", "Tide Pool", "--kind", kind, cwd=tmp_path)
    assert done.stdout == f"{PAGE}: written\nwrite its base, then check it with  glost lint {PAGE}\n"
    found = run("lint", PAGE, cwd=tmp_path)
    assert found.returncode == 1
    assert "nothing stands below 'base:'" in found.stdout
    filled = (tmp_path / PAGE).read_text("utf-8").replace("base:\n", "base:\n    silica 100\n")
    (tmp_path / PAGE).write_text(filled, "utf-8")
    assert "error" not in run("lint", PAGE, cwd=tmp_path).stdout


@pytest.mark.parametrize(
    ("arguments", "status", "words"),
    [
        ((), 2, "say what it is called"),
        ((" ",), 2, "a recipe has a name"),
        (("A", "--cone", "blue"), 2, "--cone: 'blue' is not a cone"),
        (("A", "--cone", "6\nbase:"), 2, "the cone is one line"),
        (("A\nbase:",), 2, "are one line each"),
        (("A", "--base", "silica 3,0"), 1, "decimal comma"),
        (("A", "--base", "silica"), 1, "silica"),
        (("A", "--base", "silica 20\nadditions:"), 2, "are one line each"),
        (("A", "--addition", "tin oxide x", "--base", "silica 100"), 1, "tin oxide x"),
        (("A", "--batch", "1 kg"), 2, "add --collection"),
        (("A", "--collection", "--cone", "6"), 2, "--cone is for a recipe"),
        (("A", "--collection", "--balance", "fine"), 2, "'fine' is no balance"),
        (("A", "--collection", "--balance", "fine, 300, 0.01 g"), 2, "--balance"),
        (("A", "--collection", "--balance", "fine, 1 g, 300 g"), 2, "nothing is written"),
        (("A", "--collection", "--batch", "many"), 2, "nothing is written"),
        (("A", "--out", "."), 2, "is a folder; name the file in it:  --out a.glost"),
        (("A", "--out", "a b.txt"), 2, "--out 'a b.glost'"),
        (("A", "--out", "page"), 2, "ends in .glost"),
        (('A "B"',), 2, "holds a double quote"),
    ],
)
def test_what_makes_no_page_is_said_and_nothing_is_written(
    run: Run, tmp_path: Path, arguments: tuple[str, ...], status: int, words: str
) -> None:
    done = run("new", *arguments, cwd=tmp_path)
    assert done.returncode == status, done.stderr
    assert words in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_what_is_to_be_typed_next_can_be_typed(run: Run, tmp_path: Path) -> None:
    """Names with blanks, in the place that the next command is typed in."""
    (page,) = re.findall("glost lint (.*)", run("new", "A", "--out", "a b/é.glost", cwd=tmp_path).stdout)
    assert shlex.split(page) == ["a b/é.glost"]
    done = run("new", "--collection", "My shed", "--out", "my shed/ö", cwd=tmp_path)
    steps = done.stdout.partition("next:\n")[2].splitlines()
    (there,) = [shlex.split(step.partition("  go there")[0])[1] for step in steps if "cd " in step]
    shed = tmp_path / there
    assert (shed / "glost.yaml").exists()
    for step in steps[1:4]:
        typed = shlex.split(step.strip().partition("  ")[0])
        assert run(*typed[1:], cwd=shed).returncode == 0, step
    assert sorted(path.name for path in shed.glob("*.glost")) == ["first-light.glost", "harbour-mist.glost"]
    # In the folder itself nobody has to go anywhere.
    (tmp_path / "here").mkdir()
    assert "cd " not in run("new", "--collection", cwd=tmp_path / "here").stdout


def test_a_place_where_nothing_can_be_written_is_told(run: Run, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    for words in (("A", "--out", "file/a.glost"), ("--collection", "--out", "file")):
        done = run("new", *words, cwd=tmp_path)
        assert done.returncode == 2
        assert "not written: Not a directory; name another place with --out" in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["file"]


def test_nothing_is_written_over(run: Run, tmp_path: Path) -> None:
    (tmp_path / PAGE).write_text("mine\n", "utf-8")
    done = run("new", "Tide Pool", cwd=tmp_path)
    assert done.returncode == 2
    assert "there already" in done.stderr
    assert (tmp_path / PAGE).read_text("utf-8") == "mine\n"
    (tmp_path / "materials.yaml").symlink_to("nowhere")
    done = run("new", "--collection", cwd=tmp_path)
    assert done.returncode == 2
    assert "materials.yaml: there already" in done.stderr
    assert not (tmp_path / "glost.yaml").exists()


def test_a_name_never_leads_out_of_the_folder(run: Run, tmp_path: Path) -> None:
    here = tmp_path / "here"
    here.mkdir()
    assert run("new", "../../Out", cwd=here).returncode == 0
    assert [path.name for path in here.iterdir()] == ["out.glost"]
    assert [path.name for path in tmp_path.iterdir()] == ["here"]


def test_a_collection_is_clean_and_can_be_weighed_at_once(run: Run, tmp_path: Path) -> None:
    given = ("--balance", "pocket, 200 g, 0.01 g", "--balance", 'the "big" one: 5, 5 kg, 1 g')
    done = run(
        "new", "--collection", 'Shed: "no. 5"', *given, "--batch", "200 g", "--out", "studio", cwd=tmp_path
    )
    assert done.returncode == 0, done.stderr
    studio = tmp_path / "studio"
    names = sorted(path.name for path in studio.iterdir())
    assert names == [".gitignore", "first-light.glost", "glost.yaml", "materials.yaml"]
    found = run("lint", "studio", "--strict", cwd=tmp_path)
    assert (found.returncode, found.stdout) == (0, "")
    assert run("format", "--check", "studio", cwd=tmp_path).returncode == 0
    sheet = run("convert", "studio", "--to", "sheet", cwd=tmp_path)
    assert "P100 or P3 respirator" in sheet.stdout
    assert "safety data sheet comes first" in " ".join(sheet.stdout.split())
    batch = run("batch", "studio", "--balance", 'the "big" one: 5', cwd=tmp_path)
    assert batch.returncode == 0, batch.stderr
    assert "base 200 g" in batch.stdout


def _typed(cwd: Path, *arguments: str, answers: str) -> tuple[int, str]:
    """A run at a terminal, where somebody types so many lines."""
    ours, theirs = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "glost", *arguments], stdin=theirs, stdout=theirs, stderr=theirs, cwd=cwd
    )
    os.close(theirs)
    os.write(ours, answers.encode())
    shown = b""
    while select.select([ours], [], [], HANG_S)[0]:
        try:
            piece = os.read(ours, 65536)
        except OSError:
            break
        if not piece:
            break
        shown += piece
    os.close(ours)
    return process.wait(HANG_S), shown.decode()


def test_a_terminal_is_asked_until_the_answers_can_be_taken(tmp_path: Path) -> None:
    answers = (
        "Tide Pool\nglaize\nglaze\nblue\n6\noxidation\nsilica 3O\nsilica 30\nkaolin 70\n\ntin oxide 4\n\n"
    )
    status, shown = _typed(tmp_path, "new", answers=answers)
    assert status == 0, shown
    assert "'blue' is not a cone" in shown
    assert "30 so far" in shown
    text = (tmp_path / PAGE).read_text("utf-8")
    assert text.splitlines()[:3] == ['glaze "Tide Pool"', "cone: 6", "atmosphere: oxidation"]
    assert "additions:\n    tin oxide" in text


def test_a_terminal_is_asked_for_the_collection(tmp_path: Path) -> None:
    answers = "Shed\npocket\npocket, 200 g, 0.01 g\n\n250 g\n\n"
    status, shown = _typed(tmp_path, "new", "--collection", answers=answers)
    assert status == 0, shown
    text = (tmp_path / "glost.yaml").read_text("utf-8")
    assert 'name: "Shed"' in text
    assert '- {name: "pocket", capacity: 200 g, readability: 0.01 g}' in text
    assert "batch: 250 g" in text


def test_lint_says_once_what_answers_a_finding_that_comes_on_every_page(run: Run, tmp_path: Path) -> None:
    for name in ("A", "B", "C"):
        page = f'glaze "{name}"\ncone: 6\nbase:\n    whiting  40\n    silica  60\n'
        (tmp_path / f"{name.lower()}.glost").write_text(page, "utf-8")
    said = run("lint", cwd=tmp_path).stderr
    assert said.count("glost new --collection begins one") == 1
    assert "glost new" not in run("lint", "a.glost", cwd=tmp_path).stderr
    assert "glost new" not in run("lint", "--output", "json", cwd=tmp_path).stderr
    assert run("new", "--collection", cwd=tmp_path).returncode == 0
    assert run("lint", cwd=tmp_path).stderr.endswith("hints\n")
