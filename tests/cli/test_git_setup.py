"""git set up to compare and merge recipes, and put back."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.test_compare import PAGE, SILICA, WHITING, edit
from tests.conftest import Run

KAOLIN = ("kaolin                 16", "kaolin                 18")


@pytest.fixture
def studio(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, run: Run) -> Path:
    """A repository that is set up."""
    for who in ("AUTHOR", "COMMITTER"):
        monkeypatch.setenv(f"GIT_{who}_NAME", "Tern Saltmarsh")
        monkeypatch.setenv(f"GIT_{who}_EMAIL", "tern@example.org")
    folder = tmp_path / "studio"
    (folder / "blue").mkdir(parents=True)
    git(folder, "init", "-q", "-b", "main")
    (folder / "blue" / "harbour-mist.glost").write_text(PAGE, "utf-8")
    assert run("git-setup", cwd=folder / "blue").returncode == 0
    git(folder, "add", ".")
    git(folder, "commit", "-q", "-m", "one")
    return folder


def git(folder: Path, *arguments: str) -> str:
    done = subprocess.run(["git", *arguments], cwd=folder, capture_output=True, text=True, check=False)
    return f"{done.stdout}{done.stderr}"


def branches(folder: Path, ours: list[tuple[str, str]], theirs: list[tuple[str, str]]) -> Path:
    """Two branches with those changes of one recipe; ours is checked out."""
    page = folder / "blue" / "harbour-mist.glost"
    git(folder, "checkout", "-q", "-b", "theirs")
    edit(page, *theirs)
    git(folder, "commit", "-qam", "theirs")
    git(folder, "checkout", "-q", "main")
    edit(page, *ours)
    git(folder, "commit", "-qam", "ours")
    return page


def test_git_diff_shows_the_meaning(studio: Path) -> None:
    page = studio / "blue" / "harbour-mist.glost"
    edit(page, SILICA, ("kaolin    ", "china clay"))
    lines = git(studio, "diff", "-U0").splitlines()
    assert [line for line in lines if line[:1] in "+-"][2:] == [
        "-    silica                        22",
        "+    silica                        24",
        "-    base total: 100 parts",
        "+    base total: 102 parts",
        "+    base, kaolin: china clay",
    ]


def test_git_merges_different_materials_beside_each_other(studio: Path) -> None:
    page = branches(studio, [SILICA], [WHITING])
    assert "CONFLICT" not in git(studio, "merge", "--no-edit", "theirs")
    assert page.read_text("utf-8") == PAGE.replace(*SILICA).replace(*WHITING)
    assert git(studio, "status", "--porcelain") == ""


def test_without_us_the_same_is_a_conflict(studio: Path, run: Run) -> None:
    assert run("git-setup", "--undo", cwd=studio).returncode == 0
    git(studio, "add", "-A")
    git(studio, "commit", "-qm", "without")
    branches(studio, [SILICA], [WHITING])
    assert "CONFLICT" in git(studio, "merge", "--no-edit", "theirs")


def test_the_same_material_is_a_conflict_that_names_it(studio: Path) -> None:
    page = branches(studio, [SILICA, KAOLIN], [(SILICA[0], "silica                 25"), WHITING])
    said = git(studio, "merge", "--no-edit", "theirs")
    assert "both changed base, silica: 'silica 24' in main, 'silica 25' in theirs" in said
    assert "CONFLICT" in said
    text = page.read_text("utf-8")
    assert text.count("<<<<<<< ") == text.count("=======\n") == text.count(">>>>>>> ") == 1
    assert KAOLIN[1] in text
    assert WHITING[1] in text


def test_a_side_that_cannot_be_read_is_merged_as_git_does(studio: Path) -> None:
    broken = [("silica                 22", "silica")]
    page = branches(studio, [WHITING, KAOLIN], broken)
    said = git(studio, "merge", "--no-edit", "theirs")
    assert "merged line by line, as git does" in said
    assert "<<<<<<< main" in page.read_text("utf-8")


def starts(folder: Path, *arguments: str) -> tuple[int, str]:
    """How many times git starts a program to show a page, by its own trace, and what it prints."""
    environment = {**os.environ, "GIT_TRACE": "1"}
    done = subprocess.run(
        ["git", *arguments], cwd=folder, capture_output=True, text=True, check=True, env=environment
    )
    return sum("run_command" in line and "textconv" in line for line in done.stderr.splitlines()), done.stdout


def test_what_git_shows_of_all_commits_is_worked_out_in_one_go(run: Run, studio: Path) -> None:
    page = studio / "blue" / "harbour-mist.glost"
    edit(page, SILICA)
    (studio / "draft.glost").write_text('glaze "Draft"\nbase:\n    silica\n', "utf-8")
    (studio / "kiln.firing").write_text('firing "One"\ndate: 2026-03-01\ncone: 6\n', "utf-8")
    git(studio, "add", ".")
    git(studio, "commit", "-qm", "two")
    git(studio, "checkout", "-qb", "side", "HEAD~1")
    edit(page, WHITING)
    git(studio, "commit", "-qam", "on a branch")
    git(studio, "checkout", "-q", "main")
    log = ("log", "-p", "--all", "--", "*.glost", "*.firing")
    count, meant = starts(studio, *log)
    assert count == 5  # three of one page, a draft, a firing
    assert starts(studio, *log) == (0, meant)
    done = run("git-setup", "--fill", cwd=studio)  # which begins anew
    assert done.stdout.endswith("5 pages of all commits: git keeps what it shows of them\n")
    assert starts(studio, *log) == (0, meant)
    # git goes on with what is kept: it asks for what came since, keeps it, and drops nothing.
    edit(page, KAOLIN)
    git(studio, "commit", "-qam", "three")
    assert starts(studio, *log)[0] == 1
    assert starts(studio, *log)[0] == 0
    assert "error" not in git(studio, "fsck", "--strict")
    # By the command of another glost nothing of it is taken.
    command = git(studio, "config", "diff.glost.textconv").strip()
    git(studio, "config", "diff.glost.textconv", command.replace("git-setup ", "git-setup another-"))
    assert starts(studio, *log)[0] == 6


def test_only_what_git_hands_over_as_it_is_held_is_worked_out(run: Run, studio: Path) -> None:
    """A page that a filter changes on its way, or that is shown otherwise, is git's to ask for."""
    for name in ("a", "b", "c"):
        (studio / f"{name}.glost").write_text(PAGE.replace("Harbour Mist", name), "utf-8")
    with (studio / ".gitattributes").open("a", encoding="utf-8") as attributes:
        attributes.write("a.glost filter=own\nb.glost ident\nc.glost -diff\n")
    git(studio, "add", ".")
    git(studio, "commit", "-qm", "two")
    done = run("git-setup", "--fill", cwd=studio)
    assert done.stdout.endswith("1 page of all commits: git keeps what it shows of them\n")


