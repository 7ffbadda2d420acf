"""The SARIF report against the standard's own schema.

Source: sarif-schema-2.1.0.json, the schema of the OASIS Standard SARIF 2.1.0; see data/README.md.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any
from urllib.parse import unquote_to_bytes, urlsplit

import pytest
from jsonschema import Draft4Validator
from tests.conftest import STUDIO, Run

from glost.language.source import DecodeError, Source
from glost.linter.engine import LintContext, check
from glost.linter.finding import ERROR, HINT, OFF, WARNING, Finding, unreadable
from glost.linter.reporters import sarif as reporter
from glost.linter.rule import all_rules
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.settings import Settings

SCHEMA = json.loads((Path(__file__).parent / "data" / "sarif-schema-2.1.0.json").read_text("utf-8"))
VALID = Draft4Validator(SCHEMA)
BENCH = LintContext(shipped_catalogue(), Settings())
PAGE = """\
glaze "A"
cone: 6
base:
    nepheline syenite  60
    grandfather's clay  9
    grandfather's clay  9
    whiting            21
"""


def sarif(findings: Iterable[Finding]) -> str:
    return "".join(reporter.sarif(findings))


NAMES = [
    "a.glost",
    "a b/c d.glost",
    "100%.glost",
    "a%20b.glost",
    "c:d.glost",
    "#1?.glost",
    "[x]{y}|z^`.glost",
    "blå hav.glost",
    "雨.glost",
    'say "no".glost',
    "back\\slash.glost",
    "line\nbreak.glost",
    "\x1b[2J.glost",
    "\u202egnp.glost",
    os.fsdecode(b"h\xe4he.glost"),
    "-",
    "../beside/a.glost",
    "/srv/recipes/a b.glost",
]


def finding(file: str = "a.glost", level: str = ERROR) -> Finding:
    return Finding(file, 6, 1, 6, 6, "base-total", level, "the base\x1b totals 99", "find it", "base:")


def results(text: str) -> list[dict[str, Any]]:
    log = json.loads(text)
    VALID.validate(log)
    assert (log["$schema"], log["version"], len(log["runs"])) == (SCHEMA["id"], "2.1.0", 1)
    found: list[dict[str, Any]] = log["runs"][0]["results"]
    return found


def uri(result: dict[str, Any]) -> str:
    return str(result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"])


def test_the_schema_is_one_and_refuses_what_is_no_report() -> None:
    Draft4Validator.check_schema(SCHEMA)
    assert not VALID.is_valid({"version": "2.1.0"})
    assert not VALID.is_valid({"version": "2.1.0", "runs": [{"results": []}]})


def test_report_of_everything_that_the_rules_find_is_valid(run: Run) -> None:
    done = run("lint", str(STUDIO / "needs-work"), "--output", "sarif")
    assert done.returncode == 1
    assert {result["ruleId"] for result in results(done.stdout)} == {
        rule.name for rule in all_rules() if rule.level != OFF
    }


def test_report_of_nothing_is_valid() -> None:
    assert results(sarif([])) == []


def test_lines_and_files_that_cannot_be_read_are_valid(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(PAGE + "    kaolin\n")
    (tmp_path / "b.glost").write_bytes(b"\xff\xfe")
    (tmp_path / "c.glost").write_bytes(b"")
    done = run("lint", "--output", "sarif")
    assert done.returncode == 2
    assert {result["ruleId"] for result in results(done.stdout)} >= {"syntax", "unreadable"}


@pytest.mark.parametrize("name", NAMES, ids=ascii)
def test_report_of_a_hostile_file_name_is_valid_and_names_the_file(name: str) -> None:
    text = sarif([finding(name)])
    text.encode("utf-8")
    (result,) = results(text)
    # Source: RFC 3986, sections 2 and 4.2: the signs of a path, and no colon in the first segment (from memory).
    assert re.fullmatch(r"(file:///)?(%[0-9A-F]{2}|[A-Za-z0-9._~/-])+", uri(result))
    parts = urlsplit(uri(result))
    assert (parts.query, parts.fragment, parts.netloc) == ("", "", "")
    assert unquote_to_bytes(parts.path) == os.fsencode(name)


@pytest.mark.parametrize("name", [name for name in NAMES if name != "-" and "/" not in name], ids=ascii)
def test_file_of_that_name_is_reported_by_a_run(run: Run, tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text(PAGE)
    assert {unquote_to_bytes(uri(r)) for r in results(run("lint", "--output", "sarif").stdout)} == {
        os.fsencode(name)
    }


def test_path_with_a_drive_is_a_file_uri() -> None:
    (result,) = results(sarif([finding("D:/recipes/a.glost")]))
    assert uri(result) == "file:///D%3A/recipes/a.glost"


def test_every_rule_has_a_record_and_every_result_points_at_its_own() -> None:
    (run_,) = json.loads(sarif([]))["runs"]
    records = {record["id"]: record for record in run_["tool"]["driver"]["rules"]}
    assert set(records) == {rule.name for rule in all_rules()} | {"syntax", "unreadable"}
    levels = {ERROR: "error", WARNING: "warning", HINT: "note", OFF: "note"}
    for rule in all_rules():
        record = records[rule.name]
        assert record["defaultConfiguration"]["level"] == levels[rule.level]
        assert record["defaultConfiguration"].get("enabled", True) == (rule.level != OFF)
        assert record["shortDescription"]["text"] == rule.summary
        assert record["fullDescription"]["text"]
        assert record["help"]["text"]
    found = json.loads(sarif(check(Source("a.glost", PAGE), BENCH)))["runs"][0]
    for result in found["results"]:
        assert found["tool"]["driver"]["rules"][result["ruleIndex"]]["id"] == result["ruleId"]


@pytest.mark.parametrize(("level", "said"), [(ERROR, "error"), (WARNING, "warning"), (HINT, "note")])
def test_levels(level: str, said: str) -> None:
    assert results(sarif([finding(level=level)]))[0]["level"] == said


def test_columns_count_characters() -> None:
    """Source: SARIF 2.1.0, 3.14.17: columnKind is utf16CodeUnits or unicodeCodePoints (from the schema)."""
    assert json.loads(sarif([]))["runs"][0]["columnKind"] == "unicodeCodePoints"
    text = PAGE.replace("grandfather's clay", "\U0001d538 clay")
    region = next(
        r["locations"][0]["physicalLocation"]["region"]
        for r in results(sarif(check(Source("a.glost", text), BENCH)))
        if r["ruleId"] == "unknown-material"
    )
    assert region == {"startLine": 5, "startColumn": 5, "endLine": 5, "endColumn": 11}


def prints(text: str) -> list[tuple[str, str]]:
    return [
        (result["ruleId"], result["partialFingerprints"]["glostFinding/v1"])
        for result in results(sarif(check(Source("a.glost", text), BENCH)))
    ]


def test_fingerprints_stay_when_lines_are_put_in_above() -> None:
    assert prints(f"# an old card\n\n{PAGE}") == prints(PAGE)
    assert prints(PAGE.replace("base:", "surface: satin\nbase:")) == prints(PAGE)


def test_equal_lines_have_fingerprints_of_their_own() -> None:
    found = prints(PAGE)
    assert len([rule for rule, _ in found if rule == "unknown-material"]) == 2
    assert len(set(found)) == len(found)


def test_changed_line_has_another_fingerprint() -> None:
    changed = prints(PAGE.replace("grandfather's clay  9", "grandmother's clay  9", 1))
    assert len(set(changed) - set(prints(PAGE))) >= 1


def test_unreadable_file_has_a_region_and_a_message() -> None:
    (result,) = results(sarif([unreadable("a.glost", DecodeError("this is a folder", "name a file in it"))]))
    assert result["message"]["text"] == "this is a folder. name a file in it."
