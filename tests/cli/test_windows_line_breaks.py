"""A clone into which git wrote Windows line breaks: one message names the cause, the other rules still run, and one
command puts it right. The clone is made by git itself, with the setting that Windows has."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest

from tests.conftest import Run
from tests.repository import committed

PAGE = """\
glaze "{}"
cone: 6
atmosphere: oxidation
origin: own

base:
    silica {}
    kaolin 40  (a note)
notes:
    Two
    lines.
"""
NAMES = ("Dune", "Tern", "Mist")


@pytest.fixture
def clone(tmp_path: Path) -> Path:
    origin = tmp_path / "origin"
    for name in NAMES:
        file = origin / "raku" / f"{name.lower()}.glost"
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(PAGE.format(name, 60 if name != "Tern" else 59).encode())
    (origin / "glost.yaml").write_bytes(b"name: A bench (invented)\n")
    committed(origin, "begin")
    words = ["git", "clone", "-q", "-c", "core.autocrlf=true", str(origin), str(tmp_path / "clone")]
    subprocess.run(words, check=True)
    assert b"\r\n" in (tmp_path / "clone" / "raku" / "dune.glost").read_bytes()
    return tmp_path / "clone"


def findings(run: Run, folder: Path, *words: str) -> list[dict[str, str]]:
    found: list[dict[str, str]] = json.loads(run("lint", *words, "--output", "json", cwd=folder).stdout)[
        "findings"
    ]
    return found


def test_one_message_names_the_cause_and_the_command(run: Run, clone: Path) -> None:
    for words in ([], ["."], ["raku"]):
        told = [one for one in findings(run, clone, *words) if one["rule"] == "syntax"]
        assert [one["file"] for one in told] == ["raku/dune.glost"]
        assert (
            "3 pages here end their lines in CR LF, since core.autocrlf or core.eol has git write them so"
            in told[0]["message"]
        )
        assert "glost git-setup" in told[0]["hint"]
    [alone] = [one for one in findings(run, clone / "raku", "tern.glost") if one["rule"] == "syntax"]
    assert "1 page here ends its lines" in alone["message"]


def test_the_other_rules_still_run(run: Run, clone: Path) -> None:
    """They find what they find in the pages as they are committed, at the same places."""
    origin = clone.parent / "origin"
    assert [one for one in findings(run, clone) if one["rule"] != "syntax"] == findings(run, origin)
    one, other = clone / "raku" / "tern.glost", origin / "raku" / "tern.glost"
    assert run("lint", "--fix", str(one)).returncode == run("lint", "--fix", str(other)).returncode == 1
    assert one.read_bytes() == other.read_bytes()
    assert "base-total" in {one["rule"] for one in findings(run, origin)}


def test_git_setup_puts_it_right(run: Run, clone: Path) -> None:
    done = run("git-setup", cwd=clone)
    assert done.returncode == 0
    assert "3 pages: the lines end in LF again, as git holds them" in done.stdout
    assert "syntax" not in {one["rule"] for one in findings(run, clone)}
    changed = subprocess.run(
        ["git", "status", "--porcelain", "--", "*.glost"],
        cwd=clone,
        capture_output=True,
        text=True,
        check=True,
    )
    assert changed.stdout == ""
    assert "end in LF again" not in run("git-setup", cwd=clone).stdout


def test_what_somebody_changed_keeps_their_change(run: Run, clone: Path) -> None:
    page = clone / "raku" / "tern.glost"
    page.write_bytes(page.read_bytes().replace(b"59", b"60"))
    run("git-setup", cwd=clone)
    assert page.read_bytes() == PAGE.format("Tern", 60).encode()
    words = ["git", "status", "--porcelain", "--", "*.glost"]
    assert (
        subprocess.run(words, cwd=clone, capture_output=True, text=True, check=True).stdout
        == " M raku/tern.glost\n"
    )


def test_an_editor_is_told_as_before(run: Run, clone: Path) -> None:
    """What lies in no commit, or is committed with CR LF, is not git's doing."""
    page = clone / "raku" / "new.glost"
    page.write_bytes(PAGE.format("New", 60).replace("\n", "\r\n").encode())
    told = {one["file"]: one["message"] for one in findings(run, clone) if one["rule"] == "syntax"}
    assert set(told) == {"raku/dune.glost", "raku/new.glost"}
    assert "11 lines end in CR LF, as Windows editors write them" in told["raku/new.glost"]


def test_without_git_nothing_changes(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_bytes(PAGE.format("A", 60).replace("\n", "\r\n").encode())
    [told] = [one for one in findings(run, tmp_path) if one["rule"] == "syntax"]
    assert "as Windows editors write them" in told["message"]
    run("lint", "--fix", cwd=tmp_path)
    assert (tmp_path / "a.glost").read_bytes() == PAGE.format("A", 60).encode()


@pytest.mark.parametrize(
    "command",
    [["format", "--check"], ["convert", "--to", "csv"], ["compare"], ["formula", "."]],
    ids=" ".join,
)
def test_every_command_says_it_once(run: Run, clone: Path, command: list[str]) -> None:
    """Whatever somebody new does first in such a clone. No page is said to be an editor's doing."""
    (clone / "two.glost").write_bytes(PAGE.format("Two", 60).replace("\n", "\r\n").encode())
    said = run(*command, cwd=clone).stderr
    assert said.count("3 pages here end their lines in CR LF, since core.autocrlf") == 1
    assert said.count("glost git-setup") == 1
    assert said.count("as Windows editors write them") == 1
    assert said.count("two.glost:1:12: error: 11 lines end in CR LF") == 1


def test_lines_that_nobody_told_git_to_write_are_an_editors_doing(run: Run, clone: Path) -> None:
    """gitattributes(5), "text" and "eol"; git-config(1), core.autocrlf and core.eol. Here core.eol is what no platform
    asks for by itself, so that the answer is the same on each."""
    git = ["git", "-C", str(clone)]
    attributes = clone / ".gitattributes"

    def told(autocrlf: str, eol: str, said: str) -> bool:
        subprocess.run([*git, "config", "core.autocrlf", autocrlf], check=True)
        subprocess.run([*git, "config", "core.eol", eol], check=True)
        attributes.write_text(said, "utf-8")
        [page] = [one for one in findings(run, clone, "raku/dune.glost") if one["rule"] == "syntax"]
        by_git = "since core.autocrlf or core.eol has git write them so" in page["message"]
        assert by_git != ("as Windows editors write them" in page["message"])
        return by_git

    assert told("true", "lf", "")
    assert told("true", "lf", "*.glost text eol=lf\n")  # a page may lie there from before
    assert told("false", "crlf", "* text=auto\n")
    assert told("false", "lf", "*.glost eol=crlf\n")
    assert not told("false", "crlf", "")
    assert not told("false", "lf", "* text=auto\n")
    assert not told("input", "crlf", "* text=auto\n")
    assert not told("true", "crlf", "*.glost -text\n")
    assert not told("false", "crlf", "*.glost text eol=lf\n")
