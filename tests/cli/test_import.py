"""glost import as a process."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from tests.conftest import STUDIO, TOP, Run

NOTES = "Grey Tide, cone 6\nsilica 30\nwhiting 20\nkaolin 50\n\nadd\ncobalt carbonate 0,5\n"


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def files(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


def test_notes_become_a_recipe_that_formats_clean(run: Run, tmp_path: Path) -> None:
    (tmp_path / "old.txt").write_text(NOTES)
    done = run("import", "old.txt", "--to", "recipes")
    assert (done.returncode, done.stderr) == (0, "")
    assert "Grey Tide: 3 materials, 1 added; recipes/grey-tide.glost" in done.stdout
    assert files(tmp_path) == ["old.txt", "recipes/grey-tide.glost"]
    assert run("format", "--check", "recipes").returncode == 0
    assert (tmp_path / "old.txt").read_text() == NOTES


def test_nothing_is_written_over(run: Run, tmp_path: Path) -> None:
    (tmp_path / "old.txt").write_text(NOTES)
    (tmp_path / "grey-tide.glost").write_text("mine\n")
    done = run("import", "old.txt")
    assert done.returncode == 1
    assert "not written: grey-tide.glost is there already" in done.stdout
    assert (tmp_path / "grey-tide.glost").read_text() == "mine\n"
    (tmp_path / "grey-tide.glost").unlink()
    (tmp_path / "grey-tide.glost").symlink_to("elsewhere")
    assert run("import", "old.txt").returncode == 1
    assert not (tmp_path / "elsewhere").exists()


def test_dry_run_writes_nothing(run: Run, tmp_path: Path) -> None:
    (tmp_path / "old.txt").write_text(NOTES)
    done = run("import", "old.txt", "--to", "recipes", "--dry-run")
    assert done.returncode == 0
    assert "would be recipes/grey-tide.glost" in done.stdout
    assert files(tmp_path) == ["old.txt"]


def test_report_as_json_keeps_its_schema(run: Run, tmp_path: Path) -> None:
    (tmp_path / "old.txt").write_text(NOTES.replace("50\n", "49\nTotal 100\n"))
    (tmp_path / "bad.txt").write_bytes(b"Gr\xfcn\n")
    done = run("import", "old.txt", "bad.txt", "--output", "json")
    assert done.returncode == 2
    report = json.loads(done.stdout)
    jsonschema.validate(report, json.loads((TOP / "schema" / "import.schema.json").read_text("utf-8")))
    old, bad = report["files"]
    assert old["recipes"][0]["text"] == (tmp_path / "grey-tide.glost").read_text()
    assert [(one["kind"], one["line"]) for one in old["remarks"]] == [("wrong", 5)]
    assert "0xfc" in bad["refused"]


def test_titles_never_climb_out(run: Run, tmp_path: Path) -> None:
    below = tmp_path / "a" / "b"
    below.mkdir(parents=True)
    (below / "old.txt").write_text(
        "# ../../../escaped\nsilica 60\nkaolin 40\n\n# /tmp/nul\nsilica 50\nkaolin 50\n"
    )
    assert run("import", "old.txt", "--to", "in", cwd=below).returncode == 0
    assert files(tmp_path) == ["a/b/in/escaped.glost", "a/b/in/tmp-nul.glost", "a/b/old.txt"]


def test_columns_that_are_given(run: Run, tmp_path: Path) -> None:
    (tmp_path / "t.csv").write_text("was,womit,wieviel\nGrey,silica,60\nGrey,kaolin,40\n")
    assert run("import", "t.csv").returncode == 2
    done = run("import", "t.csv", "--columns", "recipe=was,material=womit,amount=3")
    assert done.returncode == 0, done.stdout
    assert "'was' is the recipe, 'womit' is the material, 'wieviel' is the amount" in done.stdout
    done = run("import", "t.csv", "--columns", "recipe=nix")
    assert done.returncode == 2
    assert "there is no column 'nix'" in done.stdout
    done = run("import", "t.csv", "--columns", "colour")
    assert done.returncode == 2
    assert "names no column" in done.stderr


def test_form_that_is_given(run: Run, tmp_path: Path) -> None:
    (tmp_path / "t.dat").write_text("material;amount\nsilica;60\nkaolin;40\n")
    assert run("import", "t.dat", "--from", "csv").returncode == 0
    assert files(tmp_path) == ["t.dat", "t.glost"]


def test_the_studio_goes_out_and_comes_in(run: Run, tmp_path: Path) -> None:
    run("convert", str(STUDIO / "washes"), "--to", "json", "--out", "all.json")
    done = run("import", "all.json", "--to", "back")
    assert done.returncode == 0, done.stdout
    assert run("convert", "back", "--to", "json", "--out", "again.json").returncode == 0
    first, again = (json.loads((tmp_path / name).read_text()) for name in ("all.json", "again.json"))
    by_name = [sorted(one["recipes"], key=lambda recipe: recipe["name"]) for one in (first, again)]
    assert [recipe["name"] for recipe in by_name[0]] == [recipe["name"] for recipe in by_name[1]]


def test_what_cannot_be_read_or_written(run: Run, tmp_path: Path) -> None:
    done = run("import", "gone.txt")
    assert (done.returncode, done.stderr) == (2, "")
    assert "gone.txt: not read: there is no such file" in done.stdout
    assert run("import").returncode == 2
    (tmp_path / "old.txt").write_text(NOTES)
    done = run("import", "old.txt", "--to", "old.txt")
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    (tmp_path / "bin.txt").write_bytes(bytes(range(256)))
    (tmp_path / "huge.txt").write_bytes(b"x" * 300_000)
    for name in ("bin.txt", "huge.txt"):
        assert run("import", name).returncode == 2


def test_title_cannot_steer_the_terminal(run: Run, tmp_path: Path) -> None:
    (tmp_path / "old.txt").write_text("# \x1b[2JGrey\nsilica 60\nkaolin 40\n")
    done = run("import", "old.txt")
    assert "\x1b" not in done.stdout


def test_nonsense_is_refused_and_not_written(run: Run, tmp_path: Path) -> None:
    (tmp_path / "codes.csv").write_text(
        "Recipe,Material,Amount\nshelf,silica,4012345678\nfloor,kaolin,4012345679\n"
    )
    done = run("import", "codes.csv", "--to", "recipes")
    assert done.returncode == 2
    assert "most of this table is no recipe" in done.stdout
    assert "--columns" in done.stdout
    assert files(tmp_path) == ["codes.csv"]


def test_long_table_with_heads_of_many_words(run: Run, tmp_path: Path) -> None:
    head = "Our list\nGlaze title;Amt (%);Raw material;Cone / Atm\n"
    (tmp_path / "t.csv").write_text(f"{head}Spindrift;58,5;silica;10 R\n;41,5;whiting;\n;6;+ rutile;\n")
    done = run("import", "t.csv")
    assert (done.returncode, done.stderr) == (0, "")
    assert files(tmp_path) == ["spindrift.glost", "t.csv"]
    page = (tmp_path / "spindrift.glost").read_text()
    assert "cone: 10\natmosphere: reduction\n" in page
    assert "additions:\n    rutile                  6\n" in page


def test_second_column_of_amounts_that_is_given(run: Run, tmp_path: Path) -> None:
    (tmp_path / "t.csv").write_text(
        "was,womit,grund,dazu\nGrey,silica,60,\nGrey,kaolin,40,\nGrey,rutile,,3\n"
    )
    done = run("import", "t.csv", "--columns", "recipe=was,material=womit,amount=grund,added=dazu")
    assert done.returncode == 0, done.stdout
    assert "Grey: 2 materials, 1 added" in done.stdout


def test_cone_of_an_own_table_that_lost_its_zero(run: Run, tmp_path: Path) -> None:
    head = "recipe,kind,cone,section,name,amount,unit"
    (tmp_path / "t.csv").write_text(f"{head}\nGrey,glaze,4,base,silica,60,\nGrey,glaze,4,base,kaolin,40,\n")
    done = run("import", "t.csv")
    assert done.returncode == 0
    assert "cone 4 of 'Grey' may have been 04" in done.stdout


@pytest.mark.parametrize("form", ["json", "jsonl"])
def test_data_of_recipes_in_which_something_is_found_comes_back(run: Run, tmp_path: Path, form: str) -> None:
    """Findings among the data have lines and columns, which are read as exact numbers like all others."""
    page = 'glaze "Moss"\ncone: 6\n\nbase:\n    Zork                   60\n    kaolin                 39\n'
    (tmp_path / "moss.glost").write_text(page)
    (tmp_path / "data.json").write_text(run("convert", "moss.glost", "--to", form).stdout)
    assert '"findings"' in (tmp_path / "data.json").read_text()
    done = run("import", "data.json", "--to", "back")
    assert "1 recipe" in done.stdout, done.stdout
    assert (tmp_path / "back" / "moss.glost").read_text() == page
    text = (tmp_path / "data.json").read_text().replace('"line": 5', '"line": 5.5')
    (tmp_path / "odd.json").write_text(text)
    assert "].line: write a whole number here" in run("import", "odd.json", "--to", "odd").stdout
