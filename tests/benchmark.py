"""How fast a collection is linted, against general tools in the same run on the same machine.

    python tests/benchmark.py [--sizes 2000,20000] [--runs 3]

It writes so many recipes, made from the demo collection, and the same recipes as YAML, into a temporary folder;
then times, as whole processes: reading the files; `glost lint` with all default rules; PyYAML's C loader with
jsonschema; yamllint; check-jsonschema. Last the start of `glost lint one-file` against `python -c "import lark"`.
It prints a table and never fails on a time. Needs the extra 'bench'.
"""

from __future__ import annotations

import argparse
import os
import random
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from glost.collection import Collections, find
from glost.convert.format import Job, find_format
from glost.entry import load

TOP = Path(__file__).parents[1]
STUDIO = TOP / "corpus" / "studio"
SCHEMA = TOP / "schema" / "recipe.schema.json"

READ = "import pathlib, sys\nfor p in sorted(pathlib.Path(sys.argv[1]).rglob('*.glost')): p.read_bytes()"
BOTH = """
import json, pathlib, sys, yaml, jsonschema
schema = json.load(open(sys.argv[2]))
validator = jsonschema.Draft202012Validator(schema)
for p in sorted(pathlib.Path(sys.argv[1]).rglob('*.yaml')):
    if p.name not in ('glost.yaml', 'materials.yaml'):
        for error in validator.iter_errors(yaml.load(p.read_bytes(), Loader=yaml.CSafeLoader)):
            print(p, error.message)
"""
QUIET_YAML = "{extends: default, rules: {line-length: disable, document-start: disable}}"


def make(folder: Path, count: int) -> tuple[Path, Path]:
    """``count`` recipes as pages and, in a second folder, as YAML; a seeded choice, so every run sees the same."""
    import json

    import yaml

    chance = random.Random(2026)
    collections = Collections()
    entries = [load(path, collections) for path in find([str(STUDIO)], collections)]
    recipes, yamls = folder / f"recipes-{count}", folder / f"yaml-{count}"
    for target in (recipes, yamls):
        target.mkdir(parents=True)
    for name in ("glost.yaml", "materials.yaml"):
        shutil.copy(STUDIO / name, recipes / name)
    write = find_format("json").write
    plain = {}
    for entry in entries:
        job = Job(entry.file, entry.resolved.recipe, entry.collection.settings, entry.collection.catalogue)
        plain[entry.file] = json.loads(write([job]))
    for number in range(count):
        entry = chance.choice(entries)
        text = entry.resolved.page.source.text
        old = entry.resolved.recipe.name
        new = f"{old} {number}"
        # A comment and a name of its own, and one amount moved to another line: no two pages are the same.
        page = f"# copy {number}\n" + text.replace(f'"{old}"', f'"{new}"', 1)
        page += (
            f'\nvariation "own {number}":\n    tin oxide  {1 + number % 89 / 10 + number / 1_000_000:.6f}\n'
        )
        below = recipes / f"{number % 40:02}"
        below.mkdir(exist_ok=True)
        (below / f"{new.lower().replace(' ', '-')}.glost").write_text(page, "utf-8")
        data = plain[entry.file]
        data["recipes"][0]["name"] = new
        (yamls / f"{number}.yaml").write_text(
            yaml.dump(data, Dumper=yaml.CSafeDumper, sort_keys=False, allow_unicode=True), "utf-8"
        )
    return recipes, yamls


def timed(command: Sequence[str], runs: int, **environment: str) -> tuple[float, int]:
    """The median of wall seconds of a command over some runs, and the largest memory of one process in MB."""
    seconds = []
    for _ in range(runs):
        begun = time.perf_counter()
        subprocess.run(
            command,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            check=False,
            env={**os.environ, **environment},
        )
        seconds.append(time.perf_counter() - begun)
    return statistics.median(seconds), resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1024


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--sizes", default="2000,20000")
    parser.add_argument("--runs", type=int, default=3)
    asked = parser.parse_args()
    python = sys.executable
    beside = Path(python).parent
    print(
        f"{os.cpu_count()} cores, Python {sys.version.split()[0]}; medians of {asked.runs} runs, wall seconds\n"
    )
    print("| recipes | what | seconds | glost lint takes | MB |\n| --- | --- | --- | --- | --- |")
    glost_at: dict[int, float] = {}
    with tempfile.TemporaryDirectory() as place:
        for size in map(int, asked.sizes.split(",")):
            recipes, yamls = make(Path(place), size)
            many = size > 5_000
            rows: list[tuple[str, Sequence[str], int]] = [
                ("glost lint, all default rules", [python, "-m", "glost", "lint", str(recipes)], asked.runs),
                ("reading the files", [python, "-c", READ, str(recipes)], asked.runs),
                (
                    "PyYAML C loader and jsonschema",
                    [python, "-c", BOTH, str(yamls), str(SCHEMA)],
                    asked.runs,
                ),
                ("yamllint", [str(beside / "yamllint"), "-d", QUIET_YAML, str(yamls)], 1),
            ]
            if not many:
                files = [str(path) for path in sorted(yamls.glob("*.yaml"))]
                command = [str(beside / "check-jsonschema"), "--schemafile", str(SCHEMA), *files]
                rows.append(("check-jsonschema", command, 1))
            if many:
                rows = rows[:3]
            own = 0.0
            for name, arguments, runs in rows:
                seconds, memory = timed(arguments, runs, GLOST_CACHE=str(Path(place) / "cache"))
                own = own or seconds
                ratio = "" if name.startswith("glost") else f"{own / seconds:.2f} x"
                shown = str(memory) if name.startswith("glost") and not glost_at else ""
                print(f"| {size} | {name} | {seconds:.2f} | {ratio} | {shown} |", flush=True)
            glost_at[size] = own
        one = next(iter(sorted(recipes.rglob("*.glost"))))
        start, _ = timed(
            [python, "-m", "glost", "lint", str(one)], 15, GLOST_CACHE=str(Path(place) / "cache")
        )
        lark, _ = timed([python, "-c", "import lark"], 15)
    print(
        f"\nstart: glost lint of one file {start * 1000:.0f} ms, import lark {lark * 1000:.0f} ms: {start / lark:.2f} x"
    )
    if len(glost_at) == 2:
        small, large = sorted(glost_at)
        print(f"growth: {large} recipes take {glost_at[large] / glost_at[small]:.1f} x the time of {small}")


if __name__ == "__main__":
    main()
