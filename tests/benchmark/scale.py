"""What large collections take on one machine: time, memory, and how both grow.

    python -m tests.benchmark.scale [--sizes 200,2000,20000] [--without formula,find]

It writes so many small pages of 18 lines, with one test each and nothing found, and runs each command once, as a whole
process; last a lint of the same pages with two findings on each. It prints a row a command: processor seconds of it and
all that it started, wall seconds, and the memory of the first process; and how many times more the largest collection
takes than the smallest. It never fails on a time.
100,000 pages take 400 MB of disk, and their table as JSON Lines as much again.
"""

from __future__ import annotations

import argparse
import os
import shutil
import sys
import tempfile
from pathlib import Path

from tests.benchmark.__main__ import FOUND, MANY, MOST_MB, Taken, timed
from tests.benchmark.with_git import write

_IN_DATABASE = (
    "import duckdb; duckdb.sql(\"CREATE TABLE t AS SELECT * FROM read_json('catalog.jsonl', sample_size=-1)\");"
    'print(duckdb.sql("SELECT cone, count(*) FROM t GROUP BY ALL").fetchall())'
)


def commands() -> dict[str, list[str]]:
    """What is run in the folder of the collection, in this order."""
    glost = [sys.executable, "-m", "glost"]
    return {
        "glost lint, cold": [*glost, "lint"],
        "glost lint, known pages": [*glost, "lint"],
        "glost lint --output json, known pages": [*glost, "lint", "--output", "json"],
        "glost format --check": [*glost, "format", "--check"],
        "glost format --check, known pages": [*glost, "format", "--check"],
        "glost catalog --to jsonl": [*glost, "catalog", "--to", "jsonl", "--out", "catalog.jsonl"],
        "DuckDB: load the table, one question": [sys.executable, "-c", _IN_DATABASE],
        "glost find --cone 6": [*glost, "find", "--cone", "6"],
        "glost formula --output json": [*glost, "formula", "--output", "json"],
        f"glost lint, cold{_FOUND}": [*glost, "lint"],
        f"glost lint, known pages{_FOUND}": [*glost, "lint"],
        f"glost lint --output sarif, known pages{_FOUND}": [*glost, "lint", "--output", "sarif"],
    }


_FOUND = ", two findings on each"


def measure(count: int, folder: Path, without: list[str]) -> dict[str, Taken]:
    """Prints a row a command over so many pages; what each took."""
    pages = folder / "pages"
    pages.mkdir(parents=True)
    write(pages, count)
    os.chdir(pages)
    found = {}
    for name, command in commands().items():
        if any(word in command for word in without):
            continue
        if name.endswith(_FOUND):
            (pages / "glost.yaml").write_text(FOUND, "utf-8")
        one = found[name] = timed(command, 1, GLOST_CACHE=str(folder / "cache"))
        print(f"| {count:,} | {name} | {one.processor:.1f} | {one.wall:.1f} | {one.memory} |", flush=True)
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--sizes", default="200,2000,20000")
    parser.add_argument("--without", default="", help="commands to leave out, such as formula,find")
    asked = parser.parse_args()
    sizes = sorted(int(size) for size in asked.sizes.split(","))
    print(f"{os.cpu_count()} cores, Python {sys.version.split()[0]}; one run\n")
    print("| recipes | what | processor seconds | wall seconds | MB of the first process |")
    print("| --- | --- | --- | --- | --- |")
    with tempfile.TemporaryDirectory() as place:
        measured = []
        for size in sizes:
            folder = Path(place) / str(size)
            measured.append(measure(size, folder, [word for word in asked.without.split(",") if word]))
            os.chdir(place)
            shutil.rmtree(folder)
    least, most = measured[0], measured[-1]
    print(f"\nfrom {sizes[0]:,} to {sizes[-1]:,} recipes, {sizes[-1] / sizes[0]:.0f} times as many:")
    for name, one in most.items():
        print(f"  {name}: {one.processor / least[name].processor:.0f} x the processor time")
    lint = max(one.memory for name, one in most.items() if name.startswith("glost lint"))
    print(f"memory of glost lint: {lint} MB; aimed at, for {MANY:,} pages: {MOST_MB} MB")


if __name__ == "__main__":
    main()
