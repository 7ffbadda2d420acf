"""glost lint --fix, --rescale and --diff, and glost format, as processes: what is changed is told, and what is not a
collection's own page is left."""

from __future__ import annotations

import json
import os
import subprocess
from pathlib import Path

import pytest

from tests.conftest import Run

GOOD = """\
glaze "A"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                40
"""
SLIPS = GOOD.replace("cone: 6", "cone 6").replace("60", "59,5").replace("whiting    ", "calcium carbonate")


def test_every_fix_is_named_and_what_was_hidden_is_reported(run: Run, tmp_path: Path) -> None:
    page = tmp_path / "a.glost"
    page.write_text(SLIPS)
    done = run("lint", "--fix", "--output", "line")
    assert done.stderr == (
        "a.glost:2: fixed: 'cone 6' -> 'cone: 6'\n"
        "a.glost:7: fixed: '    nepheline syenite      59,5' -> '    nepheline syenite      59.5'\n"
        "a.glost:8: fixed: '    calcium carbonate            40' -> '    whiting            40'\n"
    )
    assert done.stdout == "a.glost:6:1: error: the base totals 99.5, not 100 (0.5 too little) (base-total)\n"
    assert done.returncode == 1
    assert page.read_text() == GOOD.replace("60", "59.5").replace(
        "whiting                40", "whiting            40"
    )


def test_diff_writes_nothing_and_has_the_status_of_lint(run: Run, tmp_path: Path) -> None:
    page = tmp_path / "a.glost"
    page.write_text(SLIPS)
    before = page.stat().st_mtime_ns
    done = run("lint", "--fix", "--diff")
    assert done.returncode == run("lint").returncode == 1
    assert (page.read_text(), page.stat().st_mtime_ns) == (SLIPS, before)
    assert done.stdout == (
        "--- a.glost\n"
        "+++ a.glost (fixed)\n"
        "@@ -1,8 +1,8 @@\n"
        ' glaze "A"\n'
        "-cone 6\n"
        "+cone: 6\n"
        " atmosphere: oxidation\n"
        " origin: own test\n"
        " \n"
        " base:\n"
        "-    nepheline syenite      59,5\n"
        "-    calcium carbonate            40\n"
        "+    nepheline syenite      59.5\n"
        "+    whiting            40\n"
    )
    assert "a.glost:2: would be fixed: 'cone 6' -> 'cone: 6'\n" in done.stderr
    assert "a.glost:2:5: error: the colon is missing behind 'cone' (syntax)\n" in done.stderr
    page.write_text(GOOD.replace("cone: 6", "Cone: 6"))
    assert run("lint", "--fix", "--diff").returncode == 1
    page.write_text(GOOD.replace("whiting", "calcium carbonate"))
    hint = run("lint", "--fix", "--diff")
    assert (hint.returncode, "+    whiting" in hint.stdout) == (0, True)
    page.write_text(GOOD)
    assert run("lint", "--fix", "--diff").stdout == ""


def test_diff_of_standard_input(run: Run) -> None:
    done = run("lint", "--fix", "--diff", "-", stdin=SLIPS)
    assert done.stdout.startswith("--- -\n+++ - (fixed)\n@@")
    assert done.returncode == 1
    assert run("lint", "--fix", "-", stdin=SLIPS).stdout.startswith('glaze "A"\ncone: 6\n')


def test_base_is_rescaled_only_where_that_is_asked_for(run: Run, tmp_path: Path) -> None:
    page = tmp_path / "a.glost"
    page.write_text(GOOD.replace("40", "39"))
    done = run("lint", "--fix")
    assert (done.returncode, page.read_text()) == (1, GOOD.replace("40", "39"))
    assert "glost lint --fix --rescale brings the base to 100" in done.stdout
    shown = run("lint", "--fix", "--rescale", "--diff")
    assert page.read_text() == GOOD.replace("40", "39")
    assert "+    nepheline syenite      60.61\n" in shown.stdout
    done = run("lint", "--fix", "--rescale")
    assert done.stderr == (
        "a.glost:6: rescaled: the base, from a total of 99 to 100\n"
        "a.glost:7: rescaled: nepheline syenite  60 -> 60.61\n"
        "a.glost:8: rescaled: whiting  39 -> 39.39\n"
        "1 recipe checked, nothing found\n"
    )
    assert (done.returncode, page.read_text()) == (0, GOOD.replace("60", "60.61").replace("40", "39.39"))


