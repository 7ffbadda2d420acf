"""What a walk leaves out: what git is told to ignore, and what glost.yaml skips; and what is said of a name that both
would leave out. git itself is asked what it ignores."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from tests.conftest import Run
from tests.repository import committed

PAGE = 'glaze "{}"\ncone: 6\natmosphere: oxidation\norigin: own\n\nbase:\n    silica 60\n    kaolin 40\n'
FILES = (
    "a.glost", "keep/b.glost", "drop/c.glost", "drop/deep/d.glost", "nested/e.glost", "nested/f.glost",
    "nested/in/g.glost", "nested/in/h.glost", "odd [1]/i.glost", "été/j.glost", "held/k.glost",
)  # fmt: skip


def page(path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(PAGE.format(path.stem))


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    folder = tmp_path / "studio"
    for name in FILES:
        page(folder / name)
    (folder / "glost.yaml").write_text("")
    subprocess.run(["git", "init", "-q", "-b", "main"], cwd=folder, check=True)
    return folder


def seen(run: Run, cwd: Path, *words: str) -> set[str]:
    done = run("find", *words, cwd=cwd)
    assert done.returncode < 2, done.stderr
    listed = run("catalog", *words, "--to", "csv", cwd=cwd).stdout.splitlines()[1:]
    return {line.split(",")[0] for line in listed}


def git_sees(folder: Path) -> set[str]:
    words = ["git", "-c", "core.quotePath=false", "ls-files", "-co", "--exclude-standard", "--", "*.glost"]
    return set(
        subprocess.run(words, cwd=folder, capture_output=True, text=True, check=True).stdout.splitlines()
    )


@pytest.mark.parametrize(
    "ignores",
    [
        {},
        {".gitignore": "drop/\n"},
        {".gitignore": "/nested/*\n!/nested/in\n"},
        {".gitignore": "*.glost\n!a.glost\n", "nested/.gitignore": "!e.glost\n", "nested/in/.gitignore": "!g.*\n"},
        {".gitignore": "/odd \\[1\\]/\nété\n# a word\n\n"},
        {"nested/.gitignore": "in/h.glost\n", "drop/.gitignore": "*\n"},
        {".git/info/exclude": "deep\nkeep/\n"},
        {".gitignore": "**/in/\ndrop/**\n!drop/c.glost\n"},
        {".gitignore": "*\n"},
    ],
    ids=str,
)  # fmt: skip
def test_a_walk_sees_what_git_sees(run: Run, studio: Path, ignores: dict[str, str]) -> None:
    for name, text in ignores.items():
        (studio / name).parent.mkdir(parents=True, exist_ok=True)
        (studio / name).write_text(text)
    assert seen(run, studio) == git_sees(studio)
    for folder in ("keep", "nested"):
        below = git_sees(studio / folder)
        said = run("lint", cwd=studio / folder).stderr
        if "glost: . is left out by what git is told to ignore; named, it is taken\n" in said:
            assert not below  # whoever stands in such a folder means it
        else:
            assert seen(run, studio / folder) == below


def test_what_git_holds_is_not_ignored(run: Run, studio: Path) -> None:
    committed(studio, "all")
    (studio / ".gitignore").write_text("held/\ndrop/\n")
    page(studio / "held" / "new.glost")
    assert seen(run, studio) == git_sees(studio) == set(FILES)


def test_a_checkout_within_is_left_out_once_it_is_ignored(run: Run, studio: Path) -> None:
    committed(studio, "all")
    subprocess.run(["git", "worktree", "add", "-q", "review"], cwd=studio, check=True)
    with (studio / ".git" / "info" / "exclude").open("a") as file:
        file.write("review/\n")
    assert seen(run, studio) == set(FILES)


def test_a_setting_of_the_person_counts(run: Run, studio: Path, tmp_path: Path) -> None:
    (tmp_path / "mine").write_text("keep/\n")
    subprocess.run(["git", "config", "core.excludesFile", str(tmp_path / "mine")], cwd=studio, check=True)
    assert seen(run, studio) == set(FILES) - {"keep/b.glost"}


def test_without_a_repository_none_counts(run: Run, tmp_path: Path) -> None:
    page(tmp_path / "a.glost")
    (tmp_path / ".gitignore").write_text("*\n")
    assert seen(run, tmp_path) == {"a.glost"}


@pytest.mark.parametrize(
    "command", ["lint", "format --check", "convert --to csv", "formula", "catalog --to csv", "batch"]
)
def test_every_walk_leaves_the_same_out(run: Run, studio: Path, command: str) -> None:
    (studio / "drop" / "c.glost").write_text("glase\n")
    (studio / ".gitignore").write_text("c.glost\n")
    done = run(*command.split(), cwd=studio)
    assert "c.glost" not in done.stdout + done.stderr


@pytest.mark.parametrize(
    ("skip", "gone"),
    [
        ("drop", {"drop/c.glost", "drop/deep/d.glost"}),
        ("nested/e.glost", {"nested/e.glost"}),
        ("nested/*.glost", {"nested/e.glost", "nested/f.glost"}),
        ("nested/**/*.glost", {"nested/e.glost", "nested/f.glost", "nested/in/g.glost", "nested/in/h.glost"}),
        ("**/in", {"nested/in/g.glost", "nested/in/h.glost"}),
        ("**/?.glost", set(FILES)),
        ("*", set(FILES)),
        ("odd [1]", {"odd [1]/i.glost"}),
        ("Drop", set()),
        ("e.glost", set()),
        ("nested/.*", set()),
    ],
)
def test_skip_takes_folders_pages_and_patterns(run: Run, studio: Path, skip: str, gone: set[str]) -> None:
    (studio / "glost.yaml").write_text(f'skip: ["{skip}"]\n')
    for _ in range(2):  # the second run knows the settings already
        assert seen(run, studio) == set(FILES) - gone
    hooked = run("lint", "--in-collection", *FILES, cwd=studio)
    assert f"{len(FILES) - len(gone)} recipe" in hooked.stdout + hooked.stderr or not set(FILES) - gone


def test_what_is_named_is_taken_and_that_is_said(run: Run, studio: Path) -> None:
    (studio / "glost.yaml").write_text("skip: [held]\n")
    (studio / ".gitignore").write_text("drop/\n")
    for named, why in (
        ("drop", "what git is told to ignore"),
        ("drop/deep", "what git is told to ignore"),
        ("held", "skip in glost.yaml"),
        ("held/k.glost", "skip in glost.yaml"),
    ):
        done = run("convert", named, "--to", "jsonl", cwd=studio)
        assert f"glost: {named} is left out by {why}; named, it is taken\n" in done.stderr
        assert done.stdout
    assert run("convert", "drop/deep/d.glost", "--to", "jsonl", cwd=studio).stdout
    for named in ("keep", "a.glost", "."):
        assert "left out" not in run("convert", named, "--to", "jsonl", cwd=studio).stderr
