"""What a run of glost lint puts out: several reports at once, the same for any number of processes, colour only
where it is wanted, and only the rules that were asked for."""

from __future__ import annotations

import contextlib
import json
import os
import pty
import re
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from glost.linter.rule import all_rules
from tests.conftest import STUDIO, Run
from tests.linter.old_collection import write_old_collection

FORMS = ("text", "line", "json", "jsonl", "sarif", "github", "gitlab", "junit", "counts")
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
HINT = GOOD.replace("origin: own test\n", "")
WARNING = GOOD.replace("cone: 6\n", "")


# ---- several reports -----------------------------------------------------------------------------------


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def test_several_reports_in_one_run(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(BAD)
    done = run(
        "lint",
        "--output",
        "sarif=a.sarif",
        "--output",
        "json=b.json",
        "--output",
        "text",
        "--output",
        "line=c",
    )
    assert done.returncode == 1
    assert done.stdout.startswith("a.glost:6:1: error: the base totals 99")
    assert json.loads((tmp_path / "a.sarif").read_text())["version"] == "2.1.0"
    assert [f["rule"] for f in json.loads((tmp_path / "b.json").read_text())["findings"]] == ["base-total"]
    assert (tmp_path / "c").read_text().endswith("(base-total)\n")
    for form, file in (("sarif", "a.sarif"), ("json", "b.json"), ("line", "c")):
        assert run("lint", "--output", form).stdout == (tmp_path / file).read_text()


def test_report_of_nothing_is_whole_too(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(GOOD)
    assert json.loads(run("lint", "--output", "json").stdout) == {"version": 2, "findings": []}
    assert json.loads(run("lint", "--output", "sarif").stdout)["runs"][0]["results"] == []
    for form in ("text", "line", "github"):
        assert run("lint", "--output", form).stdout == ""


@pytest.mark.parametrize(
    ("outputs", "said"),
    [
        (("text", "json"), "two reports would go to standard output"),
        (("json=a", "sarif=a"), "two reports would go to one file"),
        (("json=",), "the file's name is missing"),
        (("jsno",), "'jsno' is no form of report; the forms are text, line, json, sarif, github"),
    ],
)
def test_outputs_that_do_not_fit_together(run: Run, outputs: tuple[str, ...], said: str) -> None:
    done = run("lint", *(word for output in outputs for word in ("--output", output)))
    assert done.returncode == 2
    assert said in done.stderr


def test_report_that_cannot_be_written_exits_2_and_the_others_are(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(BAD)
    done = run("lint", "--output", "json=no/where.json", "--output", "line")
    assert done.returncode == 2
    assert "no/where.json could not be written: No such file or directory" in done.stderr
    assert done.stdout.startswith("a.glost:6:1")


def test_report_goes_through_a_pipe_and_does_not_take_its_place(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(BAD)
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    got: list[str] = []
    reader = threading.Thread(target=lambda: got.append(pipe.read_text()), daemon=True)
    reader.start()
    assert run("lint", "--output", "line=pipe").returncode == 1
    reader.join(10)
    assert got == ["a.glost:6:1: error: the base totals 99, not 100 (1 too little) (base-total)\n"]
    assert pipe.is_fifo()


# ---- any number of processes ---------------------------------------------------------------------------


def test_any_number_of_processes_gives_the_same_bytes(run: Run, tmp_path: Path) -> None:
    recipes = tmp_path / "recipes"
    recipes.mkdir()
    (recipes / "glost.yaml").write_text("name: an old collection (invented)\n")
    files = write_old_collection(recipes, recipes=400, findings=1600, seed=2)
    copy = files[7].with_name("z-copy.glost")  # found only where two pages are compared with each other
    copy.write_bytes(files[300].read_bytes())
    for workers in (1, 2, 3):
        outputs = [
            word for form in FORMS for word in ("--output", f"{form}={tmp_path / f'{form}-{workers}'}")
        ]
        done = run("lint", "--workers", str(workers), *outputs, cwd=recipes)
        assert done.returncode == 1
        (tmp_path / f"said-{workers}").write_text(done.stdout + done.stderr)
    for form in (*FORMS, "said"):
        one, two, three = ((tmp_path / f"{form}-{workers}").read_bytes() for workers in (1, 2, 3))
        assert one == two == three
        assert form in ("said", "counts") or (b"same-name" in one and one.count(b"unknown-field") > 400)


# ---- colour --------------------------------------------------------------------------------------------

COLOUR = "\x1b[31m\x1b[1merror\x1b[0m"


def on_a_terminal(folder: Path, *arguments: str, **environment: str) -> str:
    """What a terminal is sent."""
    leader, follower = pty.openpty()
    unset = {key: value for key, value in os.environ.items() if key not in ("NO_COLOR", "TERM")}
    process = subprocess.Popen(
        [sys.executable, "-m", "glost", "lint", *arguments],
        cwd=folder,
        stdin=subprocess.DEVNULL,
        stdout=follower,
        stderr=subprocess.DEVNULL,
        env={**unset, "PYTHONIOENCODING": "utf-8", "TERM": "xterm", **environment},
    )
    os.close(follower)
    got = b""
    with contextlib.suppress(OSError):  # the end of a terminal is an error on Linux
        while piece := os.read(leader, 65536):
            got += piece
    os.close(leader)
    assert process.wait(30) == 1
    return got.decode("utf-8")


def test_levels_have_a_colour_on_a_terminal(tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(BAD.replace('"A"', '"a: error: "'))
    shown = on_a_terminal(tmp_path, "--ignore", "file-name")
    assert shown.startswith(f"a.glost:6:1: {COLOUR}: the base totals 99")
    assert shown.count("\x1b[31m") == 1


def test_only_the_level_has_a_colour(tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(BAD + "    x: error: y\n")
    shown = on_a_terminal(tmp_path)
    assert "x: error: y" in shown
    assert shown.count("\x1b[31m") == shown.count(COLOUR) >= 1


@pytest.mark.parametrize("environment", [{"NO_COLOR": "1"}, {"TERM": "dumb"}])
def test_terminal_that_refuses_colour_gets_none(tmp_path: Path, environment: dict[str, str]) -> None:
    (tmp_path / "a.glost").write_text(BAD)
    assert "\x1b" not in on_a_terminal(tmp_path, **environment)


def test_empty_no_color_refuses_nothing(tmp_path: Path) -> None:
    """Source: no-color.org: 'when present and not an empty string' (from memory)."""
    (tmp_path / "a.glost").write_text(BAD)
    assert COLOUR in on_a_terminal(tmp_path, NO_COLOR="")


@pytest.mark.parametrize("form", ["line", "json", "sarif", "github"])
def test_other_forms_have_no_colour_on_a_terminal(tmp_path: Path, form: str) -> None:
    (tmp_path / "a.glost").write_text(BAD)
    assert "\x1b" not in on_a_terminal(tmp_path, "--output", form)


def test_no_colour_away_from_a_terminal(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(BAD)
    assert "\x1b" not in run("lint", TERM="xterm", NO_COLOR="").stdout
    on_a_terminal(tmp_path, "--output", "text=report")
    assert "\x1b" not in (tmp_path / "report").read_text()


# ---- which rules, and what fails -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "plain", "strict"), [(GOOD, 0, 0), (HINT, 0, 0), (WARNING, 0, 1), (BAD, 1, 1)]
)
def test_strict_lets_warnings_fail_and_hints_never(
    run: Run, tmp_path: Path, text: str, plain: int, strict: int
) -> None:
    (tmp_path / "a.glost").write_text(text)
    assert run("lint").returncode == plain
    assert run("lint", "--strict").returncode == strict


def found(run: Run, *arguments: str) -> set[str]:
    done = run("lint", str(STUDIO / "needs-work"), "--output", "json", *arguments)
    return {finding["rule"] for finding in json.loads(done.stdout)["findings"]}


def test_select_and_ignore(run: Run) -> None:
    assert found(run, "--select", "base-total") == {"base-total"}
    assert found(run, "--select", "base-total", "--select", "same-name") == {"base-total", "same-name"}
    on = {rule.name for rule in all_rules() if rule.level != "off"}
    assert found(run, "--ignore", "base-total", "--ignore", "same-name") == on - {"base-total", "same-name"}
    assert found(run, "--select", "unusual-for-cone") >= {"unusual-for-cone"}
    assert found(run, "--select", "base-total", "--ignore", "base-total") == set()


def test_how_a_page_is_written_is_found_whatever_is_selected(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(GOOD + "    kaolin\n")
    assert run("lint", "--select", "missing-cone").returncode == 1


def test_select_turns_on_what_the_settings_turn_off(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(BAD)
    (tmp_path / "glost.yaml").write_text("rules: {base-total: off}\n")
    assert run("lint").returncode == 0
    assert run("lint", "--select", "base-total").returncode == 1
    (tmp_path / "glost.yaml").write_text("rules: {base-total: hint}\n")
    assert run("lint", "--select", "base-total", "--strict").returncode == 0


@pytest.mark.parametrize("option", ["--select", "--ignore"])
@pytest.mark.parametrize(
    ("name", "near"), [("base-totl", "base-total"), ("below_readability", "below-readability"), ("zzz", None)]
)
def test_unknown_rule_is_wrong_usage_and_the_nearest_is_named(
    run: Run, option: str, name: str, near: str | None
) -> None:
    done = run("lint", option, name)
    assert done.returncode == 2
    assert f"there is no rule '{name}'." in done.stderr
    assert (f"Did you mean '{near}'?" in done.stderr) == (near is not None)
    assert "'glost explain' lists them all" in done.stderr


@pytest.mark.parametrize(
    ("rules", "line", "said"),
    [
        ("base-totl: off", 3, "did you mean 'base-total'?"),
        ("syntax: off", 3, "'syntax' is not a key of rules"),
        ("base-total: loud", 3, "off, hint, warning"),
    ],
)
def test_settings_with_an_unknown_rule_or_level_exit_2(
    run: Run, tmp_path: Path, rules: str, line: int, said: str
) -> None:
    (tmp_path / "a.glost").write_text(GOOD)
    (tmp_path / "glost.yaml").write_text(f"batch: 100 g\nrules:\n  {rules}\n")
    done = run("lint")
    assert done.returncode == 2
    assert re.match(rf"glost\.yaml:{line}:\d+: error: ", done.stderr)
    assert said in done.stderr


# ---- forms of build servers, the least level, counts ---------------------------------------------------


def test_code_quality_report(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(BAD.replace("origin: own test\n", "").replace("cone: 6\n", ""))
    done = run("lint", "--output", "gitlab")
    rows = json.loads(done.stdout)
    found = json.loads(run("lint", "--output", "json").stdout)["findings"]
    assert [(row["check_name"], row["location"]["lines"]["begin"]) for row in rows] == [
        (one["rule"], one["line"]) for one in found
    ]
    assert {row["check_name"]: row["severity"] for row in rows} == {
        "base-total": "major",
        "missing-cone": "minor",
        "missing-origin": "info",
    }
    assert len({row["fingerprint"] for row in rows}) == len(rows)
    assert {row["location"]["path"] for row in rows} == {"a.glost"}
    (tmp_path / "a.glost").write_text(GOOD)
    assert json.loads(run("lint", "--output", "gitlab").stdout) == []


def test_junit_report_is_xml_whatever_a_recipe_is_called(run: Run, tmp_path: Path) -> None:
    import xml.etree.ElementTree as ElementTree

    (tmp_path / "a&<b>.glost").write_text(BAD.replace('"A"', '"A ]]> <&> \u0007"').replace("silica", "<&"))
    (tmp_path / "b.glost").write_text(HINT.replace('"A"', '"B"').replace("60", "61").replace("40", "39"))
    root = ElementTree.fromstring(run("lint", "--output", "junit").stdout.encode())
    found = json.loads(run("lint", "--output", "json").stdout)["findings"]
    assert root.tag == "testsuites"
    cases = list(root.iter("testcase"))
    assert [case.get("classname") for case in cases] == [one["file"] for one in found]
    assert int(root.get("tests", "")) == len(found)
    errors = sum(one["level"] == "error" for one in found)
    assert int(root.get("failures", "")) == errors == len(list(root.iter("failure"))) > 0
    assert len(list(root.iter("skipped"))) == len(found) - errors > 0


JUNIT = {
    "testsuites": ({"name", "time", "tests", "failures", "errors", "disabled"}, {"testsuite"}),
    "testsuite": (
        {"name", "tests", "failures", "errors", "time", "disabled", "skipped", "timestamp", "hostname", "id"},
        {"testcase", "properties", "system-out", "system-err"},
    ),
    "testcase": (
        {"name", "assertions", "time", "classname", "status"},
        {"skipped", "error", "failure", "system-out", "system-err"},
    ),
    "failure": ({"type", "message"}, set[str]()),
    "skipped": ({"type", "message"}, set[str]()),
}
"""What each element may have and hold: the schema junit-10.xsd, by which one of the common build servers goes (from
memory)."""


@pytest.mark.parametrize("page", [GOOD, HINT, BAD, 'glaze "A"\nbase\n\tsilica 1,5\n'])
def test_junit_report_holds_what_build_servers_know(run: Run, tmp_path: Path, page: str) -> None:
    import xml.etree.ElementTree as ElementTree

    (tmp_path / "a ä.glost").write_text(page, "utf-8")
    root = ElementTree.fromstring(run("lint", "--output", "junit").stdout.encode())
    for element in root.iter():
        attributes, children = JUNIT[element.tag]
        assert set(element.attrib) <= attributes, element.tag
        assert {child.tag for child in element} <= children, element.tag
        assert "name" in element.attrib or element.tag in ("failure", "skipped")
    assert list(root.iter("testcase")), "a report without a case is taken for a run that did not happen"
    for suite in [root, *root.iter("testsuite")]:
        for counted, tag in (("tests", "testcase"), ("failures", "failure"), ("skipped", "skipped")):
            assert suite.get(counted, str(len(list(suite.iter(tag))))) == str(len(list(suite.iter(tag))))


def test_code_quality_report_has_the_published_keys(run: Run, tmp_path: Path) -> None:
    """GitLab Docs, "Code Quality", "Code Quality report format" (from memory): each object has a description, a
    check_name, a fingerprint that no other has, one of five severities, and a place: a path from the top of the
    repository on, without ./ in front, and the line where it begins."""
    (tmp_path / "raku").mkdir()
    twice = BAD + 'series "s":\n    rutile  1, x\n    talc  1,5\n    zinc oxide  1,5\n'
    for name in ("a", "b ä"):
        (tmp_path / "raku" / f"{name}.glost").write_text(twice, "utf-8")
    (tmp_path / "raku" / "c.glost").write_bytes(b"\xff\xfe")
    for given in ([], ["./raku"], [str(tmp_path / "raku")]):
        text = run("lint", *given, "--output", "gitlab").stdout
        rows = json.loads(text)
        assert not text.startswith("\ufeff")
        assert len({row["fingerprint"] for row in rows}) == len(rows) > 4
        for row in rows:
            assert set(row) == {"description", "check_name", "fingerprint", "severity", "location"}
            assert row["severity"] in ("info", "minor", "major", "critical", "blocker")
            assert all(
                isinstance(row[key], str) and row[key] for key in ("description", "check_name", "fingerprint")
            )
            assert (tmp_path / row["location"]["path"]).is_file()
            assert row["location"]["path"].startswith("raku/")
            assert row["location"]["lines"]["begin"] >= 1


def test_counts_by_rule(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(BAD)
    (tmp_path / "b.glost").write_text(HINT.replace('"A"', '"B"').replace("60", "58"))
    done = run("lint", "--output", "counts")
    assert done.stdout == (
        "     2 error   base-total (in 2 files)\n     1 hint    missing-origin (in 1 file)\n"
    )
    assert done.returncode == 1


def test_least_level_hides_and_says_how_many(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(WARNING.replace("origin: own test\n", ""))
    assert "missing-origin" not in run("lint", "--level", "warning").stdout
    quiet = run("lint", "--level", "error")
    assert (quiet.returncode, quiet.stdout) == (0, "")
    assert quiet.stderr.endswith("not shown: 1 warning, 1 hint, below --level error\n")
    strict = run("lint", "--level", "warning", "--strict", "--output", "json")
    assert strict.returncode == 1
    assert [one["rule"] for one in json.loads(strict.stdout)["findings"]] == ["missing-cone"]
    assert run("lint", "--level", "error", "--strict").returncode == 2
    assert run("lint", "--level", "worst").returncode == 2
