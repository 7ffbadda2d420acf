"""How fast a collection is linted, against general tools in the same run on the same machine.

    python -m tests.benchmark [--sizes 2000,20000] [--runs 3]

It writes so many recipes, made from the demo collection, and the same recipes as YAML, into a temporary folder;
then times, as whole processes: `glost lint` with all default rules, its cache empty, then full; reading the
files; PyYAML's C loader with jsonschema; yamllint; check-jsonschema. Last the start of `glost lint one-file`: of a page
that changed since, against `python -c "import lark"`, and of one that did not, against `python -c "import click"`.
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
from collections.abc import Callable, Sequence
from pathlib import Path

from glost.output.format import Job, find_format
from glost.workspace.collection import Collections, find
from glost.workspace.load import load

TOP = Path(__file__).parents[2]
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
SLOW_TOOLS_UP_TO = 5_000
"""Recipes; more would take them minutes."""
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


def timed(
    command: Sequence[str], runs: int, before: Callable[[], object] = int, **environment: str
) -> tuple[float, int]:
    """The median of wall seconds of a command over some runs, and the largest memory of one process in MB. ``before``
    is done before each run, and is not timed."""
    seconds = []
    for _ in range(runs):
        before()
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
    print(
        "| recipes | what | seconds | lint takes, cold | warm | MB |\n| --- | --- | --- | --- | --- | --- |"
    )
    glost_at: dict[int, list[float]] = {}
    with tempfile.TemporaryDirectory() as place:
        for size in map(int, asked.sizes.split(",")):
            recipes, yamls = make(Path(place), size)
            cache = Path(place) / "cache"

            def empty(cache: Path = cache) -> None:
                shutil.rmtree(cache, ignore_errors=True)

            own: Sequence[str] = [python, "-m", "glost", "lint", str(recipes)]
            rows: list[tuple[str, Sequence[str], int, Callable[[], object]]] = [
                ("glost lint, cold", own, asked.runs, empty),
                ("glost lint, warm", own, asked.runs, int),
                ("reading the files", [python, "-c", READ, str(recipes)], asked.runs, int),
                (
                    "PyYAML C loader and jsonschema",
                    [python, "-c", BOTH, str(yamls), str(SCHEMA)],
                    asked.runs,
                    int,
                ),
            ]
            if size <= SLOW_TOOLS_UP_TO:
                files = [str(path) for path in sorted(yamls.glob("*.yaml"))]
                check = [str(beside / "check-jsonschema"), "--schemafile", str(SCHEMA), *files]
                rows += [
                    ("yamllint", [str(beside / "yamllint"), "-d", QUIET_YAML, str(yamls)], 1, int),
                    ("check-jsonschema", check, 1, int),
                ]
            taken: list[float] = []
            for name, command, runs, before in rows:
                seconds, memory = timed(command, runs, before, GLOST_CACHE=str(cache))
                taken.append(seconds)
                cold, warm = (f"{one / seconds:.2f} x" if len(taken) > 2 else "" for one in (taken * 2)[:2])
                shown = str(memory) if name.startswith("glost") else ""
                print(f"| {size} | {name} | {seconds:.2f} | {cold} | {warm} | {shown} |", flush=True)
            glost_at[size] = taken[:2]
        one = next(iter(sorted(recipes.rglob("*.glost"))))
        text = one.read_text("utf-8")

        def change() -> None:
            one.write_text(f"# {time.monotonic_ns()}\n{text}", "utf-8")

        lint = [str(beside / "glost"), "lint", str(one)]
        changed, _ = timed(lint, 21, change, GLOST_CACHE=str(cache))
        known, _ = timed(lint, 21, GLOST_CACHE=str(cache))
        lark, _ = timed([python, "-c", "import lark"], 21)
        click, _ = timed([python, "-c", "import click"], 21)
    print(
        f"\na changed page: {changed * 1000:.0f} ms, import lark {lark * 1000:.0f} ms: {changed / lark:.2f} x"
    )
    print(f"a known page: {known * 1000:.0f} ms, import click {click * 1000:.0f} ms: {known / click:.2f} x")
    if len(glost_at) == 2:
        small, large = sorted(glost_at)
        for name, few, many in zip(("cold", "warm"), glost_at[small], glost_at[large], strict=True):
            print(f"growth, {name}: {large} recipes take {many / few:.1f} x the time of {small}")


if __name__ == "__main__":
    main()
