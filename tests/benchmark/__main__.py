"""How fast a collection is linted, against general tools in the same run on the same machine.

    python -m tests.benchmark [--sizes 2000,20000] [--kinds "demo;small"] [--runs 3]

It writes so many recipes of three kinds, and the same recipes as YAML, into a temporary folder: "demo", made from the
demo collection (33 lines on average), "small" (18 lines, nothing found) and "small, found" (the same, two findings a
page). It then times, as whole processes: `glost lint` with all default rules, its cache empty, then full; `glost format
--check` of known pages; reading the files; PyYAML's C loader with jsonschema; of the demo pages up to 5,000 also
yamllint and check-jsonschema, and, beside a cold lint of them, sheets, formulas and the plot. What is compared is
processor time, of a process and all that it started. Last the start of `glost lint one-file`: of a page that changed
since, against `python -c "import lark"`, and of one that did not, against `python -c "import click"`. It prints tables
and never fails on a time. Needs the extra 'bench'.
"""

from __future__ import annotations

import argparse
import functools
import os
import random
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

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
    # A page that mixes others would find none of them under its name.
    entries = [entry for entry in entries if not entry.resolved.recipe.uses]
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


SMALL = ("potash feldspar", "whiting", "kaolin", "silica", "talc", "zinc oxide")
QUIET = "batch: 500 g\nhandling:\n  all: P100 respirator and gloves; wet-clean spills.\n"
FOUND = "batch: 500 g\n"
"""Without a house note silica and talc are found on every page."""


def make_small(folder: Path, count: int, settings: str, as_yaml: bool = True) -> tuple[Path, Path]:
    """``count`` recipes of 18 lines as pages and, in a second folder, as YAML, which takes most of the time: six
    materials, two additions, cone, atmosphere, surface and origin; the same in every run."""
    import json

    import yaml

    recipes, yamls = folder / "recipes", folder / "yaml"
    yamls.mkdir(parents=True)
    recipes.mkdir()
    (recipes / "glost.yaml").write_text(settings, "utf-8")
    write = find_format("json").write
    collections = Collections()
    for number, text in enumerate(small_pages(count)):
        file = recipes / f"{number % 40:02}" / f"quay-{number}.glost"
        file.parent.mkdir(exist_ok=True)
        file.write_text(text, "utf-8")
        if not as_yaml:
            continue
        entry = load(file, collections)
        job = Job(entry.file, entry.resolved.recipe, entry.collection.settings, entry.collection.catalogue)
        data = yaml.dump(
            json.loads(write([job])), Dumper=yaml.CSafeDumper, sort_keys=False, allow_unicode=True
        )
        (yamls / f"{number}.yaml").write_text(data, "utf-8")
    return recipes, yamls


def small_pages(count: int) -> Iterator[str]:
    """The texts of so many small pages, no two of which are the same mix."""
    chance = random.Random(2026)
    for number in range(count):
        others = [chance.randint(50, 150) for _ in SMALL[1:]]
        amounts = [1000 - sum(others), *others]
        lines = [f"    {name:<18}{amount / 10:>8.1f}" for name, amount in zip(SMALL, amounts, strict=True)]
        page = [
            f"# copy {number}",
            f'glaze "Quay {number}"',
            *("cone: 6", "atmosphere: oxidation", "surface: satin", f"origin: own test {number}", ""),
            *("base:", *lines, ""),
            *("additions:", f"    tin oxide         {chance.randint(30, 80) / 10:>8.1f}"),
            f"    bentonite         {2.0:>8.1f}",
        ]
        yield "\n".join([*page, ""])


class Taken(NamedTuple):
    """What a command took: processor seconds of it and all that it started, wall seconds, and the memory of the
    first process in MB, never shown as less than this one holds."""

    processor: float
    wall: float
    memory: int