@pytest.mark.parametrize("other", ["--undo", "--print"])
def test_what_is_filled_is_set_up(run: Run, studio: Path, other: str) -> None:
    done = run("git-setup", "--fill", other, cwd=studio)
    assert (done.returncode, "--fill stands by itself" in done.stderr) == (2, True)


def test_textconv_prints_what_it_cannot_read_as_it_is(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_bytes(b"glaze\nno \xe4\n")
    code = "import sys; from glost.cli import main; main(['textconv', 'a.glost'])"
    done = subprocess.run([sys.executable, "-c", code], cwd=tmp_path, capture_output=True, check=True)
    assert done.stdout == b"glaze\nno \xe4\n"
    assert run("textconv", "b.glost").returncode == 2


@pytest.mark.parametrize(
    "other",
    [
        PAGE.replace("    silica                 22\n", "").replace("    kaolin", "    silica 22\n    kaolin"),
        PAGE.replace("kaolin    ", "china clay"),
        PAGE.replace("38", "76").replace("22", "44").replace("  14\n", "  28\n").replace("  16\n", "  32\n")
        .replace("  10\n", "  20\n").replace("  4\n", "  8\n").replace(" 0.5  (", " 1  (")
        .replace("  1\n", "  2\n").replace("0.25, 0.5, 1, 2", "0.5, 1, 2, 4"),
    ],
    ids=["order", "spelling", "scale"],
)  # fmt: skip
def test_textconv_keeps_meaning_and_writing_apart(run: Run, tmp_path: Path, other: str) -> None:
    texts = []
    for text in (PAGE, other):
        (tmp_path / "a.glost").write_text(text, "utf-8")
        texts.append(run("textconv", "a.glost").stdout.partition("as written:"))
    assert texts[0][0] == texts[1][0]
    assert texts[0][2] != texts[1][2]


@pytest.mark.parametrize(
    "before", [None, "", "*.png binary", "*.png binary\n", "\ufeff*.png binary\n", "a text\r\n"]
)
def test_undo_leaves_everything_as_it_was(run: Run, tmp_path: Path, before: str | None) -> None:
    git(tmp_path, "init", "-q")
    attributes = tmp_path / ".gitattributes"
    if before is not None:
        attributes.write_bytes(before.encode("utf-8"))
    config = (tmp_path / ".git" / "config").read_bytes()
    for _ in range(2):  # twice is once
        assert run("git-setup").returncode == 0
    assert "glost" in git(tmp_path, "check-attr", "merge", "a.glost")
    done = run("git-setup", "--undo")
    assert done.returncode == 0
    assert (attributes.read_bytes().decode("utf-8") if attributes.exists() else None) == before
    assert (tmp_path / ".git" / "config").read_bytes() == config
    assert run("git-setup", "--undo").stdout == "nothing was set up here\n"


def test_print_writes_nothing(run: Run, tmp_path: Path) -> None:
    git(tmp_path, "init", "-q")
    config = (tmp_path / ".git" / "config").read_bytes()
    done = run("git-setup", "--print")
    assert "glost merge" in done.stdout
    assert not (tmp_path / ".gitattributes").exists()
    assert (tmp_path / ".git" / "config").read_bytes() == config


def test_what_somebody_set_is_not_overwritten(run: Run, tmp_path: Path) -> None:
    git(tmp_path, "init", "-q")
    git(tmp_path, "config", "merge.glost.driver", "mine")
    done = run("git-setup")
    assert done.returncode == 2
    assert "merge.glost.driver is set to 'mine' already" in done.stderr
    assert not (tmp_path / ".gitattributes").exists()
    assert run("git-setup", "--undo").returncode == 0
    assert git(tmp_path, "config", "merge.glost.driver") == "mine\n"


def test_outside_a_repository(run: Run) -> None:
    assert run("git-setup", cwd=Path("/")).returncode == 2


def test_a_clean_merge_across_a_change_of_scale_is_told(run: Run, tmp_path: Path) -> None:
    """The merge is git's, but what one side added stands in the scale that the other has left."""
    base = 'glaze "Dune"\ncone: 6\n\nbase:\n    silica  60\n    kaolin  20\n    whiting  120\n\n\nnotes:\n    thin\n'
    theirs = base.replace("120", "60").replace("  20", "  10").replace("silica  60", "silica  30")
    ours = base + '\nvariation "blue":\n    cobalt carbonate  1\n'
    for name, text in (("base", base), ("ours", ours), ("theirs", theirs)):
        (tmp_path / name).write_text(text)
    done = run("merge", "base", "ours", "theirs", "dune.glost")
    assert done.returncode == 0
    assert "read it before it is weighed: one side wrote the base at another scale" in done.stderr


def test_a_history_of_names_and_subjects_of_any_kind(run: Run, tmp_path: Path) -> None:
    git(tmp_path, "init", "-q")
    git(tmp_path, "config", "user.name", "bench")
    git(tmp_path, "config", "user.email", "bench@example.org")
    others = {"a[1].glost": "silica", "a1.glost": "nepheline syenite", ":x.glost": "zinc oxide"}
    for number, subject in enumerate(["one", "four \x01 x \x02 y", "three"]):
        for name, material in others.items():
            notes = "".join(
                f"    {material} {line}, {name}\n" for line in range(30)
            )  # git must not see a copy
            base = f"base:\n    {material}  {50 + number}\n    kaolin  50\n\nnotes:\n{notes}"
            (tmp_path / name).write_text(f'glaze "{material} {number}"\n{base}')
            git(tmp_path, "add", f":(literal){name}")
            git(tmp_path, "commit", "-q", "-m", subject)
    for name, material in others.items():
        done = run("history", f"./{name}", "--output", "csv")
        assert done.returncode == 0, done.stderr
        assert all(f"{material} {number}" in done.stdout for number in range(3))
        assert not any(f"{other} 0" in done.stdout for other in others.values() if other != material)
    assert "is a folder; name one recipe in it" in run("history", ".").stderr


@pytest.mark.parametrize(
    ("file", "line", "said"),
    [
        (".gitattributes", "*.glost merge=union", "but not 2 files, such as blue/harbour-mist.glost"),
        ("blue/.gitattributes", "*.glost -merge", "another line of attributes says -merge"),
        ("blue/.gitattributes", "*.glost !diff", "says !diff, so that git shows it without glost"),
        (".git/info/attributes", "*.glost diff", "says diff, so that git shows them without glost"),
        (
            ".gitattributes",
            "materials.yaml merge=ours",
            "such as materials.yaml: another line of attributes says merge=ours",
        ),
    ],
)
def test_attributes_that_go_before_ours_are_told(
    studio: Path, run: Run, file: str, line: str, said: str
) -> None:
    place = studio / file
    before = place.read_text("utf-8") if place.exists() else ""
    place.write_text(f"{before}{line}\n", "utf-8")
    done = run("git-setup", cwd=studio)
    assert done.returncode == 0
    assert said in done.stdout
    assert place.read_text("utf-8").endswith(f"{line}\n")
    assert "but not" not in run("git-setup", "--undo", cwd=studio).stdout
    place.write_text(before, "utf-8")
    assert "but not" not in run("git-setup", cwd=studio).stdout
