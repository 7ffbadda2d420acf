"""The two ready workflows of docs/workflows, run as a runner would: every ``run:`` by bash, in a clone of the demo
collection, with a glost that the workflow's own step installs from this checkout.

What the platform's own actions do is not ours to prove; here they are only named, and what they hand over is there.
The form of a workflow: the schema that check-jsonschema ships (schemastore's "github-workflow", from its own package).
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import venv
from pathlib import Path
from typing import Any, NamedTuple

import pytest
import yaml
from jsonschema import Draft4Validator

from tests.annotations import read
from tests.checkout import WHO, call, commit_checkout, git, give_up
from tests.conftest import STUDIO, TOP

pytestmark = pytest.mark.network

WORKFLOWS = TOP / "docs" / "workflows"
WORKFLOW = yaml.safe_load((WORKFLOWS / "glost.yml").read_text("utf-8"))
STEPS: list[dict[str, Any]] = WORKFLOW["jobs"]["recipes"]["steps"]
SARIF = Draft4Validator(
    json.loads((TOP / "tests" / "outside" / "data" / "sarif-schema-2.1.0.json").read_text("utf-8"))
)
ADDRESS = "git+https://example.org/glost@v0.1.0"
PLATFORM = {
    "actions/checkout",
    "actions/setup-python",
    "actions/upload-artifact",
    "github/codeql-action/upload-sarif",
}
"""The platform's own actions (from memory)."""


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Where glost as it lies here is installed from."""
    folder = tmp_path_factory.mktemp("source")
    return f"git+file://{folder}@{commit_checkout(folder)}"


def path_with_python(folder: Path, with_pip: bool) -> str:
    """A path with a Python of its own in front, and no glost on it."""
    venv.create(folder, with_pip=with_pip, symlinks=True)
    rest = [part for part in os.environ["PATH"].split(os.pathsep) if not (Path(part) / "glost").exists()]
    return os.pathsep.join([str(folder / "bin"), *rest])


@pytest.fixture(scope="module")
def runner(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The path on a runner on which the platform has set Python up; the workflow installs glost into it."""
    return path_with_python(tmp_path_factory.mktemp("runner"), with_pip=True)


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The path on a machine that has Python and nothing more."""
    return path_with_python(tmp_path_factory.mktemp("python"), with_pip=False)


@pytest.fixture
def clone(tmp_path: Path) -> Path:
    """A clone of the demo collection, which has a branch ``origin/main``."""
    shutil.copytree(STUDIO, tmp_path / "shared")
    git(tmp_path / "shared", "init", "-q", "-b", "main")
    git(tmp_path / "shared", "add", "-A")
    git(tmp_path / "shared", "commit", "-q", "-m", "the demo collection")
    git(tmp_path, "clone", "-q", "shared", "clone")
    return tmp_path / "clone"


class Ran(NamedTuple):
    """A step that was run, its exit status, and what it printed to standard output and to standard error."""

    name: str
    status: int
    out: str
    error: str


def run_steps(folder: Path, address: str, path: str) -> list[Ran]:
    """Runs the steps as the runner does: each in a bash that stops at the first failure; after a step that failed only
    those go on that say so (GitHub Docs, "Workflow syntax", from memory)."""
    environment = {**os.environ, **WHO, **WORKFLOW["env"], "GLOST": address, "PATH": path}
    ran: list[Ran] = []
    for step in STEPS:
        failed = any(one.status for one in ran)
        if "run" not in step or (failed and "!cancelled()" not in step.get("if", "")):
            continue
        done = subprocess.run(
            ["bash", "-e", "-c", step["run"]],
            cwd=folder, env=environment, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False,
        )  # fmt: skip
        ran.append(Ran(step["name"], done.returncode, done.stdout, done.stderr))
        if step["name"] == "Install glost" and done.returncode:
            give_up("the workflow", done.stderr, folder)
    return ran


def spoil(folder: Path) -> None:
    """Puts two bad pages into the collection: one with a mistake, one that is not laid out."""
    shutil.copy(folder / "needs-work" / "base-total.glost", folder / "raku" / "base-total.glost")
    page = next(iter(sorted((folder / "washes").glob("*.glost"))))
    page.write_text(page.read_text("utf-8").replace("\n    ", "\n  "), "utf-8")


def recipes_of(folder: Path) -> list[Path]:
    """The recipes of the demo collection but for those that it skips."""
    return [file for file in folder.rglob("*.glost") if "needs-work" not in file.parts]


def results(report: Path) -> list[dict[str, Any]]:
    log = json.loads(report.read_text("utf-8"))
    SARIF.validate(log)
    found: list[dict[str, Any]] = log["runs"][0]["results"]
    return found


# ---- GitHub --------------------------------------------------------------------------------------------------


def test_the_workflow_is_valid() -> None:
    words = ["-m", "check_jsonschema", "--builtin-schema", "vendor.github-workflows"]
    status, said = call(TOP, sys.executable, *words, str(WORKFLOWS / "glost.yml"))
    assert status == 0, said


def test_the_workflow_calls_the_platforms_own_actions_alone() -> None:
    used = [step["uses"] for step in STEPS if "uses" in step]
    assert {name.partition("@")[0] for name in used} == PLATFORM
    assert all(re.fullmatch(r"v\d+", name.partition("@")[2]) for name in used)
    assert [step for step in STEPS if ("uses" in step) == ("run" in step)] == []


def test_the_address_is_the_one_on_the_page() -> None:
    assert WORKFLOW["env"]["GLOST"] == ADDRESS
    assert f"${{GLOST:-{ADDRESS}}}" in (WORKFLOWS / "check.sh").read_text("utf-8")
    page = (TOP / "docs" / "git.md").read_text("utf-8")
    assert f"repo: {ADDRESS.removeprefix('git+').partition('@')[0]}\n    rev: v0.1.0\n" in page


def test_the_workflow_over_the_demo_collection(clone: Path, address: str, runner: str) -> None:
    ran = run_steps(clone, address, runner)
    assert [(one.name, one.status) for one in ran] == [
        (step["name"], 0) for step in STEPS if "run" in step
    ], ran
    check = next(one for one in ran if one.name == "Check the recipes")
    assert check.out == ""
    uploads = {
        step["uses"].partition("@")[0]: step["with"] for step in STEPS if "upload" in step.get("uses", "")
    }
    assert results(clone / uploads["github/codeql-action/upload-sarif"]["sarif_file"]) == []
    sheets = clone / uploads["actions/upload-artifact"]["path"]
    recipes = {
        file.relative_to(clone).with_suffix("")
        for file in clone.rglob("*.glost")
        if "needs-work" not in str(file)
    }
    assert {file.relative_to(sheets).with_suffix("") for file in sheets.rglob("*.txt")} == recipes
    commit = git(clone, "rev-parse", "--short", "HEAD").strip()
    assert all(commit in file.read_text("utf-8") for file in sheets.rglob("*.txt"))


def test_the_workflow_says_what_is_wrong(clone: Path, address: str, runner: str) -> None:
    spoil(clone)
    ran = {one.name: one for one in run_steps(clone, address, runner)}
    assert {name: one.status for name, one in ran.items()} == {
        "Install glost": 0,
        "Look at the layout": 1,
        "Check the recipes": 1,
    }
    assert "would be laid out anew" in ran["Look at the layout"].out
    told = [read(line) for line in ran["Check the recipes"].out.splitlines()]
    assert ("error", "raku/base-total.glost", "base-total") in {
        (command, about["file"], about["title"]) for command, about, _ in told
    }
    # The two reports say the same of the same places.
    places = {
        (
            result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"],
            str(result["locations"][0]["physicalLocation"]["region"]["startLine"]),
            result["ruleId"],
        )
        for result in results(clone / "glost.sarif")
    }
    assert places == {(about["file"], about["line"], about["title"]) for _, about, _ in told}
    assert not (clone / "sheets").exists()


# ---- any runner ----------------------------------------------------------------------------------------------


def run_script(folder: Path, address: str, path: str, *words: str) -> tuple[int, str]:
    script = str(WORKFLOWS / "check.sh")
    status, said = call(folder, "bash", script, *words, GLOST=address, PATH=path, PYTHONIOENCODING="utf-8")
    if status == 2 and "pip" in said:
        give_up("the script", said, folder)
    return status, said


def test_the_script_over_the_demo_collection(clone: Path, address: str, path: str) -> None:
    status, said = run_script(clone, address, path)
    assert (status, "nothing found" in said) == (0, True), said
    assert len(list((clone / "reports" / "sheets").rglob("*.txt"))) == len(recipes_of(clone))
    assert results(clone / "reports" / "glost.sarif") == []
    assert json.loads((clone / "reports" / "findings.json").read_text("utf-8"))["findings"] == []


@pytest.fixture
def with_glost(path: str, tmp_path: Path) -> str:
    """The path with the glost of this checkout on it, which the script then takes."""
    programs = tmp_path / "programs"
    programs.mkdir()
    (programs / "glost").write_text(f'#!/bin/sh\nexec "{sys.executable}" -m glost "$@"\n')
    (programs / "glost").chmod(0o755)
    return f"{programs}{os.pathsep}{path}"


def test_the_script_ends_with_the_worst_status_and_writes_no_sheet(clone: Path, with_glost: str) -> None:
    spoil(clone)
    status, said = run_script(clone, "none", with_glost)
    assert status == 1
    assert "raku/base-total.glost:16:1: error: the base totals 99" in said
    assert "would be laid out anew" in said
    assert {result["ruleId"] for result in results(clone / "reports" / "glost.sarif")} >= {"base-total"}
    assert not (clone / "reports" / "sheets").exists()
    (clone / "raku" / "blurred.glost").write_bytes(b"\xff")
    assert run_script(clone, "none", with_glost)[0] == 2


def test_the_script_reports_only_what_a_branch_changes(clone: Path, with_glost: str) -> None:
    git(clone, "checkout", "-q", "-b", "trial")
    spoil(clone)
    git(clone, "add", "raku")
    git(clone, "commit", "-q", "-m", "trial")
    git(clone, "checkout", "-q", "--", "washes")
    status, said = run_script(clone, "none", with_glost, "origin/main")
    assert status == 1
    assert "1 recipe checked: 1 error" in said
    git(clone, "checkout", "-q", "main")
    status, said = run_script(clone, "none", with_glost, "origin/main")
    assert (status, "no recipe has changed since origin/main" in said) == (0, True)
    assert run_script(clone, "none", with_glost, "origin/mian")[0] == 2


def test_the_script_stops_where_glost_cannot_be_installed(clone: Path, path: str) -> None:
    status, said = call(clone, "bash", str(WORKFLOWS / "check.sh"), GLOST=str(clone / "nowhere"), PATH=path)
    assert status == 2
    assert "nowhere" in said
    assert not (clone / "reports").exists()
