"""What the marks of a conflict say after real merges: who, what the base totals, and what stood there before."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from glost.workspace.git.drivers import settings
from tests.cli.test_compare import PAGE, SILICA, WHITING
from tests.cli.test_git_setup import KAOLIN, branches, git, studio
from tests.conftest import Run

__all__ = ["studio"]

THEIRS = (SILICA[0], "silica                 25")


def marks(page: Path) -> list[str]:
    return [line for line in page.read_text("utf-8").splitlines() if line[:7] in {s * 7 for s in "<|=>"}]


def test_marks_name_the_branches_and_the_total_of_each_choice(studio: Path) -> None:
    page = branches(studio, [SILICA], [THEIRS, WHITING])
    git(studio, "branch", "-m", "theirs", "loft/trial")
    said = git(studio, "merge", "--no-edit", "loft/trial")
    name = "blue/harbour-mist.glost"
    assert (
        f"{name}: both changed base, silica: 'silica 24' in main, 'silica 25' in loft/trial; before 'silica 22'"
        in said
    )
    assert f"{name}: the base totals 100 with main, 101 with loft/trial; it was 100" in said
    assert marks(page) == [
        "<<<<<<< main: base, silica (base totals 100)",
        "=======",
        ">>>>>>> loft/trial: base, silica (base totals 101)",
    ]


def test_neither_choice_totals_what_the_base_did(studio: Path) -> None:
    """Each side took from another material what it gave to silica."""
    branches(studio, [SILICA, ("kaolin                 16", "kaolin                 14")], [THEIRS, WHITING])
    said = git(studio, "merge", "--no-edit", "theirs")
    assert "the base totals 98 with main, 99 with theirs; it was 100, which neither gives" in said


@pytest.mark.parametrize("style", ["diff3", "zdiff3"])
def test_what_both_come_from_stands_between_the_marks_where_it_is_asked_for(studio: Path, style: str) -> None:
    page = branches(studio, [SILICA], [THEIRS])
    git(studio, "-c", f"merge.conflictStyle={style}", "merge", "--no-edit", "theirs")
    assert [line[:3] for line in marks(page)] == ["<<<", "|||", "===", ">>>"]
    assert marks(page)[1] == "||||||| base: base, silica (base totals 100)"
    assert "    silica                 22\n=======" in page.read_text("utf-8")
    # And so it does where git does it line by line.
    git(studio, "merge", "--abort")
    page.write_text(page.read_text("utf-8").replace("silica                 24", "silica"), "utf-8")
    git(studio, "commit", "-qam", "cannot be read")
    git(studio, "-c", f"merge.conflictStyle={style}", "merge", "--no-edit", "theirs")
    assert [line[:3] for line in marks(page)] == ["<<<", "|||", "===", ">>>"]
    assert marks(page)[0] == "<<<<<<< main"


def test_totals_of_several_choices_are_those_of_one_side_in_all(studio: Path) -> None:
    """A choice here and another there would total what nobody has written."""
    page = branches(
        studio, [SILICA, ("whiting                14", "whiting                11")], [THEIRS, WHITING]
    )
    said = git(studio, "merge", "--no-edit", "theirs")
    assert said.count("both changed base, ") == 2
    assert "the base totals 99 with all from main, 101 with all from theirs; it was 100" in said
    assert marks(page).count("<<<<<<< main: base, silica (base totals 99, all from main)") == 1
    assert marks(page)[-1] == ">>>>>>> theirs: base, whiting (base totals 101, all from theirs)"


def test_asked_for_afterwards(studio: Path) -> None:
    """As the page of git's checkout has it: the merge of one file is made again."""
    page = branches(studio, [SILICA], [THEIRS])
    git(studio, "merge", "--no-edit", "theirs")
    assert len(marks(page)) == 3
    git(studio, "branch", "-m", "theirs", "loft/third-shelf")
    git(studio, "-c", "merge.conflictStyle=diff3", "checkout", "--merge", "--", "blue/harbour-mist.glost")
    assert len(marks(page)) == 4
    assert marks(page)[-1].startswith(">>>>>>> loft/third-shelf: base, silica")