def test_rescaling_is_refused_by_line_and_reason(run: Run, tmp_path: Path) -> None:
    page = tmp_path / "a.glost"
    page.write_text(SLIPS)
    done = run("lint", "--fix", "--rescale")
    assert (
        "a.glost:2: not rescaled: not while the amounts are in doubt: the colon is missing behind 'cone' (syntax)"
        in done.stderr
    )
    assert "59.5" in page.read_text()
    # Once the page has been looked at, a second run is another question.
    assert "a.glost:6: rescaled" in run("lint", "--fix", "--rescale").stderr


@pytest.mark.parametrize("option", ["--rescale", "--diff"])
def test_options_of_fix_go_with_fix(run: Run, option: str) -> None:
    done = run("lint", option)
    assert done.returncode == 2
    assert f"Error: {option} goes with --fix." in done.stderr


def test_what_fix_would_change_is_marked_and_counted(run: Run, tmp_path: Path) -> None:
    page = tmp_path / "a.glost"
    page.write_text(SLIPS)
    done = run("lint")
    assert "      fix: write  cone: 6\n" in done.stdout
    assert done.stderr == "1 recipe checked: 2 errors, 1 hint; 3 can be fixed with --fix\n"
    # A name waits while a line cannot be read, so that no run would fix it now.
    page.write_text(GOOD.replace("whiting", "calcium carbonate") + "    kaolin\n")
    for arguments in (("lint",), ("lint", "--fix"), ("lint",)):
        done = run(*arguments)
        assert "can be fixed" not in done.stderr
        assert "fix:" not in done.stdout
    (finding,) = [
        one
        for one in json.loads(run("lint", "--output", "json").stdout)["findings"]
        if one["rule"] == "other-name"
    ]
    assert finding["fixable"] is False


def test_a_field_below_the_base_is_no_material(run: Run, tmp_path: Path) -> None:
    page = tmp_path / "a.glost"
    page.write_text(GOOD + "zone: 6\n")
    assert run("lint", "--fix").returncode == 1
    assert page.read_text() == GOOD + "zone: 6\n"


# ---- pages that are left --------------------------------------------------------------------------------

LOOSE = GOOD.replace("    nepheline syenite      60", "    nepheline syenite 60").replace("cone: 6", "cone 6")
READS = GOOD.replace("    nepheline syenite      60", "    nepheline syenite 60")


def left(run: Run, name: str, why: str, **more: Path) -> None:
    """Neither command writes the file; each says why."""
    done = run("lint", "--fix", name, **more)
    assert f"{name}: left as it is: {why}" in done.stderr
    done = run("format", name, **more)
    assert f"{name}: left as it is: {why}" in done.stderr or "not laid out" in done.stderr
    assert done.returncode != 0


@pytest.mark.parametrize("settings", [True, False])
def test_no_link_leads_out_of_the_collection(run: Run, tmp_path: Path, settings: bool) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "coll").mkdir()
    if settings:
        (tmp_path / "coll" / "glost.yaml").write_text("name: x\n")
    for name, text in (("a", LOOSE), ("b", READS)):
        (tmp_path / "out" / f"{name}.glost").write_text(text)
        (tmp_path / "coll" / f"{name}.glost").symlink_to(f"../out/{name}.glost")
    (tmp_path / "coll" / "way").symlink_to("../out")
    for cwd, below in ((tmp_path, "coll/"), (tmp_path / "coll", "")):
        left(run, f"{below}a.glost", "it lies behind a link that leads out of", cwd=cwd)
        done = run("format", f"{below}b.glost", cwd=cwd)
        assert "it lies behind a link that leads out of" in done.stderr
        if settings or cwd.name == "coll":
            left(run, f"{below}way/a.glost", "it lies behind a link that leads out of", cwd=cwd)
    assert run("format", "--check", "coll/b.glost").stdout == ""
    assert [(tmp_path / "out" / f"{name}.glost").read_text() for name in "ab"] == [LOOSE, READS]
    assert (tmp_path / "coll" / "a.glost").is_symlink()


