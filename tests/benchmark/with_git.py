"""What glost does in a repository, against git's own in the same run: compare, textconv, history, blame, format and
convert.

    python -m tests.benchmark.with_git [--recipes 2000] [--changed 50] [--runs 3]

It writes a repository of small pages of 18 lines, commits it, changes one amount of some of them in 40 commits, and
times whole processes. It prints tables of processor seconds and never fails on a time.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from tests.benchmark.__main__ import QUIET, small_pages, timed

COMMITS = 40


def write(folder: Path, count: int) -> list[Path]:
    """So many small pages, the same in every run."""
    (folder / "glost.yaml").write_text(QUIET, "utf-8")
    files = []
    for number, text in enumerate(small_pages(count)):
        file = folder / f"{number % 40:02}" / f"quay-{number}.glost"
        file.parent.mkdir(exist_ok=True)
        file.write_text(text, "utf-8")
        files.append(file)
    return files


class Repository:
    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.git("init", "-q", "-b", "main")

    def git(self, *words: str) -> None:
        who = {f"GIT_{role}_{what}": "a" for role in ("AUTHOR", "COMMITTER") for what in ("NAME", "EMAIL")}
        days = {f"GIT_{role}_DATE": "2026-03-01T12:00:00Z" for role in ("AUTHOR", "COMMITTER")}
        subprocess.run(["git", *words], cwd=self.folder, check=True, env={**os.environ, **who, **days})

    def commit(self, subject: str) -> None:
        self.git("add", "-A")
        self.git("commit", "-q", "-m", subject)


def beside_git(recipes: int, changed: int, runs: int, place: Path) -> None:
    folder = place / "shelf"
    folder.mkdir()
    files = write(folder, recipes)
    repository = Repository(folder)
    glost = [sys.executable, "-m", "glost"]
    subprocess.run([*glost, "git-setup"], cwd=folder, check=True, capture_output=True)
    subprocess.run([*glost, "format"], cwd=folder, check=False, capture_output=True)
    repository.commit("Begin")
    for at in range(COMMITS):
        for file in [files[0], *files[at::COMMITS][: changed - 1]]:
            text = file.read_text("utf-8")
            old = next(line for line in text.splitlines() if line.startswith("    whiting"))
            amount = float(old.split()[-1])
            file.write_text(text.replace(old, old.replace(f"{amount}", f"{amount + 0.5}")), "utf-8")
        repository.commit(f"More whiting {at}")
    one = str(files[0].relative_to(folder))
    cache = str(place / "cache")
    os.chdir(folder)

    def forget() -> None:
        subprocess.run(["git", "update-ref", "-d", "refs/notes/textconv/glost"], check=False)

    def empty() -> None:
        shutil.rmtree(place / "out", ignore_errors=True)

    log = ["git", "log", "-p", "-3", "--", "*.glost"]
    plain = [*log[:3], "--no-textconv", *log[3:]]
    rows: list[tuple[str, list[str], list[tuple[str, list[str], Callable[[], object]]]]] = [
        ("git diff --stat", ["git", "diff", "--stat", "HEAD~1", "HEAD"],
         [("glost compare HEAD~1 HEAD", [*glost, "compare", "HEAD~1", "HEAD"], int)]),
        ("git log -p -3 --no-textconv", plain,
         [("git log -p -3, textconv, first", log, forget), ("git log -p -3, textconv, again", log, int),
          ("glost git-setup --fill, all commits", [*glost, "git-setup", "--fill"], int),
          ("git log -p -3, textconv, after that", log, int)]),
        ("git log --follow -p FILE --no-textconv", ["git", "log", "--follow", "-p", "--no-textconv", "--", one],
         [("glost history FILE", [*glost, "history", one], int)]),
        ("git blame --no-textconv FILE", ["git", "blame", "--no-textconv", one],
         [("glost blame FILE", [*glost, "blame", one], int)]),
        ("git grep -c whiting", ["git", "grep", "-c", "whiting"],
         [("glost format --check, known", [*glost, "format", "--check"], int)]),
        ("git archive HEAD", ["git", "archive", "-o", str(place / "all.tar"), "HEAD"],
         [("glost convert --to csv", [*glost, "convert", "--to", "csv", "--out", f"{place}/out/"], empty)]),
    ]  # fmt: skip
    timed([*glost, "format", "--check"], 1, int, GLOST_CACHE=cache)
    print("| what | processor seconds | of git's own |\n| --- | --- | --- |")
    for name, command, others in rows:
        own = timed(command, runs)
        print(f"| `{name}` | {own.processor:.3f} | |")
        for other, words, before in others:
            taken = timed(words, runs, before, GLOST_CACHE=cache)
            print(
                f"| `{other}` | {taken.processor:.3f} | {taken.processor / max(own.processor, 0.001):.0f} x |",
                flush=True,
            )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--recipes", type=int, default=2000)
    parser.add_argument("--changed", type=int, default=50, help="recipes that a commit changes")
    parser.add_argument("--runs", type=int, default=3)
    asked = parser.parse_args()
    print(f"{os.cpu_count()} cores, Python {sys.version.split()[0]}; medians of {asked.runs} runs\n")
    with tempfile.TemporaryDirectory() as folder:
        beside_git(asked.recipes, asked.changed, asked.runs, Path(folder))


if __name__ == "__main__":
    main()
