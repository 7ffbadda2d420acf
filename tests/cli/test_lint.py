"""glost lint as a process."""

from __future__ import annotations

import json
import os
from pathlib import Path

import jsonschema
import pytest

from glost.linter.rule import all_rules
from tests.conftest import STUDIO, TOP, Run

GOOD = """\
glaze "A"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                40
"""
BAD = GOOD.replace("40", "39")


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def test_clean_recipe_exits_0(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(GOOD)
    done = run("lint")
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "1 recipe checked, nothing found\n")


def test_finding_names_file_line_column_caret_and_hint(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(BAD)
    done = run("lint", "a.glost")
    assert done.returncode == 1
    assert done.stdout == (
        "a.glost:6:1: error: the base totals 99, not 100 (1 too little) (base-total)\n"
        "    6 | base:\n"
        "      | ^^^^^\n"
        "      hint: find the amount that was mistyped; if all are right, glost lint --fix --rescale brings the base "
        "to 100\n\n"
    )
    assert done.stderr == "1 recipe checked: 1 error\n"


def test_line_output_is_one_line_a_finding(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(BAD)
    done = run("lint", "--output", "line")
    assert done.stdout == "a.glost:6:1: error: the base totals 99, not 100 (1 too little) (base-total)\n"


def test_json_output_keeps_its_schema(run: Run) -> None:
    done = run("lint", str(STUDIO / "needs-work"), "--output", "json")
    report = json.loads(done.stdout)
    schema = json.loads((TOP / "schema" / "findings.schema.json").read_text("utf-8"))
    jsonschema.validate(report, schema)
    assert report["version"] == 2
    for finding in report["findings"]:  # a program that was written for version 1 finds its keys
        assert (finding["mend"], finding["mendable"]) == (finding["hint"], finding["fixable"])
    assert {finding["fixable"] for finding in report["findings"]} == {True, False}
    assert {finding["rule"] for finding in report["findings"]} == {
        rule.name for rule in all_rules() if rule.level != "off"
    }


def test_standard_input(run: Run) -> None:
    assert run("lint", "-", stdin=GOOD).returncode == 0
    done = run("lint", "-", "--output", "line", stdin=BAD)
    assert done.stdout.startswith("-:6:1: error:")


def test_fix_writes_the_file_and_keeps_its_mode(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "a.glost"
    path.write_text(GOOD.replace("cone: 6", "cone 6"))
    path.chmod(0o640)
    done = run("lint", "--fix")
    assert done.returncode == 0
    assert path.read_text() == GOOD
    assert path.stat().st_mode & 0o777 == 0o640
    assert list(tmp_path.iterdir()) == [path]


def test_fix_of_standard_input_goes_to_standard_output(run: Run) -> None:
    done = run("lint", "-", "--fix", stdin=GOOD.replace("cone: 6", "cone 6"))
    assert (done.returncode, done.stdout) == (0, GOOD)
    assert run("lint", "-", "--fix", stdin=BAD).stdout == BAD
    assert "60.61" in run("lint", "-", "--fix", "--rescale", stdin=BAD).stdout


def test_fix_leaves_meaning_alone_while_a_line_cannot_be_read(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "a.glost"
    path.write_text(BAD + "    kaolin\n")
    done = run("lint", "--fix", "--output", "line")
    assert done.returncode == 1
    assert path.read_text() == BAD + "    kaolin\n"
    assert "the amount is missing" in done.stdout


def test_strange_line_breaks_are_fixed(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "a.glost"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert run("lint").returncode == 1
    assert run("lint", "--fix").returncode == 0
    assert path.read_bytes() == GOOD.encode()


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (GOOD.encode("utf-16"), "UTF-16"),
        (GOOD.encode().replace(b"own", b"\xecwn"), "the byte 0xec here is not UTF-8"),
        (GOOD.encode() + b"\0", "a zero byte"),
        (b"#" * 300_000, "300,000 bytes"),
        (b"\n" * 20_000, "more than 10,000 lines"),
    ],
)
def test_unreadable_file_exits_2_and_the_others_are_checked(
    run: Run, tmp_path: Path, data: bytes, message: str
) -> None:
    (tmp_path / "a.glost").write_bytes(data)
    (tmp_path / "b.glost").write_text(BAD)
    done = run("lint")
    assert done.returncode == 2
    assert message in done.stdout
    assert "b.glost:6:1" in done.stdout
    assert "Traceback" not in done.stdout + done.stderr


def test_batch_option_looks_at_the_amounts_at_that_mass(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(GOOD.replace("60", "57.5").replace("40", "42.5"))
    assert run("lint").returncode == 0
    done = run("lint", "--batch", "1 g")
    assert done.returncode == 1
    assert "below-readability" in done.stdout


@pytest.mark.parametrize(
    "arguments",
    [
        ("lint", "nowhere.glost"),
        ("lint", "--batch", "5"),
        ("lint", "--output", "xml"),
        ("lnt",),
        ("explain", "base-totl"),
    ],
)
def test_wrong_usage_exits_2_and_says_how(run: Run, arguments: tuple[str, ...]) -> None:
    done = run(*arguments)
    assert done.returncode == 2
    assert "Error:" in done.stderr
    assert "Traceback" not in done.stderr


def test_demo_collection_is_quiet_and_needs_work_is_not(run: Run) -> None:
    assert run("lint", str(STUDIO)).returncode == 0
    assert run("lint", str(STUDIO / "needs-work")).returncode == 1


def test_settings_that_cannot_be_read_exit_2_with_their_place(run: Run, tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("batch: 100 g\nrules:\n  base-totl: off\n")
    (tmp_path / "a.glost").write_text(GOOD)
    done = run("lint")
    assert done.returncode == 2
    assert done.stderr.startswith("glost.yaml:3:3: error: 'base-totl' is not a key of rules")
    assert "did you mean 'base-total'?" in done.stderr


def test_level_off_silences_a_rule_and_warning_passes_without_strict(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(BAD)
    (tmp_path / "glost.yaml").write_text("rules: {base-total: off}\n")
    assert run("lint").returncode == 0
    (tmp_path / "glost.yaml").write_text("rules: {base-total: warning}\n")
    assert run("lint").returncode == 0
    assert run("lint", "--strict").returncode == 1


def test_name_cannot_command_the_terminal(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(GOOD.replace("whiting", "whit\x1b[2Jing \u202e"))
    done = run("lint")
    assert "\x1b" not in done.stdout
    assert "\u202e" not in done.stdout
    assert "\\u{001b}" in done.stdout


def test_broken_pipe_is_quiet(tmp_path: Path) -> None:
    for number in range(300):
        (tmp_path / f"{number}.glost").write_text(BAD)
    status = os.system(f"cd {tmp_path} && python3 -c pass && {_glost()} lint 2>err | head -1 > out")
    assert status == 0
    assert "Traceback" not in (tmp_path / "err").read_text()


def _glost() -> str:
    import sys

    return f"{sys.executable} -m glost"
