"""A repository that is out to run something: programs that leave a mark when they are called, under every name that
git's configuration has for one, and the commands of glost that ask git."""

from __future__ import annotations

import io
import os
import shutil
import stat
import subprocess
import sys
from collections.abc import Iterable, Mapping, Sequence
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from typing import NamedTuple

from glost.cli.app import run
from glost.workspace.git import program

# git-config(1) and githooks(5) of the git that is installed. ``git help -c`` prints the names of the first.
HOOKS = (
    "applypatch-msg", "pre-applypatch", "post-applypatch", "pre-commit", "pre-merge-commit", "prepare-commit-msg",
    "commit-msg", "post-commit", "pre-rebase", "post-checkout", "post-merge", "pre-push", "pre-receive", "update",
    "proc-receive", "post-receive", "post-update", "reference-transaction", "push-to-checkout", "pre-auto-gc",
    "post-rewrite", "sendemail-validate", "fsmonitor-watchman", "p4-changelist", "p4-prepare-changelist",
    "p4-post-changelist", "p4-pre-submit", "post-index-change",
)  # fmt: skip

PAGE = """\
glaze "{name}"
cone: 6
atmosphere: oxidation
origin: invented for a test

base:
    nepheline syenite      {share}
    silica                 20
    whiting                {rest}

notes:
{notes}"""


def page(name: str, share: int = 50, lines: int = 20) -> str:
    """A page long enough for git to know it again under another name."""
    notes = "".join(f"    {name}, line {line}\n" for line in range(lines))
    return PAGE.format(name=name, share=share, rest=80 - share, notes=notes)


def documented() -> list[str]:
    """The name of every setting that the git at hand documents."""
    said = subprocess.run(["git", "help", "-c"], capture_output=True, text=True, check=True).stdout
    return [line for line in said.splitlines() if line and " " not in line]


def filled(name: str) -> str:
    """A documented name with the names of the test in the place of those that a person gives."""
    name = name.replace("<cmd>", "log").replace("<tool>", "trap").replace("<url>", "https://example.org")
    while "<" in name:
        before, _, rest = name.partition("<")
        name = f"{before}trap{rest.partition('>')[2]}"
    return name.replace("*", "trap")


class Git:
    """git as a person calls it, with nothing of the machine's settings."""

    def __init__(self, top: Path) -> None:
        self.top = top
        self._minutes = 0

    def __call__(self, *arguments: str, fails: bool = False) -> str:
        self._minutes += 1
        when = f"2026-01-01T{self._minutes // 60:02}:{self._minutes % 60:02}:00Z"
        who = {
            f"GIT_{role}_{what}": "t@example.org"
            for role in ("AUTHOR", "COMMITTER")
            for what in ("NAME", "EMAIL")
        }
        dates = {"GIT_AUTHOR_DATE": when, "GIT_COMMITTER_DATE": when}
        quiet = {"GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1"}
        done = subprocess.run(
            ["git", *arguments], cwd=self.top, env={**os.environ, **who, **dates, **quiet},
            capture_output=True, check=False,
        )  # fmt: skip
        assert fails or done.returncode == 0, done.stderr
        return done.stdout.decode("utf-8", "replace").strip()

    def commit(self, message: str) -> None:
        self("add", "--all")
        self("commit", "-q", "--allow-empty", "-m", message)


