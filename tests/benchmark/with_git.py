"""What glost does in a repository, against git's own in the same run: compare, textconv, history, blame, format and
convert; a comparison of many pages of which some differ, against one of those alone; and a large collection checked,
tabled and asked in a database.

    python -m tests.benchmark.with_git [--recipes 2000] [--changed 50] [--runs 3] [--scale 20000]

It writes a repository of small pages of 17 lines, commits it, changes one amount of some of them in 40 commits, and
times whole processes. It prints tables of processor seconds and never fails on a time.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from tests.benchmark.__main__ import Taken, timed

MATERIALS = ("potash feldspar", "whiting", "kaolin", "silica", "talc", "zinc oxide")
COMMITS = 40


def page(chance: random.Random, number: int) -> str:
    others = [chance.randint(50, 150) for _ in MATERIALS[1:]]
    amounts = [1000 - sum(others), *others]
    lines = [f"    {name:<18}{amount / 10:>8.1f}" for name, amount in zip(MATERIALS, amounts, strict=True)]
    above = ("cone: 6", "atmosphere: oxidation", "surface: satin", f"origin: own test {number}", "")
    below = (
        "additions:",
        f"    tin oxide         {chance.randint(30, 80) / 10:>8.1f}",
        "    bentonite              2.0",
    )
    return "\n".join([f'glaze "Quay {number}"', *above, "base:", *lines, "", *below, ""])


def write(folder: Path, count: int) -> list[Path]:
    """So many pages, the same in every run."""
    chance = random.Random(2026)
    (folder / "glost.yaml").write_text(
        "batch: 500 g\nhandling:\n  all: P100 respirator and gloves; wet-clean spills.\n", "utf-8"
    )
    files = []
    for number in range(count):
        file = folder / f"{number % 40:02}" / f"quay-{number}.glost"
        file.parent.mkdir(exist_ok=True)
        file.write_text(page(chance, number), "utf-8")
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
    cache = {"GLOST_CACHE": str(place / "cache")}
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
    timed([*glost, "format", "--check"], 1, int, **cache)
    print("| what | processor seconds | of git's own |\n| --- | --- | --- |")
    for name, command, others in rows:
        own = timed(command, runs)
        print(f"| `{name}` | {own.processor:.3f} | |")
        for other, words, before in others:
            taken = timed(words, runs, before, **cache)
            print(
                f"| `{other}` | {taken.processor:.3f} | {taken.processor / max(own.processor, 0.001):.0f} x |",
                flush=True,
            )


def alone(changed: int, runs: int, place: Path) -> None:
    """A comparison of two revisions of many pages of which some differ, against a repository of those alone."""
    whole = place / "shelf"
    said = subprocess.run(
        ["git", "diff", "--name-only", "HEAD~1", "HEAD"],
        cwd=whole,
        check=True,
        capture_output=True,
        text=True,
    )
    few = place / "few"
    repository = None
    for revision in ("HEAD~1", "HEAD"):
        for name in ["glost.yaml", *said.stdout.split()]:
            held = subprocess.run(
                ["git", "show", f"{revision}:{name}"], cwd=whole, check=True, capture_output=True
            )
            (few / name).parent.mkdir(parents=True, exist_ok=True)
            (few / name).write_bytes(held.stdout)
        repository = repository or Repository(few)
        repository.commit(revision)
    count = sum(1 for _ in whole.rglob("*.glost"))
    cache = {"GLOST_CACHE": str(place / "cache")}
    taken = {}
    for folder in (few, whole):
        os.chdir(folder)
        taken[folder] = timed(
            [sys.executable, "-m", "glost", "compare", "HEAD~1", "HEAD"], runs, int, **cache
        )
    print("\n| what | processor seconds | of those alone |\n| --- | --- | --- |")
    print(f"| `glost compare` of {changed} pages, all of which differ | {taken[few].processor:.3f} | |")
    seconds = taken[whole].processor
    times = seconds / max(taken[few].processor, 0.001)
    print(
        f"| `glost compare` of {count:,} pages of which {changed} differ | {seconds:.3f} | {times:.2f} x |",
        flush=True,
    )


def at_scale(count: int, place: Path) -> None:
    """A large collection on one machine, and in a database."""
    folder = place / "large"
    folder.mkdir()
    write(folder, count)
    glost = [sys.executable, "-m", "glost"]
    cache = {"GLOST_CACHE": str(place / "large-cache")}
    os.chdir(folder)
    tables = (
        "import duckdb; duckdb.sql(\"CREATE TABLE t AS SELECT * FROM read_json('catalog.jsonl', sample_size=-1)\");"
        'print(duckdb.sql("SELECT cone, count(*) FROM t GROUP BY ALL").fetchall())'
    )
    rows: list[tuple[str, list[str]]] = [
        ("glost lint, cold", [*glost, "lint"]),
        ("glost lint, known pages", [*glost, "lint"]),
        ("glost format --check", [*glost, "format", "--check"]),
        ("glost catalog --to jsonl", [*glost, "catalog", "--to", "jsonl", "--out", "catalog.jsonl"]),
        ("DuckDB: load the table, one question", [sys.executable, "-c", tables]),
    ]
    print("| recipes | what | processor seconds | wall seconds | MB of the first process |")
    print("| --- | --- | --- | --- | --- |")
    for name, command in rows:
        taken: Taken = timed(command, 1, int, **cache)
        print(
            f"| {count:,} | {name} | {taken.processor:.1f} | {taken.wall:.1f} | {taken.memory} |", flush=True
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--recipes", type=int, default=2000)
    parser.add_argument("--changed", type=int, default=50, help="recipes that a commit changes")
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--scale", type=int, default=0, help="recipes of the large collection; 0 for none")
    asked = parser.parse_args()
    print(f"{os.cpu_count()} cores, Python {sys.version.split()[0]}; medians of {asked.runs} runs\n")
    with tempfile.TemporaryDirectory() as folder:
        if asked.recipes:
            beside_git(asked.recipes, asked.changed, asked.runs, Path(folder))
            alone(asked.changed, asked.runs, Path(folder))
        if asked.scale:
            at_scale(asked.scale, Path(folder))


if __name__ == "__main__":
    main()
