"""Merges as git makes them, where what is merged is not three plain pages: branches that were merged into each other,
line breaks of Windows, a page that both made anew."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.test_git_setup import git, studio
from tests.conftest import Run

__all__ = ["studio"]

PAGE = """\
engobe "Kelp Line"
cone: 04
origin: invented for this test
use: test

base:
    ball clay         45
    silica            20
    talc              20
    whiting           15
"""
SILICA = ("silica            20", "silica            23")
ALSO_SILICA = ("silica            20", "silica            18")
CLAY = ("ball clay         45", "ball clay         47")
TALC = ("talc              20", "talc              17")
WHITING = ("whiting           15", "whiting           12")


class Team:
    """One page that several branches change."""

    def __init__(self, folder: Path, name: str = "kelp-line.glost") -> None:
        self.folder = folder
        self.page = folder / name
        self.git("checkout", "-q", "-B", "main")
        self.page.write_text(PAGE, "utf-8")
        self.git("add", "-A")
        self.git("commit", "-qm", "begin")

    def git(self, *words: str) -> str:
        return git(self.folder, *words)

    def write(self, text: str) -> None:
        self.page.write_bytes(text.encode("utf-8"))
        self.git("commit", "-qam", "edit")

    def edit(self, *swaps: tuple[str, str]) -> None:
        text = self.text
        for old, new in swaps:
            assert old in text, old
            text = text.replace(old, new)
        self.write(text)

    def branch(self, name: str, at: str = "main") -> None:
        self.git("checkout", "-q", "-b", name, at)

    @property
    def text(self) -> str:
        return self.page.read_bytes().decode("utf-8")


def crossed(team: Team, *, other: tuple[str, str]) -> None:
    """Two branches that both changed silica, were merged into each other, and settled it: "left" for its own amount,
    "right" as ``other`` says."""
    team.branch("left")
    team.edit(SILICA)
    team.branch("right")
    team.git("reset", "-q", "--hard", "main")
    team.edit(ALSO_SILICA, WHITING)
    team.git("branch", "left-first", "left")
    team.git("branch", "right-first", "right")
    for here, there, silica in (("left", "right-first", SILICA), ("right", "left-first", other)):
        team.git("checkout", "-q", here)
        assert "CONFLICT" in team.git("merge", "--no-edit", there)
        team.write(PAGE.replace(*WHITING).replace(*silica))


@pytest.mark.parametrize("style", ["merge", "diff3"])
def test_branches_merged_into_each_other_are_merged_again(studio: Path, style: str) -> None:
    team = Team(studio)
    git(studio, "config", "merge.conflictStyle", style)
    crossed(team, other=SILICA)
    team.edit(CLAY)
    team.git("checkout", "-q", "left")
    team.edit(TALC)
    said = team.git("merge", "--no-edit", "right")
    assert "CONFLICT" not in said
    assert "both changed" not in said  # of what was settled long ago
    meant = PAGE
    for swap in (SILICA, WHITING, CLAY, TALC):
        meant = meant.replace(*swap)
    assert team.text == meant


def test_only_what_both_changed_since_is_a_conflict(studio: Path) -> None:
    team = Team(studio)
    crossed(team, other=SILICA)
    team.edit(CLAY, TALC)
    team.git("checkout", "-q", "left")
    team.edit(("talc              20", "talc              16"))
    said = team.git("merge", "--no-edit", "right")
    assert "both changed base, talc" in said
    assert "it was" not in said  # of what both come from there is no one total
    lines = [line.strip() for line in team.text.splitlines()]
    assert lines.count(SILICA[1]) == lines.count(CLAY[1]) == 1
    at = next(number for number, line in enumerate(lines) if line.startswith("<<<<<<< left: base, talc"))
    assert lines[at + 1 : at + 4] == ["talc              16", "=======", TALC[1]]
    assert lines[at + 4].startswith(">>>>>>> right: base, talc")


def test_what_was_settled_otherwise_by_both_is_a_conflict(studio: Path) -> None:
    team = Team(studio)
    crossed(team, other=("silica            20", "silica            20"))
    team.git("checkout", "-q", "left")
    said = team.git("merge", "--no-edit", "right")
    assert "CONFLICT" in said
    assert SILICA[1] in team.text
    assert SILICA[0] in team.text


def test_settings_of_branches_merged_into_each_other(studio: Path) -> None:
    (studio / "glost.yaml").write_text("name: Kelp\nwater: 80\nsieve: 80\n", "utf-8")
    team = Team(studio, "glost.yaml")
    begun = "name: Kelp\nwater: 80\nsieve: 80\n"
    team.write(begun)
    team.branch("left")
    team.write(begun.replace("water: 80", "water: 70"))
    team.branch("right", "main")
    team.write(begun.replace("water: 80", "water: 75"))
    team.git("branch", "left-first", "left")
    team.git("branch", "right-first", "right")
    for here, there in (("left", "right-first"), ("right", "left-first")):
        team.git("checkout", "-q", here)
        assert "CONFLICT" in team.git("merge", "--no-edit", there)
        team.write(begun.replace("water: 80", "water: 72"))
    team.edit(("name: Kelp", "name: Wrack"))
    team.git("checkout", "-q", "left")
    team.edit(("sieve: 80", "sieve: 60"))
    assert "CONFLICT" not in team.git("merge", "--no-edit", "right")
    assert team.text == "name: Wrack\nwater: 72\nsieve: 60\n"


@pytest.mark.parametrize("turned", ["ours", "theirs", "both", "before"])
def test_line_breaks_of_windows_are_no_change_of_a_line(studio: Path, turned: str) -> None:
    (studio / ".gitattributes").write_text("*.glost diff=glost merge=glost\n", "utf-8")
    team = Team(studio)

    def ending(text: str, windows: bool) -> str:
        return text.replace("\n", "\r\n") if windows else text

    team.write(ending(PAGE, turned == "before"))
    team.branch("trial")
    team.write(ending(PAGE.replace(*SILICA), turned in ("theirs", "both", "before")))
    team.git("checkout", "-q", "main")
    team.write(ending(PAGE.replace(*TALC), turned in ("ours", "both", "before")))
    said = team.git("merge", "--no-edit", "trial")
    assert "CONFLICT" not in said
    assert team.text == ending(PAGE.replace(*SILICA).replace(*TALC), windows=True)


def test_a_conflict_among_line_breaks_of_windows_is_one_line(studio: Path) -> None:
    (studio / ".gitattributes").write_text("*.glost diff=glost merge=glost\n", "utf-8")
    team = Team(studio)
    team.branch("trial")
    team.write(PAGE.replace(*SILICA).replace("\n", "\r\n"))
    team.git("checkout", "-q", "main")
    team.edit(ALSO_SILICA, TALC)
    assert "both changed base, silica" in team.git("merge", "--no-edit", "trial")
    lines = team.text.split("\r\n")
    assert "\n" not in "".join(lines)
    at = next(number for number, line in enumerate(lines) if line.startswith("<<<<<<< main"))
    assert lines[at + 1 : at + 4] == [f"    {ALSO_SILICA[1]}", "=======", f"    {SILICA[1]}"]
    assert f"    {TALC[1]}" in lines


def test_a_file_with_line_breaks_of_both_kinds_keeps_them(run: Run, tmp_path: Path) -> None:
    mixed = PAGE.replace("cone: 04\n", "cone: 04\r\n")
    for name, text in (("base", PAGE), ("ours", mixed), ("theirs", PAGE.replace(*SILICA))):
        (tmp_path / name).write_bytes(text.encode("utf-8"))
    run("merge", "base", "ours", "theirs", "kelp-line.glost", cwd=tmp_path)
    assert (tmp_path / "ours").read_bytes() == mixed.replace(*SILICA).encode("utf-8")


def test_a_page_that_both_made_anew_is_told_as_one(studio: Path) -> None:
    team = Team(studio)
    for name, swap in (("here", SILICA), ("there", TALC)):
        team.branch(name, "main")
        (studio / "new one.glost").write_text(PAGE.replace(*swap), "utf-8")
        team.git("add", "-A")
        team.git("commit", "-qm", name)
    said = team.git("merge", "--no-edit", "here")
    assert "new one.glost: merged line by line, as git does: both sides made a new page of this name" in said
    text = (studio / "new one.glost").read_text("utf-8")
    assert SILICA[1] in text
    assert TALC[1] in text