def test_link_to_a_page_of_the_collection_is_followed(run: Run, tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("name: x\n")
    (tmp_path / "kept").mkdir()
    (tmp_path / "kept" / "a.glost").write_text(LOOSE)
    (tmp_path / "b.glost").symlink_to("kept/a.glost")
    run("lint", "--fix", "b.glost")
    assert "cone: 6" in (tmp_path / "kept" / "a.glost").read_text()
    assert (tmp_path / "b.glost").is_symlink()


@pytest.mark.parametrize("text", [LOOSE, READS])
def test_read_only_page_is_left_and_named(run: Run, tmp_path: Path, text: str) -> None:
    page = tmp_path / "a.glost"
    page.write_text(text)
    page.chmod(0o444)
    if text == LOOSE:
        left(run, "a.glost", "it is read-only")
    done = run("format", "a.glost")
    assert text == LOOSE or (done.returncode, "it is read-only" in done.stderr) == (1, True)
    assert page.read_text() == text
    assert page.stat().st_mode & 0o777 == 0o444


def test_page_with_a_second_name_is_left_and_named(run: Run, tmp_path: Path) -> None:
    page = tmp_path / "a.glost"
    page.write_text(LOOSE)
    os.link(page, tmp_path / "other")
    left(run, "a.glost", "it has a second name (a hard link)")
    assert (page.read_text(), page.stat().st_nlink) == (LOOSE, 2)


@pytest.mark.parametrize(
    "text",
    [
        "all:\n\techo hi\n",
        "name: x\nversion: 1,5\n",
        "all: b\nb : c\n",
        "[a]\nb = 1,5\n",
        "# only\n\nCone: 6\n",
    ],
)
def test_what_is_no_recipe_is_never_changed(run: Run, tmp_path: Path, text: str) -> None:
    page = tmp_path / "Makefile"
    page.write_text(text)
    done = run("lint", "--fix", "Makefile")
    assert "fixed" not in done.stderr
    done = run("format", "Makefile")
    assert "not laid out: it is no recipe" in done.stderr or "cannot be read" in done.stderr
    assert page.read_text() == text


def test_notes_are_told_once_that_they_are_no_recipe(run: Run, tmp_path: Path) -> None:
    notes = "Blue over iron, second try\npotash feldspar 40\nsilica 30, whiting 20\nCone: ^10 R!\n\nWhite 2\nTalc 1,5\n"
    (tmp_path / "notes.glost").write_text(notes)
    done = run("lint", "notes.glost")
    assert done.stdout.count(": error: ") == 1
    assert "notes.glost:1:1: error: this page is no recipe" in done.stdout
    assert "glost import" in done.stdout
    assert done.stderr == "1 recipe checked: 1 error\n"
    assert run("lint", "--fix", "notes.glost").returncode == 1
    assert (tmp_path / "notes.glost").read_text() == notes


# ---- a report that could not be made --------------------------------------------------------------------


@pytest.mark.parametrize("form", ["json", "sarif", "github", "line", "text"])
@pytest.mark.parametrize("diagnostic", ["settings", "baseline", "path"])
def test_no_old_report_stays_where_the_run_could_not_be_made(
    run: Run, tmp_path: Path, form: str, diagnostic: str
) -> None:
    (tmp_path / "a.glost").write_text(GOOD)
    assert run("lint", "--output", f"{form}=report", "a.glost").returncode == 0
    clean = (tmp_path / "report").read_text()
    if diagnostic == "settings":
        (tmp_path / "glost.yaml").write_text("nam: x\n")
    if diagnostic == "baseline":
        (tmp_path / "glost-baseline.json").write_text("{}")
    done = run("lint", "--output", f"{form}=report", "nowhere.glost" if diagnostic == "path" else "a.glost")
    assert done.returncode == 2
    report = (tmp_path / "report").read_text()
    assert report != clean
    said = {"settings": "'nam' is not a key", "baseline": "cannot be read", "path": "no file or folder"}[
        diagnostic
    ]
    assert said in report
    if form == "json":
        (finding,) = json.loads(report)["findings"]
        assert (finding["rule"], finding["level"]) == ("unreadable", "error")


@pytest.mark.parametrize("form", ["json", "sarif"])
def test_standard_output_is_valid_where_the_run_could_not_be_made(
    run: Run, tmp_path: Path, form: str
) -> None:
    (tmp_path / "glost.yaml").write_text("nam: x\n")
    (tmp_path / "a.glost").write_text(GOOD)
    for arguments in ((), ("a.glost", "nowhere.glost")):
        done = run("lint", "--output", form, *arguments)
        assert done.returncode == 2
        found = json.loads(done.stdout)
        assert len(found["findings"] if form == "json" else found["runs"][0]["results"]) == 1


def test_a_report_that_could_not_be_made_takes_no_recipe_away(run: Run, tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("nam: x\n")
    (tmp_path / "a.txt").write_text(GOOD)
    done = run("lint", "--output", "json=a.txt", "a.txt")
    assert (done.returncode, (tmp_path / "a.txt").read_text()) == (2, GOOD)


# ---- what a terminal and a pipeline would obey ----------------------------------------------------------

NAMES = ("::stop-commands::zz.glost", "##[error]a.glost", "##vso[task.complete]b.glost")


def obeyed(text: str) -> list[str]:
    """The lines that a pipeline would take for a command, and those that steer a terminal."""
    return [
        line
        for line in text.split("\n")
        if line.lstrip().startswith("::") or "##[" in line or not line.replace("\t", " ").isprintable()
    ]


def test_names_of_files_command_no_pipeline(run: Run, tmp_path: Path) -> None:
    for name in NAMES:
        (tmp_path / name).write_text(LOOSE + "notes:\n    ::set-output name=a::b\n    ##[error]c\n    a\tb\n")
        (tmp_path / f"{name}.read.glost").write_text(READS)
    for arguments in (
        ("lint",),
        ("lint", "--output", "line"),
        ("lint", "--fix", "--diff"),
        ("format", "--check"),
        ("format", "--diff"),
        ("lint", "--fix"),
        ("format",),
    ):
        done = run(*arguments)
        assert obeyed(done.stdout + done.stderr) == []
        assert "stop-commands" in done.stdout + done.stderr


WORD = "::x\x1b[31m\n::error::y ##[z]\u202e"


@pytest.mark.parametrize(
    "arguments",
    [
        (WORD,),
        ("explain", WORD),
        ("lint", "--select", WORD),
        ("lint", "--output", WORD),
        ("lint", "--batch", WORD),
        ("lint", WORD),
        ("lint", f"--{WORD}"),
        ("import", "--columns", WORD, "a.csv"),
        ("batch", "--batch", WORD, "a.glost"),
        ("convert", "--to", WORD, "a.glost"),
        ("materials", WORD),
        ("record", WORD),
    ],
    ids=lambda arguments: arguments[0][:8],
)
def test_words_of_the_command_line_command_nothing(
    run: Run, tmp_path: Path, arguments: tuple[str, ...]
) -> None:
    (tmp_path / "a.glost").write_text(GOOD)
    (tmp_path / "a.csv").write_text("a,b\n")
    done = run(*arguments)
    assert done.returncode != 0
    assert obeyed(done.stdout + done.stderr) == []


def test_the_commands_of_the_report_for_it_are_its_own(run: Run, tmp_path: Path) -> None:
    (tmp_path / NAMES[0]).write_text(LOOSE)
    assert run("lint", "--output", "github").stdout.startswith(
        "::notice file=%3A%3Astop-commands%3A%3Azz.glost,"
    )
    done = run("lint", "--output", "github", "--fix", "-", stdin=GOOD.replace("40", "39"))
    assert done.stderr.startswith("::error file=-,")


# ---- two halves of a message ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("file", "text", "message", "hint"),
    [
        (
            "a.glost",
            GOOD.replace("cone: 6", "cone: 6; oxidation"),
            "'6; oxidation' is not a cone",
            "write  cone: 6",
        ),
        ("a.glost", GOOD + "date: March 3; 2026\n", "'March 3; 2026' is not a date", "write year-month-day"),
        ("a.glost", GOOD + "batch: 5 g; 6\n", "'5 g; 6' is not a mass", "write such as 500 g"),
        ("a.glost", GOOD + "use: a; write b\n", "'a; write b' is not a use", "write one of: food"),
        (
            "glost.yaml",
            'batch: "5 g; 6 g"\n',
            "batch: 'g; 6 g' is not a unit of mass here",
            "write one number",
        ),
        ("glost.yaml", 'water: "5: write; 6"\n', "water: '5: write; 6' is not a percentage", "write it with"),
        (
            "glost.yaml",
            "balances:\n  - {name: 'a; b', capacity: 1 g, readability: 2 g}\n",
            "'a; b' reads",
            "the two may have changed places",
        ),
        (
            "m.yaml",
            '["1332-58-7; 1344-28-1"]',
            "cas: '1332-58-7; 1344-28-1' is not a CAS number",
            "write such as",
        ),
    ],
)
def test_a_semicolon_of_ones_own_parts_no_message(
    run: Run, tmp_path: Path, file: str, text: str, message: str, hint: str
) -> None:
    (tmp_path / "a.glost").write_text(GOOD)
    if file == "m.yaml":
        text = f"materials:\n  - {{name: x, role: flux, source: y, cas: {text}}}\n"
        (tmp_path / "glost.yaml").write_text("materials: m.yaml\n")
    (tmp_path / file).write_text(text)
    done = run("lint")
    (told,) = [line for line in (done.stdout + done.stderr).split("\n") if " error: " in line]
    assert message in told
    assert f"hint: {hint}" in done.stdout + done.stderr


@pytest.mark.parametrize(
    ("was", "now", "hint"),
    [
        ("weighed by:", "weighd by:", "did you mean 'weighed by'?"),
        ("recipe:", "recpe:", "did you mean 'recipe'?"),
    ],
)
def test_a_slip_in_a_record_keeps_its_own_hint(
    run: Run, tmp_path: Path, was: str, now: str, hint: str
) -> None:
    from tests.conftest import TOP

    (record,) = sorted((TOP / "corpus").rglob("*.batch"))[:1]
    text = record.read_text("utf-8")
    assert was in text
    (tmp_path / "a.batch").write_text(text.replace(was, now), "utf-8")
    done = run("usage", "a.batch")
    assert done.returncode == 2
    assert hint in done.stderr
    (tmp_path / "b.batch").write_bytes(b"a\0b")
    done = run("usage", "b.batch")
    assert "check that it is a record of the log" in done.stderr


# ---- formulas of materials of one's own -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("composition", "message"),
    [
        ("formula: Na0O0", "a count of 0 counts nothing"),
        ("formula: Xx2O3", "'Xx' is no element"),
        (f"formula: {'(' * 9_000}O{')' * 9_000}", "characters is not read"),
        (f"formula: {'(' * 5}O{')' * 5}", "brackets stand inside each other"),
        ("formula: CaCO3.H2O", "'.' cannot stand here"),
        ("formula: ArO", "no oxide that it is counted as"),
        ("analysis: {SiO2: 60, Qz2O3: 40}", "'Qz2O3' is not an oxide"),
        ("analysis: {SiO2: 60, CaCO3: 40}", "'CaCO3' is not an oxide"),
        ("analysis: {SiO2: 60, Al0O3: 40}", "'Al0O3' is not an oxide"),
    ],
)
def test_composition_that_the_chemistry_cannot_take_is_found(
    run: Run, tmp_path: Path, composition: str, message: str
) -> None:
    (tmp_path / "glost.yaml").write_text("materials: m.yaml\n")
    (tmp_path / "m.yaml").write_text(f"materials:\n  - {{name: x, role: flux, source: y, {composition}}}\n")
    (tmp_path / "a.glost").write_text(GOOD)
    done = run("lint")
    assert done.returncode == 2
    assert done.stderr.startswith("m.yaml:2:")
    assert message in done.stderr


def test_workflow_of_a_report_that_failed_reads_as_one_annotation(run: Run, tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("nam: x\n")
    (tmp_path / "a.glost").write_text(GOOD)
    done: subprocess.CompletedProcess[str] = run("lint", "--output", "github")
    assert done.stdout.startswith("::error file=glost.yaml,line=1,")