def test_a_rebase_names_the_branch_that_is_carried_over_and_the_one_it_is_put_on(studio: Path) -> None:
    page = branches(studio, [SILICA], [THEIRS])
    git(studio, "checkout", "-q", "theirs")
    git(studio, "rebase", "main")
    begin, _, end = marks(page)
    assert begin == "<<<<<<< main: base, silica (base totals 102)"
    assert end == ">>>>>>> theirs: base, silica (base totals 103)"


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        (
            ("'HEAD'", "'1a2b3c4'", "'c03bcbb (Less silica; $(touch x))'"),
            ("main", "c03bcbb (Less silica; $(touch x))"),
        ),
        (
            ("'Updated upstream'", "'Stash base'", "'Stashed changes'"),
            ("Updated upstream", "Stashed changes"),
        ),
        (("%X", "%S", "%Y"), ("main", "theirs")),
    ],
    ids=["a commit", "a stash", "an older git"],
)
@pytest.mark.parametrize("works", [True, False])
def test_names_that_a_newer_git_hands_over(
    studio: Path, given: tuple[str, str, str], shown: tuple[str, str], works: bool, run: Run
) -> None:
    """git 2.44 and newer put names for %X, %S and %Y, quoted for the shell (gitattributes(5))."""
    command = git(studio, "config", "glost.command").strip()
    driver = settings([command if works else "/nowhere/glost"])["merge.glost.driver"]
    for name, text in (("O", PAGE), ("A", PAGE.replace(*SILICA)), ("B", PAGE.replace(*THEIRS))):
        (studio / name).write_text(text, "utf-8")
    words = {"O": "O", "A": "A", "B": "B", "P": "'a page.glost'", "L": "7"}
    words |= dict(zip("XSY", given, strict=True))
    line = driver.replace("%%", "\0")
    for sign, word in words.items():
        line = line.replace(f"%{sign}", word)
    environment_git = "/usr/lib/git-core:/usr/local/bin:/usr/bin:/bin"
    done = subprocess.run(
        ["sh", "-c", line.replace("\0", "%")],
        cwd=studio,
        env={"PATH": environment_git},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1, done.stderr
    begin, _, end = marks(studio / "A")
    ours, theirs = shown
    if not works and given[0] == "%X":
        ours = "ours"
    elif not works and given[0] == "'HEAD'":
        ours = "HEAD"  # git's own words
    assert begin.startswith(f"<<<<<<< {ours}")
    assert end.startswith(f">>>>>>> {theirs}")
    assert not (studio / "x").exists()


def test_a_comment_and_an_amount_on_one_line_are_merged(studio: Path) -> None:
    page = branches(studio, [KAOLIN], [(KAOLIN[0], f"{KAOLIN[0]}  # the new sack")])
    assert "CONFLICT" not in git(studio, "merge", "--no-edit", "theirs")
    assert f"{KAOLIN[1]}  # the new sack\n" in page.read_text("utf-8")


# ---- materials.yaml --------------------------------------------------------------------------------------

MATERIALS = """\
materials:
  - name: loft clay
    role: clay
    source: invented
    analysis: {SiO2: 60, Al2O3: 40}
"""


def new(name: str) -> str:
    return (
        f"\n  - name: {name}\n    role: clay\n    source: invented\n    analysis: {{SiO2: 50, Al2O3: 50}}\n"
    )


@pytest.fixture
def materials(studio: Path) -> Path:
    (studio / "glost.yaml").write_text("materials: materials.yaml\n", "utf-8")
    (studio / "materials.yaml").write_text(MATERIALS, "utf-8")
    git(studio, "add", "-A")
    git(studio, "commit", "-qm", "materials")
    return studio / "materials.yaml"


def two(materials: Path, ours: str, theirs: str) -> str:
    folder = materials.parent
    git(folder, "checkout", "-q", "-b", "trial")
    materials.write_text(theirs, "utf-8")
    git(folder, "commit", "-qam", "theirs")
    git(folder, "checkout", "-q", "main")
    materials.write_text(ours, "utf-8")
    git(folder, "commit", "-qam", "ours")
    return git(folder, "merge", "--no-edit", "trial")


def test_two_people_who_add_a_material_are_no_conflict(materials: Path, run: Run) -> None:
    said = two(materials, MATERIALS + new("bank clay"), MATERIALS + new("tide silt"))
    assert "CONFLICT" not in said, said
    done = run("materials", "tide silt", cwd=materials.parent)
    assert done.returncode == 0, done.stderr
    assert git(materials.parent, "status", "--porcelain") == ""


@pytest.mark.parametrize("command", [["lint"], ["compare", "HEAD"], ["formula", "."], ["format", "--check"]])
def test_its_unfinished_merge_is_told_once(materials: Path, run: Run, command: list[str]) -> None:
    said = two(materials, MATERIALS.replace("60", "61"), MATERIALS.replace("60", "62"))
    assert "materials.yaml: both changed materials, loft clay, analysis" in said
    text = materials.read_text("utf-8")
    assert "<<<<<<< main: materials, loft clay, analysis\n" in text
    assert ">>>>>>> trial: materials, loft clay, analysis\n" in text
    done = run(*command, cwd=materials.parent)
    if command[0] != "format":  # layout needs no materials
        assert done.returncode == 2
        assert done.stderr.count("error: ") + done.stdout.count("error: ") == 1, done.stderr
        assert (
            "materials.yaml:5:1: error: a merge is not finished: lines 5 to 9 hold what both sides wrote"
            in (done.stderr + done.stdout)
        )


def test_git_setup_covers_the_settings_too(studio: Path) -> None:
    held = (studio / ".gitattributes").read_text("utf-8")
    for name in ("glost.yaml", "materials.yaml"):
        assert f"{name} text eol=lf merge=glost\n" in held


def test_what_an_earlier_glost_wrote_is_renewed(studio: Path, run: Run) -> None:
    held = studio / ".gitattributes"
    now = held.read_text("utf-8")
    held.write_text(
        now.replace("glost.yaml text eol=lf merge=glost\nmaterials.yaml text eol=lf merge=glost\n", "")
    )
    assert run("git-setup", cwd=studio).returncode == 0
    assert held.read_text("utf-8") == now