class Traps:
    """Programs that leave a mark. Each has a name of its own, so that the mark says who was called."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._marks = folder / "marks"
        self._marks.mkdir(parents=True)
        self._program = folder / "program"
        self._program.write_text(
            f'#!/bin/sh\ntouch "{self._marks}/$(basename "$0")"\n'
            'case "$0" in *filter*) cat;; *) exit 1;; esac\n'  # a filter hands on what it was given
        )
        self._program.chmod(0o755)

    def named(self, name: str) -> str:
        """The whole path of the program with that name."""
        path = self.folder / name.replace("/", "-")
        if not path.is_symlink():
            path.symlink_to(self._program)
        return str(path)

    def hooks(self, folder: Path) -> None:
        folder.mkdir(exist_ok=True)
        for name in HOOKS:
            shutil.copy(self._program, folder / name)

    def called(self) -> set[str]:
        """Who was called since the last time this was asked."""
        found = {path.name for path in self._marks.iterdir()}
        for name in found:
            (self._marks / name).unlink()
        return found


def studio(top: Path) -> Git:
    """A repository with something for every command: commits on two sides, a rename, pages that have changed, are
    staged, new, linked to, and one whose time stamp alone has changed."""
    top.mkdir()
    git = Git(top)
    git("init", "-q", "-b", "main", "--template=")
    (top / "glost.yaml").write_text("batch: 1 kg\n")
    (top / "shelf").mkdir()
    names = ["dune", "moss", "rust", "tern"]
    for name in names:
        (top / "shelf" / f"{name}.glost").write_text(page(name.title()))
    (top / "first.glost").write_text(page("Gräser"))
    (top / ".gitattributes").write_text("*.glost filter=trap diff=trap merge=trap\n*.txt text eol=crlf\n")
    git.commit("Erste Gräser")
    git("tag", "first")
    git("mv", "shelf/dune.glost", "shelf/drift.glost")
    git.commit("Drift statt Dünen")
    (top / "shelf" / "drift.glost").write_text(page("Dune", 45))
    git.commit("Mehr Kreide")
    git("checkout", "-q", "-b", "side")
    (top / "shelf" / "moss.glost").write_text(page("Moss", 55))
    git.commit("moss")
    git("checkout", "-q", "main")
    (top / "shelf" / "tern.glost").write_text(page("Tern", 40))
    git.commit("tern")
    git("merge", "-q", "--no-edit", "side")
    (top / "shelf" / "moss.glost").write_text(page("Moss", 60))
    (top / "shelf" / "new.glost").write_text(page("New", 30))
    (top / "shelf" / "staged.glost").write_text(page("Staged", 35))
    git("add", "shelf/staged.glost")
    (top / "shelf" / "rust.glost").touch()  # git has to look into it
    os.utime(top / "first.glost", ns=(1, 1))
    for side, share in (("base", 50), ("ours", 52), ("theirs", 54)):
        (top / f"{side}.side").write_text(page("Side", share))
    return git


COMMANDS: Sequence[Sequence[str]] = (
    ("convert", "--to", "sheet"),
    ("convert", "--to", "html", "shelf/drift.glost"),
    ("convert", "--to", "markdown", "first.glost", "shelf/rust.glost"),
    ("convert", "--to", "sheet", "--changed"),
    ("catalog", "--to", "csv"),
    ("catalog", "--to", "jsonl", "shelf"),
    ("lint", "--changed"),
    ("lint", "--changed", "first", "--output", "line"),
    ("lint", "--changed", "fist"),
    ("format", "--changed", "main~2", "--check"),
    ("compare", "HEAD"),
    ("compare", "first", "HEAD", "--output", "json"),
    ("compare", "side:shelf/moss.glost", "shelf/moss.glost"),
    ("history", "shelf/drift.glost", "--output", "csv"),
    ("history", "shelf/moss.glost"),
    ("blame", "shelf/moss.glost"),
    ("textconv", "shelf/moss.glost"),
    ("merge", "base.side", "ours.merged", "theirs.side", "shelf/side.glost"),
)
"""Every command that asks git, in each of its ways; ``git-setup`` is tried apart, since it changes the settings."""


class Answer(NamedTuple):
    """What a command said and did."""

    command: str
    status: int
    said: str
    noted: str


def answers(top: Path) -> list[Answer]:
    """What each command answers in that folder, run in this process."""
    found = []
    here = Path.cwd()
    os.chdir(top)
    try:
        for command in COMMANDS:
            shutil.copy("ours.side", "ours.merged")
            said, noted = (io.TextIOWrapper(io.BytesIO(), "utf-8", newline="") for _ in range(2))
            with redirect_stdout(said), redirect_stderr(noted):
                status = run(command)
            texts = []
            for stream in (said, noted):
                stream.seek(0)
                texts.append(stream.read())
            merged = Path("ours.merged").read_text() if command[0] == "merge" else ""
            found.append(Answer(" ".join(command), status, texts[0] + merged, texts[1]))
        Path("ours.merged").unlink()
    finally:
        os.chdir(here)
    return found


def settings_text(settings: Iterable[tuple[str, str]]) -> str:
    """Settings as git reads them from a file."""
    out = []
    for name, value in settings:
        section, _, rest = name.partition(".")
        middle, _, last = rest.rpartition(".")
        shown = value.replace("\\", "\\\\").replace('"', '\\"')
        out.append(f'[{section}{f" {chr(34)}{middle}{chr(34)}" if middle else ""}]\n\t{last} = "{shown}"\n')
    return "".join(out)


def git_refuses(git: Git, config: Path, before: str, settings: Sequence[tuple[str, str]]) -> bool:
    """Whether git itself does not work with these settings, for anybody."""
    config.write_text(before + settings_text(settings))
    quiet = {"GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1", "PATH": os.environ["PATH"]}
    calls = (["log", "-1", "-p"], ["status", "--porcelain"])  # which read most of them
    try:
        return any(
            subprocess.run(
                ["git", "--no-pager", "-c", "core.fsmonitor=false", "-c", "core.hooksPath=/dev/null", *call],
                cwd=git.top, env=quiet, capture_output=True, stdin=subprocess.DEVNULL, check=False,
            ).returncode
            for call in calls
        )  # fmt: skip
    finally:
        config.write_text(before)


def unprotected() -> Mapping[str, object]:
    """What stands in the place of program.words and program.environment, to see that the traps are set."""

    def words(more: Mapping[str, str]) -> list[str]:
        return []

    def environment(more: Mapping[str, str]) -> dict[str, str]:
        return {**os.environ, **more}

    assert callable(program.words)
    return {"words": words, "environment": environment}


def executable(path: Path, text: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text)
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return path


def glost(*arguments: str, cwd: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    """glost as a process."""
    return subprocess.run(
        [sys.executable, "-P", "-m", "glost", *arguments],
        cwd=cwd, env={**os.environ, **environment}, capture_output=True, text=True, check=False, timeout=60,
        stdin=subprocess.DEVNULL,
    )  # fmt: skip