def timed(command: Sequence[str], runs: int, before: Callable[[], object] = int, **environment: str) -> Taken:
    """What a command takes: medians over some runs. ``before`` is done before each run, and is not timed."""
    taken = []
    for _ in range(runs):
        before()
        begun = time.perf_counter()
        process = subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            env={**os.environ, **environment},
        )
        _, process.returncode, used = os.wait4(process.pid, 0)
        wall = time.perf_counter() - begun
        taken.append(Taken(used.ru_utime + used.ru_stime, wall, used.ru_maxrss // 1024))
    return Taken(
        statistics.median(one.processor for one in taken),
        statistics.median(one.wall for one in taken),
        max(one.memory for one in taken),
    )


KINDS: dict[str, Callable[[Path, int], tuple[Path, Path]]] = {
    "demo": make,
    "small": functools.partial(make_small, settings=QUIET),
    "small, found": functools.partial(make_small, settings=FOUND),
}


def compare(kind: str, size: int, runs: int, place: Path) -> tuple[Path, float, float]:
    """Prints a row for each command over so many pages of a kind; the pages, and what lint took, cold and warm."""
    python = sys.executable
    recipes, yamls = KINDS[kind](place / kind / str(size), size)
    cache = place / "cache"

    def empty() -> None:
        shutil.rmtree(cache, ignore_errors=True)

    lint: Sequence[str] = [python, "-m", "glost", "lint", str(recipes)]
    lay_out: Sequence[str] = [python, "-m", "glost", "format", str(recipes)]
    general = timed([python, "-c", BOTH, str(yamls), str(SCHEMA)], runs)
    subprocess.run(lay_out, check=False, capture_output=True, env={**os.environ, "GLOST_CACHE": str(cache)})
    timed([*lay_out, "--check"], 1, GLOST_CACHE=str(cache))
    known_layout = timed([*lay_out, "--check"], runs, GLOST_CACHE=str(cache))
    cold = timed(lint, runs, empty, GLOST_CACHE=str(cache))
    warm = timed(lint, runs, GLOST_CACHE=str(cache))
    rows = [
        ("PyYAML C loader and jsonschema", general),
        ("glost lint, cold", cold),
        ("glost lint, known pages", warm),
        ("glost format --check, known pages", known_layout),
        ("reading the files", timed([python, "-c", READ, str(recipes)], runs)),
    ]
    if kind == "demo" and size <= SLOW_TOOLS_UP_TO:
        files = [str(path) for path in sorted(yamls.glob("*.yaml"))]
        check = [python, "-m", "check_jsonschema", "--schemafile", str(SCHEMA), *files]
        rows += [
            ("yamllint", timed([python, "-m", "yamllint", "-d", QUIET_YAML, str(yamls)], 1)),
            ("check-jsonschema", timed(check, 1)),
        ]
    for name, taken in rows:
        ratio = f"{taken.processor / general.processor:.2f} x | {taken.wall / general.wall:.2f} x"
        print(
            f"| {kind} | {size:,} | {name} | {taken.processor:.2f} | {ratio} | {taken.memory} |", flush=True
        )
    return recipes, cold.processor, warm.processor


def compare_outputs(recipes: Path, lint: float, runs: int, place: Path) -> None:
    """Prints what it takes to write these pages out and to calculate from them, beside a cold lint of them."""
    glost = [sys.executable, "-m", "glost"]
    sheets = place / "sheets"

    def take_away() -> None:
        shutil.rmtree(sheets, ignore_errors=True)

    commands = {
        "glost convert --to sheet, all new": ["convert", str(recipes), "--to", "sheet", "--out", str(sheets)],
        "glost formula --output json": ["formula", str(recipes), "--output", "json"],
        "glost plot": ["plot", str(recipes), "--out", str(place / "plot.html"), "--force"],
    }
    count = sum(1 for _ in recipes.rglob("*.glost"))
    for name, words in commands.items():
        taken = timed([*glost, *words], runs, take_away, GLOST_CACHE="off")
        print(
            f"| {count:,} | {name} | {taken.processor:.2f} | {taken.processor / lint:.2f} x | {taken.memory} |"
        )


def compare_starts(one: Path, cache: Path, runs: int) -> None:
    """Prints what one page takes, new and known, against the import of general libraries."""
    python = sys.executable
    text = one.read_text("utf-8")

    def change() -> None:
        one.write_text(f"# {time.monotonic_ns()}\n{text}", "utf-8")

    lint = [str(Path(python).parent / "glost"), "lint", str(one)]
    changed = timed(lint, runs, change, GLOST_CACHE=str(cache)).processor
    known = timed(lint, runs, GLOST_CACHE=str(cache)).processor
    lark = timed([python, "-c", "import lark"], runs).processor
    click = timed([python, "-c", "import click"], runs).processor
    for what, taken, library, other in (
        ("a changed page", changed, "lark", lark),
        ("a known page", known, "click", click),
    ):
        print(f"{what}: {taken * 1000:.0f} ms, import {library} {other * 1000:.0f} ms: {taken / other:.2f} x")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--sizes", default="2000,20000")
    parser.add_argument("--kinds", default=";".join(KINDS), help="some of them, with ; between")
    parser.add_argument("--runs", type=int, default=3)
    asked = parser.parse_args()
    sizes = [int(size) for size in asked.sizes.split(",")]
    print(f"{os.cpu_count()} cores, Python {sys.version.split()[0]}; medians of {asked.runs} runs\n")
    print("| pages | recipes | what | processor seconds | of general tools | wall | MB |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        growth = []
        outputs: list[tuple[Path, float]] = []
        for kind in asked.kinds.split(";"):
            at = [compare(kind, size, asked.runs, place) for size in sizes]
            (_, cold, warm), (_, most_cold, most_warm) = at[0], at[-1]
            growth.append(f"{kind}: cold {most_cold / cold:.1f} x, known {most_warm / warm:.1f} x")
            if kind == "demo":
                (pages, lint, _), *_ = at
                outputs = [(pages, lint)]
        print("\n| recipes | what | processor seconds | of a cold lint | MB |")
        print("| --- | --- | --- | --- | --- |")
        for pages, lint in outputs:
            compare_outputs(pages, lint, asked.runs, place)
        print()
        if len(sizes) > 1:
            print(f"growth from {sizes[0]:,} to {sizes[-1]:,} recipes:", "; ".join(growth))
        compare_starts(min(at[0][0].rglob("*.glost")), place / "cache", 21)


if __name__ == "__main__":
    main()
